"""How figures are said in a sentence: Fahrenheit and ounces first, the SI value behind them."""

from __future__ import annotations

KG_PER_OZ = (
    0.028349523125  # exact: avoirdupois pound 0.45359237 kg / 16 (MEMORY, international pound of 1959)
)
K_PER_F = 1 / 1.8


def to_F(temperature_K: float) -> float:
    """Return a temperature [K] in °F."""
    return temperature_K * 1.8 - 459.67


def from_F(temperature_F: float) -> float:
    """Return a temperature [°F] in K."""
    return (temperature_F + 459.67) / 1.8


def temperature(value_K: float) -> str:
    """Say a temperature [K], as in `95.0 °F (308.2 K)`."""
    return f"{to_F(value_K):.1f} °F ({value_K:.1f} K)"


def difference(value_K: float) -> str:
    """Say a temperature difference [K], as in `5.0 °F (2.8 K)`."""
    return f"{value_K * 1.8:.1f} °F ({value_K:.1f} K)"


def mass(value_kg: float) -> str:
    """Say a mass [kg], as in `2.2 oz (0.063 kg)`."""
    return f"{value_kg / KG_PER_OZ:.2f} oz ({value_kg:.4f} kg)"
