"""A command started anew, as a person starts it, answers as the forked one the other tests ask."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli_call import call, call_anew

COMMANDS: list[list[str]] = [
    ["--version"],
    ["sat", "R-410A", "--temperature", "40F", "--json"],
    ["advise", "/nonexistent/rounds.json"],
    ["procedures", "lint", "procedures/charge-fixed-orifice.yaml"],
    ["verify", "README.md"],
    ["export", "J-0001", "--to", "/nonexistent/folder"],
    ["run", "/nonexistent/order.yaml"],
    ["people", "list"],
    ["records", "list", "--json"],
    ["no-such-command"],
]


@pytest.mark.parametrize("arguments", COMMANDS, ids=" ".join)
def test_a_process_started_anew_answers_as_a_forked_one(arguments: list[str], tmp_path: Path) -> None:
    assert call_anew(*arguments, data=tmp_path / "data") == call(*arguments, data=tmp_path / "data")
