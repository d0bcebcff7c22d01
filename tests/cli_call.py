"""Calls the command line as a person or a program would: in a process of its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]


@dataclass(frozen=True, slots=True)
class Answer:
    code: int
    out: str
    err: str

    def json(self) -> Any:
        return json.loads(self.out)

    def lines(self) -> list[str]:
        return self.out.splitlines()


def command(*arguments: str | bytes) -> list[str | bytes]:
    return [sys.executable, "-m", "guide", *arguments]


def environment(data: Path | None) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if name != "CHARGEWRIGHT_DATA"}
    # a data folder nobody may use: a command that should need none must not fall back on the person's own
    return kept | {"CHARGEWRIGHT_DATA": str(data or "/nonexistent/chargewright-data"), "PYTHONUTF8": "1"}


def call(
    *arguments: str | bytes,
    stdin: bytes = b"",
    data: Path | None = None,
    timeout_s: float = 60.0,
    passphrase: str | None = None,
) -> Answer:
    """Run a command; with `passphrase` it comes through a descriptor of its own, as a pipe would bring it."""
    if passphrase is not None:
        taking, giving = os.pipe()
        os.write(giving, passphrase.encode() + b"\n")
        os.close(giving)
        arguments = ("--passphrase-fd", str(taking), *arguments)
    done = subprocess.run(
        command(*arguments), input=stdin, capture_output=True, timeout=timeout_s, check=False, cwd=ROOT,
        env=environment(data), pass_fds=() if passphrase is None else (taking,),
    )  # fmt: skip
    if passphrase is not None:
        os.close(taking)
    return Answer(done.returncode, done.stdout.decode(), done.stderr.decode())


def call_many(calls: Sequence[Sequence[str | bytes]], folder: Path) -> list[Answer]:
    """Many calls without standard input, each in a process forked from one that has the imports done."""
    table = [[os.fsdecode(argument) for argument in each] for each in calls]
    plan = folder / "calls.json"
    plan.write_text(json.dumps(table))
    subprocess.run(
        [sys.executable, "-m", "tests.cli_forks", str(plan), str(folder)],
        cwd=ROOT, env=environment(None), check=True, stdin=subprocess.DEVNULL, timeout=120,
    )  # fmt: skip
    return [
        Answer(
            int((folder / f"{number}.code").read_text()),
            (folder / f"{number}.out").read_text(),
            (folder / f"{number}.err").read_text(),
        )
        for number in range(len(table))
    ]


def assert_refused(answer: Answer, *words: str) -> None:
    """Exit 2, nothing but one line for the person on standard error, no traceback, nothing unprintable."""
    assert answer.code == 2, answer
    assert answer.err.endswith("\n"), answer
    assert answer.err.count("\n") == 1, answer
    assert answer.err.startswith("chargewright: "), answer
    assert answer.err[:-1].isprintable(), answer
    assert len(answer.err) < 700, answer
    assert "Traceback" not in answer.err + answer.out
    assert "fault of this program" not in answer.err
    for word in words:
        assert word in answer.err, answer
