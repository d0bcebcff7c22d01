"""How much charge to move next: learned from earlier moves, bounded, in whole scale divisions.

No published increment was found. The bounds are this program's own (PROPOSED): at most 5 % of the
nameplate charge at once; 2 % near the target or before the system has shown how it answers; never
below three scale divisions, because less can't be weighed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from guide.charging.round import Appliance, Meaning, Metering
from guide.charging.wording import K_PER_F

MOST_AT_ONCE = Decimal("0.05")
MOST_WHEN_CAREFUL = Decimal("0.02")
NEAR_TARGET = 1.5  # times the tolerance
LEAST_DIVISIONS = 3
MOST_IN_ALL = 0.35  # of nameplate, either way: beyond it the charge is weighed in afresh (PROPOSED)
_OF_THE_WAY = 0.8  # aim short: answers bend as the charge nears the mark (PROPOSED)
# A 60 in hose of 3/16 in bore full of liquid R-410A holds 1.0 oz (CALCULATED): finer than that is luck.
HOSE_ERROR_kg = 0.028

# Answers per 1 % of nameplate charge, superheat and subcooling: weakest PROPOSED from published work,
# steepest from the simulated plant, CALCULATED (R-32 on an orifice 1.89 °F; subcooling on a valve 0.8 °F).
_WEAKEST_F = {True: 0.5, False: 0.4}
_STEEPEST_F = {True: 2.0, False: 0.8}

# When an answer counts as none, judged over moves of 4 % or more (PROPOSED).
_JUDGED_FROM = 0.04
_NO_ANSWER_F = 0.1
_WORSE_BY = 0.6  # of the tolerance, the wrong way, after any move
_PINNED_SUBCOOLING_K = 1.0 * K_PER_F  # no full liquid line yet: it can't show what was added
_PINNED_SUPERHEAT_K = 2.0 * K_PER_F  # wet suction: it can't show yet what was recovered
_ROUNDS_LOOKED_AT = 20


@dataclass(frozen=True, slots=True)
class Sample:
    """One settled round: the charge moved so far, how much charge is wanted, and what could not answer.

    `wanting_K` is above zero when the system wants refrigerant: superheat above its target on an
    orifice, subcooling below its target on a valve.
    """

    net_charged_kg: float
    wanting_K: float
    subcooling_K: float | None
    superheat_K: float | None


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


def least_kg(appliance: Appliance) -> Decimal:
    """Return the smallest amount this scale can weigh with sense."""
    return LEAST_DIVISIONS * Decimal(str(appliance.scale_division_kg))


def next_amount_kg(appliance: Appliance, samples: Sequence[Sample]) -> Decimal:
    """Return the amount to move next, above zero, or zero when no weighable amount stays inside the bounds.

    `samples` are the settled rounds, the last one now. Rounded down to the scale division.
    """
    wanted_K = abs(samples[-1].wanting_K)
    nameplate = Decimal(str(appliance.nameplate_charge_kg))
    division = Decimal(str(appliance.scale_division_kg))
    near = wanted_K <= NEAR_TARGET * tolerance_K(appliance)
    known = _moves(samples) >= 1
    cap = nameplate * (MOST_AT_ONCE if known and not near else MOST_WHEN_CAREFUL)
    wish = Decimal(_OF_THE_WAY * wanted_K / response_K_per_kg(appliance, samples))
    amount = (min(cap, wish) // division) * division
    least = least_kg(appliance)
    if amount >= least:
        return amount
    lands_inside = float(least) * response_K_per_kg(appliance, samples) <= wanted_K + tolerance_K(appliance)
    if least <= cap and wanted_K > tolerance_K(appliance) and lands_inside:
        return least
    return Decimal(0)


def would_help(amount_kg: Decimal) -> bool:
    """Say whether a move inside the tolerance is coarser than what the hose may hold back."""
    return float(amount_kg) >= HOSE_ERROR_kg


def response_K_per_kg(appliance: Appliance, samples: Sequence[Sample]) -> float:
    """Return how strongly the figure answers charge [K/kg], above zero.

    The steeper of the last move's answer and the answer since at least 2 % of nameplate ago, so that
    an answer that gets steeper is followed at once; never weaker than the weakest plausible. Before
    the first move the steepest plausible: the first step must not overshoot. A move that began where
    the figure could not answer teaches nothing and counts as none here.
    """
    one_percent_kg = appliance.nameplate_charge_kg / 100.0
    orifice = appliance.metering is Metering.FIXED_ORIFICE
    steepest = _STEEPEST_F[orifice] * K_PER_F / one_percent_kg
    now = samples[-1]
    earlier = [
        sample
        for sample in samples[:-1]
        if _moved(sample, now) and not _pinned(sample, adding=now.net_charged_kg > sample.net_charged_kg)
    ]
    seen = []
    if earlier:
        seen.append(_secant(earlier[-1], now))
        far = [s for s in earlier if abs(now.net_charged_kg - s.net_charged_kg) >= 2.0 * one_percent_kg]
        if far:
            seen.append(_secant(far[-1], now))
    if not seen or _pinned(now, adding=now.wanting_K > 0.0):
        return max([steepest, *seen])
    return max([_WEAKEST_F[orifice] * K_PER_F / one_percent_kg, *seen])


def does_not_answer(appliance: Appliance, samples: Sequence[Sample]) -> bool:
    """Say whether the moves since the last change of direction were not answered as charge answers.

    A round in which the figure could not answer (no subcooling yet, wet suction) is no sign of it.
    """
    moved_kg, gained_K = 0.0, 0.0
    direction = 0.0
    recent = samples[-_ROUNDS_LOOKED_AT:]
    for before, after in reversed(tuple(pairwise(recent))):
        step = after.net_charged_kg - before.net_charged_kg
        if not _moved(before, after):
            continue
        if direction and step * direction < 0.0:
            break
        direction = step
        if _pinned(before, adding=step > 0.0):
            break
        gained = (before.wanting_K - after.wanting_K) * (1.0 if step > 0.0 else -1.0)
        if moved_kg == 0.0 and gained < -_WORSE_BY * tolerance_K(appliance):
            return True
        moved_kg += abs(step)
        gained_K += gained
    moved = moved_kg / appliance.nameplate_charge_kg
    # A hair under 4 % counts as 4 %: amounts are rounded down to scale divisions.
    if moved < _JUDGED_FROM * 0.85:
        return False
    return gained_K / (moved * 100.0) < _NO_ANSWER_F * K_PER_F


def reversals(samples: Sequence[Sample]) -> int:
    """Return how often the direction of the moves has changed."""
    signs = _signs(samples)
    return sum(1 for before, after in pairwise(signs) if before != after)


def last_direction(samples: Sequence[Sample]) -> int:
    """Return +1 when the last move added, -1 when it recovered, 0 when nothing has moved."""
    signs = _signs(samples)
    return signs[-1] if signs else 0


def _signs(samples: Sequence[Sample]) -> list[int]:
    return [1 if b.net_charged_kg > a.net_charged_kg else -1 for a, b in pairwise(samples) if _moved(a, b)]


def _moves(samples: Sequence[Sample]) -> int:
    return len(_signs(samples))


def _moved(before: Sample, after: Sample) -> bool:
    return abs(after.net_charged_kg - before.net_charged_kg) > 1e-6


def _secant(before: Sample, after: Sample) -> float:
    return -(after.wanting_K - before.wanting_K) / (after.net_charged_kg - before.net_charged_kg)


def _pinned(sample: Sample, *, adding: bool) -> bool:
    if adding:
        return sample.subcooling_K is not None and sample.subcooling_K <= _PINNED_SUBCOOLING_K
    return sample.superheat_K is not None and sample.superheat_K <= _PINNED_SUPERHEAT_K
