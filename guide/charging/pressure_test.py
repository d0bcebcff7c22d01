"""A closed circuit under nitrogen: what it shows when its temperature changes, and which leak would show.

The amount and the volume stay, so its density does: the pressure at the start gives the density, the density
and the temperature at the end the pressure (`guide.charging.nitrogen`, a real gas). An ideal gas would follow
P2 = P1 * T2 / T1 in absolute units (charging reference, section 4.1; 150 psig at 80 °F and 70 °F the next
day FOUND); real nitrogen moves by 3 % more at 150 psig, by 9 % more at 550. Makers' rule of 0.01 MPa a
kelvin (FOUND) is right near 2.7 MPa and takes too little out above it: no rule of thumb is used here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from guide.charging.nitrogen import Pressure, density_mol_m3, pressure_of
from guide.charging.refusal import FigureError, finite, positive


@dataclass(frozen=True, slots=True)
class Gas:
    """A pressure [Pa absolute] at a temperature [K] of a closed gas."""

    pressure_Pa: float
    temperature_K: float


@dataclass(frozen=True, slots=True)
class Hold:
    """What a hold under nitrogen came to. All pressures in Pa, absolute or differences.

    `change_Pa` is the pressure at the end less the `expected_Pa` of a tight circuit (below zero: it fell),
    and may be off by `uncertainty_Pa`. A leak that took less than that can't be told from none.
    """

    expected_Pa: float
    change_Pa: float
    uncertainty_Pa: float
    seconds: float

    @property
    def smallest_fall_Pa(self) -> float:
        """The smallest loss of pressure this hold could have shown: its uncertainty."""
        return self.uncertainty_Pa

    def smallest_leak_Pa_m3_per_s(self, volume_m3: float = 1e-3) -> float:
        """The smallest leak this hold could have shown [Pa m3/s], as it loses gas at the test's temperature.

        Per litre of the circuit unless its volume is given. 1 Pa m3/s is 10 mbar L/s.

        Raises:
            FigureError: the volume or the time of the hold is not above zero.
        """
        positive("The volume of the circuit", volume_m3)
        return self.uncertainty_Pa * volume_m3 / positive("The time of the hold", self.seconds)


def expected_pressure_Pa(start: Gas, end_temperature_K: float) -> float:
    """The pressure [Pa absolute] that closed nitrogen shows at another temperature.

    Raises:
        FigureError: a figure is not above zero, or beyond any test of a circuit.
    """
    _, _, later = _carried(start, end_temperature_K)
    return later.Pa


def change_uncertainty_Pa(
    start: Gas, end_temperature_K: float, *, pressure_accuracy_Pa: float, temperature_accuracy_K: float
) -> float:
    """How far the measured less the expected pressure at the end may be off [Pa].

    Gauge and sensor read twice; their limits are combined as root of the sum of squares, each weighed with
    the slope of the expected pressure on it at constant density (JCGM 100:2008, 5.1.2, MEMORY). What one
    gauge is off by at both readings cancels in part, so that this errs to the wide side.

    Raises:
        FigureError: a figure is not above zero or beyond any test of a circuit, or a limit is below zero.
    """
    for limit in (pressure_accuracy_Pa, temperature_accuracy_K):
        if finite("The limit of an instrument", limit) < 0.0:
            raise FigureError("The limit of an instrument can't be negative: give the half width")
    _, first, later = _carried(start, end_temperature_K)
    per_start_Pa = later.per_mol_m3 / first.per_mol_m3
    return math.hypot(
        pressure_accuracy_Pa,
        pressure_accuracy_Pa * per_start_Pa,
        temperature_accuracy_K * first.per_K * per_start_Pa,
        temperature_accuracy_K * later.per_K,
    )


def held(
    start: Gas, end: Gas, seconds: float, *, pressure_accuracy_Pa: float, temperature_accuracy_K: float
) -> Hold:
    """What a hold of so many seconds under nitrogen came to, with the limits of gauge and sensor.

    Raises:
        FigureError: a figure is not above zero or beyond any test of a circuit, or a limit is below zero.
    """
    positive("The time of the hold", seconds)
    positive("The pressure at the end", end.pressure_Pa)
    expected = expected_pressure_Pa(start, end.temperature_K)
    uncertainty = change_uncertainty_Pa(
        start,
        end.temperature_K,
        pressure_accuracy_Pa=pressure_accuracy_Pa,
        temperature_accuracy_K=temperature_accuracy_K,
    )
    return Hold(expected, end.pressure_Pa - expected, uncertainty, seconds)


def _carried(start: Gas, end_temperature_K: float) -> tuple[float, Pressure, Pressure]:
    """The density [mol/m3] of the start, and the pressures of that density at both temperatures."""
    positive("The temperature at the start", start.temperature_K)
    positive("The temperature at the end", end_temperature_K)
    positive("The pressure at the start", start.pressure_Pa)
    density = density_mol_m3(start.pressure_Pa, start.temperature_K)
    return density, pressure_of(density, start.temperature_K), pressure_of(density, end_temperature_K)
