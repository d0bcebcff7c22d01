"""Which way the readings go with each trouble, against published rules where the plant reproduces them.

Rules for a fixed orifice: Rossi and Braun, as in the charging reference, section 7. Not reproduced:
subcooling that falls with a dirty condenser, condensing that falls with a choked line, discharge that rises
with foreign gas; there nothing is asked.
"""

from typing import Any

import pytest

from guide.rig.plant import Conditions, Metering, SteadyState
from tests.rig.plant.plants import ORIFICE, THERMOSTATIC, at, plant, running

DEAD_F = 0.4


def figures_F(state: SteadyState, conditions: Conditions) -> tuple[float, ...]:
    wet = 100.0 * (1.0 - state.suction_quality)
    return tuple(
        1.8 * figure
        for figure in (
            state.evaporating_K,
            state.superheat_K - wet,
            state.condensing_K,
            state.subcooling_K - 50.0 * state.liquid_quality,
            state.discharge_K,
            state.outdoor_leaving_K - conditions.outdoor_K,
            conditions.indoor_db_K - state.supply_db_K,
        )
    )


@pytest.mark.parametrize(
    ("metering", "charge", "trouble", "signs"),
    [
        # evaporating, superheat, condensing, subcooling, discharge, outdoor rise, indoor drop
        (ORIFICE, 0.8, {}, "-+--+--"),
        (ORIFICE, 1.2, {}, "+-++-00"),
        (ORIFICE, 1.0, {"indoor_air": 0.6}, "------+"),
        (ORIFICE, 1.0, {"valve_leak": 0.2}, "+------"),
        (ORIFICE, 1.0, {"restriction_Pa": 6e5}, "-+.++--"),
        (ORIFICE, 1.0, {"outdoor_air": 0.6}, "+-+.++-"),
        (ORIFICE, 1.0, {"gas_Pa": 1.5e5}, "+-++.00"),
        (THERMOSTATIC, 0.7, {}, ".+--+--"),
        (THERMOSTATIC, 0.8, {}, ".+--.--"),
        (THERMOSTATIC, 1.2, {}, "..++++0"),
        (THERMOSTATIC, 1.0, {"indoor_air": 0.6}, "-0-.+-+"),
        (THERMOSTATIC, 1.0, {"valve_leak": 0.2}, "+.--+--"),
        (THERMOSTATIC, 1.0, {"restriction_Pa": 12e5}, "-+.++--"),
        (THERMOSTATIC, 1.0, {"outdoor_air": 0.6}, "+.+.++0"),
        (THERMOSTATIC, 1.0, {"gas_Pa": 1.5e5}, "00+++00"),
        (THERMOSTATIC, 1.0, {"valve_stuck": 1.0}, "+------"),
        (THERMOSTATIC, 1.0, {"valve_stuck": 0.5}, "-+.++--"),
    ],
)
def test_each_trouble_moves_the_readings_its_way(
    metering: Metering, charge: float, trouble: dict[str, Any], signs: str
) -> None:
    of = plant(metering=metering)
    before = figures_F(running(of), at(of))
    after = figures_F(running(of, charge, **trouble), at(of, charge, **trouble))
    seen = [
        "+" if b - a > DEAD_F else "-" if b - a < -DEAD_F else "0" for a, b in zip(before, after, strict=True)
    ]
    assert all(sign in (".", is_so) for sign, is_so in zip(signs, seen, strict=True)), "".join(seen)


def test_fouling_and_a_lack_of_outdoor_air_both_condense_hotter() -> None:
    assert running(plant(), fouling=0.5).condensing_K > running(plant()).condensing_K + 1.0


def test_foreign_gas_shows_as_pressure_over_what_the_refrigerant_would_have() -> None:
    without, with_gas = running(plant()), running(plant(), gas_Pa=2e5)
    assert with_gas.liquid_Pa > without.liquid_Pa
    assert with_gas.subcooling_K > without.subcooling_K
    assert with_gas.compressor_W > without.compressor_W


def test_a_very_low_charge_ices_the_coil_and_says_so() -> None:
    assert any("ices" in note for note in running(plant(), 0.5).notes)


def test_a_strong_overcharge_on_an_orifice_brings_liquid_back_and_says_so() -> None:
    state = running(plant(), 1.25)
    assert state.superheat_K == 0.0
    assert state.suction_quality < 1.0
    assert any("liquid comes back" in note for note in state.notes)


def test_thin_air_carries_less_and_condenses_hotter() -> None:
    sea, high = running(plant()), running(plant(), site_pressure_Pa=83_000.0)
    assert high.condensing_K > sea.condensing_K
    assert high.capacity_W < sea.capacity_W
