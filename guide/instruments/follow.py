"""The feed's own process: follows a growing file or standard input and hands on bounded lines.

`python -m guide.instruments.follow FILE [KEEP [MOST]]` (FILE may be `-`) writes to standard output a line
`L` + the reading line, and every second `H` + the count of what was dropped + whether lines are kept, which
also tells it when nobody reads any more. With KEEP the lines handed on are kept in that file. MOST is how
many lines of one source may pass in a second.
"""

from __future__ import annotations

import contextlib
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
MOST_KEPT_BYTES: Final = 16 << 20
"""Then the file of kept lines becomes FILE.1 and a new one begins (PROPOSED)."""
_CHUNK: Final = 65_536
_IDLE_S: Final = 0.05
_SOURCE: Final = re.compile(rb'"src"\s*:\s*"([^"\\]{1,64})"')


class Sieve:
    """Cuts bytes into lines, holds a partial last one back, lets so many a second of a source through."""

    def __init__(self, lines_a_second: int = LINES_A_SECOND) -> None:
        self.dropped = 0
        self._most = lines_a_second
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
        if len(line) > LONGEST_LINE_BYTES or new or self._counts[source] >= self._most:
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
            with contextlib.suppress(FileNotFoundError):  # gone again meanwhile; a new one may come
                new = path.open("rb", buffering=0)
                file.close()
                file = new
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


class Kept:
    """The lines handed on, kept in a file and one before it; a full disk ends the keeping, not the feed."""

    def __init__(self, path: Path | None) -> None:
        self._path = path
        self._file = -1
        self.fails = False
        self._open()

    def add(self, lines: list[bytes]) -> None:
        """Keep these lines."""
        if self._path is None or self.fails or not lines:
            return
        try:
            os.write(self._file, b"".join(line + b"\n" for line in lines))
            if os.fstat(self._file).st_size > MOST_KEPT_BYTES:
                os.close(self._file)
                self._path.replace(self._path.with_name(self._path.name + ".1"))
                self._open()
        except OSError:
            self.fails = True

    def _open(self) -> None:
        if self._path is None:
            return
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            self._file = os.open(self._path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        except OSError:
            self.fails = True


def main(name: str, keep: str = "", lines_a_second: str = str(LINES_A_SECOND)) -> int:
    """Follow `name` until its end, or until nobody reads."""
    sieve = Sieve(int(lines_a_second))
    kept = Kept(Path(keep) if keep else None)
    beat = 0
    try:
        for data in from_input() if name == "-" else from_file(Path(name), sieve):
            second = int(time.monotonic())
            lines = sieve.lines(data, second)
            kept.add(lines)
            out = b"".join(b"L" + line + b"\n" for line in lines)
            if second != beat:
                beat = second
                out += b"H%d %d\n" % (sieve.dropped, kept.fails)
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
    sys.exit(main(*sys.argv[1:4]))
