"""Signs that charge is not what is wrong, looked for before any charge is moved.

Order: airflow, condenser, restriction, valve, charge last (PROPOSED, after the rules of Rossi and
Braun, FOUND in a Purdue report on rooftop units, and a maker's valve matrix, FOUND).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from guide.charging.meaning import usable
from guide.charging.round import Appliance, Meaning, Metering, Round
from guide.charging.uncertainty import limit_of
from guide.charging.wording import K_PER_F, difference, to_F

LOW_AIRFLOW = "low indoor airflow"
RESTRICTION = "liquid-line restriction"
DIRTY_CONDENSER = "dirty condenser"
NON_CONDENSABLES = "non-condensables"
VALVE_LEAK = "compressor valve leak"
UNDERCHARGE = "undercharge"
OVERCHARGE = "overcharge"
BAD_READING = "bad reading"
SUSPECTS = (
    LOW_AIRFLOW,
    RESTRICTION,
    DIRTY_CONDENSER,
    NON_CONDENSABLES,
    VALVE_LEAK,
    UNDERCHARGE,
    OVERCHARGE,
    BAD_READING,
)

SPLIT_TOLERANCE_K = 3.0 * K_PER_F  # FOUND, RA3 2008 p. 17, installer
_SPLIT_WITHOUT_WET_BULB_F = 22.0  # the top of the usual 16 to 22 °F; common practice, no source
_FULL_SUBCOOLING_K = 12.0 * K_PER_F  # an orifice whose maker gives none; common practice, no source
_LOW_SUBCOOLING_K = 4.0 * K_PER_F  # with low superheat this is no overcharge; PROPOSED
_HIGH_APPROACH_K = (
    35.0 * K_PER_F
)  # condensing above outdoor air; 30 °F at rating for old units FOUND, the rest PROPOSED


@dataclass(frozen=True, slots=True)
class Finding:
    """Why charge must not be moved, and the trouble suspected, if one has a name."""

    suspect: str | None
    reason: str


def full_subcooling_K(appliance: Appliance) -> float:
    """Return the subcooling [K] from which a liquid line counts as full for this appliance."""
    return appliance.target_subcooling_K if appliance.target_subcooling_K is not None else _FULL_SUBCOOLING_K


def is_full(appliance: Appliance, meaning: Meaning) -> bool:
    """Say whether subcooling is at or above full."""
    return meaning.subcooling_K is not None and meaning.subcooling_K >= full_subcooling_K(appliance)


def target_split_K(indoor_db_K: float, indoor_wb_K: float | None) -> float:
    """Return the temperature split [K] that normal airflow gives, return minus supply air.

    With a wet bulb: the fit -70.000941 + 0.544203869 DB + 2.19570816 WB - 0.0228100701 WB² [°F] of
    Table RA3.2-3 (MEMORY; the fit reproduces its 357 places within 0.063 °F, CALCULATED), held at
    the table's edges, 70-84 °F and 50-76 °F. Without: 22 °F.
    """
    if indoor_wb_K is None:
        return _SPLIT_WITHOUT_WET_BULB_F * K_PER_F
    dry = min(max(to_F(indoor_db_K), 70.0), 84.0)
    wet = min(max(to_F(indoor_wb_K), 50.0), 76.0)
    return (-70.000941 + 0.544203869 * dry + 2.19570816 * wet - 0.0228100701 * wet * wet) * K_PER_F


def split_excess_K(appliance: Appliance, now: Round) -> tuple[float, float] | None:
    """Return how far the split lies above target plus tolerance [K], and its uncertainty [K].

    None when a dry bulb is missing.
    """
    dry, wet, supply = usable(now.indoor_db_K), usable(now.indoor_wb_K), usable(now.supply_db_K)
    if dry is None or supply is None:
        return None
    parts = [
        (1.0 - 0.544203869) * limit_of("indoor_db_K", dry, appliance.accuracies),
        limit_of("supply_db_K", supply, appliance.accuracies),
    ]
    if wet is not None:
        per_wb = 2.19570816 - 2.0 * 0.0228100701 * min(max(to_F(wet), 50.0), 76.0)
        parts.append(per_wb * limit_of("indoor_wb_K", wet, appliance.accuracies))
    return dry - supply - target_split_K(dry, wet) - SPLIT_TOLERANCE_K, math.hypot(*parts)


def low_airflow(appliance: Appliance, now: Round, *, certain: bool) -> Finding | None:
    """Return low indoor airflow when the split is too high: by more than its uncertainty if `certain`."""
    excess = split_excess_K(appliance, now)
    if excess is None:
        return None
    above_K, off_K = excess
    if above_K <= (off_K if certain else 0.0):
        return None
    return Finding(
        LOW_AIRFLOW,
        f"The indoor air cools {difference(above_K + SPLIT_TOLERANCE_K)} more than it should, "
        "which is a sign of "
        "too little air: check filter, coil, blower and registers before you judge the charge.",
    )


def against_moving(appliance: Appliance, now: Round, meaning: Meaning, *, adding: bool) -> Finding | None:
    """Return why charge must not be moved in the given direction, or None when nothing speaks against it."""
    if meaning.superheat_K is None or meaning.subcooling_K is None:
        return None
    if meaning.bubble_K is not None:
        found = _condenser(appliance, now, meaning)
        if found is not None:
            return found
    if appliance.metering is Metering.FIXED_ORIFICE:
        return _orifice(appliance, now, meaning, adding=adding)
    return _valve(appliance, now, meaning, adding=adding)


def _condenser(appliance: Appliance, now: Round, meaning: Meaning) -> Finding | None:
    outdoor = usable(now.outdoor_db_K)
    if outdoor is None or meaning.bubble_K is None:
        return None
    by_charge_K = _by_charge_K(appliance, meaning)
    approach_K = meaning.bubble_K - outdoor
    if approach_K <= _HIGH_APPROACH_K + by_charge_K:
        return None
    explained = f" and {difference(by_charge_K)} that the subcooling explains" if by_charge_K > 0.0 else ""
    return Finding(
        DIRTY_CONDENSER,
        f"The refrigerant condenses {difference(approach_K)} above outdoor air, more than "
        f"{difference(_HIGH_APPROACH_K)}{explained}: clean the condenser and check its fan; if it stays so, "
        "check the standing "
        "pressure for air in the system. Judge the charge after that.",
    )


def _by_charge_K(appliance: Appliance, meaning: Meaning) -> float:
    """How far too much refrigerant, by its subcooling, may have raised condensing [K].

    A condenser that holds more liquid has less area left. Condensing and subcooling rise by 0.3 °F each for
    1 % of charge on an orifice, by 0.3 and 0.6 °F on a valve (PROPOSED bands of the reference, section 6.4).
    """
    if meaning.subcooling_K is None:
        return 0.0
    share = 1.0 if appliance.metering is Metering.FIXED_ORIFICE else 0.5
    return share * max(0.0, meaning.subcooling_K - full_subcooling_K(appliance))


def _orifice(appliance: Appliance, now: Round, meaning: Meaning, *, adding: bool) -> Finding | None:
    if meaning.superheat_K is None or meaning.subcooling_K is None or meaning.target_superheat_K is None:
        return None
    gap_K = meaning.superheat_K - meaning.target_superheat_K
    outside = abs(gap_K) > appliance.superheat_tolerance_K
    if adding:
        return (
            _restriction(appliance, meaning.subcooling_K) if outside and is_full(appliance, meaning) else None
        )
    found = low_airflow(appliance, now, certain=False)
    if found is not None:
        return found
    if outside and meaning.subcooling_K < _LOW_SUBCOOLING_K:
        return Finding(
            VALVE_LEAK,
            f"Superheat is low, but subcooling is low too ({difference(meaning.subcooling_K)}), "
            "so the system isn't "
            "overcharged: check the compressor's valves, the orifice size and the condenser. Don't recover.",
        )
    return None


def _valve(appliance: Appliance, now: Round, meaning: Meaning, *, adding: bool) -> Finding | None:
    superheat_K, subcooling_K = meaning.superheat_K, meaning.subcooling_K
    target_K = appliance.target_subcooling_K
    if superheat_K is None or subcooling_K is None or target_K is None:
        return None
    low_K, high_K = appliance.superheat_range_K
    inside = abs(subcooling_K - target_K) <= appliance.subcooling_tolerance_K
    if superheat_K > high_K and (inside or not adding):
        return _restriction(appliance, subcooling_K)
    if superheat_K >= low_K:
        return None
    airflow = low_airflow(appliance, now, certain=False)
    if airflow is not None:
        return airflow
    certainly_low = superheat_K + (meaning.superheat_uncertainty_K or 0.0) < low_K
    if adding or inside or certainly_low:
        return Finding(
            None,
            f"Superheat {difference(superheat_K)} is below the valve's {difference(low_K)}: the "
            "valve feeds too much. "
            "Check its bulb (contact, place, insulation) and the airflow before you move charge.",
        )
    return None


def _restriction(appliance: Appliance, subcooling_K: float) -> Finding:
    return Finding(
        RESTRICTION,
        "Superheat is high although the liquid line is full (subcooling "
        f"{difference(subcooling_K)}, full from "
        f"{difference(full_subcooling_K(appliance))}): more refrigerant won't help. Look for a restriction: "
        "filter-drier, kinked liquid line, metering device.",
    )
