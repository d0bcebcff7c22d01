"""What is done wrong at a simulated unit has the consequence it has at a real one, told by its name."""

from __future__ import annotations

from dataclasses import replace

import pytest

from guide.refrigerant.thermal import COVERED
from guide.rig.acts import Act, Handling
from guide.rig.faults import Fault, Graded
from guide.rig.happenings import GRAVE, Kind
from guide.rig.hookup import HOSE_m3
from guide.rig.rig import Rig
from tests.rig.person import VALVE, Person, PSI_Pa, SITE_Pa, scenario


def connected(fraction: float = 0.9, name: str = "practice-opening.yaml", *faults: Graded) -> Person:
    somebody = Person(scenario(*faults, name=name, fraction=fraction))
    somebody.connect()
    return somebody


def emptied() -> Person:
    """At a locked unit whose refrigerant was recovered, hoses on."""
    somebody = connected()
    recover(somebody)
    somebody.do(Act.LOCK)
    return somebody


def recover(somebody: Person, seconds: float = 2400.0) -> None:
    somebody.do(Act.STAND, somebody.recovers)
    somebody.do(Act.JOIN, "recovery machine")
    somebody.do(Act.OPEN_CYLINDER)
    somebody.do(Act.OPEN_HAND_VALVE, "low")
    somebody.do(Act.OPEN_HAND_VALVE, "high")
    somebody.do(Act.START_MACHINE, wait=seconds)
    somebody.do(Act.STOP_MACHINE)
    somebody.do(Act.CLOSE_CYLINDER)
    somebody.do(Act.CLOSE_HAND_VALVE, "low")
    somebody.do(Act.CLOSE_HAND_VALVE, "high")


def test_a_hose_nobody_purged_brings_its_air_into_the_circuit() -> None:
    """A 60 in hose of 1/4 in bore holds 48 ml, 0.06 g of air (CALCULATED)."""
    somebody = Person()
    somebody.do(Act.JOIN, "low")
    somebody.do(Act.OPEN_SHUTOFF, "low")
    (got_in,) = somebody.of(Kind.AIR_IN)

    assert got_in.where == "low"
    assert got_in.amount == pytest.approx(5.6e-5, rel=0.05)
    assert somebody.rig.truth().air_kg == pytest.approx(got_in.amount)


def test_a_purged_hose_brings_next_to_no_air_but_costs_a_breath_of_refrigerant() -> None:
    """A hose holds 0.06 oz of vapour at 130 psig (CALCULATED reference); a breath at rest pressure is two of
    hotter and denser vapour."""
    somebody = Person()
    somebody.do(Act.JOIN, "low")
    somebody.do(Act.PURGE, "low")
    somebody.do(Act.OPEN_SHUTOFF, "low")
    (lost,) = somebody.of(Kind.REFRIGERANT_LOST)

    assert somebody.rig.truth().air_kg < 2e-6
    assert lost.amount is not None
    assert 0.002 < lost.amount < 0.02


def test_evacuated_hoses_bring_no_air_and_lose_nothing() -> None:
    somebody = Person()
    somebody.connect()

    assert somebody.rig.truth().air_kg < 1e-6
    assert somebody.rig.truth().lost_kg == 0.0
    assert somebody.rig.happenings == ()


def test_a_charging_hose_nobody_purged_brings_its_air_in_with_the_refrigerant() -> None:
    somebody = Person()
    for side in ("low", "high"):
        somebody.do(Act.JOIN, side)
        somebody.do(Act.PURGE, side)
        somebody.do(Act.OPEN_SHUTOFF, side)
    somebody.do(Act.STAND, somebody.cylinder)
    somebody.do(Act.JOIN, somebody.cylinder)
    somebody.run()
    somebody.feed(5.0)

    assert any(each.amount and each.amount > 4e-5 for each in somebody.of(Kind.AIR_IN))


def test_purging_the_liquid_side_of_a_running_unit_blows_liquid_away() -> None:
    somebody = connected()
    somebody.run()
    somebody.do(Act.CLOSE_SHUTOFF, "high")
    somebody.do(Act.PURGE, "high")

    assert any(each.amount and each.amount > 0.04 for each in somebody.of(Kind.REFRIGERANT_LOST))


def test_throttled_liquid_is_taken_and_liquid_at_full_bore_floods_the_compressor() -> None:
    careful, hasty = connected(), connected()
    careful.run()
    careful.feed(30.0, opening=0.1)
    hasty.run()
    hasty.feed(5.0, opening=1.0)

    assert Kind.LIQUID_TO_COMPRESSOR not in careful.kinds()
    (flooded,) = hasty.of(Kind.LIQUID_TO_COMPRESSOR)
    assert flooded.grave
    assert flooded.amount is not None
    assert flooded.amount > 0.02


@pytest.mark.parametrize("refrigerant", COVERED)
@pytest.mark.parametrize("charge_kg", [1.2, 3.0, 20.0])
def test_on_small_units_and_large_it_is_the_hand_valve_that_decides(
    refrigerant: str, charge_kg: float
) -> None:
    one = scenario()
    cylinders = tuple(replace(each, designation=refrigerant) for each in one.cylinders)
    made = replace(one, designation=refrigerant, right_charge_kg=charge_kg, cylinders=cylinders)
    for opening, seconds, flooded in ((0.1, 10.0, False), (1.0, 5.0, True)):
        somebody = Person(made)
        somebody.connect()
        somebody.run()
        somebody.feed(seconds, opening)

        assert (Kind.LIQUID_TO_COMPRESSOR in somebody.kinds()) is flooded


def test_vapour_at_full_bore_floods_nothing() -> None:
    somebody = connected()
    somebody.run()
    somebody.do(Act.OPEN_CYLINDER)
    somebody.do(Act.OPEN_HAND_VALVE, "low", 1.0, wait=60.0)

    assert Kind.LIQUID_TO_COMPRESSOR not in somebody.kinds()
    assert somebody.rig.truth().moved_kg[somebody.cylinder] > 0.2


def test_a_high_side_hose_full_of_liquid_opened_at_once_floods_the_compressor_and_slowly_does_not() -> None:
    for opening, flooded in ((0.1, False), (1.0, True)):
        somebody = connected()
        somebody.run()
        somebody.do(Act.CLOSE_SHUTOFF, "high")
        somebody.do(Act.OPEN_HAND_VALVE, "low", opening)
        somebody.do(Act.OPEN_HAND_VALVE, "high", opening, wait=60.0)

        assert (Kind.LIQUID_TO_COMPRESSOR in somebody.kinds()) is flooded
        assert somebody.rig.hookup.high.liquid is False


def test_a_charging_hose_left_full_of_liquid_is_as_dangerous() -> None:
    somebody = connected(0.9, "practice-opening.yaml", Graded(Fault.LIQUID_HOSE, 1.0))
    # the pump took what the hose held: it went through the pump and is told
    assert Kind.REFRIGERANT_IN_PUMP in somebody.kinds()

    other = Person(scenario(Graded(Fault.LIQUID_HOSE, 1.0)))
    assert other.rig.hookup.centre.liquid
    other.do(Act.JOIN, "low")
    other.do(Act.PURGE, "low")
    other.do(Act.OPEN_SHUTOFF, "low")
    other.run()
    other.do(Act.OPEN_HAND_VALVE, "low", 1.0)
    assert Kind.LIQUID_TO_COMPRESSOR in other.kinds()


def test_far_too_much_charge_floods_the_compressor_in_time() -> None:
    somebody = connected(1.2)
    somebody.run()
    somebody.feed(90.0)
    assert Kind.LIQUID_TO_COMPRESSOR not in somebody.kinds()
    somebody.rig.pass_time(1800.0)

    assert somebody.rig.truth().superheat_K == 0.0
    assert Kind.LIQUID_TO_COMPRESSOR in somebody.kinds()


def test_a_unit_that_was_found_overfilled_may_be_run_to_recover_from_it() -> None:
    somebody = connected(1.3)
    somebody.run(40.0)

    assert not somebody.kinds() & GRAVE


def test_a_compressor_is_not_started_in_a_vacuum_or_on_nitrogen() -> None:
    somebody = emptied()
    somebody.do(Act.JOIN, "nitrogen")
    somebody.do(Act.OPEN_HAND_VALVE, "low")
    somebody.do(Act.SET_REGULATOR, "", SITE_Pa + 100.0 * PSI_Pa)
    somebody.do(Act.UNLOCK)
    somebody.do(Act.SWITCH_ON)
    assert {each.kind for each in somebody.new} == {Kind.RAN_WITH_NITROGEN}

    somebody.do(Act.SET_REGULATOR, "", 0.0)
    somebody.do(Act.RELEASE, "low")
    somebody.do(Act.OPEN_HAND_VALVE, "low")
    somebody.do(Act.START_PUMP, wait=1800.0)
    somebody.do(Act.CLOSE_HAND_VALVE, "low")
    somebody.do(Act.SWITCH_ON)
    assert {each.kind for each in somebody.new} == {Kind.RAN_IN_VACUUM}
    assert not somebody.rig.hookup.runs


def test_nitrogen_above_the_design_pressure_is_told_with_the_pressure() -> None:
    somebody = emptied()
    somebody.do(Act.JOIN, "nitrogen")
    somebody.do(Act.OPEN_HAND_VALVE, "low")
    somebody.do(Act.SET_REGULATOR, "", SITE_Pa + 240.0 * PSI_Pa)
    assert Kind.OVER_DESIGN_PRESSURE not in somebody.kinds()

    # the order's regulator relieves at its design pressure; without a relief it would go over
    loose = Person(Rig(replace(somebody.rig.scenario, relief_Pa=None)))
    loose.connect()
    recover(loose)
    loose.do(Act.JOIN, "nitrogen")
    loose.do(Act.OPEN_HAND_VALVE, "low")
    loose.do(Act.SET_REGULATOR, "", SITE_Pa + 400.0 * PSI_Pa)
    (over,) = loose.of(Kind.OVER_DESIGN_PRESSURE)
    assert over.grave
    assert over.amount == pytest.approx(SITE_Pa + 400.0 * PSI_Pa)


def test_a_recovery_cylinder_filled_beyond_its_limit_is_told() -> None:
    made = scenario()
    full = replace(
        made.cylinders[1], net_kg=made.cylinders[1].limit_gross_kg - made.cylinders[1].tare_kg - 1.0
    )
    somebody = Person(Rig(replace(made, cylinders=(made.cylinders[0], full))))
    somebody.connect()
    recover(somebody)
    (over,) = somebody.of(Kind.CYLINDER_OVERFILLED)

    assert over.grave
    assert over.where == full.id


def test_recovery_empties_the_circuit_into_the_cylinder() -> None:
    somebody = emptied()
    truth = somebody.rig.truth()

    assert somebody.rig.rest_pressure_Pa < SITE_Pa
    assert truth.moved_kg[somebody.recovers] == pytest.approx(-0.9 * truth.right_charge_kg, rel=0.06)
    assert truth.lost_kg < 0.001
    assert not somebody.kinds() & GRAVE


def test_opening_a_circuit_under_pressure_is_grave_and_loses_the_charge() -> None:
    somebody = Person()
    somebody.do(Act.LOCK)
    somebody.do(Act.OPEN_CIRCUIT)
    (opened,) = somebody.of(Kind.OPENED_UNDER_PRESSURE)

    assert opened.grave
    assert opened.amount is not None
    assert opened.amount > 1e6
    assert somebody.rig.truth().charge_kg == 0.0
    assert somebody.rig.truth().lost_kg == pytest.approx(somebody.rig.scenario.start_kg)


def test_opening_an_emptied_and_locked_circuit_is_fine() -> None:
    somebody = emptied()
    somebody.do(Act.OPEN_CIRCUIT)
    somebody.do(Act.MEND)

    assert not somebody.kinds() & GRAVE
    assert somebody.rig.truth().charge_kg == 0.0


@pytest.mark.parametrize("act", [Act.OPEN_CIRCUIT, Act.MEND])
def test_a_circuit_is_not_opened_with_the_power_on(act: Act) -> None:
    somebody = emptied()
    somebody.do(Act.UNLOCK)
    somebody.do(act)

    assert Kind.WORKED_LIVE in somebody.kinds()


def test_a_coil_is_not_washed_while_its_fan_turns() -> None:
    somebody = connected()
    somebody.do(Act.CLEAN, "outdoor coil")
    assert Kind.WORKED_LIVE not in somebody.kinds()
    somebody.run()
    somebody.do(Act.CLEAN, "outdoor coil")
    assert Kind.WORKED_LIVE in somebody.kinds()


def test_a_locked_unit_does_not_start() -> None:
    somebody = Person()
    somebody.do(Act.LOCK)
    with pytest.raises(Exception, match="locked"):
        somebody.rig.do(Handling(Act.SWITCH_ON))


def test_parting_a_hose_with_its_shut_off_open_is_grave_and_with_it_shut_is_a_hiss() -> None:
    hasty, careful = connected(), connected()
    hasty.do(Act.PART, "high")
    careful.do(Act.CLOSE_SHUTOFF, "high")
    careful.do(Act.PART, "high")
    (parted,) = hasty.of(Kind.PARTED_UNDER_PRESSURE)

    assert parted.grave
    assert parted.where == "high"
    assert parted.amount is not None
    assert parted.amount > 0.02
    assert careful.rig.happenings == ()
    assert careful.rig.truth().lost_kg < 0.001


def test_taking_the_charging_hose_off_an_open_cylinder_is_grave() -> None:
    somebody = connected()
    somebody.do(Act.TURN_FOR_LIQUID)
    somebody.do(Act.OPEN_CYLINDER)
    somebody.do(Act.PART, "centre")

    assert Kind.PARTED_UNDER_PRESSURE in somebody.kinds()


def test_taking_a_charging_hose_off_that_holds_liquid_loses_what_it_holds() -> None:
    somebody = connected()
    somebody.do(Act.TURN_FOR_LIQUID)
    somebody.do(Act.OPEN_CYLINDER)
    somebody.do(Act.CLOSE_CYLINDER)
    assert somebody.rig.hookup.centre.liquid
    somebody.do(Act.PART, "centre")
    (lost,) = somebody.of(Kind.REFRIGERANT_LOST)
    density = 1030.0  # R-410A liquid near 92 °F, within 3 % (MEMORY)

    assert lost.amount == pytest.approx(HOSE_m3 * density, rel=0.05)


def test_a_vacuum_pump_opened_to_a_charged_circuit_is_told_and_swallows_refrigerant() -> None:
    somebody = connected()
    somebody.do(Act.START_PUMP)
    somebody.do(Act.OPEN_HAND_VALVE, "low", wait=60.0)
    somebody.do(Act.CLOSE_HAND_VALVE, "low")

    assert Kind.PUMP_AGAINST_PRESSURE in somebody.kinds()
    assert Kind.REFRIGERANT_IN_PUMP in somebody.kinds()
    assert somebody.rig.truth().lost_kg > 0.5


def test_another_refrigerant_that_gets_in_is_told() -> None:
    made = scenario()
    other = replace(made.cylinders[0], designation="R-22")
    somebody = Person(Rig(replace(made, cylinders=(other, made.cylinders[1]))))
    somebody.connect()
    somebody.run()
    somebody.do(Act.OPEN_CYLINDER)
    somebody.do(Act.OPEN_HAND_VALVE, "low", 0.3, wait=30.0)

    (wrong,) = somebody.of(Kind.WRONG_REFRIGERANT)
    assert wrong.where == other.id
    assert wrong.grave


def test_blowing_refrigerant_off_is_told_each_time() -> None:
    somebody = connected()
    somebody.do(Act.RELEASE, "low")
    somebody.do(Act.RELEASE, "low")

    assert len(somebody.of(Kind.REFRIGERANT_LOST)) == 2


def test_a_valve_unit_far_overfilled_on_a_hot_day_trips_on_high_pressure() -> None:
    somebody = connected(1.5, VALVE)
    somebody.run(10.0)
    (trip,) = somebody.of(Kind.HIGH_PRESSURE_TRIP)

    assert not trip.grave
    assert not somebody.rig.hookup.runs


def test_a_starved_coil_ices_and_the_discharge_runs_hot() -> None:
    somebody = connected(0.45)
    somebody.run(60.0)

    assert Kind.ICED in somebody.kinds()
    assert Kind.TOO_HOT in somebody.kinds()


def test_releasing_a_vacuum_into_the_air_lets_air_and_its_moisture_in() -> None:
    somebody = emptied()
    somebody.do(Act.JOIN, "vacuum pump")
    somebody.do(Act.OPEN_HAND_VALVE, "low")
    somebody.do(Act.OPEN_HAND_VALVE, "high")
    somebody.do(Act.START_PUMP, wait=1800.0)
    somebody.do(Act.RELEASE, "low")

    assert Kind.AIR_IN in somebody.kinds()
    assert Kind.MOISTURE_IN in somebody.kinds()


def test_a_unit_with_next_to_nothing_in_it_trips_on_low_pressure() -> None:
    somebody = connected(0.12)
    somebody.run(10.0)

    assert Kind.LOW_PRESSURE_TRIP in somebody.kinds()
    assert not somebody.rig.hookup.runs
    assert somebody.rig.truth().why_none


def test_recovery_takes_the_air_out_with_the_vapour_it_is_mixed_with() -> None:
    somebody = connected(1.0, "practice-opening.yaml", Graded(Fault.NON_CONDENSABLES, 1.0))
    before_kg = somebody.rig.truth().air_kg
    recover(somebody)

    assert before_kg > 0.01
    assert somebody.rig.truth().air_kg < 0.1 * before_kg
    assert somebody.rig.read("suction_pressure") < 0.5 * SITE_Pa
    assert Fault.NON_CONDENSABLES.value in somebody.rig.truth().mended
