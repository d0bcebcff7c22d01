"""Heat that comes goes, entropy only grows, all the charge is somewhere, whatever is asked of the plant."""

import math
from dataclasses import fields

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.psychrometrics import (
    DRY_AIR_J_PER_kg_K,
    VAPOR_J_PER_kg,
    VAPOR_J_PER_kg_K,
    air_by_wet_bulb,
)
from guide.rig.plant import Cause, Conditions, Design, NoSteadyState, SteadyState, balance, steady_state
from guide.rig.plant.air import saturated_ratio
from tests.rig.plant.plants import at, designs, hard_conditions, plant

hard = settings(max_examples=150, deadline=None)


def numbers(state: SteadyState) -> list[float]:
    plain = [getattr(state, field.name) for field in fields(state)]
    return [
        *(number for number in plain if isinstance(number, float)),
        *state.masses.values(),
        *(figure for point in state.points.values() for figure in (point.pressure_Pa, point.enthalpy)),
    ]


def found(of: Design, conditions: Conditions) -> SteadyState | Cause:
    try:
        return steady_state(of, conditions)
    except NoSteadyState as none:
        return none.cause


@hard
@given(data=st.data(), of=designs())
def test_everything_adds_up_or_a_cause_is_given(data: st.DataObject, of: Design) -> None:
    conditions = data.draw(hard_conditions(of))
    state = found(of, conditions)
    if isinstance(state, Cause):
        assert state is not Cause.NO_BALANCE
        return
    assert all(map(math.isfinite, numbers(state)))
    made = balance(of, conditions, state)
    assert abs(made.energy_share) < 1e-3
    assert abs(made.mass_kg) < 1e-3
    scale = state.compressor_W / conditions.outdoor_K
    assert all(entropy >= -1e-6 * scale for entropy in made.entropy.values()), made.entropy
    assert 0.0 <= state.sensible_W <= state.capacity_W * (1.0 + 1e-6)
    assert state.supply_db_K < conditions.indoor_db_K + 3.0
    assert state.discharge_Pa > state.liquid_Pa > state.suction_Pa
    assert all(mass > 0.0 for mass in state.masses.values())


@hard
@given(data=st.data(), of=designs(), more=st.floats(0.02, 0.1))
def test_more_charge_never_means_more_superheat_or_less_subcooling(
    data: st.DataObject, of: Design, more: float
) -> None:
    conditions = data.draw(hard_conditions(of))
    fuller = Conditions(
        **{
            field.name: getattr(conditions, field.name) * (1.0 + more if field.name == "charge_kg" else 1.0)
            for field in fields(conditions)
            if field.name != "valve_stuck"
        }
    )
    few, many = found(of, conditions), found(of, fuller)
    if isinstance(few, Cause) or isinstance(many, Cause):
        return
    assert many.superheat_K <= few.superheat_K + 0.1
    if conditions.gas_Pa == 0.0:  # what gas feigns doesn't hang on the charge alone
        assert many.subcooling_K >= few.subcooling_K - 0.1
    assert many.liquid_quality <= few.liquid_quality + 1e-3


def test_the_cycle_goes_round_its_named_points() -> None:
    of = plant()
    points = steady_state(of, at(of)).points
    assert list(points) == [
        "suction", "discharge", "condenser outlet", "valve inlet", "evaporator inlet", "evaporator outlet",
    ]  # fmt: skip
    assert points["valve inlet"].enthalpy == points["evaporator inlet"].enthalpy
    assert points["discharge"].pressure_Pa > points["condenser outlet"].pressure_Pa
    assert points["evaporator outlet"].pressure_Pa > points["suction"].pressure_Pa


def test_what_the_air_got_is_what_compressor_and_coil_gave() -> None:
    of = plant()
    state = steady_state(of, at(of))
    given_off = state.capacity_W + state.compressor_W - state.shell_W + state.line_gain_W
    assert state.condenser_W == pytest.approx(given_off, rel=1e-6)


@hard
@given(data=st.data(), of=designs())
def test_the_indoor_air_loses_the_capacity_and_leaves_neither_as_fog_nor_colder_than_the_coil(
    data: st.DataObject, of: Design
) -> None:
    conditions = data.draw(hard_conditions(of))
    state = found(of, conditions)
    if isinstance(state, Cause):
        return
    air = air_by_wet_bulb(conditions.indoor_db_K, conditions.indoor_wb_K, conditions.site_pressure_Pa)
    flow = of.rated.indoor_m3_per_s * conditions.indoor_air / air.volume_m3_per_kg
    moist = DRY_AIR_J_PER_kg_K + VAPOR_J_PER_kg_K * air.humidity_ratio
    fan_K = of.rated.indoor_fan_W * conditions.indoor_air / (flow * moist)
    ratio, behind_coil_K = state.supply_humidity_ratio, state.supply_db_K - fan_K
    celsius = behind_coil_K - 273.15
    left = DRY_AIR_J_PER_kg_K * celsius + ratio * (VAPOR_J_PER_kg + VAPOR_J_PER_kg_K * celsius)
    assert flow * (air.enthalpy_J_per_kg - left) == pytest.approx(state.capacity_W, rel=1e-6)
    assert ratio <= saturated_ratio(behind_coil_K, conditions.site_pressure_Pa) * (1.0 + 1e-9)
    assert ratio <= air.humidity_ratio * (1.0 + 1e-9)
    assert behind_coil_K > state.coil_K - 1e-6
