"""Time between two stamps, and whether a running clock vouches for it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from guide.journal.event import Stamp

JUMP_S = 2.0
"""A wall clock that moved this much against the running clock has been set (PROPOSED)."""


@dataclass(frozen=True, slots=True)
class Elapsed:
    """Seconds between two stamps; `vouched` when both come from one boot's running clock."""

    seconds: float
    vouched: bool


def wall_seconds(earlier: Stamp, later: Stamp) -> float:
    """Difference of the two wall clocks [s]; negative when the clock was set back."""
    return (datetime.fromisoformat(later.utc) - datetime.fromisoformat(earlier.utc)).total_seconds()


def elapsed(earlier: Stamp, later: Stamp) -> Elapsed:
    """Time from one stamp to another, never negative.

    Within one boot the running clock counts (it goes on through suspend); across boots only the
    wall clock is left, and the result is not vouched for.
    """
    if earlier.boot == later.boot:
        return Elapsed(max(0.0, (later.mono_ns - earlier.mono_ns) / 1e9), vouched=True)
    return Elapsed(max(0.0, wall_seconds(earlier, later)), vouched=False)


def clock_jump_s(earlier: Stamp, later: Stamp) -> float | None:
    """By how much the wall clock was set between two stamps [s], or None if it ran on.

    Across a reboot only a clock that went backwards can be told from time that passed.
    """
    wall = wall_seconds(earlier, later)
    if earlier.boot == later.boot:
        jump = wall - (later.mono_ns - earlier.mono_ns) / 1e9
        return jump if abs(jump) > JUMP_S else None
    return wall if wall < -JUMP_S else None


def in_words(seconds: float) -> str:
    """A length of time, as 42 s, 12 min 05 s, 3 h 20 min or 2 days 4 h."""
    whole = int(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min" + (f" {whole % 60:02d} s" if whole % 60 else "")
    if whole < 86_400:
        return f"{whole // 3600} h" + (f" {whole % 3600 // 60:02d} min" if whole % 3600 >= 60 else "")
    return f"{whole // 86_400} days {whole % 86_400 // 3600} h"
