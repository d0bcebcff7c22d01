"""What the pressures of a resting system say: another gas in it, another refrigerant, a gauge that is off."""

from __future__ import annotations

import math
from collections.abc import Sequence

from guide.charging.evidence import Evidence, Feature
from guide.charging.meaning import usable
from guide.charging.round import Accuracy, Appliance, Metering, Round
from guide.charging.uncertainty import TITLE_24, limit_of
from guide.charging.wording import K_PER_F, difference, temperature
from guide.errors import ChargewrightError

_STANDING_BAND_K = 3.0 * K_PER_F  # PROPOSED: sun on a coil, a system not quite at rest
_SIDES_BAND_K = 2.0 * K_PER_F  # PROPOSED
_SIDES_EQUAL_BAND_K = 1.5 * K_PER_F  # through an open orifice nothing holds them apart (PROPOSED)


def resting_evidence(appliance: Appliance, rounds: Sequence[Round]) -> tuple[Evidence, ...]:
    """Return what the newest readings at rest show; empty when none of the rounds has any.

    Raises:
        FigureError: when an accuracy of the appliance can't be used; never for a reading.
    """
    for past in reversed(rounds):
        if past.standing_low_Pa is not None or past.standing_high_Pa is not None:
            found = (_standing(appliance, past), _sides(appliance, past))
            return tuple(one for one in found if one is not None)
    return ()


def air_limit_K(channel: str, reading_K: float, appliance: Appliance) -> float:
    """Return the limit of a thermometer [K] for any temperature of a round; the Title 24 limit if unstated.

    Raises:
        FigureError: when the accuracy stated for that channel can't be used.
    """
    stated: Accuracy = appliance.accuracies.get(channel) or TITLE_24["outdoor_db_K"]
    return limit_of("outdoor_db_K", reading_K, {"outdoor_db_K": stated})


def _standing(appliance: Appliance, resting: Round) -> Evidence | None:
    """At rest the pressure is that of saturation in the coldest coil that holds liquid.

    Right after the stop most liquid lies in the condenser: the outdoor air bounds the pressure from above,
    the colder of both airs from below (common practice and vapour pressure; PROPOSED).
    """
    high = usable(resting.standing_high_Pa)
    pressure = high if high is not None else usable(resting.standing_low_Pa)
    outdoor = usable(resting.standing_ambient_K)
    if outdoor is None:
        outdoor = usable(resting.outdoor_db_K)
    if pressure is None or outdoor is None or pressure <= 0.0:
        return None
    indoor = usable(resting.indoor_db_K)
    coldest = outdoor if indoor is None else min(outdoor, indoor)
    channel = "liquid_pressure_Pa" if high is not None else "suction_pressure_Pa"
    curve = appliance.curve
    try:
        low_K = curve.bubble_temperature_K(curve.dew_pressure_Pa(coldest))
        value_K = curve.bubble_temperature_K(pressure)
        slope = curve.bubble_slope_K_per_Pa(pressure)
    except ChargewrightError:
        return None
    off_K = math.hypot(
        slope * limit_of(channel, pressure, appliance.accuracies),
        air_limit_K("standing_ambient_K", outdoor, appliance),
    )
    return Evidence(
        Feature.STANDING,
        value_K,
        low=low_K,
        high=outdoor,
        band=_STANDING_BAND_K,
        uncertainty=off_K,
        sentence=f"At rest the pressure is that of saturation at {temperature(value_K)}, with a condenser at "
        f"{temperature(outdoor)}",
        usual=min(max(value_K, low_K), outdoor),
        spread=_STANDING_BAND_K / 2.0,
    )


def _sides(appliance: Appliance, resting: Round) -> Evidence | None:
    """Through an orifice both sides become equal at rest; a closed valve may keep each at its own coil's."""
    low, high = usable(resting.standing_low_Pa), usable(resting.standing_high_Pa)
    outdoor, indoor = usable(resting.standing_ambient_K), usable(resting.indoor_db_K)
    if low is None or high is None:
        return None
    apart_K, band_K = 0.0, _SIDES_EQUAL_BAND_K
    if appliance.metering is not Metering.FIXED_ORIFICE:
        if outdoor is None or indoor is None:
            return None
        apart_K, band_K = indoor - outdoor, _SIDES_BAND_K
    try:
        slope = appliance.curve.bubble_slope_K_per_Pa(high)
        glide_K = abs(appliance.curve.glide_K(high))
    except ChargewrightError:
        return None
    value_K = slope * (low - high)
    least_K, most_K = min(0.0, apart_K) - glide_K, max(0.0, apart_K)
    side = "above" if value_K >= 0.0 else "below"
    return Evidence(
        Feature.SIDES_AT_REST,
        value_K,
        low=least_K,  # a blend may rest nearer its dew point on the low side
        high=most_K,
        band=band_K,
        uncertainty=slope
        * math.hypot(
            limit_of("suction_pressure_Pa", low, appliance.accuracies),
            limit_of("liquid_pressure_Pa", high, appliance.accuracies),
        ),
        sentence=f"At rest the low-side gauge reads {difference(abs(value_K))} of saturation {side} the "
        "high-side gauge",
        usual=min(max(value_K, least_K), most_K),
        spread=band_K / 2.0,
    )
