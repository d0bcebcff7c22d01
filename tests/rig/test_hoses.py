"""Hoses, valves and cylinders let through, hold and lose what such things do."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.refrigerant.saturation import curve
from guide.refrigerant.thermal import COVERED
from guide.rig.acts import Act
from guide.rig.cylinder_contents import Contents, Stock
from guide.rig.fluid import BEND, air_kg, air_Pa, fluid, in_a_row_m2, passes_kg_per_s
from guide.rig.happenings import GRAVE
from guide.rig.hookup import HOSE_m3
from guide.rig.lags import COOLING_OFF_S, PROCESS_S, SENSOR_S, Lagged
from tests.rig.person import Person, scenario

ROOM_K = 299.8  # 80 °F


def connected(fraction: float = 0.9) -> Person:
    somebody = Person(scenario(fraction=fraction))
    somebody.connect()
    return somebody


def test_a_hose_holds_as_much_liquid_and_vapour_as_is_published() -> None:
    """A 60 in hose of 1/4 in bore: 1.8 oz of R-410A liquid at 80 °F (charging reference 5, CALCULATED)."""
    liquid_oz = HOSE_m3 * fluid("R-410A").liquid_kg_per_m3(ROOM_K) / 0.028349523
    assert liquid_oz == pytest.approx(1.8, abs=0.05)


@pytest.mark.parametrize("designation", COVERED)
def test_a_vessel_shows_saturation_while_there_is_liquid_as_the_curves_say(designation: str) -> None:
    made = fluid(designation)
    saturated = curve(designation).bubble_pressure_Pa(ROOM_K)

    assert made.saturation_Pa(ROOM_K) == pytest.approx(saturated, rel=2e-3)
    assert made.pressure_Pa(5.0, 0.012, ROOM_K) == made.saturation_Pa(ROOM_K)
    assert made.pressure_Pa(0.0, 0.012, ROOM_K) == 0.0


@given(st.sampled_from(COVERED), st.floats(0.001, 0.999), st.floats(260.0, 330.0))
def test_vapour_that_fills_a_vessel_to_a_pressure_has_that_pressure(
    name: str, share: float, kelvin: float
) -> None:
    made = fluid(name)
    wanted = share * made.saturation_Pa(kelvin)
    mass = made.vapour_mass_kg(0.01, kelvin, wanted)

    assert made.pressure_Pa(mass, 0.01, kelvin) == pytest.approx(wanted, rel=1e-9)
    assert 0.0 < BEND < 1.0


@given(st.floats(1e-8, 1e-4), st.floats(1e-8, 1e-4))
def test_two_openings_in_a_row_pass_less_than_either(one: float, two: float) -> None:
    both = in_a_row_m2(one, two)

    assert both < min(one, two)
    assert in_a_row_m2(one, 0.0) == 0.0
    # the same flow through both, the drops adding up
    flow = passes_kg_per_s(both, 1000.0, 1e6)
    drops = (flow / one) ** 2 / 2000.0 + (flow / two) ** 2 / 2000.0
    assert drops == pytest.approx(1e6)


def test_nothing_passes_against_the_pressure() -> None:
    assert passes_kg_per_s(1e-6, 1000.0, -1.0) == 0.0


@given(st.floats(0.0, 1e7), st.floats(1e-5, 1.0))
def test_air_in_a_vessel_goes_both_ways(pressure: float, volume: float) -> None:
    assert air_Pa(air_kg(pressure, volume, ROOM_K), volume, ROOM_K) == pytest.approx(pressure)


def test_a_cracked_hand_valve_feeds_five_to_ten_grams_of_liquid_a_second_and_less_vapour() -> None:
    fed = {}
    for way in (Act.TURN_FOR_LIQUID, Act.TURN_FOR_VAPOUR):
        somebody = connected()
        somebody.run()
        somebody.do(way)
        somebody.do(Act.OPEN_CYLINDER, wait=5.0)
        before = somebody.rig.read("cylinder_weight")
        somebody.do(Act.OPEN_HAND_VALVE, "low", 0.1, wait=20.0)
        fed[way] = (before - somebody.rig.read("cylinder_weight")) / 20.0

    assert 0.005 < fed[Act.TURN_FOR_LIQUID] < 0.010
    assert 0.0005 < fed[Act.TURN_FOR_VAPOUR] < 0.5 * fed[Act.TURN_FOR_LIQUID]


def test_what_leaves_the_cylinder_is_in_the_circuit_and_the_hoses() -> None:
    somebody = connected()
    somebody.run()
    before = somebody.rig.truth()
    weighed = somebody.rig.read("cylinder_weight")
    somebody.feed(15.0)
    after = somebody.rig.truth()

    gave = weighed - somebody.rig.read("cylinder_weight")
    came = after.charge_kg + after.in_hoses_kg - before.charge_kg - before.in_hoses_kg
    assert gave == pytest.approx(came, abs=1e-9)
    assert gave > 0.1


def test_a_charging_hose_holds_its_liquid_until_it_is_let_drain() -> None:
    somebody = connected()
    somebody.run()
    somebody.do(Act.TURN_FOR_LIQUID)
    somebody.do(Act.OPEN_CYLINDER, wait=10.0)
    somebody.do(Act.CLOSE_CYLINDER)
    full = somebody.rig.hookup.centre
    somebody.do(Act.OPEN_HAND_VALVE, "low", 0.1, wait=60.0)

    assert full.liquid
    assert full.refrigerant_kg == pytest.approx(0.050, abs=0.004)
    assert somebody.rig.hookup.centre.refrigerant_kg < 0.004


def test_a_cylinder_that_feeds_vapour_cools_and_falls_in_pressure_and_warms_again() -> None:
    def contents() -> Contents:
        return Contents(Stock("C", "R-410A", 3.2, 0.0145, 8.0, 14.5, recovers=False), fluid("R-410A"), ROOM_K)

    vapour, liquid = contents(), contents()
    liquid.for_liquid = True
    start_Pa = vapour.pressure_Pa
    vapour.give(0.5)
    liquid.give(0.5)

    assert vapour.pressure_Pa < 0.9 * start_Pa
    assert liquid.pressure_Pa == start_Pa
    vapour.warm(4 * 3600.0)
    assert vapour.pressure_Pa == pytest.approx(start_Pa, rel=1e-3)
    assert vapour.give(100.0) == pytest.approx(7.5)
    assert vapour.net_kg == 0.0


def test_a_running_unit_gives_refrigerant_back_into_an_empty_cylinder_by_its_own_pressure() -> None:
    somebody = connected(1.2)
    somebody.do(Act.STAND, somebody.recovers)
    somebody.do(Act.JOIN, somebody.recovers)
    somebody.do(Act.PART, "vacuum pump")
    somebody.run()
    somebody.do(Act.OPEN_CYLINDER)
    somebody.do(Act.OPEN_HAND_VALVE, "high", 0.1, wait=20.0)
    somebody.do(Act.CLOSE_HAND_VALVE, "high")
    somebody.do(Act.CLOSE_CYLINDER)

    assert somebody.rig.truth().moved_kg[somebody.recovers] < -0.1
    assert not somebody.kinds() & GRAVE


def test_nothing_flows_from_a_cylinder_into_the_high_side_of_a_running_unit() -> None:
    somebody = connected()
    somebody.run()
    before = somebody.rig.read("cylinder_weight")
    somebody.do(Act.TURN_FOR_LIQUID)
    somebody.do(Act.OPEN_CYLINDER)
    somebody.do(Act.OPEN_HAND_VALVE, "high", 0.2, wait=30.0)

    assert somebody.rig.read("cylinder_weight") > before


@given(
    st.floats(0.0, 600.0),
    st.floats(0.0, 600.0),
    st.sampled_from([*PROCESS_S.values(), COOLING_OFF_S]),
    st.sampled_from([0.0, *SENSOR_S.values()]),
)
def test_a_lagged_quantity_comes_to_the_same_in_one_piece_or_two(
    first: float, second: float, process: float, sensor: float
) -> None:
    whole, parts = Lagged(1.0, 5.0, 10.0, process, sensor), Lagged(1.0, 5.0, 10.0, process, sensor)
    whole.advance(first + second)
    parts.advance(first)
    parts.advance(second)

    assert whole.value == pytest.approx(parts.value, abs=1e-9)
    assert whole.sensed == pytest.approx(parts.sensed, abs=1e-9)
    assert whole.value_after(1e6) == pytest.approx(10.0)
