"""What one refrigerant does in a closed vessel: its pressure, what it weighs as liquid and as vapour.

Vapour below saturation: P = Ps s with s from m = m_s s (1 - b)/(1 - b s), where m_s is the mass of saturated
vapour in the vessel and b = 0.25 stands for the falling compressibility (Z of 0.75 to 0.85 at saturation is
CALCULATED for the covered refrigerants near 300 K; the straight line between is PROPOSED). SI.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

from guide.refrigerant.thermal import Thermal, thermal

AIR_J_per_kg_K: Final = 287.05
"""Gas constant of dry air (MEMORY, any table of gases); nitrogen's is 3 % higher and is taken as the same."""
BEND: Final = 0.25
COLDEST_K: Final = 233.15
HOTTEST_K: Final = 338.15


class Fluid:
    """One refrigerant at rest; temperatures are held to -40 to 65 °C."""

    def __init__(self, tables: Thermal) -> None:
        self.tables = tables

    def saturation_Pa(self, temperature_K: float) -> float:
        """Pressure over liquid of a temperature."""
        return self._at(_held(temperature_K))[0]

    def liquid_kg_per_m3(self, temperature_K: float) -> float:
        """Density of liquid that boils at this temperature."""
        return self._at(_held(temperature_K))[1]

    def vapour_kg_per_m3(self, temperature_K: float) -> float:
        """Density of saturated vapour of this temperature."""
        return self._at(_held(temperature_K))[2]

    def latent_J_per_kg(self, temperature_K: float) -> float:
        """Heat that boiling takes at this temperature."""
        return self._at(_held(temperature_K))[3]

    def vapour_mass_kg(self, volume_m3: float, temperature_K: float, pressure_Pa: float) -> float:
        """How much vapour fills a vessel under a pressure, at most saturated vapour."""
        saturated_Pa, _, density, _ = self._at(_held(temperature_K))
        share = min(1.0, max(0.0, pressure_Pa / saturated_Pa))
        return volume_m3 * density * share * (1.0 - BEND) / (1.0 - BEND * share)

    def pressure_Pa(self, mass_kg: float, volume_m3: float, temperature_K: float) -> float:
        """The pressure of so much refrigerant in a vessel: saturation as soon as there is liquid."""
        saturated_Pa, _, density, _ = self._at(_held(temperature_K))
        full_kg = volume_m3 * density
        if mass_kg >= full_kg:
            return saturated_Pa
        part = max(0.0, mass_kg) / full_kg
        return saturated_Pa * part / (1.0 - BEND + BEND * part)

    @lru_cache(maxsize=512)  # noqa: B019 - few refrigerants, each lives as long as the program
    def _at(self, temperature_K: float) -> tuple[float, float, float, float]:
        pressure_Pa = self.tables.bubble_Pa(temperature_K)
        both = self.tables.saturated(pressure_Pa)
        latent = both.vapour_enthalpy - both.liquid_enthalpy
        return pressure_Pa, both.liquid_density, both.vapour_density, latent


@lru_cache(maxsize=16)
def fluid(designation: str) -> Fluid:
    """The fluid of a refrigerant.

    Raises:
        NoThermal: there are no tables of it.
    """
    return Fluid(thermal(designation))


def air_kg(pressure_Pa: float, volume_m3: float, temperature_K: float) -> float:
    """How much air fills a vessel (ideal gas)."""
    return max(0.0, pressure_Pa) * volume_m3 / (AIR_J_per_kg_K * temperature_K)


def air_Pa(mass_kg: float, volume_m3: float, temperature_K: float) -> float:
    """The pressure of so much air in a vessel (ideal gas)."""
    return mass_kg * AIR_J_per_kg_K * temperature_K / volume_m3


def passes_kg_per_s(area_m2: float, density_kg_per_m3: float, drop_Pa: float) -> float:
    """What passes an opening: A sqrt(2 rho dp), incompressible (Bernoulli, with the jet in A)."""
    if drop_Pa <= 0.0 or area_m2 <= 0.0:
        return 0.0
    return area_m2 * math.sqrt(2.0 * density_kg_per_m3 * drop_Pa)


def in_a_row_m2(*areas_m2: float) -> float:
    """One opening that lets through as much as several one behind the other."""
    if min(areas_m2) <= 0.0:
        return 0.0
    return 1.0 / math.sqrt(math.fsum(area_m2**-2 for area_m2 in areas_m2))


def _held(temperature_K: float) -> float:
    return min(max(temperature_K, COLDEST_K), HOTTEST_K)
