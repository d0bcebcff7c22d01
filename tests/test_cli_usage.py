"""`procedures usage` tells the writer of a procedure what became of it, and nothing of people."""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.rig.orders import demonstration_order
from guide.rig.rehearsal import prepare
from tests.cli_call import assert_refused, call


@pytest.fixture(scope="module")
def worked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("worked")
    rehearsal = prepare(demonstration_order(), folder)
    while rehearsal.step() is not None:
        pass
    rehearsal.close()
    return folder


def test_the_use_of_a_procedure_is_told_a_line_a_step_and_the_journal_stays_as_it_was(worked: Path) -> None:
    name = demonstration_order().procedure
    before = (worked / "journal.db").read_bytes()
    answer = call("procedures", "usage", name, data=worked)

    assert (answer.code, answer.err) == (0, "")
    assert answer.lines()[0].startswith(f"{name} rev ")
    assert "1 job, 1 complete, 0 broken off" in answer.lines()[0]
    assert "the slowest step" in answer.out
    assert (worked / "journal.db").read_bytes() == before


def test_in_json_every_step_is_there_and_nobody_is_named(worked: Path) -> None:
    order = demonstration_order()
    answer = call("procedures", "usage", order.procedure, "--json", data=worked)
    told = answer.json()

    assert (answer.code, told["id"], told["jobs"], told["complete"]) == (0, order.procedure, 1, 1)
    assert sum(step["done"] for step in told["steps"]) > 5
    assert max(step["longest_s"] or 0 for step in told["steps"]) >= 600
    assert order.customer not in answer.out
    assert "J-0001" not in answer.out


def test_a_procedure_nobody_worked_yet_is_an_answer(worked: Path) -> None:
    answer = call("procedures", "usage", "open-circuit-weigh-in", data=worked)

    assert (answer.code, answer.out) == (0, "open-circuit-weigh-in: no job here has worked it\n")


def test_an_unknown_procedure_revision_or_journal_is_refused_in_words(worked: Path, tmp_path: Path) -> None:
    name = demonstration_order().procedure

    assert_refused(call("procedures", "usage", "no-such", data=worked), "no-such", "there are", name)
    assert_refused(call("procedures", "usage", name, "--revision", "99", data=worked), "99", "there are")
    assert_refused(call("procedures", "usage", name, data=tmp_path), "no journal")
