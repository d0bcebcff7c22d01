"""Each trouble of a simulated unit shows where it shows at a real one, until it is over."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.charging.round import Metering
from guide.charging.target_maker import MakerTable
from guide.refrigerant.saturation import curve
from guide.rig.acts import Act
from guide.rig.faults import Fault, Graded
from guide.rig.happenings import Kind
from guide.rig.scenario import BadScenario, Weather, scenario_for
from guide.rig.troubles import BadFault, troubles
from tests.rig.person import ORIFICE, SUMMER, VALVE, Person, PSI_Pa, SITE_Pa, order, scenario


def running(*faults: Graded, name: str = ORIFICE, fraction: float = 1.0) -> Person:
    somebody = Person(scenario(*faults, name=name, fraction=fraction))
    somebody.connect()
    somebody.run(40.0)
    return somebody


def signs(fault: Fault, grade: float, name: str = ORIFICE) -> dict[str, float]:
    """How readings of a unit with the fault differ from those of the same unit without it."""
    sick, sound = running(Graded(fault, grade), name=name), running(name=name)
    found = {
        channel: sick.rig.read(channel) - sound.rig.read(channel)
        for channel in ("suction_pressure", "liquid_pressure", "liquid_line", "supply_db")
    }
    found["superheat"] = sick.superheat_F() - sound.superheat_F()
    found["subcooling"] = sick.subcooling_F() - sound.subcooling_F()
    return found


# Signs by the published rules for a fixed-orifice unit (Rossi and Braun, in a thesis, FOUND), as far as the
# plant reproduces them; where it does not, the validation table of the plant says so.


def test_low_indoor_airflow_lowers_pressure_and_superheat_and_cools_the_air_more() -> None:
    seen = signs(Fault.LOW_INDOOR_AIRFLOW, 0.8)

    assert seen["suction_pressure"] < 0
    assert seen["superheat"] < -1.0
    assert seen["supply_db"] < 0


def test_a_dirty_condenser_raises_both_pressures() -> None:
    seen = signs(Fault.DIRTY_CONDENSER, 0.8)

    assert seen["liquid_pressure"] > 10 * PSI_Pa
    assert seen["suction_pressure"] > 0
    assert seen["superheat"] < 0


@pytest.mark.parametrize("name", [ORIFICE, VALVE])
def test_a_restriction_raises_superheat_and_not_with_too_little_subcooling(name: str) -> None:
    seen = signs(Fault.RESTRICTION, 1.0, name)

    assert seen["suction_pressure"] < 0
    assert seen["superheat"] > 1.0
    assert seen["subcooling"] > -0.5


def test_a_leaking_compressor_brings_the_pressures_together() -> None:
    seen = signs(Fault.COMPRESSOR_LEAK, 0.8)

    assert seen["suction_pressure"] > 0
    assert seen["liquid_pressure"] < 0


def test_air_raises_the_running_and_the_resting_pressure_above_the_refrigerants_own() -> None:
    seen = signs(Fault.NON_CONDENSABLES, 1.0)
    somebody = running(Graded(Fault.NON_CONDENSABLES, 1.0))
    somebody.do(Act.SWITCH_OFF, wait=1800.0)
    resting = somebody.rig.read("high_side_standing_pressure")
    saturated = order().appliance().curve.bubble_pressure_Pa(SUMMER.outdoor_K)

    assert seen["liquid_pressure"] > 10 * PSI_Pa
    assert seen["subcooling"] > 0.5
    assert resting - saturated > 5 * PSI_Pa
    assert somebody.rig.truth().air_kg > 0.003


@pytest.mark.parametrize("grade", [0.3, 0.8, 1.0])
@pytest.mark.parametrize(("place", "rises"), [("closed", True), ("open", False)])
def test_a_valve_that_sticks_starves_the_coil_or_floods_it(place: str, rises: bool, grade: float) -> None:
    sick = running(Graded(Fault.STUCK_VALVE, grade, place), name=VALVE)
    sound = running(name=VALVE)

    assert (sick.superheat_F() > sound.superheat_F()) is rises


@pytest.mark.parametrize(("fault", "at"), [
    (Fault.LOW_INDOOR_AIRFLOW, "filter"), (Fault.DIRTY_CONDENSER, "outdoor coil"),
])  # fmt: skip
def test_what_was_dirty_is_over_once_it_is_clean(fault: Fault, at: str) -> None:
    sound = running()
    somebody = running(Graded(fault, 0.8))
    somebody.do(Act.SWITCH_OFF)
    somebody.do(Act.CLEAN, at)
    somebody.run(40.0)

    assert somebody.rig.truth().mended == {fault.value}
    assert somebody.superheat_F() == pytest.approx(sound.superheat_F(), abs=0.8)
    assert somebody.rig.read("liquid_pressure") == pytest.approx(sound.rig.read("liquid_pressure"), rel=0.01)


def test_a_sensor_off_its_pipe_reads_partly_air_until_it_is_seated_anew() -> None:
    somebody = running(Graded(Fault.PROBE_OFF, 1.0, "suction_line"))
    sound = running()
    loose = somebody.rig.read("suction_line")
    somebody.do(Act.CLAMP, "suction_line")

    assert loose - sound.rig.read("suction_line") > 5.0
    assert somebody.rig.read("suction_line") == pytest.approx(sound.rig.read("suction_line"), abs=0.5)
    assert somebody.rig.truth().mended == {Fault.PROBE_OFF.value}


def test_a_sensor_nobody_clamped_shows_the_air() -> None:
    somebody = Person()
    somebody.hoses_on()
    somebody.run()

    assert somebody.rig.read("suction_line") == pytest.approx(SUMMER.outdoor_K, abs=0.5)
    assert somebody.rig.read("supply_db") == pytest.approx(SUMMER.indoor_db_K, abs=0.5)


def test_a_gauge_that_is_off_shows_it_in_the_open_air_and_is_right_once_zeroed() -> None:
    somebody = Person(scenario(Graded(Fault.GAUGE_OFF, 1.0, "low")))
    off = somebody.rig.read("low_gauge_open") - SITE_Pa
    assert abs(off) == pytest.approx(5 * PSI_Pa)
    assert somebody.rig.read("high_gauge_open") == SITE_Pa

    somebody.do(Act.ZERO)
    assert somebody.rig.read("low_gauge_open") == pytest.approx(SITE_Pa)


def test_a_gauge_zeroed_under_pressure_is_off_by_that_pressure() -> None:
    somebody = Person()
    somebody.connect()
    before = somebody.rig.read("low_side_standing_pressure")
    somebody.do(Act.ZERO)

    assert before > 1.5e6
    assert somebody.rig.read("low_side_standing_pressure") == pytest.approx(SITE_Pa, rel=0.03)


def test_gauges_set_for_another_refrigerant_show_wrong_saturation_and_right_pressure() -> None:
    somebody = running(Graded(Fault.WRONG_SETTING, 1.0, "R-22"))
    sound = running()
    shown_K = somebody.rig.shown_saturation_K("low")
    right_K = sound.rig.shown_saturation_K("low")

    assert somebody.rig.hookup.set_for == "R-22"
    assert somebody.rig.read("suction_pressure") == sound.rig.read("suction_pressure")
    assert shown_K is not None
    assert right_K is not None
    pressure = somebody.rig.read("suction_pressure")
    assert shown_K == pytest.approx(curve("R-22").dew_temperature_K(pressure), abs=0.2)
    assert shown_K - right_K > 10.0


def test_a_leak_costs_charge_shows_to_a_detector_and_is_over_once_mended() -> None:
    somebody = Person(scenario(Graded(Fault.LEAK, 1.0)))
    before = somebody.rig.truth().charge_kg
    somebody.rig.pass_time(3600.0)
    somebody.do(Act.SMELL_OUT)

    assert 0.02 < before - somebody.rig.truth().charge_kg < 0.2
    assert somebody.rig.truth().lost_kg == pytest.approx(before - somebody.rig.truth().charge_kg)
    assert somebody.rig.truth().found == ("a leak at a joint of the circuit",)


def test_a_leaking_core_loses_while_no_hose_is_on_it_and_hisses_when_one_comes_or_goes() -> None:
    somebody = Person(scenario(Graded(Fault.LEAKING_CORE, 1.0, "high")))
    somebody.rig.pass_time(600.0)
    alone = somebody.rig.truth().lost_kg
    somebody.do(Act.JOIN, "high", wait=0.0)
    joined = somebody.rig.truth().lost_kg
    somebody.rig.pass_time(600.0)

    assert alone > 0.004
    assert joined > alone
    assert somebody.rig.truth().lost_kg == joined
    assert somebody.of(Kind.REFRIGERANT_LOST)[0].where == "high"


def test_an_interruption_has_a_time_and_words_and_follows_the_seed() -> None:
    one = Person(scenario(Graded(Fault.INTERRUPTION, 1.0), seed=1)).rig.interruption
    again = Person(scenario(Graded(Fault.INTERRUPTION, 1.0), seed=1)).rig.interruption

    assert one is not None
    assert one == again
    assert 600.0 < one.at_s < 3600.0
    assert one.words
    assert Person().rig.interruption is None


@given(st.sampled_from(Fault), st.floats(0.0, 1.0))
def test_every_fault_of_every_grade_makes_a_system_or_says_why_not(fault: Fault, grade: float) -> None:
    made = scenario(Graded(fault, grade), name=VALVE)

    assert made.faults == (Graded(fault, grade),)
    assert made.metering is Metering.THERMOSTATIC_VALVE


@pytest.mark.parametrize("fault", list(Fault))
def test_a_fault_of_no_grade_is_nothing_at_all(fault: Fault) -> None:
    assert scenario(Graded(fault, 0.0), name=VALVE).troubles == scenario(name=VALVE).troubles


@pytest.mark.parametrize("graded", [
    Graded(Fault.WET, 1.5), Graded(Fault.WET, -0.1), Graded(Fault.WET, float("nan")),
    Graded(Fault.GAUGE_OFF, 1.0, "middle"), Graded(Fault.LEAKING_CORE, 1.0, "x"),
    Graded(Fault.PROBE_OFF, 1.0, "suction_pressure"), Graded(Fault.STUCK_VALVE, 1.0, "sideways"),
    Graded(Fault.WRONG_SETTING, 1.0, "R-0"),
])  # fmt: skip
def test_a_fault_that_cannot_be_is_refused_in_one_line(graded: Graded) -> None:
    with pytest.raises(BadFault) as refused:
        troubles([graded], designation="R-410A", seed=1)
    assert "\n" not in str(refused.value)


def test_an_orifice_has_no_valve_that_sticks() -> None:
    with pytest.raises(BadFault, match="orifice"):
        scenario(Graded(Fault.STUCK_VALVE, 0.5))


@pytest.mark.parametrize(("fraction", "weather"), [
    (-0.1, SUMMER), (1.7, SUMMER), (0.9, Weather(299.0, 300.0, 306.0)), (0.9, Weather(299.0, 292.0, 240.0)),
])  # fmt: skip
def test_a_system_that_cannot_be_is_refused(fraction: float, weather: Weather) -> None:
    with pytest.raises(BadScenario):
        scenario(fraction=fraction, weather=weather)


@given(st.integers(0, 10**9))
def test_whatever_the_seed_a_scenario_has_a_target_and_less_than_its_right_charge(seed: int) -> None:
    made = scenario_for(order(), seed=seed)

    assert made.target_superheat_K is not None
    assert 2.8 < made.target_superheat_K < 15.0
    assert 0.8 < made.start_fraction < 0.95
    assert made == scenario_for(order(), seed=seed)


@given(st.integers(0, 10**9))
def test_a_unit_with_a_makers_table_gets_air_that_the_table_knows_and_its_target(seed: int) -> None:
    table = MakerTable(
        "a test", indoor_wb_K=(289.0, 291.0), outdoor_db_K=(298.0, 300.0), target_K=((6.0, 8.0), (5.0, 7.0))
    )
    made = scenario_for(replace(order(), target_table=table), seed=seed)

    assert 289.0 <= made.weather.indoor_wb_K <= 291.0
    assert 298.0 <= made.weather.outdoor_K <= 300.0
    assert made.target_superheat_K is not None
    assert made.target_superheat_K == table.target(made.weather.indoor_wb_K, made.weather.outdoor_K).value_K
