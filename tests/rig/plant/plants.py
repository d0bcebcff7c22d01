"""Plants and conditions that the tests of the steady plant share."""

from dataclasses import replace
from functools import cache
from typing import Any

from hypothesis import strategies as st

from guide.refrigerant.thermal import COVERED
from guide.rig.plant import Conditions, Design, Metering, SteadyState, design, steady_state, usual
from guide.rig.plant.rated import from_F

ORIFICE, THERMOSTATIC, ELECTRONIC = Metering


@cache
def plant(refrigerant: str = "R-410A", metering: Metering = ORIFICE, capacity_W: float = 11_000.0) -> Design:
    return design(usual(refrigerant, capacity_W, metering))


def at(of: Design, charge: float = 1.0, **changes: Any) -> Conditions:
    """The rated conditions with a share of the right charge, and changes by name."""
    return replace(of.rated_conditions, charge_kg=charge * of.right_charge_kg, **changes)


def running(of: Design, charge: float = 1.0, **changes: Any) -> SteadyState:
    return steady_state(of, at(of, charge, **changes))


@st.composite
def designs(draw: st.DrawFn) -> Design:
    return plant(
        draw(st.sampled_from(COVERED)),
        draw(st.sampled_from(Metering)),
        draw(st.sampled_from((5_000.0, 11_000.0, 70_000.0))),
    )


@st.composite
def hard_conditions(draw: st.DrawFn, of: Design) -> Conditions:
    """Any charge, weather and trouble that a call-out may meet."""
    wet_F = draw(st.floats(52.0, 78.0))
    return Conditions(
        charge_kg=of.right_charge_kg * draw(st.floats(0.45, 1.5)),
        indoor_wb_K=from_F(wet_F),
        indoor_db_K=from_F(min(wet_F + draw(st.floats(3.0, 25.0)), 105.0)),
        outdoor_K=from_F(draw(st.floats(45.0, 122.0))),
        indoor_air=draw(st.floats(0.4, 1.2)),
        outdoor_air=draw(st.floats(0.4, 1.2)),
        fouling=draw(st.sampled_from((1.0, 1.0, 0.6))),
        restriction_Pa=draw(st.one_of(st.just(0.0), st.floats(0.0, 15e5))),
        gas_Pa=draw(st.one_of(st.just(0.0), st.floats(0.0, 3e5))),
        valve_leak=draw(st.one_of(st.just(0.0), st.floats(0.0, 0.35))),
    )
