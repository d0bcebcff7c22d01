"""A refrigerant cylinder that feeds or fills: its pressure, temperature and what it weighs. SI.

Liquid that leaves takes little heat with it; vapour has to boil first, which cools what stays behind, so that
a cylinder that feeds vapour falls in pressure (common practice; heat balance CALCULATED).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from guide.rig.fluid import Fluid

LIQUID_J_per_kg_K: Final = 1700.0
"""Heat capacity of liquid refrigerant, 1.4 to 1.9 kJ/(kg K) at 300 K (MEMORY)."""
STEEL_J_per_kg_K: Final = 480.0
WARMING_S: Final = 1800.0
"""How fast a cylinder in still air comes back to its temperature (PROPOSED)."""
DEFAULT_m3: Final = 0.0145
DEFAULT_TARE_kg: Final = 3.2


@dataclass(frozen=True, slots=True)
class Stock:
    """One cylinder as it stands at the start."""

    id: str
    designation: str
    """What is in it; for a recovery cylinder what it is meant for."""
    tare_kg: float
    volume_m3: float
    net_kg: float
    limit_gross_kg: float
    """The gross weight it must not go beyond."""
    recovers: bool


class Contents:
    """What is in one cylinder now."""

    def __init__(self, stock: Stock, fluid: Fluid, ambient_K: float) -> None:
        self.stock = stock
        self.fluid = fluid
        self.ambient_K = ambient_K
        self.net_kg = stock.net_kg
        self.temperature_K = ambient_K
        self.opening = 0.0
        self.for_liquid = False
        self.overfilled = False

    @property
    def gross_kg(self) -> float:
        """What the scale shows with nothing pulling at the hose."""
        return self.stock.tare_kg + self.net_kg

    @property
    def pressure_Pa(self) -> float:
        """The pressure inside."""
        return self.fluid.pressure_Pa(self.net_kg, self.stock.volume_m3, self.temperature_K)

    @property
    def has_liquid(self) -> bool:
        """Whether liquid is left at its outlet when it is turned for liquid."""
        vapour = self.stock.volume_m3 * self.fluid.vapour_kg_per_m3(self.temperature_K)
        return self.net_kg > 1.05 * vapour

    @property
    def gives_liquid(self) -> bool:
        """Whether liquid would come out now."""
        return self.for_liquid and self.has_liquid

    @property
    def outlet_kg_per_m3(self) -> float:
        """Density of what comes out."""
        if self.gives_liquid:
            return self.fluid.liquid_kg_per_m3(self.temperature_K)
        vapour = self.fluid.vapour_kg_per_m3(self.temperature_K)
        return min(vapour, max(self.net_kg, 1e-6) / self.stock.volume_m3)

    def give(self, mass_kg: float) -> float:
        """Let refrigerant out, no more than there is; how much left [kg]."""
        given = min(max(0.0, mass_kg), self.net_kg)
        if given > 0.0 and not self.gives_liquid:
            holds = self.net_kg * LIQUID_J_per_kg_K + self.stock.tare_kg * STEEL_J_per_kg_K
            self.temperature_K -= given * self.fluid.latent_J_per_kg(self.temperature_K) / holds
        self.net_kg -= given
        return given

    def warm(self, seconds: float) -> None:
        """Let the air warm it for a while."""
        off = self.temperature_K - self.ambient_K
        self.temperature_K = self.ambient_K + off * math.exp(-seconds / WARMING_S)
