"""Whether a system answers charge at all, or stays silent: then charge is not what is wrong with it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from guide.charging.response import (
    ROUNDS_LOOKED_AT,
    Sample,
    expected_slope_K_per_kg,
    moved,
    repeat_variance,
)
from guide.charging.round import Appliance, Metering

_DEAD_WITHIN = 0.1  # of the expected slope: what counts as no answer (PROPOSED)
_ODDS_OF_DEAD = 20.0  # times likelier dead than answering, before the loop is stopped (PROPOSED)
_ODDS_OF_KNOWN = 1.0  # not likelier dead than answering: only then may a step be larger (PROPOSED)
_JUDGED_FROM = 0.04  # of nameplate moved, before silence is judged at all (PROPOSED)
_A_HAIR = 0.85  # amounts are rounded down to scale divisions: a hair under 4 % counts as 4 %
_WORSE_BY = 0.6  # of the tolerance, the wrong way, after any move (PROPOSED)


def does_not_answer(appliance: Appliance, samples: Sequence[Sample]) -> bool:
    """Say whether the moves since the last change of direction were not answered as charge answers.

    Either the last move made things worse by more than 0.6 of the tolerance, or, once 4 % of nameplate
    have moved, the slope that these rounds show is 20 times likelier to be none than to be what is
    expected. A round in which the figure could not answer (no subcooling yet, wet suction) is no sign
    of it.
    """
    run = _last_run(samples)
    if len(run) < 2:
        return False
    before, after = run[-2:]
    step = after.net_charged_kg - before.net_charged_kg
    gained_K = (before.wanting_K - after.wanting_K) * math.copysign(1.0, step)
    if gained_K < -_WORSE_BY * _tolerance_K(appliance):
        return True
    if abs(run[-1].net_charged_kg - run[0].net_charged_kg) < (
        _JUDGED_FROM * _A_HAIR * appliance.nameplate_charge_kg
    ):
        return False
    return _odds_of_no_answer(appliance, run) >= _ODDS_OF_DEAD


def answer_is_known(appliance: Appliance, samples: Sequence[Sample]) -> bool:
    """Say whether a move has been made and answered, so that the next may be larger.

    A move that began at an end where the figure could not show it needs no answer: the end itself says
    that the target is far.
    """
    if not any(moved(*pair) for pair in pairwise(samples)):
        return False
    run = _last_run(samples)
    return len(run) < 2 or _odds_of_no_answer(appliance, run) < _ODDS_OF_KNOWN


def _last_run(samples: Sequence[Sample]) -> list[Sample]:
    """The rounds since the last change of direction whose moves could show, one for every charge."""
    run: list[Sample] = []
    direction = 0.0
    pairs = [pair for pair in pairwise(samples[-ROUNDS_LOOKED_AT:]) if moved(*pair)]
    for before, after in reversed(pairs):
        step = after.net_charged_kg - before.net_charged_kg
        if (direction and step * direction < 0.0) or _silent(before, adding=step > 0.0):
            break
        direction = step
        run = [before, after, *run[1:]]
    return run


def answer_seen(appliance: Appliance, samples: Sequence[Sample]) -> tuple[float, float] | None:
    """Return the answer to the last moves as a share of what is expected, and the limit of its error [1].

    None when no move since the last change of direction could show.
    """
    run = _last_run(samples)
    if len(run) < 2:
        return None
    slope, variance = _slope(run)
    expected, _ = expected_slope_K_per_kg(appliance)
    return slope / expected, 2.0 * math.sqrt(variance) / expected


def answer_spread(appliance: Appliance) -> float:
    """Return the standard deviation of the answer among sound systems, as a share of what is expected [1]."""
    expected, sd = expected_slope_K_per_kg(appliance)
    return sd / expected


def _slope(run: Sequence[Sample]) -> tuple[float, float]:
    """The slope of a run by least squares [K/kg] and its variance from the readings' repeatability."""
    middle_kg = sum(sample.net_charged_kg for sample in run) / len(run)
    middle_K = sum(sample.wanting_K for sample in run) / len(run)
    spread = sum((sample.net_charged_kg - middle_kg) ** 2 for sample in run)
    slope = -sum((s.net_charged_kg - middle_kg) * (s.wanting_K - middle_K) for s in run) / spread
    return slope, max(repeat_variance(sample) for sample in run) / spread


def _odds_of_no_answer(appliance: Appliance, run: Sequence[Sample]) -> float:
    """Likelihood of the slope seen if there were no answer, over the one if charge answers [1]."""
    slope, variance = _slope(run)
    expected, sd = expected_slope_K_per_kg(appliance)
    if slope >= expected:
        return 0.0
    dead = _log_density(slope, 0.0, variance + (_DEAD_WITHIN * expected) ** 2)
    alive = _log_density(slope, expected, variance + sd * sd)
    return math.exp(min(50.0, dead - alive))


def _log_density(value: float, mean: float, variance: float) -> float:
    return -0.5 * ((value - mean) ** 2 / variance + math.log(variance))


def _silent(before: Sample, *, adding: bool) -> bool:
    if adding:
        return before.mute_adding or before.no_liquid_yet
    return before.mute_recovering


def _tolerance_K(appliance: Appliance) -> float:
    if appliance.metering is Metering.FIXED_ORIFICE:
        return appliance.superheat_tolerance_K
    return appliance.subcooling_tolerance_K
