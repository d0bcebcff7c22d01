"""A stream of readings, followed in a process of its own; its end or its crash is "lost", never an error."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
from collections import deque
from pathlib import Path
from typing import Final

from guide.errors import ChargewrightError
from guide.instruments.follow import LINES_A_SECOND
from guide.instruments.line import BadLine, Sample, read_line

_MOST_WAITING: Final = 2000


class NoFeed(ChargewrightError):
    """A stream of readings that can't be followed: which, and what would do."""


class Feed:
    """Follows `name` (a file, or "-" for standard input as it is when the feed starts).

    `taken` never waits and never raises; `lost` says in words that nothing more will come. With `keep` the
    lines handed on are kept in that file, so that a line whose hash stands in an event can be shown.
    `lines_a_second` is how many of one source may pass: more only for a source of our own.

    Raises:
        NoFeed: there is no such file, or no process can be started.
    """

    def __init__(self, name: str, keep: Path | None = None, *, lines_a_second: int = LINES_A_SECOND) -> None:
        if name != "-" and not Path(name).is_file():
            raise NoFeed(f"{name}: no such file to take readings from; start what writes it first")
        self.dropped = 0
        self.bad = 0
        self.last_fault = ""
        self.lost = ""
        self.unkept = False
        self._waiting: deque[Sample] = deque(maxlen=_MOST_WAITING)
        more = (str(keep) if keep else "", str(lines_a_second))
        try:
            self._process = subprocess.Popen(  # noqa: S603 - our own module, no shell
                [sys.executable, "-P", "-m", "guide.instruments.follow", name, *more],
                stdin=None if name == "-" else subprocess.DEVNULL,
                stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, start_new_session=True,
            )  # fmt: skip
        except OSError as error:
            raise NoFeed(f"{name}: no process to follow it can be started; type the readings") from error
        self._thread = threading.Thread(target=self._drain, name="feed", daemon=True)
        self._thread.start()

    @property
    def pid(self) -> int:
        """The process that follows the stream."""
        return self._process.pid

    def taken(self) -> list[Sample]:
        """What arrived since the last time, oldest first, at most the newest 2000."""
        batch: list[Sample] = []
        with contextlib.suppress(IndexError):
            while len(batch) < _MOST_WAITING:
                batch.append(self._waiting.popleft())
        return batch

    def close(self) -> None:
        """End the feed."""
        self._process.kill()
        self._process.wait()
        self._thread.join(2.0)

    def _drain(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            if line.startswith(b"H"):
                dropped, unkept = line[1:].split()
                self.dropped, self.unkept = int(dropped), unkept == b"1"
                continue
            try:
                self._waiting.append(read_line(line[1:]))
            except BadLine as error:
                self.bad += 1
                self.last_fault = str(error)
        code = self._process.wait()
        self.lost = "the readings ended" if code == 0 else "the readings broke off"


def give_back_terminal() -> None:
    """After a feed took standard input: make the terminal the program's standard input again.

    Raises:
        NoFeed: the program has no terminal.
    """
    try:
        terminal = os.open("/dev/tty", os.O_RDWR)
    except OSError as error:
        raise NoFeed("--readings -: there is no terminal to type at; run it in one") from error
    os.dup2(terminal, 0)
    os.close(terminal)
