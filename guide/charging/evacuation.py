"""A circuit while the pump draws on it: falling, there, or held up by water, ice or something else.

Water holds its own vapour pressure for as long as there is any: a gauge that stands still at the pressure of
water at the coldest part shows liquid water there (`guide.charging.water_vapor`). Below the triple point,
4588 micron, water that is left freezes and goes off slowly as ice; a wet circuit that is pulled too fast
makes the ice itself (charging reference, section 4.3, CALCULATED). The other bounds are PROPOSED.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from guide.charging.refusal import FigureError, positive
from guide.charging.standing_fit import thinned
from guide.charging.water_vapor import (
    COLDEST_K,
    HOTTEST_K,
    MICRON_Pa,
    TRIPLE_Pa,
    dry_above_K,
    vapor_pressure_Pa,
)

WINDOW_S: Final = 240.0
"""Over how long a fall is judged: a pump works for minutes."""
LEAST_WATCH_S: Final = 90.0
STALL_PER_MIN: Final = 0.02
"""A gauge that falls by less than this share of its reading a minute stands still."""
COLDER_K: Final = 12.0
"""Water cools as it boils off: its level lies at up to this much below the coldest part."""
WARMER_K: Final = 4.0
"""How far the coldest part may be warmer than thought."""
ICE_FROM_Pa: Final = 0.2 * TRIPLE_Pa
"""The pressure of ice at about 0 °F; colder ice gives off too little to hold a pump up."""
FIRST_STAGE_Pa: Final = (1500.0 * MICRON_Pa, 2500.0 * MICRON_Pa)
"""To where the first two of three evacuations go (FOUND in makers' manuals, section 4.2)."""


class PullDown(StrEnum):
    """What a pump comes to."""

    UNKNOWN = "not yet known"
    FALLING = "still falling"
    REACHED = "low enough"
    WATER = "held up by liquid water"
    ICE = "held up by ice or wet oil"
    STALLED = "held up, not by water"


@dataclass(frozen=True, slots=True)
class Pumping:
    """How a circuit stands while the pump draws.

    `falls_per_min` is the share of its reading by which the gauge falls in a minute (below zero: it rises).
    `dry_above_K` is the temperature above which no water lasts at this pressure; None where no water between
    150 and 620 K has it. `left_s` is when the target is reached at this rate, where that can be told.
    """

    finding: PullDown
    pressure_Pa: float
    target_Pa: float
    falls_per_min: float = 0.0
    dry_above_K: float | None = None
    left_s: float | None = None
    freezing: bool = False
    """Water that is still inside freezes at this pressure."""


def judge(samples: Iterable[tuple[float, float]], target_Pa: float, *, coldest_K: float) -> Pumping:
    """What pairs of time [s] and pressure [Pa absolute] say of a circuit that a pump draws on.

    `coldest_K` is the temperature of the circuit's coldest part, else of the air around it.

    Raises:
        FigureError: the target is not above zero, or the temperature is none that water has.
    """
    positive("The vacuum to reach", target_Pa)
    water_Pa = vapor_pressure_Pa(coldest_K)
    points = thinned(samples)
    if not points:
        return Pumping(PullDown.UNKNOWN, target_Pa, target_Pa)
    end, now_Pa = points[-1]
    now = max(now_Pa, 1e-3)
    last = [(t, math.log(max(p, 1e-3))) for t, p in points if t >= end - WINDOW_S]
    falls = -60.0 * _slope(last)
    known = Pumping(
        PullDown.UNKNOWN,
        now_Pa,
        target_Pa,
        falls_per_min=falls,
        dry_above_K=_dry_above(now),
        freezing=now < TRIPLE_Pa,
    )
    if now_Pa <= target_Pa:
        return replace(known, finding=PullDown.REACHED)
    if len(last) < 4 or last[-1][0] - last[0][0] < LEAST_WATCH_S:
        return known
    if falls >= STALL_PER_MIN:
        left_s = 60.0 * math.log(now / target_Pa) / falls
        return replace(known, finding=PullDown.FALLING, left_s=left_s)
    return replace(known, finding=_held_up_by(now, water_Pa, coldest_K))


def sweep_share(low_Pa: float, broken_to_Pa: float, times: int) -> float:
    """Which share of the gas that was in a circuit at first is left after so many sweeps with nitrogen.

    Each evacuation leaves `low_Pa` of what stood at `broken_to_Pa` (both absolute): the share is their ratio
    to the power of `times` (mixing in a vessel, CALCULATED). It holds for gas and vapour; liquid water and
    what oil holds give off more than a sweep takes, so a sweep is no cure for liquid water.

    Raises:
        FigureError: a pressure is not above zero, the nitrogen is no higher than the vacuum, or no sweep.
    """
    positive("The vacuum of a sweep", low_Pa)
    if positive("The pressure of the nitrogen", broken_to_Pa) <= low_Pa:
        raise FigureError("Nitrogen that breaks a vacuum stands above it: check both pressures")
    if times < 1:
        raise FigureError("There is at least one sweep: give how often the vacuum was broken")
    return (low_Pa / broken_to_Pa) ** times


def _held_up_by(now_Pa: float, water_Pa: float, coldest_K: float) -> PullDown:
    low = vapor_pressure_Pa(max(COLDEST_K, coldest_K - COLDER_K))
    high = vapor_pressure_Pa(min(HOTTEST_K, coldest_K + WARMER_K))
    if ICE_FROM_Pa <= now_Pa <= 1.1 * TRIPLE_Pa and now_Pa <= 1.1 * water_Pa:
        return PullDown.ICE
    if low <= now_Pa <= high and now_Pa >= TRIPLE_Pa:
        return PullDown.WATER
    return PullDown.STALLED


def _dry_above(pressure_Pa: float) -> float | None:
    try:
        return dry_above_K(pressure_Pa)
    except FigureError:
        return None


def _slope(points: list[tuple[float, float]]) -> float:
    count = len(points)
    mt, mp = sum(t for t, _ in points) / count, sum(p for _, p in points) / count
    square = sum((t - mt) ** 2 for t, _ in points)
    return sum((t - mt) * (p - mp) for t, p in points) / square if square > 0.0 else 0.0
