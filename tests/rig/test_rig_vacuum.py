"""A circuit that is opened by hand answers nitrogen, a pump, water and leaks as circuits do."""

from __future__ import annotations

import pytest

from guide.rig.acts import Act
from guide.rig.faults import Fault, Graded
from guide.rig.happenings import GRAVE, Kind
from tests.rig.person import MICRON_Pa, Person, PSI_Pa, SITE_Pa, scenario

HOUR_S = 3600.0


def opened(*faults: Graded) -> Person:
    """At an empty circuit (opened and closed again by others), hoses on, pump joined."""
    somebody = Person(scenario(*faults, fraction=0.0))
    somebody.do(Act.LOCK)
    somebody.connect()
    somebody.do(Act.CLAMP, "gas_temperature")
    return somebody


def nitrogen(somebody: Person, psig: float) -> None:
    somebody.do(Act.JOIN, "nitrogen")
    somebody.do(Act.OPEN_HAND_VALVE, "low")
    somebody.do(Act.OPEN_HAND_VALVE, "high")
    somebody.do(Act.SET_REGULATOR, "", SITE_Pa + psig * PSI_Pa)
    somebody.do(Act.SET_REGULATOR, "", 0.0)


def pump(somebody: Person, seconds: float) -> None:
    somebody.do(Act.OPEN_HAND_VALVE, "low")
    somebody.do(Act.OPEN_HAND_VALVE, "high")
    somebody.do(Act.START_PUMP, wait=seconds)


def shut(somebody: Person) -> None:
    somebody.do(Act.CLOSE_HAND_VALVE, "low")
    somebody.do(Act.CLOSE_HAND_VALVE, "high")
    somebody.do(Act.STOP_PUMP)


def micron(somebody: Person) -> float:
    return somebody.rig.read("system_vacuum") / MICRON_Pa


def psig(somebody: Person) -> float:
    return (somebody.rig.read("test_pressure") - SITE_Pa) / PSI_Pa


def test_nitrogen_stands_where_the_regulator_was_set_and_moves_with_the_air_only() -> None:
    """0.31 psi/F near 150 psig, 0.8 near 400 (charging reference 4.1, CALCULATED)."""
    somebody = opened()
    nitrogen(somebody, 150.0)
    before, warm = psig(somebody), somebody.rig.read("gas_temperature")
    somebody.rig.pass_time(4 * HOUR_S)
    warmer_F = (somebody.rig.read("gas_temperature") - warm) * 1.8

    assert before == pytest.approx(150.0, abs=0.5)
    assert warmer_F > 2.0
    assert psig(somebody) - before == pytest.approx(0.31 * warmer_F, abs=0.25)


def test_a_leak_shows_in_the_pressure_is_found_and_is_over_once_mended() -> None:
    somebody = opened(Graded(Fault.LEAK, 1.0))
    nitrogen(somebody, 150.0)
    somebody.rig.pass_time(600.0)
    fallen = psig(somebody)
    somebody.do(Act.SMELL_OUT)
    found = somebody.rig.truth().found
    somebody.do(Act.RELEASE, "low")
    somebody.do(Act.MEND)
    nitrogen(somebody, 150.0)
    held = psig(somebody)
    somebody.rig.pass_time(600.0)

    assert fallen < 135.0
    assert found == ("a leak at a joint of the circuit",)
    assert psig(somebody) == pytest.approx(held, abs=0.5)
    assert somebody.rig.truth().mended == {Fault.LEAK.value}
    assert not somebody.kinds() & GRAVE


def test_mending_under_pressure_is_grave() -> None:
    somebody = opened()
    nitrogen(somebody, 150.0)
    somebody.do(Act.MEND)

    assert Kind.OPENED_UNDER_PRESSURE in somebody.kinds()


def test_a_dry_and_tight_circuit_holds_its_vacuum() -> None:
    """500 micron, not above 500 after 20 min with the pump off (makers' manuals, FOUND)."""
    somebody = opened()
    pump(somebody, 1800.0)
    reached = micron(somebody)
    shut(somebody)
    somebody.rig.pass_time(1200.0)

    assert reached < 300.0
    assert micron(somebody) < 500.0


def test_a_damp_circuit_levels_off_and_a_leaking_one_keeps_rising() -> None:
    """Level-off of damp oil at 1000 to 5000 micron; a leak rises toward atmosphere (makers, FOUND)."""
    risen = {}
    for fault in (Fault.WET, Fault.LEAK):
        somebody = opened(Graded(fault, 1.0))
        pump(somebody, 1800.0)
        shut(somebody)
        seen = []
        for _ in range(4):
            somebody.rig.pass_time(900.0)
            seen.append(micron(somebody))
        risen[fault] = seen

    wet, leak = risen[Fault.WET], risen[Fault.LEAK]
    assert 1000.0 < wet[-1] < 5000.0
    assert wet[3] - wet[2] < 0.1 * (wet[1] - wet[0]) + 60.0
    assert leak[3] - leak[2] == pytest.approx(leak[1] - leak[0], rel=0.1)


def test_long_pumping_dries_and_so_do_sweeps_with_nitrogen() -> None:
    plain, swept = opened(Graded(Fault.WET, 1.0)), opened(Graded(Fault.WET, 1.0))
    wet = plain.rig.truth().water_kg
    for _ in range(2):
        pump(swept, 900.0)
        shut(swept)
        nitrogen(swept, 2.0)
        swept.rig.pass_time(HOUR_S)
        # nothing is broken but the regulator is closed: what stands there is let go by the pump
        swept.do(Act.RELEASE, "low")
    pump(swept, 900.0)
    pump(plain, 2700.0)

    assert wet > 0.0
    assert swept.rig.truth().water_kg < plain.rig.truth().water_kg < wet
    plain.rig.pass_time(4 * HOUR_S)
    assert plain.rig.truth().mended == {Fault.WET.value}


def test_refrigerant_weighed_into_a_good_vacuum_leaves_no_air_and_into_a_bad_one_does() -> None:
    for pumped_s, clean in ((1800.0, True), (120.0, False)):
        somebody = opened()
        somebody.do(Act.JOIN, somebody.cylinder)
        pump(somebody, pumped_s)
        shut(somebody)
        somebody.do(Act.TURN_FOR_LIQUID)
        somebody.do(Act.OPEN_CYLINDER)
        somebody.do(Act.OPEN_HAND_VALVE, "high", 0.5, wait=60.0)

        assert somebody.rig.truth().charge_kg > 1.0
        assert (somebody.rig.truth().air_kg < 1e-4) is clean
        assert (Kind.AIR_IN in somebody.kinds()) is not clean


def test_liquid_fed_into_the_low_side_at_rest_breaks_a_compressor_that_starts_at_once() -> None:
    for side, breaks in (("low", True), ("high", False)):
        somebody = opened()
        somebody.do(Act.JOIN, somebody.cylinder)
        pump(somebody, 1800.0)
        shut(somebody)
        somebody.do(Act.TURN_FOR_LIQUID)
        somebody.do(Act.OPEN_CYLINDER)
        somebody.do(Act.OPEN_HAND_VALVE, side, 1.0, wait=60.0)
        assert somebody.rig.truth().charge_kg > 2.0
        somebody.do(Act.CLOSE_CYLINDER, wait=0.0)
        somebody.do(Act.CLOSE_HAND_VALVE, side, wait=0.0)
        somebody.do(Act.UNLOCK, wait=0.0)
        somebody.do(Act.SWITCH_ON, wait=0.0)

        assert (Kind.LIQUID_TO_COMPRESSOR in somebody.kinds()) is breaks


def test_a_circuit_that_stands_open_takes_up_water() -> None:
    somebody = opened()
    somebody.do(Act.OPEN_CIRCUIT, wait=2 * HOUR_S)
    somebody.do(Act.MEND)

    assert Kind.MOISTURE_IN in somebody.kinds()
    pump(somebody, 1800.0)
    shut(somebody)
    somebody.rig.pass_time(1800.0)
    assert micron(somebody) > 500.0


def test_a_weighed_in_unit_starts_and_settles_at_its_target() -> None:
    somebody = opened()
    somebody.do(Act.JOIN, somebody.cylinder)
    pump(somebody, 1800.0)
    shut(somebody)
    somebody.do(Act.TURN_FOR_LIQUID)
    somebody.do(Act.OPEN_CYLINDER)
    somebody.do(Act.OPEN_HAND_VALVE, "high", 0.5, wait=0.0)
    right = somebody.rig.scenario.right_charge_kg
    while somebody.rig.truth().charge_kg < 0.97 * right and somebody.rig.elapsed_s < 20_000.0:
        somebody.rig.pass_time(5.0)
    somebody.do(Act.CLOSE_CYLINDER, wait=0.0)
    somebody.do(Act.CLOSE_HAND_VALVE, "high", wait=900.0)
    somebody.do(Act.UNLOCK)
    somebody.run(40.0)
    truth = somebody.rig.truth()

    assert not somebody.kinds() & GRAVE
    assert somebody.rig.hookup.runs
    assert truth.superheat_K is not None
    assert truth.charge_kg + truth.in_hoses_kg == pytest.approx(right, rel=0.04)
    assert somebody.superheat_F() == pytest.approx(truth.superheat_K * 1.8, abs=1.0)
