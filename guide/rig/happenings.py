"""What happens at a simulated unit because of what was done or left undone there."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Kind(StrEnum):
    """What happened. SI in `amount`: kg, Pa, or s as said."""

    AIR_IN = "air got in"
    """[kg of air]"""
    MOISTURE_IN = "moisture got in"
    """[kg of water]"""
    REFRIGERANT_LOST = "refrigerant was lost"
    """[kg], each release for itself"""
    LIQUID_TO_COMPRESSOR = "liquid reached the running compressor"
    """[kg/s of liquid]"""
    RAN_IN_VACUUM = "the compressor ran in a vacuum"
    RAN_WITH_NITROGEN = "the compressor ran on nitrogen"
    OVER_DESIGN_PRESSURE = "the circuit went over its design pressure"
    """[Pa absolute]"""
    CYLINDER_OVERFILLED = "the cylinder was filled beyond its limit"
    """[kg beyond]"""
    OPENED_UNDER_PRESSURE = "the circuit was opened under pressure"
    """[Pa absolute]"""
    WORKED_LIVE = "a panel or the circuit was opened with the power on"
    PARTED_UNDER_PRESSURE = "a hose was parted with its valve open"
    """[kg lost]"""
    PUMP_AGAINST_PRESSURE = "the vacuum pump was opened to pressure"
    WRONG_REFRIGERANT = "another refrigerant got in"
    """[kg]"""
    HIGH_PRESSURE_TRIP = "the high-pressure switch opened"
    """[Pa absolute]"""
    LOW_PRESSURE_TRIP = "the low-pressure switch opened"
    ICED = "the indoor coil froze"
    TOO_HOT = "the discharge ran too hot"
    """[K]"""
    REFRIGERANT_IN_PUMP = "refrigerant went through the vacuum pump"
    """[kg]"""


GRAVE: Final = frozenset(
    {
        Kind.LIQUID_TO_COMPRESSOR, Kind.RAN_IN_VACUUM, Kind.RAN_WITH_NITROGEN, Kind.OVER_DESIGN_PRESSURE,
        Kind.CYLINDER_OVERFILLED, Kind.OPENED_UNDER_PRESSURE, Kind.WORKED_LIVE, Kind.PARTED_UNDER_PRESSURE,
        Kind.WRONG_REFRIGERANT,
    }
)  # fmt: skip
"""What would hurt somebody or ruin a machine: it ends a run."""


@dataclass(frozen=True, slots=True)
class Happening:
    """One thing that happened, `at_s` seconds of simulated time after the job's opening."""

    kind: Kind
    at_s: float
    amount: float | None = None
    where: str = ""
    """"low", "high", a cylinder's id; empty where it has no place."""

    @property
    def grave(self) -> bool:
        """Whether it ends a run."""
        return self.kind in GRAVE
