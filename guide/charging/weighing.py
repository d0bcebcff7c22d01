"""How well each trouble explains what was seen: likelihoods over the size of the trouble and the charge.

Every feature is taken as normally distributed about what charge error and trouble make of it, with the
spread of sound systems, the instruments' limits (as two standard deviations) and the spread of the shifts
themselves; features are independent given both. Sizes and charge errors are summed over, so a restriction
on a system that is also short is weighed as such. One wild figure can't decide alone: how badly a single
feature may fit is capped. (PROPOSED throughout.)
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from guide.charging.evidence import SHARES, Evidence, Feature
from guide.charging.fault_signs import (
    ONLY_WHEN_SHORT,
    OPEN_VALVE,
    PER_PERCENT,
    RIGHT_PRIOR,
    SUCTION_CLAMP,
    VALVE_OPEN_AT_PERCENT,
    Shift,
    Trouble,
    troubles,
)
from guide.charging.round import Metering
from guide.charging.signature import OVERCHARGE, UNDERCHARGE
from guide.charging.wording import K_PER_F

RIGHT = Trouble("", RIGHT_PRIOR)
"""Nothing wrong: the charge within a few percent and no trouble."""

# Charge errors [%] and sizes that are summed over, with their shares.
_SHORT = tuple((-float(x), 1.0) for x in (4, 7, 10, 14, 18, 23, 28, 34))
_OVER = tuple((-x, share) for x, share in _SHORT)
_NEARLY_RIGHT = ((-2.5, 1.0), (0.0, 2.0), (2.5, 1.0))
_ANY_CHARGE = ((-14.0, 1.0), (-6.0, 2.0), (0.0, 4.0), (6.0, 2.0), (14.0, 1.0))
_SIZES = ((0.5, 1.0), (0.75, 1.5), (1.0, 1.5), (1.4, 1.0), (2.0, 0.5))
_WORST = 12.0  # of a single feature's misfit, in units of log likelihood
SILENT = frozenset({Feature.PRESSURE_RATIO})  # worked out from features that have spoken
_IN_AIR, _NOT_IN_AIR = 4.0, 0.7  # off the pipe a clamp reads the air, loose on it something between
_LIMIT_SD = 0.5  # an instrument's limit as standard deviations: two


@dataclass(frozen=True, slots=True)
class _Case:
    """One size of one trouble with one charge error: what it adds to each feature, and the variance."""

    log_share: float
    adds: dict[Feature, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Weighed:
    """A trouble with its share of what explains the evidence."""

    trouble: Trouble
    weight: float


def weigh_all(
    metering: Metering, evidence: Sequence[Evidence], *, clamp_in_air: bool | None
) -> tuple[Weighed, ...]:
    """Return every trouble with its weight, nothing wrong first; the weights make 1.

    `clamp_in_air` says whether the suction line reads like the outdoor air; None when that isn't known.
    """
    scored = []
    for trouble in (RIGHT, *troubles(metering)):
        score = math.log(trouble.prior) + _log_likelihood(metering, trouble, evidence)
        if trouble.detail == SUCTION_CLAMP and clamp_in_air is not None:
            score += math.log(_IN_AIR if clamp_in_air else _NOT_IN_AIR)
        scored.append((trouble, score))
    top = max(score for _, score in scored)
    whole = sum(math.exp(score - top) for _, score in scored)
    return tuple(Weighed(trouble, math.exp(score - top) / whole) for trouble, score in scored)


def _log_likelihood(metering: Metering, trouble: Trouble, evidence: Sequence[Evidence]) -> float:
    spoken = [one for one in evidence if one.feature not in SILENT]
    scores = [
        case.log_share + sum(_fit(one, *case.adds[one.feature]) for one in spoken)
        for case in _cases(metering is Metering.FIXED_ORIFICE, trouble.suspect, trouble.detail)
    ]
    best = max(scores)
    return best + math.log(sum(math.exp(score - best) for score in scores))


def _fit(one: Evidence, adds: float, variance: float) -> float:
    """The log likelihood of one figure; `adds` [K, or a share], `variance` its square."""
    limit = one.uncertainty * _LIMIT_SD
    whole = one.spread * one.spread + limit * limit + variance
    expected = one.usual + adds
    if expected < one.floor:
        expected = one.floor
    elif expected > one.ceiling:
        expected = one.ceiling
    off = one.value - expected
    misfit = off * off / (2.0 * whole)
    return -(misfit if misfit < _WORST else _WORST) - 0.5 * math.log(whole)


@cache
def _cases(orifice: bool, suspect: str, detail: str) -> tuple[_Case, ...]:  # noqa: FBT001 - the key of a cache
    metering = Metering.FIXED_ORIFICE if orifice else Metering.THERMOSTATIC_VALVE
    trouble = next((t for t in troubles(metering) if (t.suspect, t.detail) == (suspect, detail)), RIGHT)
    charges = {"": _NEARLY_RIGHT, UNDERCHARGE: _SHORT, OVERCHARGE: _OVER}.get(suspect, _ANY_CHARGE)
    sizes = _SIZES if trouble.shifts else ((1.0, 1.0),)
    whole = sum(share for _, share in charges) * sum(share for _, share in sizes)
    return tuple(
        _Case(
            math.log(charge_share * size_share / whole), dict(_adds(trouble, charge, size, orifice=orifice))
        )
        for charge, charge_share in charges
        for size, size_share in sizes
    )


def _adds(
    trouble: Trouble, charge_percent: float, size: float, *, orifice: bool
) -> Iterator[tuple[Feature, tuple[float, float]]]:
    still = Shift(0.0, 0.0)
    for feature in Feature:
        slope = PER_PERCENT[orifice].get(feature, still)
        moved = 0.0 if feature in ONLY_WHEN_SHORT and charge_percent > 0.0 else charge_percent
        adds, variance = slope.by * moved, (slope.sd * moved) ** 2
        short = min(0.0, charge_percent - VALVE_OPEN_AT_PERCENT)
        if not orifice and short:
            beyond = OPEN_VALVE.get(feature, still)
            adds, variance = adds + beyond.by * short, variance + (beyond.sd * short) ** 2
        shift = trouble.shifts.get(feature, still)
        unit = 1.0 if feature in SHARES else K_PER_F
        yield feature, ((adds + shift.by * size) * unit, (variance + (shift.sd * size) ** 2) * unit * unit)
