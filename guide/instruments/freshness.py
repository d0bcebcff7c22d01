"""Whether a reading is still of now, by when it arrived and by the time its source gave. Pure."""

from __future__ import annotations

from typing import Final

LEAST_STALE_S: Final = 5.0
LONGEST_INTERVAL_S: Final = 30.0
MOST_AHEAD_S: Final = 60.0
"""A source's clock further ahead than this is wrong, and its time says nothing (PROPOSED)."""


def stale_after_s(interval_s: float) -> float:
    """Age from which a reading is stale [s]: two intervals, at least 5 s (PROPOSED); intervals to 30 s."""
    return max(2.0 * min(interval_s, LONGEST_INTERVAL_S), LEAST_STALE_S)


def is_stale(*, arrived_age_s: float, source_age_s: float | None, interval_s: float) -> bool:
    """Whether a reading is too old by either clock, or its source's clock runs ahead beyond belief."""
    limit = stale_after_s(interval_s)
    if arrived_age_s < 0 or arrived_age_s > limit:
        return True
    return source_age_s is not None and not -MOST_AHEAD_S <= source_age_s <= limit
