"""An opened circuit answers nitrogen, a pump and time as published work says circuits answer."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.water_vapor import MICRON_Pa
from guide.refrigerant.saturation import curve
from guide.rig.circuit import (
    DRYING_TAU_S,
    RISE_TAU_S,
    Circuit,
    EVENING_OUT_Pa,
    Inside,
    PUMP_FLOOR_Pa,
    Trouble,
)
from tests.rig.straight_line import OIL_RISE_Pa, Setting, SimplePlant

SITE_Pa = 101_325.0
PSI_Pa = 6894.757293168
MINUTE_S = 60.0
HOUR_S = 3600.0


def fahrenheit(value: float) -> float:
    return (value + 459.67) / 1.8


def circuit(trouble: Trouble | None = None, ambient_K: Callable[[float], float] | None = None) -> Circuit:
    return Circuit(
        site_pressure_Pa=SITE_Pa, ambient_K=ambient_K or (lambda _: 300.0), trouble=trouble or Trouble()
    )


def standing(trouble: Trouble | None = None, pumped_s: float = HOUR_S) -> Circuit:
    """A circuit pumped down and shut off."""
    made = circuit(trouble)
    made.open_to_air()
    made.pump_on()
    made.pass_time(pumped_s)
    made.shut_off()
    return made


def micron(of: Circuit) -> float:
    return of.pressure_Pa / MICRON_Pa


def plant(fraction: float = 1.0, trouble: Trouble | None = None) -> SimplePlant:
    made = SimplePlant(
        Setting(
            curve=curve("R-410A"), right_charge_kg=3.6, site_pressure_Pa=SITE_Pa, start_fraction=fraction,
            trouble=trouble or Trouble(),
        )
    )  # fmt: skip
    made.put_on_scale("R", 7.0)
    return made


def test_nitrogen_follows_the_temperature_as_a_gas_does() -> None:
    """150 psig at 80 °F becomes 146.9 psig at 70 °F (worked case in the trade press, ACHR News 153295,
    FOUND; the 146.9 is CALCULATED from it as an ideal gas; a real one differs by less than 0.1 psi there)."""
    cooling = circuit(ambient_K=lambda at_s: fahrenheit(80.0 if at_s < HOUR_S else 70.0))
    cooling.fill_with_nitrogen(SITE_Pa + 150.0 * PSI_Pa)
    cooling.pass_time(HOUR_S)

    assert (cooling.pressure_Pa - SITE_Pa) / PSI_Pa == pytest.approx(146.9, abs=0.1)


def test_a_leaking_circuit_loses_nitrogen_and_never_falls_below_the_air() -> None:
    leaking = circuit(Trouble(nitrogen_leak_Pa_per_s=2.0 * PSI_Pa / MINUTE_S))
    leaking.fill_with_nitrogen(SITE_Pa + 150.0 * PSI_Pa)
    leaking.pass_time(10 * MINUTE_S)

    assert (leaking.pressure_Pa - SITE_Pa) / PSI_Pa == pytest.approx(130.0)
    leaking.pass_time(1000 * MINUTE_S)
    assert leaking.pressure_Pa == SITE_Pa


def test_a_dry_and_tight_circuit_reaches_the_usual_target_in_half_an_hour_and_holds_it() -> None:
    """Pass: 500 micron, 20 min with the pump off, not above 500 (makers' manuals as in
    data/evacuation_criteria.csv, Haier and Lennox, FOUND)."""
    dry = standing(pumped_s=30 * MINUTE_S)

    assert micron(dry) < 300
    dry.pass_time(20 * MINUTE_S)
    assert micron(dry) < 500
    assert micron(dry) - PUMP_FLOOR_Pa / MICRON_Pa < 50


def test_a_damp_circuit_rises_and_levels_off_below_the_atmosphere() -> None:
    """Moisture rises, then levels off (Thermo King and Johnson Controls YC4, FOUND); damp oil holds 1000 to
    5000 micron (charging reference 4.3, PROPOSED)."""
    damp = standing(Trouble(damp_Pa=4000 * MICRON_Pa), pumped_s=30 * MINUTE_S)

    assert micron(damp) < 500
    damp.pass_time(20 * MINUTE_S)
    after = micron(damp)
    damp.pass_time(20 * MINUTE_S)
    later = micron(damp)
    damp.pass_time(24 * HOUR_S)

    assert 1000 < after < later < 5000
    assert micron(damp) == pytest.approx(4000 * math.exp(-30 * MINUTE_S / DRYING_TAU_S))


def test_a_leaking_circuit_keeps_rising_until_the_atmosphere() -> None:
    """A leak keeps rising toward atmosphere (Thermo King and Johnson Controls YC4, FOUND)."""
    leaking = standing(Trouble(vacuum_leak_Pa_per_s=100 * MICRON_Pa / MINUTE_S))

    seen = []
    for _ in range(3):
        leaking.pass_time(10 * MINUTE_S)
        seen.append(micron(leaking))
    assert seen[2] - seen[1] == pytest.approx(1000, rel=0.05)
    leaking.pass_time(3_000 * HOUR_S)
    assert leaking.pressure_Pa == SITE_Pa


def test_the_rise_is_the_references_formula() -> None:
    """P(t) = P0 + L t/V + (Peq - P0)(1 - exp(-t/tau)) (charging reference 4.3, PROPOSED)."""
    leak = 10 * MICRON_Pa / MINUTE_S
    seen = standing(Trouble(vacuum_leak_Pa_per_s=leak))
    start = seen.pressure_Pa
    seen.pass_time(7 * MINUTE_S)

    even = EVENING_OUT_Pa * (1 - math.exp(-7 * MINUTE_S / RISE_TAU_S))
    assert seen.pressure_Pa == pytest.approx(start + leak * 7 * MINUTE_S + even)


def test_only_pumping_dries_and_only_mending_closes_a_leak() -> None:
    bad = standing(Trouble(vacuum_leak_Pa_per_s=1.0, damp_Pa=4000 * MICRON_Pa))
    bad.pass_time(HOUR_S)
    bad.mend()
    wet = micron(bad)
    bad.pass_time(20 * HOUR_S)
    bad.pump_on()
    bad.pass_time(4 * HOUR_S)
    bad.shut_off()
    bad.pass_time(20 * MINUTE_S)

    assert wet > 1000
    assert micron(bad) < 500


@given(st.lists(st.floats(0.0, 5000.0), min_size=1, max_size=12), st.booleans())
@settings(max_examples=60, deadline=None)
def test_it_does_not_matter_in_how_many_pieces_time_passes(pieces: list[float], pumping: bool) -> None:
    trouble = Trouble(nitrogen_leak_Pa_per_s=3.0, vacuum_leak_Pa_per_s=0.01, damp_Pa=400.0)
    whole, parts = circuit(trouble), circuit(trouble)
    for each in (whole, parts):
        each.fill_with_nitrogen(SITE_Pa)
        if pumping:
            each.pump_on()
    whole.pass_time(sum(pieces))
    for piece in pieces:
        parts.pass_time(piece)

    assert parts.pressure_Pa == pytest.approx(whole.pressure_Pa)


def test_recovered_refrigerant_leaves_the_pressure_of_saturation_only_when_no_liquid_is_left() -> None:
    system = plant()
    full = system.read("system_pressure")
    system.move(-3.6 * 0.9)
    system.pass_time(HOUR_S)
    still_liquid = system.read("system_pressure")
    system.move(-3.6 * 0.09)
    system.pass_time(HOUR_S)

    saturated = system.setting.curve.bubble_pressure_Pa(system.setting.outdoor_db_K)
    assert full == pytest.approx(saturated, rel=0.001)
    assert still_liquid == pytest.approx(saturated, rel=0.001)
    assert system.read("system_pressure") == pytest.approx(saturated * 0.01 / 0.05 + OIL_RISE_Pa, rel=0.001)


def test_refrigerant_comes_back_out_of_the_oil_and_less_of_it_each_time() -> None:
    system = plant()
    rises = []
    for _ in range(3):
        system.draw_down(50_000.0)
        before = system.rest_pressure_Pa
        system.pass_time(HOUR_S)
        rises.append(system.rest_pressure_Pa - before)

    assert rises[0] > 2 * rises[1] > 4 * rises[2] > 0
    assert system.read("cylinder_weight") == pytest.approx(7.0 + 3.6 - system.charge_kg)


def test_what_is_let_into_a_vacuum_comes_off_the_scale() -> None:
    system = plant()
    system.draw_down(50_000.0)
    system.circuit.open_to_air()
    system.circuit.pump_on()
    system.pass_time(HOUR_S)
    assert system.charge_kg == 0.0
    system.put_on_scale("N", 14.5)

    system.break_vacuum(SITE_Pa + 5 * PSI_Pa)

    assert system.circuit.inside is Inside.REFRIGERANT
    assert system.rest_pressure_Pa == pytest.approx(SITE_Pa + 5 * PSI_Pa)
    assert system.read("cylinder_weight") == pytest.approx(14.5 - system.charge_kg)
    assert 0 < system.charge_kg < 0.05


def test_an_opened_and_recharged_system_runs_as_before() -> None:
    whole, opened = plant(), plant()
    opened.draw_down(50_000.0)
    opened.circuit.fill_with_nitrogen(SITE_Pa + 300 * PSI_Pa)
    opened.pass_time(HOUR_S)
    opened.circuit.pump_on()
    opened.pass_time(HOUR_S)
    opened.put_on_scale("N", 14.5)
    opened.move(3.6)
    opened.pass_time(HOUR_S)

    assert opened.superheat_K() == pytest.approx(whole.superheat_K(), abs=0.01)
    assert opened.subcooling_K() == pytest.approx(whole.subcooling_K(), abs=0.01)


def test_instruments_show_what_is_in_the_circuit() -> None:
    system = plant()
    assert system.read("system_vacuum") == pytest.approx(20_000 * MICRON_Pa, rel=0.01)
    system.circuit.fill_with_nitrogen(SITE_Pa + 300 * PSI_Pa)
    system.pass_time(10.0)
    assert system.read("test_pressure") == pytest.approx(SITE_Pa + 300 * PSI_Pa, rel=0.001)
    assert system.read("high_side_standing_pressure") == pytest.approx(SITE_Pa + 300 * PSI_Pa, rel=0.003)
    assert system.read("gas_temperature") == pytest.approx(system.setting.outdoor_db_K, abs=0.5)
    system.circuit.pump_on()
    system.pass_time(HOUR_S)
    assert system.read("system_vacuum") < 300 * MICRON_Pa
