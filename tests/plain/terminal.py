"""A person at a pseudo-terminal: waits for a prompt, types a line."""

from __future__ import annotations

import os
import pty
import select
import signal
import sys
import time
from pathlib import Path
from types import TracebackType

from tests.cli_call import ROOT, environment


class Person:
    """Starts a program at a terminal of its own; `said` is everything that came from it."""

    def __init__(
        self,
        *arguments: str,
        data: Path | None = None,
        wait_s: float = 30.0,
        named: dict[str, str] | None = None,
    ) -> None:
        self.said = ""
        self.code: int | None = None
        self._heard = 0
        self._wait_s = wait_s
        env = environment(data) | {"TERM": "dumb"} | (named or {})
        env = {name: value for name, value in env.items() if value != "unset"}
        self.pid, self._fd = pty.fork()
        if self.pid == 0:
            os.chdir(ROOT)
            os.execve(sys.executable, [sys.executable, *arguments], env)

    def __enter__(self) -> Person:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.code is None:
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
        os.close(self._fd)

    def hears(self, words: str) -> str:
        """Everything up to these words, from where was last heard."""
        end = time.monotonic() + self._wait_s
        while words not in self.said[self._heard :]:
            if time.monotonic() > end or not self._more(0.2):
                raise AssertionError(f"never said {words!r}; it said:\n{self.said[-3000:]}")
        at = self.said.index(words, self._heard) + len(words)
        told, self._heard = self.said[self._heard : at], at
        return told

    def types(self, line: str | bytes) -> None:
        """One line, and Enter."""
        data = line if isinstance(line, bytes) else line.encode()
        os.write(self._fd, data + b"\n")

    def presses(self, key: bytes) -> None:
        """A key without Enter."""
        os.write(self._fd, key)

    def ends(self) -> int:
        """Wait for the end; the exit code."""
        end = time.monotonic() + self._wait_s
        while self._more(0.2):
            assert time.monotonic() < end, self.said[-3000:]
        self.code = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        return self.code

    def _more(self, within_s: float) -> bool:
        ready, _, _ = select.select([self._fd], [], [], within_s)
        if not ready:
            return True
        try:
            piece = os.read(self._fd, 65536)
        except OSError:
            return False
        self.said += piece.decode(errors="replace").replace("\r\n", "\n")
        return bool(piece)


END = b"\x04"
INTERRUPT = b"\x03"
