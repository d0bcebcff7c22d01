"""What a player asks of a simulated unit that it works on without hands: readings, moves, time. SI."""

from __future__ import annotations

from typing import Protocol

from guide.errors import ChargewrightError
from guide.rig.circuit import Circuit


class NoSuchChannel(ChargewrightError):
    """The simulated system has no such reading."""


class Plant(Protocol):
    """As much of a simulated system as is needed to work a job on it. SI: K, Pa absolute, kg, s."""

    @property
    def charge_kg(self) -> float:
        """Refrigerant in the system [kg]."""

    @property
    def circuit(self) -> Circuit:
        """What is in the circuit while that is not its refrigerant."""

    @property
    def rest_pressure_Pa(self) -> float:
        """The pressure in the circuit at rest [Pa], whatever is in it."""

    def vapour_kg(self, pressure_Pa: float) -> float:
        """How much refrigerant is left in the circuit when it is vapour at this pressure [kg]."""

    def draw_down(self, to_Pa: float) -> None:
        """Let the recovery machine draw vapour into the cylinder on the scale, down to a pressure [Pa]."""

    def break_vacuum(self, to_Pa: float) -> None:
        """Let refrigerant out of the cylinder on the scale into a vacuum, up to a pressure [Pa]."""

    def read(self, channel: str) -> float:
        """What an instrument on this channel would see now."""

    def move(self, into_system_kg: float) -> None:
        """Move refrigerant from the cylinder on the scale into the system (negative: back out)."""

    def pass_time(self, seconds: float) -> None:
        """Let time pass."""

    def put_on_scale(self, cylinder: str, gross_kg: float) -> None:
        """Stand a cylinder on the scale; `gross_kg` counts only the first time it stands there."""
