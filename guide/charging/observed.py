"""What the readings of a running system are held against, to see whether charge is the trouble.

How far a figure lies off is counted in hypot(band, uncertainty), so that nothing counts as a sign that the
instruments can't show. Bands and usual values in °F stand beside their marks.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from guide.charging.at_rest import air_limit_K, resting_evidence
from guide.charging.compression import discharge_K
from guide.charging.evidence import Evidence, Feature
from guide.charging.meaning import usable
from guide.charging.round import Appliance, Meaning, Metering, Round
from guide.charging.signature import SPLIT_TOLERANCE_K, target_split_K
from guide.charging.uncertainty import limit_of
from guide.charging.wording import K_PER_F, difference, temperature
from guide.errors import ChargewrightError

BELOW_RETURN_K = 35.0 * K_PER_F  # FOUND, ACHR News 142656: 35 ± 5 °F at 400 cfm/ton and 80 °F
_BELOW_RETURN_BAND_K = 5.0 * K_PER_F  # FOUND, as above
# The return air heats the suction gas, so it is warmer than that by something (PROPOSED).
_ABOVE_SUPERHEAT_K = 6.0 * K_PER_F
ABOVE_OUTDOOR_K = 20.0 * K_PER_F  # PROPOSED, between 30 °F of old units (FOUND) and 15 °F of new ones
_ABOVE_OUTDOOR_BAND_K = 8.0 * K_PER_F  # PROPOSED
ORIFICE_SUBCOOLING_K = 10.0 * K_PER_F  # PROPOSED, from the plant prototype of the reference
_ORIFICE_SUBCOOLING_BAND_K = 4.0 * K_PER_F  # PROPOSED; the maker's tolerance where there is a target
_VALVE_SUPERHEAT_K = 12.0 * K_PER_F  # from the prototype; PROPOSED
_VALVE_SUPERHEAT_SPREAD_K = 3.0 * K_PER_F  # PROPOSED
_DISCHARGE_BAND_K = 15.0 * K_PER_F  # PROPOSED
CONDENSER_RISE_K = 18.0 * K_PER_F  # PROPOSED, from the prototype's 2700 cfm for 3 tons
_CONDENSER_RISE_BAND_K = 6.0 * K_PER_F  # PROPOSED
_RATIO_BAND = 0.15  # of ln(ratio): the two bands above at 0.016 per °F and side (CALCULATED)
_AIRFLOW_BAND = 0.125  # 350 to 450 cfm/ton; MEMORY
_AIRFLOW_LIMIT = 0.1  # of the reading: a usual flow station or hood (PROPOSED)


def gather(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> tuple[Evidence, ...]:
    """Return what the last of `rounds` (whose meaning is given) and the newest readings at rest show.

    A feature whose readings are missing or unusable is absent.

    Raises:
        FigureError: when an accuracy of the appliance can't be used; never for a reading.
    """
    if not rounds:
        return ()
    now = rounds[-1]
    found = (
        _evaporating(appliance, now, meaning),
        _superheat(appliance, meaning),
        _condensing(appliance, now, meaning),
        _subcooling(appliance, now, meaning),
        _discharge(appliance, now, meaning),
        _rise(appliance, now),
        _split(appliance, now),
        _ratio(appliance, now, meaning),
        *resting_evidence(appliance, rounds),
        _airflow(now),
    )
    return tuple(one for one in found if one is not None)


def _around(
    feature: Feature,
    value: float,
    usual: float,
    *,
    band: float,
    uncertainty: float,
    sentence: str,
    floor: float = -math.inf,
    ceiling: float = math.inf,
) -> Evidence:
    """Evidence about one usual value; sound systems spread by half the band (as two standard deviations)."""
    return Evidence(
        feature=feature,
        value=value,
        low=usual,
        high=usual,
        band=band,
        uncertainty=uncertainty,
        sentence=sentence,
        usual=usual,
        spread=band / 2.0,
        floor=floor,
        ceiling=ceiling,
    )


def _evaporating(appliance: Appliance, now: Round, meaning: Meaning) -> Evidence | None:
    indoor, pressure = usable(now.indoor_db_K), usable(now.suction_pressure_Pa)
    if meaning.dew_K is None or indoor is None or pressure is None:
        return None
    slope = appliance.curve.dew_slope_K_per_Pa(pressure)
    below_K = _usual_below_return_K(meaning)
    value = meaning.dew_K - indoor
    return _around(
        Feature.EVAPORATING,
        value,
        -below_K,
        band=_BELOW_RETURN_BAND_K,
        uncertainty=math.hypot(
            slope * limit_of("suction_pressure_Pa", pressure, appliance.accuracies),
            limit_of("indoor_db_K", indoor, appliance.accuracies),
        ),
        sentence=f"The refrigerant evaporates {_above_or_below(value)} the return air "
        f"(about {difference(below_K)} below is usual)",
    )


def _usual_below_return_K(meaning: Meaning) -> float:
    return max(BELOW_RETURN_K, (meaning.target_superheat_K or 0.0) + _ABOVE_SUPERHEAT_K)


def _superheat(appliance: Appliance, meaning: Meaning) -> Evidence | None:
    if meaning.superheat_K is None:
        return None
    off_K = meaning.superheat_uncertainty_K or 0.0
    said = f"Superheat is {difference(meaning.superheat_K)}"
    if appliance.metering is not Metering.FIXED_ORIFICE:
        low, high = appliance.superheat_range_K
        return Evidence(
            Feature.SUPERHEAT,
            meaning.superheat_K,
            # The range's own edges are the tolerance; the band only softens them.
            low=min(low + K_PER_F, (low + high) / 2.0),
            high=max(high - K_PER_F, (low + high) / 2.0),
            band=K_PER_F,
            uncertainty=off_K,
            sentence=f"{said} (the valve's range is {difference(low)} to {difference(high)})",
            usual=min(max(_VALVE_SUPERHEAT_K, low), high),
            spread=min(_VALVE_SUPERHEAT_SPREAD_K, max(K_PER_F, (high - low) / 4.0)),
            floor=0.0,
        )
    target = meaning.target_superheat_K
    if target is None:
        return None
    return _around(
        Feature.SUPERHEAT,
        meaning.superheat_K,
        target,
        band=appliance.superheat_tolerance_K,
        uncertainty=math.hypot(off_K, meaning.target_superheat_uncertainty_K or 0.0),
        sentence=f"{said} (target {difference(target)})",
        floor=0.0,
    )


def _condensing(appliance: Appliance, now: Round, meaning: Meaning) -> Evidence | None:
    outdoor, pressure = usable(now.outdoor_db_K), usable(now.liquid_pressure_Pa)
    if meaning.bubble_K is None or outdoor is None or pressure is None:
        return None
    slope = appliance.curve.bubble_slope_K_per_Pa(pressure)
    value = meaning.bubble_K - outdoor
    return _around(
        Feature.CONDENSING,
        value,
        ABOVE_OUTDOOR_K,
        band=_ABOVE_OUTDOOR_BAND_K,
        uncertainty=math.hypot(
            slope * limit_of("liquid_pressure_Pa", pressure, appliance.accuracies),
            limit_of("outdoor_db_K", outdoor, appliance.accuracies),
        ),
        sentence=f"The refrigerant condenses {_above_or_below(value)} the outdoor air "
        f"(about {difference(ABOVE_OUTDOOR_K)} above is usual)",
        floor=0.0,
    )


def _subcooling(appliance: Appliance, now: Round, meaning: Meaning) -> Evidence | None:
    if meaning.subcooling_K is None:
        return None
    maker_K = appliance.target_subcooling_K
    usual_K = ORIFICE_SUBCOOLING_K if maker_K is None else maker_K
    whose = "is usual" if maker_K is None else "is the maker's target"
    outdoor = usable(now.outdoor_db_K)
    most_K = math.inf  # no liquid gets colder than the air that cools it
    if outdoor is not None and meaning.bubble_K is not None:
        most_K = max(meaning.bubble_K - outdoor, usual_K)
    return _around(
        Feature.SUBCOOLING,
        meaning.subcooling_K,
        usual_K,
        band=_ORIFICE_SUBCOOLING_BAND_K if maker_K is None else appliance.subcooling_tolerance_K,
        uncertainty=meaning.subcooling_uncertainty_K or 0.0,
        sentence=f"Subcooling is {difference(meaning.subcooling_K)} ({difference(usual_K)} {whose})",
        floor=0.0,
        ceiling=most_K,
    )


def _discharge(appliance: Appliance, now: Round, meaning: Meaning) -> Evidence | None:
    """Against the discharge of a sound, rightly charged system in this weather: the rule table's normal."""
    line, usual_Pa = usable(now.discharge_line_K), _usual_pressures(appliance, now, meaning)
    if line is None or usual_Pa is None:
        return None
    superheat_K = meaning.target_superheat_K
    if superheat_K is None:
        superheat_K = _VALVE_SUPERHEAT_K
    low_Pa, high_Pa = usual_Pa
    usual_K = discharge_K(
        appliance.curve.designation,
        suction_K=appliance.curve.dew_temperature_K(low_Pa) + superheat_K,
        pressure_ratio=high_Pa / low_Pa,
    )
    return _around(
        Feature.DISCHARGE,
        line,
        usual_K,
        band=_DISCHARGE_BAND_K,
        uncertainty=air_limit_K("discharge_line_K", line, appliance),
        sentence=f"The discharge line is at {temperature(line)} (about {temperature(usual_K)} is usual in "
        "this weather)",
    )


def _rise(appliance: Appliance, now: Round) -> Evidence | None:
    leaving, outdoor = usable(now.condenser_out_db_K), usable(now.outdoor_db_K)
    if leaving is None or outdoor is None:
        return None
    return _around(
        Feature.CONDENSER_RISE,
        leaving - outdoor,
        CONDENSER_RISE_K,
        band=_CONDENSER_RISE_BAND_K,
        uncertainty=math.hypot(
            air_limit_K("condenser_out_db_K", leaving, appliance),
            limit_of("outdoor_db_K", outdoor, appliance.accuracies),
        ),
        sentence=f"The condenser's air warms by {difference(leaving - outdoor)} (about "
        f"{difference(CONDENSER_RISE_K)} is usual)",
    )


def _split(appliance: Appliance, now: Round) -> Evidence | None:
    dry, wet, supply = usable(now.indoor_db_K), usable(now.indoor_wb_K), usable(now.supply_db_K)
    if dry is None or supply is None:
        return None
    usual_K = target_split_K(dry, wet)
    return _around(
        Feature.SPLIT,
        dry - supply,
        usual_K,
        band=SPLIT_TOLERANCE_K,
        uncertainty=math.hypot(
            (1.0 - 0.544203869) * limit_of("indoor_db_K", dry, appliance.accuracies),
            limit_of("supply_db_K", supply, appliance.accuracies),
            0.0 if wet is None else limit_of("indoor_wb_K", wet, appliance.accuracies),
        ),
        sentence=f"The indoor air cools by {difference(dry - supply)} ({difference(usual_K)} by the split "
        "table)",
    )


def _ratio(appliance: Appliance, now: Round, meaning: Meaning) -> Evidence | None:
    low, high = usable(now.suction_pressure_Pa), usable(now.liquid_pressure_Pa)
    usual_Pa = _usual_pressures(appliance, now, meaning)
    if low is None or high is None or usual_Pa is None:
        return None
    if meaning.dew_K is None or meaning.bubble_K is None:
        return None  # a pressure outside the curve is no pressure of this system
    usual = usual_Pa[1] / usual_Pa[0]
    return _around(
        Feature.PRESSURE_RATIO,
        math.log(high / low) - math.log(usual),
        0.0,
        band=_RATIO_BAND,
        uncertainty=math.hypot(
            limit_of("suction_pressure_Pa", low, appliance.accuracies) / low,
            limit_of("liquid_pressure_Pa", high, appliance.accuracies) / high,
        ),
        sentence=f"The pressure ratio is {high / low:.2f} (about {usual:.2f} is usual in this weather)",
    )


def _usual_pressures(appliance: Appliance, now: Round, meaning: Meaning) -> tuple[float, float] | None:
    indoor, outdoor = usable(now.indoor_db_K), usable(now.outdoor_db_K)
    if indoor is None or outdoor is None:
        return None
    try:
        low = appliance.curve.dew_pressure_Pa(indoor - _usual_below_return_K(meaning))
        return low, appliance.curve.bubble_pressure_Pa(outdoor + ABOVE_OUTDOOR_K)
    except ChargewrightError:
        return None  # weather in which no such system runs; the weather is spoken about elsewhere


def _airflow(now: Round) -> Evidence | None:
    share = usable(now.indoor_airflow_share)
    if share is None or share < 0.0:
        return None
    return _around(
        Feature.AIRFLOW,
        share,
        1.0,
        band=_AIRFLOW_BAND,
        uncertainty=_AIRFLOW_LIMIT,
        sentence=f"The indoor airflow was measured as {share:.0%} of what it should be",
        floor=0.0,
    )


def _above_or_below(value_K: float) -> str:
    return f"{difference(abs(value_K))} {'above' if value_K >= 0.0 else 'below'}"
