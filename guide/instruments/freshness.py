"""Whether a reading is still of now, by when it arrived and by the time its source gave. Pure."""

from __future__ import annotations

from typing import Final

LEAST_STALE_S: Final = 5.0
LONGEST_INTERVAL_S: Final = 30.0
DELIVERY_S: Final = 2.0
"""Real time a reading may take on its way from a simulated source to the board [s] (PROPOSED)."""
MOST_AHEAD_S: Final = 60.0
"""A source's clock further ahead than this is wrong, and its time says nothing (PROPOSED)."""


def stale_after_s(interval_s: float, pace: float = 1.0) -> float:
    """Age from which a reading is stale [s]: two intervals, at least 5 s (PROPOSED); intervals to 30 s.

    On a clock that runs `pace` times as fast as real time, what a reading takes on its way counts as much
    longer, and is added.
    """
    return max(2.0 * min(interval_s, LONGEST_INTERVAL_S), LEAST_STALE_S) + (pace - 1.0) * DELIVERY_S


def is_stale(
    *, arrived_age_s: float, source_age_s: float | None, interval_s: float, pace: float = 1.0
) -> bool:
    """Whether a reading is too old by either clock, or its source's clock runs ahead beyond belief."""
    limit = stale_after_s(interval_s, pace)
    if arrived_age_s < 0 or arrived_age_s > limit:
        return True
    return source_age_s is not None and not -MOST_AHEAD_S <= source_age_s <= limit
