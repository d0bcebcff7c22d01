"""What the journal needs from the machine: clocks, the boot it runs in, and where data is kept.

Linux is tested. The macOS and Windows branches are written from the systems' documentation
as remembered (MEMORY) and were not run there.
"""

from __future__ import annotations

import os
import secrets
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Protocol

from guide.errors import ChargewrightError
from guide.journal.event import Stamp

_LINUX_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


class BadClock(ChargewrightError):
    """A clock asked to do what no clock does."""


class Clock(Protocol):
    """Where the time of an event comes from."""

    def now(self) -> Stamp:
        """The present, by all three clocks."""


class SystemClock:
    """The machine's own clocks."""

    def now(self) -> Stamp:
        """Wall time, the local offset in force, nanoseconds since boot, and which boot."""
        utc = datetime.now(UTC)
        return Stamp(utc_text(utc), offset_text(utc.astimezone().utcoffset()), _since_boot_ns(), boot_id())


class SimulatedClock:
    """A clock that moves only when told to; for the rig, the demonstration and tests.

    Raises:
        BadClock: the start has no time zone.
    """

    def __init__(self, start: datetime, *, boot: str = "simulated") -> None:
        if start.tzinfo is None:
            raise BadClock(f"a simulated clock can't start at {start}: give a time with its zone")
        self._utc = start.astimezone(UTC)
        self._offset = start.utcoffset()
        self._mono_ns = 0
        self._boot = boot

    def now(self) -> Stamp:
        """The simulated present."""
        return Stamp(utc_text(self._utc), offset_text(self._offset), self._mono_ns, self._boot)

    def advance(self, seconds: float) -> None:
        """Let time pass.

        Raises:
            BadClock: backwards, or not a number of seconds.
        """
        if not 0 <= seconds <= 1e9:
            raise BadClock(f"a simulated clock can't advance by {seconds} s: only forwards")
        self._utc += timedelta(seconds=seconds)
        self._mono_ns += round(seconds * 1e9)


def utc_text(moment: datetime) -> str:
    """A moment in the journal's form, "2026-11-25T10:42:07.123456Z".

    Raises:
        BadClock: the moment has no time zone.
    """
    if moment.tzinfo is None:
        raise BadClock(f"{moment} has no time zone")
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ").rjust(27, "0")


def offset_text(offset: timedelta | None) -> str:
    """An offset from UTC in the journal's form, "+01:00"; seconds of historic offsets are dropped."""
    minutes = 0 if offset is None else int(offset.total_seconds() // 60)
    sign = "-" if minutes < 0 else "+"
    return f"{sign}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


@cache
def boot_id() -> str:
    """Names the period within which `mono_ns` values may be compared, 16 hexadecimal digits.

    On Linux the kernel's boot id, hashed so that the log carries no machine identifier. Elsewhere
    a fresh one for each run of the program: it compares less than it could, never more.
    """
    try:
        seed = _LINUX_BOOT_ID.read_bytes()
    except OSError:
        seed = secrets.token_bytes(32)
    return sha256(b"chargewright boot\n" + seed.strip()).hexdigest()[:16]


def _since_boot_ns() -> int:
    """Nanoseconds on a clock that nobody sets and that goes on while the machine sleeps."""
    system: str = sys.platform
    if system == "linux":
        return time.clock_gettime_ns(time.CLOCK_BOOTTIME)
    if system == "darwin":
        return time.clock_gettime_ns(time.CLOCK_MONOTONIC_RAW)  # counts sleep there (MEMORY)
    return time.monotonic_ns()  # on Windows it counts sleep (MEMORY)


@dataclass(frozen=True, slots=True)
class Places:
    """Where a person's data is kept, under one folder outside the checkout."""

    root: Path

    @property
    def journal(self) -> Path:
        """The log of real jobs."""
        return self.root / "journal.db"

    @property
    def practice(self) -> Path:
        """Folder of the practice log and its records."""
        return self.root / "practice"

    @property
    def demo(self) -> Path:
        """Folder of demonstrations."""
        return self.root / "demo"

    @property
    def records(self) -> Path:
        """Folder of finished records."""
        return self.root / "records"

    @property
    def keys(self) -> Path:
        """Folder of everybody's keys, one folder a person."""
        return self.root / "keys"


def places(option: Path | None = None, environment: Mapping[str, str] | None = None) -> Places:
    """The data folder: the option, else `CHARGEWRIGHT_DATA`, else the platform's own place."""
    if option is not None:
        return Places(option.expanduser().absolute())
    named = (os.environ if environment is None else environment).get("CHARGEWRIGHT_DATA", "").strip()
    if named:
        return Places(Path(named).expanduser().absolute())
    from platformdirs import user_data_path

    return Places(user_data_path("chargewright", appauthor=False))
