"""Whether the charging loop applies to this appliance, in this weather, at all.

Empty means it does. Otherwise each sentence says what stands against it and what to do instead. A
fact nobody stated is asked for, never assumed.
"""

from __future__ import annotations

from guide.charging.meaning import target_of, usable
from guide.charging.round import Appliance, Metering, Round
from guide.charging.target import Target
from guide.charging.wording import from_F, temperature

APPLICATIONS = (
    "unitary air conditioner in cooling",
    "unitary heat pump in cooling",
    "air conditioner in cooling",
    "heat pump in cooling",
)
OUTDOOR_MINIMUM_K = from_F(55.0)  # FOUND, RA3 2008 p. 10; a maker's own minimum overrides it
INDOOR_RANGE_K = (
    from_F(70.0),
    from_F(80.0),
)  # FOUND, two makers' instructions; the maker's own range overrides it
INSTEAD = "weigh the charge in, or use the maker's chart"
_SAME_K = 0.03  # the edge itself, written in kelvin to a hundredth, is not outside
_UNKNOWN = ("", "unknown", "not known", "?")


def reasons_against(appliance: Appliance, round: Round) -> tuple[str, ...]:
    """Return why the charging loop does not apply, whole sentences; empty when it does.

    A reading that is missing is no reason here: it is asked for elsewhere.
    """
    return (*facts_against(appliance), *weather_against(appliance, round), *_target_against(appliance, round))


def facts_against(appliance: Appliance) -> tuple[str, ...]:
    """Return what about the appliance itself stands against the loop."""
    said: list[str] = []
    group = appliance.safety_group.strip().upper()
    if group == "A3":
        said.append(
            "The refrigerant is of safety group A3: charge it by weight only, by the maker's instructions."
        )
    elif group.casefold() in _UNKNOWN:
        said.append(
            "The refrigerant's safety group is not known: say it, A3 refrigerants are charged by weight only."
        )
    if appliance.curve.may_be_off_K:
        said.append(
            f"The saturation curve of {appliance.curve.designation} is estimated: "
            f"{appliance.curve.why_estimated}; {INSTEAD}."
        )
    application = " ".join(appliance.application.split()).casefold()
    if application in _UNKNOWN:
        said.append(
            f"What the appliance is, is not known: say '{APPLICATIONS[0]}' if it is one; else {INSTEAD}."
        )
    elif application not in APPLICATIONS:
        said.append(f"The loop serves unitary air conditioners and heat pumps in cooling only: {INSTEAD}.")
    receiver = appliance.receiver.strip().casefold()
    if receiver in _UNKNOWN:
        said.append("Whether there is a receiver is not known: look, and say 'none' if there is none.")
    elif receiver not in {"none", "no"}:
        said.append(f"A receiver hides the charge from superheat and subcooling: {INSTEAD}.")
    if appliance.capacity_fixed is None:
        said.append(
            "Whether the capacity is fixed is not known: look, or set the maker's test mode and say so."
        )
    elif not appliance.capacity_fixed:
        said.append(f"The capacity is not fixed: set the maker's test mode, else {INSTEAD}.")
    if appliance.metering is not Metering.FIXED_ORIFICE and usable(appliance.target_subcooling_K) is None:
        said.append(
            f"A valve is charged to the maker's target subcooling, none is given: find it, or {INSTEAD}."
        )
    return tuple(said)


def weather_against(appliance: Appliance, round: Round) -> tuple[str, ...]:
    """Return what about outdoor and indoor air stands against the loop."""
    said: list[str] = []
    outdoor = usable(round.outdoor_db_K)
    least = appliance.outdoor_minimum_K if appliance.outdoor_minimum_K is not None else OUTDOOR_MINIMUM_K
    if outdoor is not None and outdoor < least - _SAME_K:
        said.append(f"Outdoors it is {temperature(outdoor)}, the least is {temperature(least)}: {INSTEAD}.")
    indoor = usable(round.indoor_db_K)
    low, high = appliance.indoor_range_K if appliance.indoor_range_K is not None else INDOOR_RANGE_K
    if indoor is not None and not low - _SAME_K <= indoor <= high + _SAME_K:
        said.append(
            f"Indoors it is {temperature(indoor)}, outside {temperature(low)} to {temperature(high)}: "
            f"bring the room into that range, else {INSTEAD}."
        )
    return tuple(said)


def _target_against(appliance: Appliance, now: Round) -> tuple[str, ...]:
    if appliance.metering is not Metering.FIXED_ORIFICE:
        return ()
    target: Target | None = target_of(appliance, now)
    return target.reasons if target is not None and not target.valid else ()
