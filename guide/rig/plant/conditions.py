"""What a plant runs in: its charge, the air at both coils and what is wrong with it."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Final

from guide.errors import ChargewrightError

STANDARD_Pa: Final = 101_325.0
"""The standard atmosphere, exact by definition."""
# PROPOSED: wider than anything a technician meets, so that only what can't be is refused.
_LIMITS: Final = {
    "charge_kg": (0.0, 1000.0),
    "indoor_db_K": (273.15, 333.15),
    "indoor_wb_K": (263.15, 313.15),
    "outdoor_K": (253.15, 333.15),
    "site_pressure_Pa": (60_000.0, 110_000.0),
    "indoor_air": (0.05, 2.0),
    "outdoor_air": (0.05, 2.0),
    "fouling": (0.05, 1.5),
    "restriction_Pa": (0.0, 1e7),
    "gas_Pa": (0.0, 2e6),
    "valve_leak": (0.0, 0.9),
}


class BadConditions(ChargewrightError):
    """Conditions that no plant of this kind can be in."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """SI: kg, K, Pa absolute; air flows in parts of the rated, `fouling` multiplies the outdoor coil's UA.

    `restriction_Pa` is the pressure a choked liquid line would take at the rated flow, `gas_Pa` the partial
    pressure of gas that does not condense on the high side, `valve_leak` the share of the swept flow that
    leaks back through the compressor's valves, `valve_stuck` an opening (0 to 1) the expansion valve can't
    leave.

    Raises:
        BadConditions: a figure is outside what the plant is made for.
    """

    charge_kg: float
    indoor_db_K: float
    indoor_wb_K: float
    outdoor_K: float
    site_pressure_Pa: float = STANDARD_Pa
    indoor_air: float = 1.0
    outdoor_air: float = 1.0
    fouling: float = 1.0
    restriction_Pa: float = 0.0
    gas_Pa: float = 0.0
    valve_leak: float = 0.0
    valve_stuck: float | None = None

    def __post_init__(self) -> None:
        for name, (low, high) in _LIMITS.items():
            value = getattr(self, name)
            if not (math.isfinite(value) and low <= value <= high):
                raise BadConditions(f"{name} must lie between {low:g} and {high:g}, not {value!r}: mend it")
        if self.indoor_wb_K > self.indoor_db_K:
            raise BadConditions("the indoor wet bulb is above the dry bulb: see whether they are swapped")
        if self.valve_stuck is not None and not 0.0 <= self.valve_stuck <= 1.0:
            raise BadConditions(f"valve_stuck must lie between 0 and 1, not {self.valve_stuck!r}: mend it")

    def between(self, other: Conditions, share: float) -> Conditions:
        """Conditions a share of the way to others; a stuck valve is stuck all the way."""
        mixed = {
            field.name: (1.0 - share) * getattr(self, field.name) + share * getattr(other, field.name)
            for field in fields(self)
            if field.name != "valve_stuck"
        }
        return Conditions(**mixed, valve_stuck=other.valve_stuck)
