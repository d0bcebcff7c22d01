"""A closed gas under pressure: what it shows when its temperature changes, and how sure that is.

P2 = P1 * T2 / T1 with absolute pressures and temperatures (ideal gas at constant volume; charging
reference, section 4.1: worked case FOUND, 150 psig at 80 °F and 70 °F the next day; 147.0 psig CALCULATED).
Real nitrogen differs by less than 1.2 psi from this up to 550 psig (CALCULATED there).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from guide.charging.refusal import positive


@dataclass(frozen=True, slots=True)
class Gas:
    """A pressure [Pa absolute] at a temperature [K] of a closed gas."""

    pressure_Pa: float
    temperature_K: float


def expected_pressure_Pa(start: Gas, end_temperature_K: float) -> float:
    """The pressure [Pa absolute] that a closed gas shows at another temperature.

    Raises:
        FigureError: a figure is not above zero.
    """
    positive("The temperature at the start", start.temperature_K)
    positive("The temperature at the end", end_temperature_K)
    positive("The pressure at the start", start.pressure_Pa)
    return start.pressure_Pa * end_temperature_K / start.temperature_K


def change_uncertainty_Pa(
    start: Gas, end_temperature_K: float, *, pressure_accuracy_Pa: float, temperature_accuracy_K: float
) -> float:
    """How far the measured less the expected pressure at the end may be off [Pa].

    Gauge and sensor read twice; their limits are combined as root of the sum of squares, each weighed with
    the slope of P2 - P1 * T2 / T1 (JCGM 100:2008, 5.1.2, MEMORY). What one gauge is off by at both readings
    cancels in part, so that this errs to the wide side.

    Raises:
        FigureError: a figure is not above zero.
    """
    ratio = expected_pressure_Pa(start, end_temperature_K) / start.pressure_Pa
    per_kelvin = start.pressure_Pa / start.temperature_K
    return math.hypot(
        pressure_accuracy_Pa,
        pressure_accuracy_Pa * ratio,
        temperature_accuracy_K * per_kelvin,
        temperature_accuracy_K * per_kelvin * ratio,
    )
