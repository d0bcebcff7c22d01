"""Eight channels ten times a second into the step sheet, at a pseudo-terminal: what a key then costs.

`measure()` starts `python -m tests.instruments.live_sheet FOLDER STREAM`, the program on a job whose charging
loop asks for eight readings, writes the stream, types, and times each key until the frame that shows it has
come out of the terminal. Processor time is read from `/proc`, so it measures on Linux.
"""

from __future__ import annotations

import fcntl
import json
import os
import pty
import random
import select
import signal
import struct
import sys
import tempfile
import termios
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from guide.instruments.feed import Feed
from guide.instruments.readings import Readings
from guide.job.order import read_order
from tests.screens.driving import DeskApp
from tests.screens.small_job import ORDER, lay, to_the_loop

INSTRUMENTS: Final = """\
instruments:
  - {id: G-1, channels: [suction_pressure], accuracy: 1dpsi}
  - {id: G-2, channels: [liquid_pressure], accuracy: 2dpsi}
  - {id: T-1, channels: [suction_line, liquid_line], accuracy: 0.8dF}
  - {id: T-2, channels: [indoor_db, supply_db, outdoor_db], accuracy: 0.8dF}
  - {id: H-1, channels: [indoor_wb], accuracy: 0.8dF}
"""
STREAM: Final = {
    "suction_pressure": ("G-1", 118.5, "psi"), "liquid_pressure": ("G-2", 352.5, "psi"),
    "suction_line": ("T-1", 58.5, "F"), "liquid_line": ("T-1", 99.5, "F"),
    "indoor_db": ("T-2", 78.5, "F"), "supply_db": ("T-2", 59.5, "F"), "outdoor_db": ("T-2", 95.5, "F"),
    "indoor_wb": ("H-1", 67.5, "F"),
}  # fmt: skip
RATE_Hz: Final = 10.0
_TYPED: Final = b"#@&%~#@&%~"
"""Characters that no sheet and no sequence to a terminal holds, so a frame that shows them shows the key."""
_CLEAR: Final = b"\x15"
_LONGEST_S: Final = 30.0


class LiveDesk(DeskApp):
    """The desk's job with a stream, its clock ticking as for a person."""

    def __init__(self, folder: Path, stream: str) -> None:
        order = read_order((ORDER.format(place="Roof", nature="demonstration") + INSTRUMENTS).encode(), "o")
        desk = lay(folder, order=order)
        to_the_loop(desk)
        super().__init__(desk)
        self.tick_s = 1.0
        self.readings = Readings(Feed(stream))


@dataclass(frozen=True, slots=True)
class Measured:
    """Times from key to frame [s], ascending, and shares of one processor while they were taken."""

    times_s: tuple[float, ...]
    program: float
    feed: float

    def at(self, share: float) -> float:
        """The time that so many of the keys did not exceed [s]."""
        return self.times_s[min(len(self.times_s) - 1, int(len(self.times_s) * share))]


def measure(keys: int = 100, seed: int = 1) -> Measured:
    """Type `keys` keys at uneven moments into a sheet that is live."""
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        stream = Path(folder) / "feed.ndjson"
        stream.touch()
        with _writing(stream, chance), _program(Path(folder) / "data", stream) as (pid, terminal):
            _until(terminal, *(b"live %d" % value for _, value, _ in STREAM.values()))
            began, before = time.monotonic(), _spent_s(pid)
            times = list(_keys(terminal, keys, chance))
            lasted, after = time.monotonic() - began, _spent_s(pid)
    program, feed = ((b - a) / lasted for a, b in zip(before, after, strict=True))
    return Measured(tuple(sorted(times)), program, feed)


def _keys(terminal: int, count: int, chance: random.Random) -> Iterator[float]:
    for number in range(count):
        position = number % len(_TYPED)
        if position == 0:
            os.write(terminal, _CLEAR)
        _drain(terminal, chance.uniform(0.05, 0.3))
        pressed = time.perf_counter()
        os.write(terminal, _TYPED[position : position + 1])
        _until(terminal, _TYPED[: position + 1])
        yield time.perf_counter() - pressed


@contextmanager
def _program(folder: Path, stream: Path) -> Iterator[tuple[int, int]]:
    pid, terminal = pty.fork()
    if pid == 0:
        os.environ.update({"TERM": "xterm-256color", "PYTHONUTF8": "1"})
        command = [sys.executable, "-m", "tests.instruments.live_sheet", str(folder), str(stream)]
        os.execv(sys.executable, command)
    try:
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        yield pid, terminal
    finally:
        os.kill(pid, signal.SIGKILL)  # its feed then finds that nobody reads any more
        os.waitpid(pid, 0)
        os.close(terminal)


@contextmanager
def _writing(stream: Path, chance: random.Random) -> Iterator[None]:
    over = threading.Event()

    def write() -> None:
        with stream.open("a") as file:
            while not over.wait(1.0 / RATE_Hz):
                for channel, (source, value, unit) in STREAM.items():
                    line = {"v": 1, "src": source, "ch": channel, "unit": unit, "q": "good",
                            "val": f"{value + chance.uniform(-0.2, 0.2):.2f}"}  # fmt: skip
                    file.write(json.dumps(line | ({"ref": "gauge"} if unit == "psi" else {})) + "\n")
                file.flush()

    thread = threading.Thread(target=write, daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join(2.0)


def _until(terminal: int, *words: bytes) -> None:
    seen, end = b"", time.monotonic() + _LONGEST_S
    while not all(word in seen for word in words):
        if not select.select([terminal], [], [], max(0.0, end - time.monotonic()))[0]:
            raise TimeoutError(f"{words!r} was never painted; the last was {seen[-300:]!r}")
        seen += os.read(terminal, 65536)


def _drain(terminal: int, seconds: float) -> None:
    """Let the terminal paint for a while, as one does that somebody looks at."""
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        if select.select([terminal], [], [], left)[0]:
            os.read(terminal, 65536)


def _children(pid: int) -> tuple[int, ...]:
    return tuple(int(child) for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split())


def _spent_s(pid: int) -> tuple[float, float]:
    """Processor time that the program and its feed have used [s]."""
    return _used_s(pid), sum(_used_s(child) for child in _children(pid))


def _used_s(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


if __name__ == "__main__":
    LiveDesk(Path(sys.argv[1]), sys.argv[2]).run()
