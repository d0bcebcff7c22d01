"""Nitrogen in a closed circuit, against worked cases and against a property library."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.nitrogen import density_mol_m3, pressure_of
from guide.charging.pressure_test import Gas, change_uncertainty_Pa, expected_pressure_Pa, held
from guide.charging.refusal import FigureError

PSI = 6894.757293168
ATMOSPHERE = 101_325.0


def _kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) * 5 / 9


def _psig(expected_Pa: float) -> float:
    return (expected_Pa - ATMOSPHERE) / PSI


@pytest.mark.parametrize(
    ("psig", "start_F", "end_F", "ideal_psig", "real_psig"),
    [
        (150.0, 80.0, 70.0, 147.0, 146.9),
        (300.0, 75.0, 65.0, 294.1, 293.8),
        (400.0, 75.0, 65.0, 392.2, 391.7),
        (500.0, 80.0, 70.0, 490.5, 489.7),
        (550.0, 90.0, 70.0, 529.5, 527.7),
    ],
)
def test_closed_nitrogen_falls_a_little_further_than_an_ideal_gas(
    psig: float, start_F: float, end_F: float, ideal_psig: float, real_psig: float
) -> None:
    """Charging reference 4.1 and its data: 150 psig at 80 °F is FOUND, the results are CALCULATED there."""
    start = Gas(psig * PSI + ATMOSPHERE, _kelvin(start_F))

    shown = _psig(expected_pressure_Pa(start, _kelvin(end_F)))

    assert shown == pytest.approx(real_psig, abs=0.05)
    assert shown < ideal_psig


def test_the_makers_rule_takes_too_little_out_at_full_test_pressure() -> None:
    """FOUND, charging reference 4.1: 3.8 MPa at 27 °C is said to read 3.73 MPa at 20 °C; ideal gas 3.71."""
    start = Gas(3.8e6 + ATMOSPHERE, 300.15)

    shown_MPa = (expected_pressure_Pa(start, 293.15) - ATMOSPHERE) / 1e6

    assert shown_MPa == pytest.approx(3.70, abs=0.005)


@settings(max_examples=60, deadline=None)
@given(st.floats(1e5, 6e6), st.floats(230.0, 340.0), st.floats(230.0, 340.0))
def test_closed_nitrogen_agrees_with_a_property_library(
    pressure: float, start_K: float, end_K: float
) -> None:
    """CoolProp 8 (LIBRARY), the same equation built by others."""
    from CoolProp.CoolProp import PropsSI

    density = PropsSI("DMOLAR", "P", pressure, "T", start_K, "Nitrogen")
    outside = PropsSI("P", "DMOLAR", density, "T", end_K, "Nitrogen")

    assert expected_pressure_Pa(Gas(pressure, start_K), end_K) == pytest.approx(outside, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(st.floats(1e4, 2e7), st.floats(210.0, 480.0))
def test_the_slopes_of_a_pressure_are_those_of_its_curve(pressure: float, temperature: float) -> None:
    density = density_mol_m3(pressure, temperature)
    at = pressure_of(density, temperature)
    less, more = density * (1 - 1e-5), density * (1 + 1e-5)
    by_density = (pressure_of(more, temperature).Pa - pressure_of(less, temperature).Pa) / (more - less)
    by_temperature = pressure_of(density, temperature + 0.01).Pa - pressure_of(density, temperature - 0.01).Pa

    assert at.Pa == pytest.approx(pressure, rel=1e-10)
    assert at.per_mol_m3 == pytest.approx(by_density, rel=1e-5)
    assert at.per_K == pytest.approx(by_temperature / 0.02, rel=1e-5)


def test_without_a_change_of_temperature_the_gauge_counts_twice() -> None:
    """CALCULATED: sqrt(2) times the gauge's limit; 1 psi and 1 °F at 164.7 psia, 530 °R: 1.48 psi."""
    start = Gas(150 * PSI + ATMOSPHERE, _kelvin(70.33))

    alone = change_uncertainty_Pa(
        start, start.temperature_K, pressure_accuracy_Pa=PSI, temperature_accuracy_K=0.0
    )
    both = change_uncertainty_Pa(
        start, start.temperature_K, pressure_accuracy_Pa=PSI, temperature_accuracy_K=5 / 9
    )

    assert alone / PSI == pytest.approx(math.sqrt(2))
    assert both / PSI == pytest.approx(math.sqrt(2 + 2 * (164.696 / 530.0) ** 2), abs=5e-3)


def test_the_uncertainty_is_that_of_readings_off_by_their_limits() -> None:
    """A reading off by its limit alone moves the difference by its part; the parts add by their squares."""
    start, end_K = Gas(400 * PSI + ATMOSPHERE, _kelvin(90.0)), _kelvin(70.0)
    usual = expected_pressure_Pa(start, end_K)
    parts = (
        PSI,
        expected_pressure_Pa(Gas(start.pressure_Pa + PSI, start.temperature_K), end_K) - usual,
        expected_pressure_Pa(Gas(start.pressure_Pa, start.temperature_K + 0.5), end_K) - usual,
        expected_pressure_Pa(start, end_K + 0.5) - usual,
    )

    off = change_uncertainty_Pa(start, end_K, pressure_accuracy_Pa=PSI, temperature_accuracy_K=0.5)

    assert off == pytest.approx(math.hypot(*parts), rel=2e-3)


def test_a_hold_says_the_smallest_leak_it_could_have_shown() -> None:
    """CALCULATED: no temperature change, a gauge good to 1 psi, an hour: sqrt(2) psi; a litre loses 2.7e-3
    Pa m3/s, 10 litres ten times that."""
    start = Gas(150 * PSI + ATMOSPHERE, 295.0)
    end = Gas(149.5 * PSI + ATMOSPHERE, 295.0)

    hold = held(start, end, 3600.0, pressure_accuracy_Pa=PSI, temperature_accuracy_K=0.0)

    assert hold.change_Pa == pytest.approx(-0.5 * PSI)
    assert hold.smallest_fall_Pa == pytest.approx(math.sqrt(2) * PSI)
    assert hold.smallest_leak_Pa_m3_per_s() == pytest.approx(math.sqrt(2) * PSI * 1e-3 / 3600.0)
    assert hold.smallest_leak_Pa_m3_per_s(0.01) == pytest.approx(10 * hold.smallest_leak_Pa_m3_per_s())


def test_a_longer_hold_shows_a_smaller_leak_but_no_smaller_fall() -> None:
    start, end = Gas(2e6, 295.0), Gas(2e6, 294.0)
    hour, day = (
        held(start, end, seconds, pressure_accuracy_Pa=5e3, temperature_accuracy_K=0.3)
        for seconds in (3600.0, 86_400.0)
    )

    assert day.smallest_fall_Pa == hour.smallest_fall_Pa
    assert day.smallest_leak_Pa_m3_per_s() == pytest.approx(hour.smallest_leak_Pa_m3_per_s() / 24)


@pytest.mark.parametrize(
    ("pressure", "start", "end"),
    [
        (0.0, 300.0, 300.0),
        (1e6, 0.0, 300.0),
        (1e6, 300.0, -1),
        (1e6, 150.0, 300.0),
        (1e6, 300.0, 700.0),
        (1e9, 300.0, 300.0),
        (math.nan, 300.0, 300.0),
    ],
)
def test_figures_that_no_test_has_are_refused(pressure: float, start: float, end: float) -> None:
    with pytest.raises(FigureError):
        expected_pressure_Pa(Gas(pressure, start), end)


def test_a_hold_without_time_or_volume_says_no_leak_rate() -> None:
    start = Gas(1e6, 295.0)
    with pytest.raises(FigureError):
        held(start, start, 0.0, pressure_accuracy_Pa=1.0, temperature_accuracy_K=0.0)
    hold = held(start, start, 60.0, pressure_accuracy_Pa=1.0, temperature_accuracy_K=0.0)
    with pytest.raises(FigureError):
        hold.smallest_leak_Pa_m3_per_s(0.0)
    with pytest.raises(FigureError):
        change_uncertainty_Pa(start, 295.0, pressure_accuracy_Pa=-1.0, temperature_accuracy_K=0.0)
