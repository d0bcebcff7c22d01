"""How strongly this very system answers charge, learned from the moves already made on it.

A Bayesian regression of the figure that is charged to against the charge moved, one round after the
other: the slope begins as the published bands have it and may drift as the charge changes, because
answers bend; each settled round is weighed by how well its instruments repeat. (Recursive least
squares with a drifting slope, the textbook linear filter; MEMORY.)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from guide.charging.round import Appliance, Meaning, Metering, Round
from guide.charging.wording import K_PER_F

# Change of the figure for 1 % of the nameplate charge: superheat on an orifice 0.5 to 1.5 °F, subcooling on a
# valve 0.4 to 0.8 °F, both PROPOSED bands near the rating point; taken as ± 1.5 standard deviations.
_BAND_F = {True: (0.5, 1.5), False: (0.4, 0.8)}
_BAND_IN_SDS = 1.5
# The same answer relative to R-410A, of a simulated 3-ton split: CALCULATED. Others count as 1, wider.
_BY_REFRIGERANT = {
    "R-410A": {True: 1.0, False: 1.0},
    "R-32": {True: 1.27, False: 1.01},
    "R-454B": {True: 1.07, False: 0.89},
    "R-407C": {True: 0.75, False: 0.74},
}
_WIDER_WHEN_NOT_NAMED = 1.25
_LEAST_OF_WEAKEST = 0.5  # an answer weaker than half of the weakest published is not believed for a step

# Of the stated limit, as a standard deviation: most of a limit is a constant error (PROPOSED).
_REPEATS_WITHIN = 0.25
_REPEATS_AT_BEST_K = 0.25 * K_PER_F
_SURPRISE_IN_SDS = 2.0
WEATHER_K = 0.3 * K_PER_F  # what load and weather move between two rounds (PROPOSED)
_BENDS_BY = 0.04  # of the expected slope, for each 1 % of nameplate moved (PROPOSED)
HOSE_STATE_kg = 0.007  # a quarter of a hose full of liquid, as a standard deviation (PROPOSED)

# Where a figure stands at an end it can't show a move, on top of what its instruments leave open (PROPOSED):
_NO_LIQUID_K = 2.0 * K_PER_F  # subcooling: no full liquid line, so it can't show what was added
_WET_K = 2.0 * K_PER_F  # superheat: wet suction, so it can't show what was recovered
_AS_WARM_AS_AIR_K = 4.0 * K_PER_F  # suction line to return air: starved, so it can't show what was added
_AS_COLD_AS_AIR_K = 3.0 * K_PER_F  # liquid line to outdoor air: flooded, so it can't show what was recovered
_NO_LIQUID_YET_K = 1.0 * K_PER_F
# Only a lack of refrigerant starves an evaporator that answers charge, and then the liquid line is not full:
# 10 °F at the right charge, less 0.3 °F for each of 10 % of charge (PROPOSED).
_STARVED_BELOW_K = 7.0 * K_PER_F

ROUNDS_LOOKED_AT = 20


@dataclass(frozen=True, slots=True)
class Sample:
    """One settled round: the charge moved so far, how much charge is wanted, and what could not answer.

    `wanting_K` is above zero when the system wants refrigerant: superheat above its target on an
    orifice, subcooling below its target on a valve. `uncertainty_K` is the limit of its error.
    `mute_adding` and `mute_recovering`: the figure stands at an end where such a move can't show.
    `no_liquid_yet`: subcooling at zero, never taken as a sign that a system does not answer.
    """

    net_charged_kg: float
    wanting_K: float
    uncertainty_K: float = 0.0
    mute_adding: bool = False
    mute_recovering: bool = False
    no_liquid_yet: bool = False


def sample(appliance: Appliance, now: Round, meaning: Meaning, wanting_K: float) -> Sample:
    """Return what a settled round teaches."""
    orifice = appliance.metering is Metering.FIXED_ORIFICE
    superheat_K, subcooling_K = meaning.superheat_K, meaning.subcooling_K
    superheat_off_K = meaning.superheat_uncertainty_K or 0.0
    subcooling_off_K = meaning.subcooling_uncertainty_K or 0.0
    starved = _near(now.suction_line_K, now.indoor_db_K, _AS_WARM_AS_AIR_K + superheat_off_K)
    flooded = _near(now.outdoor_db_K, now.liquid_line_K, _AS_COLD_AS_AIR_K + subcooling_off_K)
    starved = starved and (subcooling_K is None or subcooling_K <= _STARVED_BELOW_K)
    no_liquid = subcooling_K is not None and subcooling_K <= _NO_LIQUID_K + subcooling_off_K
    wet = superheat_K is not None and superheat_K <= _WET_K + superheat_off_K
    # A valve that is wide open holds its superheat no longer: the liquid line then is not full either.
    wide_open = superheat_K is not None and superheat_K > appliance.superheat_range_K[1]
    return Sample(
        net_charged_kg=now.net_charged_kg,
        wanting_K=wanting_K,
        uncertainty_K=meaning.uncertainty_K or 0.0,
        mute_adding=starved if orifice else no_liquid or wide_open,
        mute_recovering=wet if orifice else flooded,
        no_liquid_yet=subcooling_K is not None and subcooling_K <= _NO_LIQUID_YET_K,
    )


def _near(colder_K: float | None, warmer_K: float | None, within_K: float) -> bool:
    return colder_K is not None and warmer_K is not None and colder_K >= warmer_K - within_K


@dataclass(frozen=True, slots=True)
class Response:
    """What is believed now: the wanting [K], the slope [K/kg, above zero], their covariance.

    `bend_K_per_kg2` is the standard deviation by which the slope may change for each kg moved next,
    `hose_sd_K` what the hose's unknown state makes of a move.
    """

    wanting_K: float
    slope_K_per_kg: float
    wanting_variance: float
    covariance: float
    slope_variance: float
    bend_K_per_kg2: float
    hose_sd_K: float

    @property
    def slope_sd_K_per_kg(self) -> float:
        """Standard deviation of the slope [K/kg]."""
        return math.sqrt(self.slope_variance)

    def after(self, moved_kg: float) -> tuple[float, float]:
        """Return mean [K] and variance [K²] of the wanting after `moved_kg` more, below zero recovered.

        The hose's unknown state counts as an error of what was moved.
        """
        mean_K = self.wanting_K - self.slope_K_per_kg * moved_kg
        slope_variance = self.slope_variance + (self.bend_K_per_kg2 * moved_kg) ** 2
        variance = (
            self.wanting_variance
            - 2.0 * moved_kg * self.covariance
            + moved_kg**2 * slope_variance
            + self.hose_sd_K**2
        )
        return mean_K, max(0.0, variance)


def expected_slope_K_per_kg(appliance: Appliance) -> tuple[float, float]:
    """Return mean and standard deviation [K/kg] of the answer before this system has shown its own.

    From the refrigerant, the metering and the nameplate charge; the sources stand beside the tables.
    """
    orifice = appliance.metering is Metering.FIXED_ORIFICE
    low_F, high_F = _BAND_F[orifice]
    relative = _BY_REFRIGERANT.get(appliance.curve.designation)
    factor = relative[orifice] if relative is not None else 1.0
    wider = 1.0 if relative is not None else _WIDER_WHEN_NOT_NAMED
    per_kg = K_PER_F * 100.0 / appliance.nameplate_charge_kg
    mean = 0.5 * (low_F + high_F) * factor * per_kg
    return mean, 0.5 * (high_F - low_F) / _BAND_IN_SDS * wider * per_kg


def estimate(appliance: Appliance, samples: Sequence[Sample]) -> Response:
    """Return what the settled rounds, the last one now, say about this system; `samples` is not empty.

    A round in which the figure could not answer says where the figure stands and nothing of the slope.
    """
    expected, spread = expected_slope_K_per_kg(appliance)
    bend = _BENDS_BY * expected * 100.0 / appliance.nameplate_charge_kg
    recent = samples[-ROUNDS_LOOKED_AT:]
    believed = Response(
        recent[0].wanting_K,
        expected,
        wanting_variance=repeat_variance(recent[0]),
        covariance=0.0,
        slope_variance=spread * spread,
        bend_K_per_kg2=bend,
        hose_sd_K=expected * HOSE_STATE_kg,
    )
    for before, after in pairwise(recent):
        believed = _learn(believed, before, after)
    least = _LEAST_OF_WEAKEST * weakest_slope_K_per_kg(appliance)
    return replace(believed, slope_K_per_kg=max(least, believed.slope_K_per_kg))


def weakest_slope_K_per_kg(appliance: Appliance) -> float:
    """Return the weakest published answer [K/kg] (PROPOSED, as the band above)."""
    low_F, _ = _BAND_F[appliance.metering is Metering.FIXED_ORIFICE]
    return low_F * K_PER_F * 100.0 / appliance.nameplate_charge_kg


def repeat_variance(sample: Sample) -> float:
    """Return the variance [K²] with which a round's figure would repeat."""
    return max(_REPEATS_AT_BEST_K, _REPEATS_WITHIN * sample.uncertainty_K) ** 2


def _learn(believed: Response, before: Sample, after: Sample) -> Response:
    moved_kg = after.net_charged_kg - before.net_charged_kg
    mean_K, variance = believed.after(moved_kg) if moved(before, after) else _stayed(believed)
    slope_variance = believed.slope_variance + (believed.bend_K_per_kg2 * moved_kg) ** 2
    covariance = believed.covariance - moved_kg * slope_variance
    variance += WEATHER_K * WEATHER_K
    noise = repeat_variance(after)
    if moved(before, after) and could_not_show(before, after):
        return replace(
            believed,
            wanting_K=after.wanting_K,
            wanting_variance=noise,
            covariance=0.0,
            slope_variance=slope_variance,
        )
    surprise_K = after.wanting_K - mean_K
    # What the published bands hardly allow is learned from at once: the slope is then known less well.
    unexplained = surprise_K * surprise_K - _SURPRISE_IN_SDS**2 * (variance + noise)
    if unexplained > 0.0 and moved(before, after):
        slope_variance += unexplained / moved_kg**2
        covariance -= unexplained / moved_kg
        variance += unexplained
    weight = variance + noise
    return replace(
        believed,
        wanting_K=mean_K + variance / weight * surprise_K,
        slope_K_per_kg=believed.slope_K_per_kg + covariance / weight * surprise_K,
        wanting_variance=variance * noise / weight,
        covariance=covariance * noise / weight,
        slope_variance=max(0.0, slope_variance - covariance * covariance / weight),
    )


def _stayed(believed: Response) -> tuple[float, float]:
    return believed.wanting_K, believed.wanting_variance


def could_not_show(before: Sample, after: Sample) -> bool:
    """Say whether the move between two rounds began where the figure could not show it."""
    if after.net_charged_kg > before.net_charged_kg:
        return before.mute_adding
    return before.mute_recovering


def moved(before: Sample, after: Sample) -> bool:
    """Say whether charge moved between two rounds."""
    return abs(after.net_charged_kg - before.net_charged_kg) > 1e-6
