"""A closed gas under pressure, against worked cases."""

from __future__ import annotations

import math

import pytest

from guide.charging.pressure_test import Gas, change_uncertainty_Pa, expected_pressure_Pa
from guide.charging.refusal import FigureError

PSI = 6894.757293168
ATMOSPHERE = 101_325.0


def _kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) * 5 / 9


@pytest.mark.parametrize(
    ("psig", "start_F", "end_F", "expected_psig"),
    [
        (150.0, 80.0, 70.0, 147.0),
        (300.0, 75.0, 65.0, 294.1),
        (400.0, 75.0, 65.0, 392.2),
        (500.0, 70.0, 60.0, 490.3),
    ],
)
def test_a_closed_gas_follows_its_absolute_temperature(
    psig: float, start_F: float, end_F: float, expected_psig: float
) -> None:
    """Charging reference 4.1: the case 150 psig at 80 °F is FOUND, the ideal gas's results CALCULATED."""
    start = Gas(psig * PSI + ATMOSPHERE, _kelvin(start_F))

    assert (expected_pressure_Pa(start, _kelvin(end_F)) - ATMOSPHERE) / PSI == pytest.approx(
        expected_psig, abs=0.06
    )


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
    assert both / PSI == pytest.approx(math.sqrt(2 + 2 * (164.696 / 530.0) ** 2), abs=1e-3)


@pytest.mark.parametrize(
    ("pressure", "start", "end"), [(0.0, 300.0, 300.0), (1e6, 0.0, 300.0), (1e6, 300.0, -1)]
)
def test_figures_that_no_gas_has_are_refused(pressure: float, start: float, end: float) -> None:
    with pytest.raises(FigureError):
        expected_pressure_Pa(Gas(pressure, start), end)
