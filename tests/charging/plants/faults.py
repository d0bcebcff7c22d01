"""What each trouble that is not charge does to a system, by the published signs; its size drawn at random.

Signs of an orifice unit: the rule table of Rossi and Braun, FOUND (reference section 7); non-condensables
MEMORY. For a valve, which holds superheat, the same signs with superheat nearly still, until a restriction
leaves the valve nothing to hold with (PROPOSED, after the maker's matrix, FOUND). The sizes are PROPOSED: as
large as makes a call-out, not the smallest that a laboratory finds.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

LOW_AIRFLOW = "low indoor airflow"
RESTRICTION = "liquid-line restriction"
DIRTY_CONDENSER = "dirty condenser"
NON_CONDENSABLES = "non-condensables"
VALVE_LEAK = "compressor valve leak"
CLAMP_OFF = "bad reading: suction clamp off the pipe"
SWAPPED = "bad reading: line probes swapped"
WRONG_REFRIGERANT = "bad reading: wrong refrigerant set"
NOT_ZEROED = "bad reading: suction gauge not zeroed"
SYSTEM_FAULTS = (LOW_AIRFLOW, RESTRICTION, DIRTY_CONDENSER, NON_CONDENSABLES, VALVE_LEAK)
READING_FAULTS = (CLAMP_OFF, SWAPPED, WRONG_REFRIGERANT, NOT_ZEROED)
FAULTS = (*SYSTEM_FAULTS, *READING_FAULTS)


@dataclass(frozen=True)
class Shift:
    """Changes in °F; `gas_psi` is the partial pressure of air; the last four are of the readings alone."""

    fault: str | None = None
    evaporating: float = 0.0
    superheat: float = 0.0
    condensing: float = 0.0
    subcooling: float = 0.0
    split: float = 0.0
    gas_psi: float = 0.0
    clamp_share: float = 0.0
    swapped: bool = False
    other_refrigerant: str | None = None
    gauge_psi: float = 0.0


HEALTHY = Shift()

Range = tuple[float, float]
# evaporating, superheat, condensing, subcooling, split
_ORIFICE: dict[str, tuple[Range, Range, Range, Range, Range]] = {
    LOW_AIRFLOW: ((-10, -5), (-14, -6), (-5, -2), (-3, -0.5), (4, 9)),
    DIRTY_CONDENSER: ((1, 4), (-8, -2), (10, 22), (-4, -1), (-3, -1)),
    RESTRICTION: ((-15, -6), (8, 25), (-5, -1), (3, 10), (-6, -2)),
    VALVE_LEAK: ((5, 12), (-12, -5), (-8, -3), (-8, -3), (-8, -3)),
    NON_CONDENSABLES: ((1, 3), (-8, -2), (6, 15), (5, 14), (-2, 0)),
}
_VALVE: dict[str, tuple[Range, Range, Range, Range, Range]] = {
    LOW_AIRFLOW: ((-9, -4), (-4, -1), (-3, -1), (-1, 2), (4, 9)),
    DIRTY_CONDENSER: ((0, 2), (-1, 1), (10, 22), (-3, 3), (-2, -0.5)),
    RESTRICTION: ((-12, -5), (8, 20), (-5, -1), (4, 12), (-6, -2)),
    VALVE_LEAK: ((4, 10), (-2, 1), (-8, -3), (-8, -3), (-8, -3)),
    NON_CONDENSABLES: ((0, 1), (-1, 1), (6, 15), (5, 14), (-1, 0)),
}


def draw_fault(fault: str, rng: random.Random, *, orifice: bool, refrigerant: str) -> Shift:
    """Draw how strongly a named trouble shows."""
    if fault in SYSTEM_FAULTS:
        low_high = (_ORIFICE if orifice else _VALVE)[fault]
        evaporating, superheat, condensing, subcooling, split = (rng.uniform(*each) for each in low_high)
        return Shift(
            fault,
            evaporating=evaporating,
            superheat=superheat,
            condensing=condensing,
            subcooling=subcooling,
            split=split,
            gas_psi=rng.uniform(12.0, 40.0) if fault == NON_CONDENSABLES else 0.0,
        )
    if fault == CLAMP_OFF:
        return Shift(fault, clamp_share=rng.uniform(0.5, 0.9))
    if fault == SWAPPED:
        return Shift(fault, swapped=True)
    if fault == WRONG_REFRIGERANT:
        # One whose pressures differ enough to matter; R-410A, R-32 and R-454B lie near one another.
        return Shift(fault, other_refrigerant="R-410A" if refrigerant == "R-407C" else "R-407C")
    sign = rng.choice((-1.0, 1.0))
    return Shift(fault, gauge_psi=sign * rng.uniform(8.0, 25.0))
