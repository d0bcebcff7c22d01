"""Runs the calls of a plan, each in a forked process: `python -m tests.cli_forks PLAN.json FOLDER`."""

from __future__ import annotations

import importlib
import json
import os
import sys
import time
from pathlib import Path

from guide.cli import main

LONGEST_S = 20.0
# what the commands import when they are called: done once here, so that a fork is quick
IMPORTED = (
    "guide.charging.contract", "guide.job.order", "guide.procedure.reader", "guide.procedure.paper",
    "guide.record.verify", "guide.record.write", "guide.rig.rehearsal", "guide.cli.look",
    "guide.cli.procedures", "guide.cli.records", "guide.cli.work",
)  # fmt: skip


def run_apart(arguments: list[str], number: int, folder: Path) -> int:
    """The exit code of one call; what it said lies in the folder."""
    child = os.fork()
    if child == 0:
        for descriptor, suffix in ((1, "out"), (2, "err")):
            file = os.open(folder / f"{number}.{suffix}", os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
            os.dup2(file, descriptor)
        try:
            main(arguments)
        except SystemExit as leaving:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(int(leaving.code or 0))  # tearing this big process down takes longer than the call
    until = time.monotonic() + LONGEST_S
    while time.monotonic() < until:
        pid, status = os.waitpid(child, os.WNOHANG)
        if pid:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.002)
    os.kill(child, 9)
    os.waitpid(child, 0)
    return -9


if __name__ == "__main__":
    for module in IMPORTED:
        importlib.import_module(module)
    folder = Path(sys.argv[2])
    for number, arguments in enumerate(json.loads(Path(sys.argv[1]).read_text())):
        code = run_apart(arguments, number, folder)
        (folder / f"{number}.code").write_text(str(code))
