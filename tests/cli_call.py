"""Calls the command line as a person or a program would: each call in a process of its own."""

from __future__ import annotations

import contextlib
import json
import os
import socket
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from threading import Thread
from typing import Any

from tests.cli_forks import KILLED, LONGEST_REQUEST

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


@cache
def _forks() -> tuple[socket.socket, subprocess.Popen[bytes]]:
    """The process that has the imports done, and the socket it waits at; it ends with this one."""
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    ours.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, LONGEST_REQUEST)
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.cli_forks", str(theirs.fileno())],
        cwd=ROOT, env=environment(None), pass_fds=(theirs.fileno(),), stdin=subprocess.DEVNULL,
    )  # fmt: skip
    theirs.close()
    return ours, process


def _written(content: bytes) -> int:
    """The reading end of a pipe that brings this."""
    taking, giving = os.pipe()

    def bring() -> None:
        with contextlib.suppress(BrokenPipeError), os.fdopen(giving, "wb") as pipe:
            pipe.write(content)

    Thread(target=bring, daemon=True).start()
    return taking


def call(
    *arguments: str | bytes,
    stdin: bytes = b"",
    data: Path | None = None,
    timeout_s: float = 60.0,
    passphrase: str | None = None,
) -> Answer:
    """Run a command; with `passphrase` it comes through a descriptor of its own, as a pipe would bring it.

    The process is forked from one that has the imports done: starting the interpreter anew takes longer than
    most commands do. `call_anew` starts it.
    """
    request = {
        "arguments": [os.fsdecode(argument) for argument in arguments],
        "environment": environment(data),
        "timeout_s": timeout_s,
    }
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        pipes = [_written(stdin)] + ([] if passphrase is None else [_written(passphrase.encode() + b"\n")])
        given = [pipes[0], out.fileno(), err.fileno(), *pipes[1:]]
        server, _ = _forks()
        socket.send_fds(server, [json.dumps(request).encode()], given)
        for pipe in pipes:
            os.close(pipe)
        code = int(server.recv(64))
        if code == KILLED:
            raise subprocess.TimeoutExpired(command(*arguments), timeout_s)
        out.seek(0)
        err.seek(0)
        return Answer(code, out.read().decode(), err.read().decode())


def call_anew(*arguments: str | bytes, data: Path | None = None, timeout_s: float = 60.0) -> Answer:
    """Run a command in an interpreter of its own, as a person or another program would."""
    done = subprocess.run(
        command(*arguments), stdin=subprocess.DEVNULL, capture_output=True, timeout=timeout_s, check=False,
        cwd=ROOT, env=environment(data),
    )  # fmt: skip
    return Answer(done.returncode, done.stdout.decode(), done.stderr.decode())


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
