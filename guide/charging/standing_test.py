"""A circuit that stands under vacuum: dry and tight, wet, leaking, or not yet known.

Makers (FOUND, charging reference, section 4.2): a leak keeps climbing, moisture climbs and levels off, a dry
and tight circuit stays. Here the three are told apart by the fit of `guide.charging.standing_fit`. The bounds
are PROPOSED: a leak counts once it alone uses a quarter of the rise that is allowed, and nothing that levels
off explains the climb; moisture once the curve has bent for a time constant and its level lies above what is
allowed; dry and tight once neither can break the bound by the end. It never passes: that is the walk's, at
the end of the time. Refrigerant that comes out of the oil levels off like moisture (MEMORY).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from guide.charging.refusal import FigureError, finite, positive
from guide.charging.standing_fit import Fit, fit, thinned
from guide.charging.water_vapor import MICRON_Pa, TRIPLE_Pa, vapor_pressure_Pa

LEAK_SHARE: Final = 0.25
TIGHT_SHARE: Final = 0.5
LEAST_WATCH_S: Final = 180.0
"""Less than this tells nothing: the pressure still evens out through the circuit."""
LEAST_RISE_Pa: Final = 20.0 * MICRON_Pa
USUAL_RISE_Pa: Final = 200.0 * MICRON_Pa
"""From 500 to 700 micron in 15 min (FOUND, a maker's manual, charging reference section 4.2)."""
WATER_SHARE: Final = 0.7
"""A level this near to the vapour pressure of water is liquid water (PROPOSED)."""


class Finding(StrEnum):
    """What a standing test shows."""

    TIGHT = "dry and tight"
    WET = "wet"
    LEAKING = "leaking"
    UNKNOWN = "not yet known"


class Doubt(StrEnum):
    """Why nothing is known yet."""

    NONE = ""
    FEW = "too few values"
    SHORT = "watched for too short a time"
    FALLING = "the pressure falls"
    ALIKE = "a leak and moisture explain it alike"


class Water(StrEnum):
    """Where a level that the pressure stays at comes from."""

    LIQUID = "liquid water"
    ICE = "ice"
    DAMP = "moisture in oil and on walls, or refrigerant out of the oil"


@dataclass(frozen=True, slots=True)
class Ask:
    """What is asked of the hold: its least time [s], the most it may stand at and rise by [Pa].

    A limit that the procedure does not set is None. `coldest_K` is the temperature of the coldest part.
    """

    hold_s: float
    most_Pa: float | None = None
    rise_most_Pa: float | None = None
    coldest_K: float | None = None

    def allowed_Pa(self, start_Pa: float) -> float:
        """How far it may rise from its start [Pa], by the stricter of the limits."""
        most = [] if self.most_Pa is None else [self.most_Pa - start_Pa]
        rise = [] if self.rise_most_Pa is None else [self.rise_most_Pa]
        return max(LEAST_RISE_Pa, min([*most, *rise], default=USUAL_RISE_Pa))


@dataclass(frozen=True, slots=True)
class Standing:
    """What is known of a circuit under vacuum after `elapsed_s`.

    `over` says that the newest pressure lies above what is allowed: the hold may end as not held. `water` is
    told where it is wet, also beside a leak. Nothing here says that a hold has passed.
    """

    finding: Finding
    asked: Ask
    elapsed_s: float
    over: bool = False
    doubt: Doubt = Doubt.NONE
    fit: Fit | None = None
    water: Water | None = None
    start_Pa: float = 0.0
    newest_Pa: float = 0.0
    bound_Pa: float = 0.0

    @property
    def left_s(self) -> float:
        """What is left of the least time of the hold [s]."""
        return max(0.0, self.asked.hold_s - self.elapsed_s)

    @property
    def longer_s(self) -> float:
        """By how much the hold should run on to become known [s]: half its time again, once it is over.

        Nothing where the finding is clear, or its time still runs.
        """
        return 0.5 * self.asked.hold_s if self.finding is Finding.UNKNOWN and not self.left_s else 0.0

    @property
    def leak_open(self) -> bool:
        """Whether a circuit found wet may leak as well: the values do not rule it out."""
        if self.fit is None or self.finding is not Finding.WET:
            return False
        material = (self.bound_Pa - self.start_Pa) / self.asked.hold_s
        return self.fit.leak_Pa_per_s.high > TIGHT_SHARE * material

    def leak_Pa_m3_per_s(self, volume_m3: float = 1e-3) -> float:
        """The leak as fitted [Pa m3/s]: per litre of the circuit unless its volume is given.

        Raises:
            FigureError: the volume is not above zero, or nothing was fitted.
        """
        if self.fit is None:
            raise FigureError("No leak is known yet: let the circuit stand and watch its pressure")
        return self.fit.leak_Pa_per_s.best * positive("The volume of the circuit", volume_m3)

    @property
    def over_in_s(self) -> float | None:
        """When a circuit that leaks passes what is allowed [s from now]; None where it does not, or has."""
        if self.fit is None or self.finding is not Finding.LEAKING or self.over:
            return None
        rate = self.fit.rate_now_Pa_per_s
        return max(0.0, self.bound_Pa - self.fit.now_Pa) / rate if rate > 0.0 else None


def judge(samples: Iterable[tuple[float, float]], asked: Ask) -> Standing:
    """What pairs of time [s] and pressure [Pa absolute] say of a circuit whose pump is shut off.

    The first value is the start of the hold; what is no number is left out.

    Raises:
        FigureError: the time of the hold is not above zero, or a limit is no number.
    """
    positive("The time of the hold", asked.hold_s)
    for limit in (asked.most_Pa, asked.rise_most_Pa):
        if limit is not None:
            finite("A limit of the hold", limit)
    points = thinned(samples)
    if not points:
        return Standing(Finding.UNKNOWN, asked, 0.0, doubt=Doubt.FEW)
    (_, start), (elapsed, newest) = points[0], points[-1]
    allowed = asked.allowed_Pa(start)
    bound = start + allowed
    known = Standing(
        Finding.UNKNOWN,
        asked,
        elapsed,
        over=newest > bound,
        doubt=Doubt.FEW,
        start_Pa=start,
        newest_Pa=newest,
        bound_Pa=bound,
    )
    found = fit(points)
    if found is None:
        return known
    known = replace(known, fit=found)
    if _falls(points, found.noise_Pa):
        return replace(known, doubt=Doubt.FALLING)
    if elapsed < min(LEAST_WATCH_S, asked.hold_s):
        return replace(known, doubt=Doubt.SHORT)
    finding = _finding(found, asked, allowed, bound, over=known.over)
    if finding is Finding.UNKNOWN:
        return replace(known, doubt=Doubt.ALIKE)
    levels_high = found.bends and found.level_Pa.low > bound
    wet = finding is Finding.WET or (finding is Finding.LEAKING and levels_high)
    water = _water(found.level_Pa.best, asked.coldest_K) if wet else None
    return replace(known, finding=finding, doubt=Doubt.NONE, water=water)


def _finding(found: Fit, asked: Ask, allowed_Pa: float, bound: float, *, over: bool) -> Finding:
    material = allowed_Pa / asked.hold_s
    if found.climbs and found.leak_Pa_per_s.low >= LEAK_SHARE * material:
        return Finding.LEAKING
    if found.bends and found.level_Pa.low > bound and found.span_s >= found.tau_s:
        return Finding.WET
    end = found.at(max(asked.hold_s, found.span_s))
    if not over and end.high <= bound and found.leak_Pa_per_s.high <= TIGHT_SHARE * material:
        return Finding.TIGHT
    return Finding.UNKNOWN


def _falls(points: Sequence[tuple[float, float]], noise_Pa: float) -> bool:
    """Whether the last quarter of the values lies below the first one, beyond the noise of the means."""
    few = max(1, len(points) // 4)
    first, last = (sum(p for _, p in part) / few for part in (points[:few], points[-few:]))
    return last < first - 4.0 * noise_Pa / math.sqrt(few)


def _water(level_Pa: float, coldest_K: float | None) -> Water:
    """Where a level comes from, by the pressure of water at the coldest part where that is known."""
    if level_Pa >= WATER_SHARE * (TRIPLE_Pa if coldest_K is None else vapor_pressure_Pa(coldest_K)):
        freezing = level_Pa < 1.1 * TRIPLE_Pa
        return Water.ICE if freezing else Water.LIQUID
    return Water.DAMP
