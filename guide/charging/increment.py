"""How much charge to move next: learned from earlier moves, bounded, in whole scale divisions.

No published increment was found. The bounds are this program's own (PROPOSED): the chance that the
figure ends beyond the far side of its tolerance stays under 2.5 %, that superheat ends at zero under
0.1 %; at most 5 % of the nameplate charge at once; 2 % near the target or before the system has shown
how it answers; never below three scale divisions, because less can't be weighed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from guide.charging.response import Response, Sample, estimate, moved
from guide.charging.round import Appliance, Meaning, Metering
from guide.charging.silence import answer_is_known

MOST_AT_ONCE = Decimal("0.05")
MOST_WHEN_CAREFUL = Decimal("0.02")
NEAR_TARGET = 1.5  # times the tolerance
LEAST_DIVISIONS = 3
# Of nameplate, either way: beyond it the charge is weighed in afresh (PROPOSED; a third is met in surveys).
MOST_IN_ALL = 0.40
# A 60 in hose of 3/16 in bore full of liquid R-410A holds 1.0 oz (CALCULATED): finer than that is luck.
HOSE_ERROR_kg = 0.028
HOSE_FULL_kg = 0.051  # the same hose with a 1/4 in bore, 1.8 oz (CALCULATED)

OVERSHOOT_CHANCE = 0.025
_OVERSHOOT_SDS = 1.960  # one-sided 2.5 % of the normal distribution
_FLOODING_SDS = 3.090  # one-sided 0.1 %
LIMIT_IN_SDS = 2.0  # an instrument's limit as standard deviations: coverage factor 2 of the GUM (MEMORY)
_OF_THE_WAY = 0.9  # aim short: answers bend as the charge nears the mark (PROPOSED)
_WORTH = 0.01  # gain in the chance of being inside that makes one more move worth its while (PROPOSED)
_SEARCH_STEPS = 40


@dataclass(frozen=True, slots=True)
class Aim:
    """What bounds a move besides scale and nameplate, all [K].

    `constant_sd_K`: the part of the figure's error that does not show from round to round.
    `superheat_K` and `superheat_sd_K` are None where an addition does not lower superheat.
    """

    tolerance_K: float
    constant_sd_K: float
    superheat_K: float | None = None
    superheat_sd_K: float = 0.0


def wanting_K(appliance: Appliance, meaning: Meaning) -> float | None:
    """Return how far the figure stands on the side that wants refrigerant [K]; None when not known."""
    if appliance.metering is Metering.FIXED_ORIFICE:
        if meaning.superheat_K is None or meaning.target_superheat_K is None:
            return None
        return meaning.superheat_K - meaning.target_superheat_K
    if meaning.subcooling_K is None or appliance.target_subcooling_K is None:
        return None
    return appliance.target_subcooling_K - meaning.subcooling_K


def tolerance_K(appliance: Appliance) -> float:
    """Return the tolerance of the figure that is charged to [K]."""
    if appliance.metering is Metering.FIXED_ORIFICE:
        return appliance.superheat_tolerance_K
    return appliance.subcooling_tolerance_K


def aim(appliance: Appliance, meaning: Meaning) -> Aim:
    """Return what bounds the next move, from the round that was read last.

    An error so large that it alone would keep the aim away from the target counts only up to there.
    """
    tolerance = tolerance_K(appliance)
    constant = (meaning.uncertainty_K or 0.0) / LIMIT_IN_SDS
    floored = appliance.metering is Metering.FIXED_ORIFICE
    return Aim(
        tolerance_K=tolerance,
        constant_sd_K=min(constant, tolerance / _OVERSHOOT_SDS),
        superheat_K=meaning.superheat_K if floored else None,
        superheat_sd_K=(meaning.superheat_uncertainty_K or 0.0) / LIMIT_IN_SDS,
    )


def least_kg(appliance: Appliance) -> Decimal:
    """Return the smallest amount this scale can weigh with sense."""
    return LEAST_DIVISIONS * Decimal(str(appliance.scale_division_kg))


def next_amount_kg(appliance: Appliance, samples: Sequence[Sample], bounds: Aim) -> Decimal:
    """Return the amount to move next, above zero, or zero when no weighable amount stays inside the bounds.

    `samples` are the settled rounds, the last one now. Rounded down to the scale division.
    """
    response = estimate(appliance, samples)
    read_K = samples[-1].wanting_K
    nameplate = Decimal(str(appliance.nameplate_charge_kg))
    division = Decimal(str(appliance.scale_division_kg))
    near = abs(read_K) <= NEAR_TARGET * bounds.tolerance_K
    known = answer_is_known(appliance, samples)
    cap = nameplate * (MOST_AT_ONCE if known and not near else MOST_WHEN_CAREFUL)
    # What is believed and what was read agree on the side, or the reading alone decides.
    believed_K = response.wanting_K if response.wanting_K * read_K > 0.0 else read_K
    wish_kg = _OF_THE_WAY * abs(believed_K) / response.slope_K_per_kg
    largest_kg = min(float(cap), wish_kg)
    sign = 1.0 if read_K > 0.0 else -1.0
    if not _stays_short(response, bounds, sign * largest_kg):
        largest_kg = _largest_that_stays_short(response, bounds, sign, largest_kg)
    amount = (min(cap, Decimal(largest_kg)) // division) * division
    least = least_kg(appliance)
    if amount >= least:
        return amount
    if (
        least <= cap
        and abs(read_K) > bounds.tolerance_K
        and _stays_short(response, bounds, sign * float(least))
    ):
        return least
    return Decimal(0)


def overshoot_chance(response: Response, bounds: Aim, moved_kg: float) -> float:
    """Return the chance [1] that the figure ends beyond the far side of its tolerance after a move."""
    beyond_K, sd_K = _beyond(response, bounds, moved_kg)
    return _normal(beyond_K / sd_K) if sd_K > 0.0 else float(beyond_K > 0.0)


def would_help(response: Response, bounds: Aim, amount_kg: float, *, adding: bool) -> bool:
    """Say whether a move inside the tolerance is worth it.

    It is when it is coarser than what the hose may hold back, and when it raises the chance that the
    figure truly lies inside by at least one in a hundred.
    """
    if amount_kg < HOSE_ERROR_kg:
        return False
    now_sd_K = math.sqrt(response.wanting_variance + bounds.constant_sd_K**2)
    mean_K, variance = response.after(amount_kg if adding else -amount_kg)
    then_sd_K = math.sqrt(variance + bounds.constant_sd_K**2)
    gain = _inside(mean_K, then_sd_K, bounds.tolerance_K) - _inside(
        response.wanting_K, now_sd_K, bounds.tolerance_K
    )
    return gain >= _WORTH


def reversals(samples: Sequence[Sample]) -> int:
    """Return how often the direction of the moves has changed."""
    signs = _signs(samples)
    return sum(1 for before, after in pairwise(signs) if before != after)


def last_direction(samples: Sequence[Sample]) -> int:
    """Return +1 when the last move added, -1 when it recovered, 0 when nothing has moved."""
    signs = _signs(samples)
    return signs[-1] if signs else 0


def _signs(samples: Sequence[Sample]) -> list[int]:
    return [1 if b.net_charged_kg > a.net_charged_kg else -1 for a, b in pairwise(samples) if moved(a, b)]


def _largest_that_stays_short(response: Response, bounds: Aim, sign: float, too_much_kg: float) -> float:
    low, high = 0.0, too_much_kg
    for _ in range(_SEARCH_STEPS):
        middle = 0.5 * (low + high)
        if _stays_short(response, bounds, sign * middle):
            low = middle
        else:
            high = middle
    return low


def _stays_short(response: Response, bounds: Aim, moved_kg: float) -> bool:
    beyond_K, sd_K = _beyond(response, bounds, moved_kg)
    if beyond_K > -_OVERSHOOT_SDS * sd_K:
        return False
    if moved_kg < 0.0 or bounds.superheat_K is None:
        return True
    mean_K, variance = response.after(moved_kg)
    superheat_K = bounds.superheat_K + mean_K - response.wanting_K
    return superheat_K >= _FLOODING_SDS * math.sqrt(variance + bounds.superheat_sd_K**2)


def _beyond(response: Response, bounds: Aim, moved_kg: float) -> tuple[float, float]:
    """How far the mean lies beyond the far side [K, below zero: short of it], and its deviation [K]."""
    mean_K, variance = response.after(moved_kg)
    beyond_K = (-mean_K if moved_kg >= 0.0 else mean_K) - bounds.tolerance_K
    return beyond_K, math.sqrt(variance + bounds.constant_sd_K**2)


def _inside(mean_K: float, sd_K: float, tolerance_K: float) -> float:
    if sd_K <= 0.0:
        return float(abs(mean_K) <= tolerance_K)
    return _normal((tolerance_K - mean_K) / sd_K) - _normal((-tolerance_K - mean_K) / sd_K)


def _normal(value: float) -> float:
    return 0.5 * math.erfc(-value / math.sqrt(2.0))
