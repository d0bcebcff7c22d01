"""The gauge set's three hoses and two hand valves: what they hold and how wide they open. SI."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from guide.rig.fluid import Fluid, air_kg, air_Pa
from guide.rig.hookup import CENTRE, LIQUID_SHARE, SIDES, Hose, HOSE_m3

HAND_m2: Final = 1.5e-6
"""A hand valve of the gauge set, full open; a tenth of it feeds 5 to 10 g/s of liquid, as a cracked one does
(MEMORY of charging rates; the opening is PROPOSED)."""
PORT_m2: Final = 2.6e-6
"""A port with its core in (PROPOSED)."""
CYLINDER_m2: Final = 6.0e-6
"""A cylinder's valve, full open (PROPOSED)."""
LEFT_AFTER_PURGE: Final = 0.02
"""Share of a hose's air that a breath of vapour leaves in it (PROPOSED; more purging keeps no more out)."""
BREATH_VOLUMES: Final = 2.0
"""How many times a hose's volume one breath lets go (PROPOSED)."""
FITTING_kg: Final = 0.0003
"""What a low-loss fitting lets go when it is parted (PROPOSED)."""


@dataclass(slots=True)
class Line:
    """One hose and what is in it."""

    joined: str = ""
    shutoff_open: bool = False
    refrigerant_kg: float = 0.0
    air_kg: float = 0.0

    def pressure_Pa(self, fluid: Fluid, temperature_K: float) -> float:
        """What presses in it while it is shut."""
        gas_Pa = air_Pa(self.air_kg, HOSE_m3, temperature_K)
        return gas_Pa + fluid.pressure_Pa(self.refrigerant_kg, HOSE_m3, temperature_K)

    def holds_liquid(self, fluid: Fluid, temperature_K: float) -> bool:
        """Whether a good part of it is liquid."""
        return self.refrigerant_kg > LIQUID_SHARE * HOSE_m3 * fluid.liquid_kg_per_m3(temperature_K)

    def seen(self, fluid: Fluid, temperature_K: float) -> Hose:
        """As it is shown."""
        liquid = self.holds_liquid(fluid, temperature_K)
        return Hose(self.joined, self.shutoff_open, self.refrigerant_kg, self.air_kg, liquid)


@dataclass(slots=True)
class GaugeSet:
    """Hoses and hand valves. Pump and charging hose have a port each in the middle."""

    lines: dict[str, Line] = field(default_factory=lambda: {name: Line() for name in (*SIDES, CENTRE)})
    hand: dict[str, float] = field(default_factory=lambda: dict.fromkeys(SIDES, 0.0))
    zero_Pa: dict[str, float] = field(default_factory=lambda: dict.fromkeys(SIDES, 0.0))
    """How far each gauge shows too much."""

    def live(self, side: str) -> bool:
        """Whether a hose is open to its side of the circuit."""
        line = self.lines[side]
        return bool(line.joined) and line.shutoff_open

    def reaches(self, side: str) -> bool:
        """Whether a side of the circuit is open to the middle."""
        return self.live(side) and self.hand[side] > 0.0

    def middle(self) -> tuple[str, ...]:
        """The hoses that are one room with the middle and not with the circuit."""
        return (CENTRE, *(side for side in SIDES if self.hand[side] > 0.0 and not self.live(side)))


def fill_with_air(line: Line, site_Pa: float, temperature_K: float) -> None:
    """As a hose is whose end hangs open."""
    line.refrigerant_kg = 0.0
    line.air_kg = air_kg(site_Pa, HOSE_m3, temperature_K)
