"""Nitrogen as a real gas, between 200 and 500 K and up to 30 MPa, in plain Python.

Span, Lemmon, Jacobsen, Wagner and Yokozeki, A Reference Equation of State for the Thermodynamic Properties of
Nitrogen, J. Phys. Chem. Ref. Data 29 (2000): the residual Helmholtz energy, coefficients FOUND in the fluid
file of a property library (CoolProp 8). Its four Gaussian terms act near the critical point (126 K) only and
add nothing (below 1e-20) from 200 K up, so they are left out. Stated accuracy of density 0.02 % (MEMORY).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from guide.charging.refusal import FigureError, positive

COLDEST_K: Final = 200.0
HOTTEST_K: Final = 500.0
HIGHEST_Pa: Final = 30e6
MOLAR_MASS_kg: Final = 0.02801348
_GAS_CONSTANT: Final = 8.31451
"""The one the equation was fitted with [J/(mol K)]."""
_REDUCING_K: Final = 126.192
_REDUCING_mol_m3: Final = 11183.901464580624

# coefficient, power of density, power of inverse temperature, power of density in the exponent (0: none)
_TERMS: Final = (
    (0.924803575275, 1, 0.25, 0), (-0.492448489428, 1, 0.875, 0), (0.661883336938, 2, 0.5, 0),
    (-1.92902649201, 2, 0.875, 0), (-0.0622469309629, 3, 0.375, 0), (0.349943957581, 3, 0.75, 0),
    (0.564857472498, 1, 0.5, 1), (-1.61720005987, 1, 0.75, 1), (-0.481395031883, 1, 2.0, 1),
    (0.421150636384, 3, 1.25, 1), (-0.0161962230825, 3, 3.5, 1), (0.172100994165, 4, 1.0, 1),
    (0.00735448924933, 6, 0.5, 1), (0.0168077305479, 6, 3.0, 1), (-0.00107626664179, 7, 0.0, 1),
    (-0.0137318088513, 7, 2.75, 1), (0.000635466899859, 8, 0.75, 1), (0.00304432279419, 8, 2.5, 1),
    (-0.0435762336045, 1, 4.0, 2), (-0.0723174889316, 2, 6.0, 2), (0.0389644315272, 3, 6.0, 2),
    (-0.021220136391, 4, 3.0, 2), (0.00408822981509, 5, 3.0, 2), (-5.51990017984e-05, 8, 6.0, 2),
    (-0.0462016716479, 4, 16.0, 3), (-0.00300311716011, 5, 11.0, 3), (0.0368825891208, 5, 15.0, 3),
    (-0.0025585684622, 8, 12.0, 3), (0.00896915264558, 3, 12.0, 4), (-0.0044151337035, 5, 7.0, 4),
    (0.00133722924858, 6, 4.0, 4), (0.000264832491957, 9, 16.0, 4),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Pressure:
    """A pressure [Pa absolute] with its slopes against density [Pa m3/mol] and temperature [Pa/K]."""

    Pa: float
    per_mol_m3: float
    per_K: float


def pressure_of(density_mol_m3: float, temperature_K: float) -> Pressure:
    """The pressure of nitrogen of a density [mol/m3] at a temperature [K], with its slopes.

    p = rho R T (1 + d a_d); slopes by the derivatives of the residual Helmholtz energy.

    Raises:
        FigureError: the density is not above zero, or the temperature lies outside 200 to 500 K.
    """
    positive("The density of the nitrogen", density_mol_m3)
    _in_range(temperature_K)
    d, t = density_mol_m3 / _REDUCING_mol_m3, _REDUCING_K / temperature_K
    first = second = mixed = 0.0
    for n, power, inverse, within in _TERMS:
        bend = within * d**within if within else 0.0
        term = n * d**power * t**inverse * math.exp(-(d**within) if within else 0.0)
        slope = power - bend
        first += term * slope
        second += term * (slope * (slope - 1.0) - within * bend)
        mixed += term * slope * inverse
    rt = _GAS_CONSTANT * temperature_K
    return Pressure(
        Pa=density_mol_m3 * rt * (1.0 + first),
        per_mol_m3=rt * (1.0 + 2.0 * first + second),
        per_K=density_mol_m3 * _GAS_CONSTANT * (1.0 + first - mixed),
    )


def density_mol_m3(pressure_Pa: float, temperature_K: float) -> float:
    """The density [mol/m3] of nitrogen under a pressure [Pa absolute] at a temperature [K].

    By Newton's method from the ideal gas: above 200 K pressure rises smoothly with density.

    Raises:
        FigureError: pressure or temperature lie outside what the equation is used for here.
    """
    if positive("The pressure of the nitrogen", pressure_Pa) > HIGHEST_Pa:
        raise FigureError(
            f"Nitrogen at {pressure_Pa / 1e6:g} MPa is beyond any test of a circuit: check the gauge"
        )
    _in_range(temperature_K)
    density = pressure_Pa / (_GAS_CONSTANT * temperature_K)
    for _ in range(50):
        at = pressure_of(density, temperature_K)
        step = (at.Pa - pressure_Pa) / at.per_mol_m3
        density = max(density - step, 0.1 * density)
        if abs(step) <= 1e-12 * density:
            break
    return density


def _in_range(temperature_K: float) -> None:
    if not COLDEST_K <= positive("The temperature of the nitrogen", temperature_K) <= HOTTEST_K:
        raise FigureError(
            f"The temperature of the nitrogen must lie between {COLDEST_K:g} and {HOTTEST_K:g} K, "
            f"not {temperature_K:g}: check what was entered"
        )
