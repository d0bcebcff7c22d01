"""How hoses, valves, machines and sensors stand at a simulated unit: a frozen view, and its words. SI."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

Side = Literal["low", "high"]
SIDES: Final[tuple[Side, Side]] = ("low", "high")
CENTRE: Final = "centre"
PUMP: Final = "vacuum pump"
MACHINE: Final = "recovery machine"
NITROGEN: Final = "nitrogen"
DRIER: Final = "drier"

HOSE_m3: Final = math.pi / 4.0 * 6.35e-3**2 * 1.524
"""Inside of a 60 in hose of 1/4 in bore (CALCULATED; 1.8 oz of R-410A liquid at 80 °F fill it)."""
LIQUID_SHARE: Final = 0.2
"""From which share of its volume a hose is said to hold liquid (PROPOSED)."""

SENSORS: Final = (
    "suction_line", "liquid_line", "compressor_discharge_line", "gas_temperature",
    "indoor_db", "indoor_wb", "supply_db", "outdoor_db",
)  # fmt: skip
"""Channels whose sensor has a place it must be brought to."""


@dataclass(frozen=True, slots=True)
class Hose:
    """One hose: where its far end is, how its shut-off stands, what is in it [kg]."""

    joined: str = ""
    """The port's side; for the centre hose a cylinder's id or a machine; empty when it hangs free."""
    shutoff_open: bool = False
    refrigerant_kg: float = 0.0
    air_kg: float = 0.0
    liquid: bool = False


@dataclass(frozen=True, slots=True)
class Hookup:
    """Everything a person at the unit sees of what is connected, how valves stand and what runs."""

    low: Hose
    high: Hose
    centre: Hose
    low_hand: float
    """How far the hand valve is open, 0 to 1."""
    high_hand: float
    on_scale: str
    """The cylinder that stands on the scale; empty when none does."""
    cylinder_open: float
    for_liquid: bool
    pump_joined: bool
    pump_runs: bool
    machine_runs: bool
    regulator_Pa: float
    """What the nitrogen regulator is set to [Pa absolute]; 0 when it is shut."""
    runs: bool
    locked: bool
    opened: bool
    """Whether a joint of the circuit is open to the air."""
    clamped: frozenset[str]
    set_for: str
    """The refrigerant the gauges are set to for their saturation scale."""

    def hose(self, side: str) -> Hose:
        """A hose by its name."""
        return {"low": self.low, "high": self.high, CENTRE: self.centre}[side]

    def hand(self, side: str) -> float:
        """How far a hand valve is open."""
        return self.low_hand if side == "low" else self.high_hand

    def reaches(self, side: str) -> bool:
        """Whether a side of the circuit is open to the middle of the gauge set."""
        hose = self.hose(side)
        return bool(hose.joined) and hose.shutoff_open and self.hand(side) > 0.0

    def words(self) -> tuple[str, ...]:
        """One sentence for each thing that stands, as somebody would tell it who looks at it."""
        lines = [
            f"The unit {'runs' if self.runs else 'is at rest'}"
            + (", its disconnect locked open." if self.locked else ".")
        ]
        if self.opened:
            lines.append("The circuit is open to the air.")
        for side in SIDES:
            lines.append(self._hose_words(side))
        lines.append(self._centre_words())
        if self.pump_joined:
            lines.append(f"The vacuum pump is joined and {'runs' if self.pump_runs else 'stands'}.")
        if self.on_scale:
            way = "liquid" if self.for_liquid else "vapour"
            valve = _open(self.cylinder_open)
            lines.append(f"Cylinder {self.on_scale} stands on the scale for {way}, its valve {valve}.")
        if self.clamped:
            lines.append(f"{len(self.clamped)} of {len(SENSORS)} sensors are in their places.")
        return tuple(lines)

    def _hose_words(self, side: Side) -> str:
        hose = self.hose(side)
        where = f"on the {side}-side port, its shut-off {'open' if hose.shutoff_open else 'shut'}"
        at = where if hose.joined else "free"
        return f"The {side}-side hose is {at}; its hand valve is {_open(self.hand(side))}{_holds(hose)}."

    def _centre_words(self) -> str:
        running = ""
        if self.centre.joined == MACHINE:
            running = ", which runs" if self.machine_runs else ", which stands"
        if self.centre.joined == NITROGEN:
            running = f", its regulator {'open' if self.regulator_Pa > 0.0 else 'shut'}"
        at = f"joined to {self.centre.joined}{running}" if self.centre.joined else "free"
        return f"The charging hose is {at}{_holds(self.centre)}."


def _open(amount: float) -> str:
    if amount <= 0.0:
        return "shut"
    return "open" if amount > 0.95 else f"open by {amount:.0%}"


def _holds(hose: Hose) -> str:
    if hose.liquid:
        return "; it holds liquid"
    return "; it holds air" if hose.air_kg > 1e-5 else ""
