"""Runs calls of the command line, each in a process forked from one that has the imports done.

`python -m tests.cli_forks DESCRIPTOR` serves one caller: a request on that socket is one JSON object and the
call's three standard descriptors (and, as a fourth, a pipe with a passphrase); the answer is its exit code.
"""

from __future__ import annotations

import importlib
import json
import os
import signal
import socket
import sys
import time
from typing import Any, NoReturn

from guide.cli import main

# what the commands import when they are called: done once here, so that a fork is quick
IMPORTED = (
    "guide.bench.backup", "guide.bench.bench", "guide.bench.imported", "guide.charging.contract",
    "guide.cli.company", "guide.cli.imports", "guide.cli.look", "guide.cli.practice",
    "guide.cli.procedures", "guide.cli.records", "guide.cli.work", "guide.job.order",
    "guide.procedure.paper", "guide.procedure.reader", "guide.record.exported", "guide.record.verify",
    "guide.record.write", "guide.rig.learning.debrief", "guide.rig.learning.replay",
    "guide.rig.learning.shelf", "guide.rig.rehearsal", "guide.rig.retelling", "guide.rig.trainees.forget",
    "guide.rig.trainees.model_run", "guide.rig.trainees.skills", "guide.rig.trainees.words",
    "pyhanko.sign.signers", "pypdf", "reportlab.pdfgen.canvas", "sqlalchemy.dialects.sqlite",
)  # fmt: skip
LONGEST_REQUEST = 1 << 20
KILLED = -signal.SIGKILL


def _become(request: dict[str, Any], descriptors: list[int]) -> NoReturn:
    """Be the called process: its descriptors, its environment, its words, and its end."""
    for number, descriptor in enumerate(descriptors[:3]):
        os.dup2(descriptor, number)
        os.close(descriptor)
    os.environ.clear()
    os.environ.update(request["environment"])
    arguments = request["arguments"]
    if len(descriptors) > 3:
        arguments = ["--passphrase-fd", str(descriptors[3]), *arguments]
    code = 1
    try:
        main(arguments)
    except SystemExit as leaving:
        code = leaving.code if isinstance(leaving.code, int) else int(leaving.code is not None)
    except BaseException as error:  # noqa: BLE001 - whatever leaves `main` goes where the interpreter would take it
        sys.excepthook(type(error), error, error.__traceback__)
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)  # tearing this big process down takes longer than the call


def _run(request: dict[str, Any], descriptors: list[int], caller: socket.socket) -> int:
    child = os.fork()
    if child == 0:
        caller.close()
        _become(request, descriptors)
    for descriptor in descriptors:
        os.close(descriptor)
    until = time.monotonic() + request["timeout_s"]
    while time.monotonic() < until:
        pid, status = os.waitpid(child, os.WNOHANG)
        if pid:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.002)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return KILLED


def serve(caller: socket.socket) -> None:
    """Answer the caller's requests until it closes its end."""
    for module in IMPORTED:
        importlib.import_module(module)
    while True:
        said, descriptors, _, _ = socket.recv_fds(caller, LONGEST_REQUEST, 4)
        if not said:
            return
        caller.send(str(_run(json.loads(said), descriptors, caller)).encode())


if __name__ == "__main__":
    serve(socket.socket(fileno=int(sys.argv[1])))
