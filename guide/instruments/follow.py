"""The feed's own process: follows a growing file or standard input and hands on bounded lines.

`python -m guide.instruments.follow FILE` (or `-`) writes to standard output a line `L` + the reading line,
and every second `H` + the count of what was dropped, which also tells it when nobody reads any more.
"""

from __future__ import annotations

import os
import re
import select
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from guide.instruments.line import LONGEST_LINE_BYTES

LINES_A_SECOND: Final = 50
MOST_SOURCES: Final = 20
_CHUNK: Final = 65_536
_IDLE_S: Final = 0.05
_SOURCE: Final = re.compile(rb'"src"\s*:\s*"([^"\\]{1,64})"')


class Sieve:
    """Cuts bytes into lines, holds a partial last one back, lets so many a second of a source through."""

    def __init__(self) -> None:
        self.dropped = 0
        self._rest = b""
        self._skipping = False
        self._second = -1
        self._counts: Counter[bytes] = Counter()

    def restart(self) -> None:
        """The file began anew: a partial line of the old one is worth nothing."""
        self._rest, self._skipping = b"", False

    def lines(self, data: bytes, second: int) -> list[bytes]:
        """The whole lines that may pass, given the second we are in."""
        if second != self._second:
            self._second = second
            self._counts.clear()
        *whole, rest = (self._rest + data).split(b"\n")
        if self._skipping and whole:
            whole, self._skipping = whole[1:], False
        if self._skipping or len(rest) > LONGEST_LINE_BYTES:
            self.dropped += not self._skipping
            rest, self._skipping = b"", True
        self._rest = rest
        return [line for line in whole if line.strip() and self._passes(line)]

    def _passes(self, line: bytes) -> bool:
        found = _SOURCE.search(line[:LONGEST_LINE_BYTES])
        source = found[1] if found else b""
        new = source not in self._counts and len(self._counts) >= MOST_SOURCES
        if len(line) > LONGEST_LINE_BYTES or new or self._counts[source] >= LINES_A_SECOND:
            self.dropped += 1
            return False
        self._counts[source] += 1
        return True


def from_file(path: Path, sieve: Sieve) -> Iterator[bytes]:
    """What is appended to a file from now on; b"" when idle. A replaced or shortened file starts anew."""
    file = path.open("rb", buffering=0)
    file.seek(0, os.SEEK_END)
    while True:
        data = file.read(_CHUNK)
        if data:
            yield data
            continue
        try:
            here, there = os.fstat(file.fileno()), path.stat()
        except OSError:
            yield b""  # moved away; a new one may come
            continue
        if (here.st_ino, here.st_dev) != (there.st_ino, there.st_dev):
            file.close()
            file = path.open("rb", buffering=0)
            sieve.restart()
        elif there.st_size < file.tell():
            file.seek(0)
            sieve.restart()
        yield b""


def from_input() -> Iterator[bytes]:
    """What comes on standard input, until its end; b"" when idle."""
    while True:
        ready, _, _ = select.select([0], [], [], _IDLE_S)
        if not ready:
            yield b""
        elif data := os.read(0, _CHUNK):
            yield data
        else:
            return


def main(name: str) -> int:
    """Follow `name` until its end, or until nobody reads."""
    sieve = Sieve()
    beat = 0
    try:
        for data in from_input() if name == "-" else from_file(Path(name), sieve):
            second = int(time.monotonic())
            out = b"".join(b"L" + line + b"\n" for line in sieve.lines(data, second))
            if second != beat:
                beat = second
                out += b"H%d\n" % sieve.dropped
            if out:
                _write(out)
            if not data and name != "-":
                time.sleep(_IDLE_S)
    except OSError:
        return 1
    return 0


def _write(data: bytes) -> None:
    while data:
        data = data[os.write(1, data) :]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
