"""Which readings can't be true, alone or together, and which appliance facts can't be used."""

from __future__ import annotations

import math

from guide.charging.meaning import CHANNEL_WORDS, beyond_range, usable
from guide.charging.refusal import FigureError, finite, positive
from guide.charging.round import Appliance, Meaning, Round
from guide.charging.uncertainty import limit_of
from guide.charging.wording import K_PER_F, difference, mass, temperature
from guide.errors import ChargewrightError
from guide.refrigerant.saturation import curve

# What a working system and its air can show at all; generous on purpose (PROPOSED).
_LINE_K = (220.0, 420.0)
_AIR_K = (220.0, 340.0)
_MOST_NAMEPLATE_kg = 1000.0
_SITE_Pa = (30_000.0, 120_000.0)  # the highest town lies at about 5100 m, 53 kPa (MEMORY)
_SCALE_kg = (1e-5, 5.0)
_WORST_LIMIT = 1e7
# Twice the widest tolerance found (5 °F, RA3 2008): with more, a compressor without superheat would pass
# (PROPOSED). The hair lets 10 °F written in kelvin through.
_MOST_TOLERANCE_K = 10.0 * K_PER_F + 0.01
# What only the diagnosis looks at: channel, words, what can be at all (PROPOSED, generous on purpose).
_BESIDE = {
    "discharge_line_K": ("discharge line temperature", (220.0, 480.0)),
    "condenser_out_db_K": ("air leaving the condenser", (220.0, 380.0)),
    "standing_low_Pa": ("low-side pressure at rest", (1e3, 2e7)),
    "standing_high_Pa": ("high-side pressure at rest", (1e3, 2e7)),
    "standing_ambient_K": ("outdoor temperature at rest", _AIR_K),
    "indoor_airflow_share": ("indoor airflow", (0.01, 10.0)),
}
_MARGIN_K = 3.0 * K_PER_F  # on top of the instruments' limits, before a negative figure counts as impossible
_AIR_MARGIN_K = 5.0 * K_PER_F
_HOT_LINE_K = 40.0 * K_PER_F  # a starved, bare line in the sun stays below this; the discharge line doesn't
_CROSSED_K = 10.0 * K_PER_F
# Channels of the diagnosis alone, by one whose instrument is of the same kind.
_LIKE_CHANNEL = {
    "discharge_line_K": "liquid_line_K",
    "standing_low_Pa": "suction_pressure_Pa",
    "standing_high_Pa": "liquid_pressure_Pa",
}
COMMON = ("R-410A", "R-22", "R-32", "R-454B", "R-407C", "R-134a")
# Superheat, subcooling, return air over evaporating, condensing over outdoor air: usual ends (PROPOSED).
_USUAL_F = ((1.0, 40.0), (0.0, 25.0), (22.0, 50.0), (8.0, 40.0))


def demand_usable(appliance: Appliance) -> None:
    """Refuse an appliance whose figures no advice can be built on.

    Raises:
        FigureError: naming the first figure that can't be used.
    """
    if positive("nameplate charge", appliance.nameplate_charge_kg) > _MOST_NAMEPLATE_kg:
        raise FigureError(
            f"a nameplate charge above {_MOST_NAMEPLATE_kg:g} kg is no unitary appliance: check it"
        )
    low_Pa, high_Pa = _SITE_Pa
    if not low_Pa <= finite("site pressure", appliance.site_pressure_Pa) <= high_Pa:
        raise FigureError(
            f"site pressure {appliance.site_pressure_Pa:g} Pa: give {low_Pa:g} to {high_Pa:g} Pa"
        )
    for name, tolerance in (
        ("superheat tolerance", appliance.superheat_tolerance_K),
        ("subcooling tolerance", appliance.subcooling_tolerance_K),
    ):
        if positive(name, tolerance) > _MOST_TOLERANCE_K:
            raise FigureError(
                f"{name} {tolerance:g} K is wider than any charge is judged by: "
                f"give at most {difference(_MOST_TOLERANCE_K)}"
            )
    finest_kg, coarsest_kg = _SCALE_kg
    if not finest_kg <= finite("scale division", appliance.scale_division_kg) <= coarsest_kg:
        raise FigureError(
            f"scale division {appliance.scale_division_kg:g} kg: give {finest_kg:g} to {coarsest_kg:g} kg"
        )
    if finite("settling time", appliance.settle_minutes) < 0.0:
        raise FigureError("the settling time can't be negative: give minutes")
    for name, target in (
        ("target subcooling", appliance.target_subcooling_K),
        ("target superheat", appliance.target_superheat_K),
    ):
        if target is not None and not 0.0 <= finite(name, target) <= 60.0:
            raise FigureError(f"{name} {target:g} K is not a difference a maker would ask for: 0 to 60 K")
    ranges = [("superheat range", appliance.superheat_range_K)]
    if appliance.indoor_range_K is not None:
        ranges.append(("indoor range", appliance.indoor_range_K))
    for name, (low, high) in ranges:
        if finite(name, low) > finite(name, high):
            raise FigureError(f"the {name} starts above its end: give the lower figure first")
    if appliance.outdoor_minimum_K is not None:
        finite("outdoor minimum", appliance.outdoor_minimum_K)
    _demand_instruments(appliance)


def _demand_instruments(appliance: Appliance) -> None:
    for channel, accuracy in appliance.accuracies.items():
        alike = _LIKE_CHANNEL.get(channel, channel)
        limit_of(alike, 300.0, {alike: accuracy})
        if max(accuracy.fixed, accuracy.division) > _WORST_LIMIT or accuracy.of_reading > 1.0:
            raise FigureError(f"the accuracy of {channel} is no instrument's: give its limit in the SI unit")
        low, high = accuracy.lowest, accuracy.highest
        if low is not None and high is not None and finite(channel, low) >= finite(channel, high):
            raise FigureError(f"the range of {channel} must start below its end: give the lower figure first")


def unusable(appliance: Appliance, now: Round) -> tuple[str, ...]:
    """Return what is no number or lies where no reading can lie; empty when all is possible."""
    said = []
    if not math.isfinite(now.minutes_since_change) or now.minutes_since_change < 0.0:
        said.append("The minutes since the last change are not a time: enter them again.")
    if not math.isfinite(now.net_charged_kg) or abs(now.net_charged_kg) > appliance.nameplate_charge_kg:
        said.append(
            "The refrigerant moved so far is more than the nameplate charge of "
            f"{mass(appliance.nameplate_charge_kg)}, or no number: check the weights."
        )
    for channel, words in CHANNEL_WORDS.items():
        reading: float | None = getattr(now, channel)
        if reading is None:
            continue
        if not math.isfinite(reading):
            said.append(f"The {words} is not a number: read it again.")
        elif channel.endswith("_K"):
            low, high = _LINE_K if "line" in channel else _AIR_K
            if not low <= reading <= high:
                said.append(
                    f"The {words} lies outside {temperature(low)} to {temperature(high)}: check "
                    "probe and unit."
                )
        elif fault := _outside_curve(appliance, channel, reading):
            said.append(f"The {words} can't be right: {fault}.")
    for channel, (words, (low, high)) in _BESIDE.items():
        beside: float | None = getattr(now, channel)
        if beside is not None and not low <= beside <= high:  # no number lies between them either
            said.append(f"The {words} is not a number, or none that can be: read it again or leave it out.")
    return (*said, *beyond_range(appliance, now))


def contradictions(appliance: Appliance, now: Round, meaning: Meaning, *, settled: bool) -> tuple[str, ...]:
    """Return which readings can't be true together; empty when none contradict.

    While the system settles only what can't be true at any moment counts.
    """
    said = []
    suction, liquid = usable(now.suction_pressure_Pa), usable(now.liquid_pressure_Pa)
    if suction is not None and liquid is not None and suction >= liquid:
        said.append(
            "The suction pressure is not below the liquid pressure: check that it runs, and both hoses."
        )
    wet, dry = usable(now.indoor_wb_K), usable(now.indoor_db_K)
    if wet is not None and dry is not None:
        allowed = sum(limit_of(name, value, appliance.accuracies) for name, value in _pair(wet, dry))
        if wet - dry > allowed:
            said.append("The indoor wet bulb is above the dry bulb: check which probe is which.")
    said.extend(_of_the_lines(appliance, now))
    if settled:
        said.extend(_of_a_settled_system(now, meaning))
    if said and (other := another_refrigerant(appliance, now)) is not None:
        said.append(f"These pressures would suit {other}: check the refrigerant's name on the nameplate.")
    return tuple(said)


def _of_the_lines(appliance: Appliance, now: Round) -> list[str]:
    """The air bounds the liquid line from below; only a discharge line is far above the air."""
    suction, liquid = usable(now.suction_line_K), usable(now.liquid_line_K)
    outdoor, indoor = usable(now.outdoor_db_K), usable(now.indoor_db_K)
    said: list[str] = []
    if suction is None or outdoor is None:
        return said
    if liquid is not None:
        allowed = _MARGIN_K + limit_of("liquid_line_K", liquid, appliance.accuracies)
        if suction > liquid + _CROSSED_K and liquid < outdoor - allowed:
            said.append(
                "The suction line reads warmer than the liquid line, and that colder than the outdoor air: "
                "check which sensor is on which line."
            )
    warmest = outdoor if indoor is None else max(outdoor, indoor)
    allowed = _HOT_LINE_K + limit_of("suction_line_K", suction, appliance.accuracies)
    if suction > warmest + allowed:
        said.append(
            f"The suction line reads {difference(suction - warmest)} above the air around it: "
            "check that the clamp sits on the suction line, and its probe."
        )
    return said


def another_refrigerant(appliance: Appliance, now: Round) -> str | None:
    """Return a common refrigerant that would make a usual picture of these readings, or None.

    Only for the words beside readings that can't be true; the first that suits is named.
    """
    suction, liquid = usable(now.suction_pressure_Pa), usable(now.liquid_pressure_Pa)
    lines = usable(now.suction_line_K), usable(now.liquid_line_K)
    airs = usable(now.indoor_db_K), usable(now.outdoor_db_K)
    if suction is None or liquid is None or None in lines or None in airs:
        return None
    for designation in COMMON:
        if designation == appliance.curve.designation:
            continue
        try:
            other = curve(designation)
            dew_K, bubble_K = other.dew_temperature_K(suction), other.bubble_temperature_K(liquid)
        except ChargewrightError:
            continue
        figures = (
            (lines[0] or 0.0) - dew_K,
            bubble_K - (lines[1] or 0.0),
            (airs[0] or 0.0) - dew_K,
            bubble_K - (airs[1] or 0.0),
        )
        if all(low <= figure * 1.8 <= high for figure, (low, high) in zip(figures, _USUAL_F, strict=True)):
            return designation
    return None


def _of_a_settled_system(now: Round, meaning: Meaning) -> list[str]:
    said = []
    superheat, subcooling = meaning.superheat_K, meaning.subcooling_K
    if superheat is not None and superheat < -((meaning.superheat_uncertainty_K or 0.0) + _MARGIN_K):
        said.append(
            f"The suction line reads {difference(-superheat)} colder than saturation, which can't be: "
            "check the clamp, the gauge and the refrigerant's name."
        )
    if subcooling is not None and subcooling < -((meaning.subcooling_uncertainty_K or 0.0) + _MARGIN_K):
        said.append(
            f"The liquid line reads {difference(-subcooling)} warmer than saturation, which can't be: "
            "check the clamp, the gauge and the refrigerant's name."
        )
    outdoor, indoor, supply = usable(now.outdoor_db_K), usable(now.indoor_db_K), usable(now.supply_db_K)
    if meaning.bubble_K is not None and outdoor is not None and meaning.bubble_K < outdoor - _AIR_MARGIN_K:
        said.append(
            "The refrigerant condenses below outdoor temperature: check that it runs, and the probe's shade."
        )
    if meaning.dew_K is not None and indoor is not None and meaning.dew_K > indoor + _AIR_MARGIN_K:
        said.append(
            "The refrigerant evaporates above room temperature: check that it runs, and the suction gauge."
        )
    if supply is not None and indoor is not None and supply > indoor + _AIR_MARGIN_K:
        said.append(
            "The supply air is warmer than the return air: check that it cools, and which probe is which."
        )
    return said


def _pair(wet_K: float, dry_K: float) -> tuple[tuple[str, float], tuple[str, float]]:
    return ("indoor_wb_K", wet_K), ("indoor_db_K", dry_K)


def _outside_curve(appliance: Appliance, channel: str, pressure_Pa: float) -> str | None:
    if pressure_Pa <= 0.0:
        return "an absolute pressure is above zero; check gauge, unit and site pressure"
    try:
        if channel.startswith("suction"):
            appliance.curve.dew_temperature_K(pressure_Pa)
        else:
            appliance.curve.bubble_temperature_K(pressure_Pa)
    except ChargewrightError as error:
        return str(error)
    return None
