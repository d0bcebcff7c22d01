"""Pressure lost in lines and coils: with the square of flow (MEMORY: turbulent flow), and with lightness."""

from __future__ import annotations

from guide.refrigerant.thermal import Saturated, Thermal


def liquid_or_mixture(
    fluid: Thermal, pressure_Pa: float, enthalpy: float, both: Saturated
) -> tuple[float, float, float]:
    """Density [kg/m3], subcooling [K] (not negative) and quality of what comes from the condenser."""
    below = both.liquid_enthalpy - enthalpy
    if below >= 0.0:
        density = fluid.subcooled_density(pressure_Pa, enthalpy)
        return density, both.bubble_K - fluid.subcooled_K(pressure_Pa, enthalpy), 0.0
    quality = -below / (both.vapour_enthalpy - both.liquid_enthalpy)
    quality = min(quality, 1.0)
    volume = (1.0 - quality) / both.liquid_density + quality / both.vapour_density
    return 1.0 / volume, 0.0, quality
