"""What the instruments of an order show at a rig, appended to a file as a stream of readings.

The file is followed by `guide.instruments.feed.Feed` like that of any instrument.
"""

from __future__ import annotations

import json
import math
import os
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final, Protocol

from guide.errors import ChargewrightError
from guide.instruments.board import fills
from guide.job.order import Order
from guide.journal.port import utc_text
from guide.procedure.channels import CHANNELS
from guide.rig.port import NoSuchChannel
from guide.rig.retrace import Moving, bring_to
from guide.units import Kind

LONGEST_GAP_S: Final = 20.0
"""Simulated time between two readings of a channel at most [s]: below the window in which a value settles
(PROPOSED)."""
SHORTEST_GAP_S: Final = 0.5
"""And at least, however often the time is told (PROPOSED)."""
MOST_A_GO: Final = 60
"""Readings of a channel for one leap of time at most; of a longer leap only the end is told (PROPOSED)."""
LINES_A_SECOND: Final = 600
"""Lines of a source that may come in a second of real time: a leap of 20 min, ten channels (CALCULATED)."""
OFF_SCALE_Pa: Final = 2_600.0
"""Above this a vacuum gauge stands at the end of its scale (20,000 micron) and says so, and nothing else."""
MOST_BYTES: Final = 8 << 20
"""Then the file becomes FILE.1 and a new one begins (PROPOSED)."""
_UNIT: Final = {
    Kind.PRESSURE: {"unit": "Pa", "ref": "abs"},
    Kind.TEMPERATURE: {"unit": "K"},
    Kind.MASS: {"unit": "kg"},
}


Fills = Mapping[tuple[str, str], tuple[str, str | None]]


class NoStream(ChargewrightError):
    """The file for the readings can't be written."""


class Readable(Moving, Protocol):
    """As much of a rig as is needed to let time pass and read it."""

    def read(self, channel: str) -> float:
        """What an instrument on this channel would see now [K, Pa absolute, kg]."""


def lines(fills: Fills, unit: Readable, utc: datetime, count: int) -> Iterator[str]:
    """One line for each channel that instruments fill and that shows something, as seen at `utc`.

    `fills` is of `guide.instruments.board.fills`; `count` numbers the readings.
    """
    at = utc_text(utc)
    for (source, name), (channel, _) in fills.items():
        try:
            seen = unit.read(channel)
        except NoSuchChannel:
            continue  # nothing is connected there now, so nothing is shown
        yield json.dumps(
            {
                "v": 1, "id": f"{source[:60]}-{count}", "src": source, "ch": name,
                "val": f"{seen:.4f}", **_UNIT[CHANNELS[channel].kind], "t": at,
                "q": "bad" if channel.endswith("_vacuum") and seen > OFF_SCALE_Pa else "good",
            },
            separators=(",", ":"),
        )  # fmt: skip


class Sender:
    """Appends readings to `path`, stamped with the time of the job's opening and what passed since.

    Raises:
        NoStream: the file can't be opened.
    """

    def __init__(self, path: Path, order: Order, opened_utc: str) -> None:
        self._path = path
        self._fills = fills(order)
        self._opened = datetime.fromisoformat(opened_utc)
        self._count = 0
        self._last_s = -math.inf
        self._file = -1
        self._open()

    def run_to(self, unit: Readable, t_s: float) -> None:
        """Let time pass until `t_s`, and tell what is read on the way and at its end.

        Raises:
            NoStream: the file can't be written.
        """
        ahead_s = t_s - unit.elapsed_s
        count = min(MOST_A_GO, max(1, math.ceil(ahead_s / LONGEST_GAP_S)))
        for left in range(count - 1, -1, -1):
            bring_to(unit, t_s - LONGEST_GAP_S * left)
            if unit.elapsed_s - self._last_s >= SHORTEST_GAP_S or unit.elapsed_s < self._last_s:
                self.tell(unit)

    def tell(self, unit: Readable) -> None:
        """Write what is read now.

        Raises:
            NoStream: the file can't be written.
        """
        self._last_s = unit.elapsed_s
        self._count += 1
        at = self._opened + timedelta(seconds=unit.elapsed_s)
        self._write("".join(f"{line}\n" for line in lines(self._fills, unit, at, self._count)).encode())

    def close(self) -> None:
        """Let go of the file."""
        os.close(self._file)

    def _write(self, data: bytes) -> None:
        try:
            while data:
                data = data[os.write(self._file, data) :]
            if os.fstat(self._file).st_size > MOST_BYTES:
                os.close(self._file)
                self._path.replace(self._path.with_name(self._path.name + ".1"))
                self._open()
        except OSError as error:
            raise self._no_stream(error) from error

    def _open(self) -> None:
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            self._file = os.open(self._path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        except OSError as error:
            raise self._no_stream(error) from error

    def _no_stream(self, error: OSError) -> NoStream:
        return NoStream(f"{self._path}: readings can't be written there ({error.strerror}); free some space")
