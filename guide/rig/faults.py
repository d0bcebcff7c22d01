"""The troubles a simulated system can have, by name and grade."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Fault(StrEnum):
    """One trouble. Undercharge and overcharge are the charge a scenario starts from, not faults here."""

    LOW_INDOOR_AIRFLOW = "low indoor airflow"
    DIRTY_CONDENSER = "dirty condenser"
    RESTRICTION = "liquid-line restriction"
    NON_CONDENSABLES = "non-condensables"
    COMPRESSOR_LEAK = "compressor valve leak"
    STUCK_VALVE = "stuck valve"
    WET = "moisture"
    LEAK = "leak"
    LEAKING_CORE = "leaking valve core"
    PROBE_OFF = "probe off the pipe"
    GAUGE_OFF = "gauge not at zero"
    WRONG_SETTING = "wrong refrigerant set"
    LIQUID_HOSE = "hose full of liquid"
    INTERRUPTION = "interruption"


@dataclass(frozen=True, slots=True)
class Graded:
    """A fault with how strong it is: 0 is nothing, 1 the strongest that makes a call-out."""

    fault: Fault
    grade: float
    where: str = ""
    """"low" or "high", a channel, a refrigerant; what a fault without a place leaves empty."""
