"""How a plant runs in given conditions, or why it does not.

The state is sought from a guess, or from a state it was in shortly before. Where that fails the conditions
are approached from the rated ones in strides that grow and shrink: first everything but the charge, then
the charge, else the other way about. What the way runs into, a pressure switch mostly, is why the plant
does not run.
"""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from functools import lru_cache
from math import exp, log
from typing import Final

from guide.errors import ChargewrightError
from guide.rig.plant.conditions import Conditions
from guide.rig.plant.cycle import Cycle, cycle, given
from guide.rig.plant.design import Design, Vector
from guide.rig.plant.rated import Metering
from guide.rig.plant.search import CLOSE, NEAR_ENOUGH, Found, Matrix, search
from guide.rig.plant.state import SteadyState, state_of

# PROPOSED: when the place where the way ended is said to be a switch, a condenser full of liquid, wet vapour.
_ALMOST: Final = 0.85
_DROWNED: Final = 0.4
_AT_SWITCH: Final = 0.95
_LEAST_STRIDE: Final = 0.01
_MOST_QUALITY: Final = 0.9
_VAPOUR_J_PER_kg_K: Final = 1000.0
"""Roughly, of superheated vapour: only a first guess hangs on it (PROPOSED)."""


class Cause(StrEnum):
    """Why a plant does not run steadily."""

    HIGH_PRESSURE = "high pressure"
    LOW_PRESSURE = "low pressure"
    NO_LIQUID = "no liquid"
    NO_BALANCE = "no balance"


class NoSteadyState(ChargewrightError):
    """The plant can't run steadily so: `cause` for rules, `reason` in words."""

    def __init__(self, cause: Cause, reason: str) -> None:
        super().__init__(reason)
        self.cause: Final = cause
        self.reason: Final = reason


def steady_state(design: Design, conditions: Conditions, near: SteadyState | None = None) -> SteadyState:
    """How a plant runs in some conditions; `near` is a state it ran in shortly before, to begin from.

    Raises:
        NoSteadyState: it trips, or no liquid gets through, or the charge is too small to run.
        BadConditions: no air has this dry and wet bulb.
    """
    now = given(design, conditions)
    found = None
    if near is not None:
        found = search(design, now, near.unknowns, near.jacobian)
    if found is None or found.worst > CLOSE:
        found = search(design, now, _guess(design, conditions), _rated_slopes(design))
    if found.worst > NEAR_ENOUGH:
        found = _approach(design, conditions)
    _must_run(design, found.round_)
    return state_of(design, now, found.round_, found.unknowns, found.jacobian)


@lru_cache(maxsize=64)
def _rated_slopes(design: Design) -> Matrix | None:
    """The slopes at the rated point, which serve for a first step anywhere."""
    return search(design, given(design, design.rated_conditions), design.rated_unknowns, None).jacobian


def _approach(design: Design, conditions: Conditions) -> Found:
    """The state reached by going from the rated point: first all but the charge, then the charge; where that
    way ends before, first the charge and then the rest.

    Raises:
        NoSteadyState: both ways end before; what the first ran into says why.
    """
    start = design.rated_conditions
    try:
        return _by_way_of(design, replace(conditions, charge_kg=start.charge_kg), conditions)
    except NoSteadyState as first:
        try:
            return _by_way_of(design, replace(start, charge_kg=conditions.charge_kg), conditions)
        except NoSteadyState:
            raise first from None


def _by_way_of(design: Design, corner: Conditions, conditions: Conditions) -> Found:
    """From the rated point to a corner, whatever trips there, and from the corner on.

    Raises:
        NoSteadyState: the way ends before.
    """
    start = design.rated_conditions
    found = Found(
        design.rated_unknowns, cycle(design, given(design, start), design.rated_unknowns), None, 0.0
    )
    found = _go(design, start, corner, found, trips=False)
    return _go(design, corner, conditions, found, trips=True)


def _go(design: Design, start: Conditions, end: Conditions, found: Found, *, trips: bool) -> Found:
    done, stride = 0.0, 0.25
    while done < 1.0:
        to = min(done + stride, 1.0)
        tried = search(design, given(design, start.between(end, to)), found.unknowns, found.jacobian)
        if tried.worst > NEAR_ENOUGH:
            stride *= 0.4
            if stride < _LEAST_STRIDE or found.round_.discharge_Pa > _AT_SWITCH * design.rated.high_switch_Pa:
                raise _ended(design, found.round_, tried.round_)
            continue
        found, done, stride = tried, to, 1.7 * stride
        if trips:
            _must_not_trip(design, found.round_)
    return found


def _guess(design: Design, conditions: Conditions) -> Vector:
    """Saturation temperatures moved from the rated ones by the weather and the charge (PROPOSED shares)."""
    fluid, start = design.fluid, design.rated_conditions
    charge = min(max(conditions.charge_kg / design.right_charge_kg, 0.5), 1.5) - 1.0
    condensing_K = fluid.dew_K(exp(design.rated_unknowns[1])) + 0.9 * (conditions.outdoor_K - start.outdoor_K)
    condensing_K += 4.0 * charge + 8.0 * (1.0 - min(conditions.outdoor_air * conditions.fouling, 1.0))
    evaporating_K = design.rated.evaporating_K + 0.6 * (conditions.indoor_wb_K - start.indoor_wb_K)
    evaporating_K += 0.15 * (conditions.outdoor_K - start.outdoor_K) + 12.0 * min(charge, 0.0)
    evaporating_K -= 10.0 * (1.0 - min(conditions.indoor_air, 1.0))
    condensing_K = min(condensing_K, fluid.critical_K - 12.0)
    suction_Pa = fluid.dew_Pa(evaporating_K)
    condensing_Pa = max(fluid.dew_Pa(condensing_K), 1.25 * suction_Pa)
    indoor_K, outdoor_K = conditions.indoor_wb_K - start.indoor_wb_K, conditions.outdoor_K - start.outdoor_K
    if design.rated.metering is Metering.ORIFICE:
        superheat_K = design.rated.superheat_K + 1.0 * indoor_K - 0.5 * outdoor_K - 70.0 * charge
    else:
        superheat_K = design.rated.superheat_K - 120.0 * min(charge + 0.2, 0.0)
    most_K = conditions.indoor_db_K - evaporating_K - 2.0
    superheat_K = min(max(superheat_K, 1.0), most_K)
    return (
        log(suction_Pa),
        log(condensing_Pa),
        (fluid.vapour_enthalpy(suction_Pa) + _VAPOUR_J_PER_kg_K * superheat_K) * 1e-5,
    )


def _must_not_trip(design: Design, round_: Cycle) -> None:
    """Refuse a state in which a pressure switch opens."""
    rated = design.rated
    if round_.discharge_Pa > rated.high_switch_Pa:
        raise _over(design)
    if round_.suction_Pa < rated.low_switch_Pa:
        raise _under(design)


def _must_run(design: Design, round_: Cycle) -> None:
    """Refuse a state that a plant would not stay in."""
    _must_not_trip(design, round_)
    if round_.starved:
        raise NoSteadyState(
            Cause.NO_LIQUID, "no pressure is left before the expansion device: the line is choked"
        )
    if round_.condensation.quality > _MOST_QUALITY:
        raise NoSteadyState(
            Cause.NO_LIQUID, "no liquid reaches the expansion device: the charge is too small to run"
        )


def _ended(design: Design, last: Cycle, tried: Cycle) -> NoSteadyState:
    """Why the way to a state ended: at the last round that ran, near the first that did not."""
    rated = design.rated
    if max(last.discharge_Pa, tried.discharge_Pa) > _ALMOST * rated.high_switch_Pa:
        return _over(design)
    if 1.0 - last.condensation.vapour_face - last.condensation.condensing_face > _DROWNED:
        return _over(design)  # a condenser full of liquid: the next drop of charge drives pressure up
    if min(last.suction_Pa, tried.suction_Pa) < rated.low_switch_Pa / _ALMOST or tried.starved:
        return _under(design)
    return NoSteadyState(Cause.NO_BALANCE, "no steady running was found for this")


def _over(design: Design) -> NoSteadyState:
    bar = design.rated.high_switch_Pa / 1e5
    return NoSteadyState(
        Cause.HIGH_PRESSURE, f"over the high-pressure switch, which opens at {bar:.1f} bar absolute"
    )


def _under(design: Design) -> NoSteadyState:
    bar = design.rated.low_switch_Pa / 1e5
    return NoSteadyState(
        Cause.LOW_PRESSURE, f"under the low-pressure switch, which opens at {bar:.1f} bar absolute"
    )
