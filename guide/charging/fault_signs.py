"""How far charge and each trouble push each feature: what the diagnosis weighs by.

The directions for a fixed orifice are the rule table of Rossi and Braun (FOUND in a Purdue report on
rooftop units, p. 213); overcharge, non-condensables and undercharge with a valve are MEMORY; the other
directions with a valve are CALCULATED with the plant prototype of the reference (section 5 of its notes),
which differs from the orifice rules where a valve holds superheat. Published tables contradict each other
on subcooling under low airflow, a valve leak and a dirty condenser, so it may lie widely there.

The sizes are PROPOSED: charge by the bands of the reference's section 6.4, the rest as large as a trouble
that somebody is called for. Differences in °F, the airflow as a share; each with its standard deviation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from guide.charging.evidence import Feature
from guide.charging.round import Metering
from guide.charging.signature import (
    BAD_READING,
    DIRTY_CONDENSER,
    LOW_AIRFLOW,
    NON_CONDENSABLES,
    OVERCHARGE,
    RESTRICTION,
    UNDERCHARGE,
    VALVE_LEAK,
)

COLUMNS: Final = (
    Feature.EVAPORATING,
    Feature.SUPERHEAT,
    Feature.CONDENSING,
    Feature.SUBCOOLING,
    Feature.DISCHARGE,
    Feature.CONDENSER_RISE,
    Feature.SPLIT,
)
"""The columns of the published rule table, in its order."""

RELATIVE: Final = 0.4
"""The standard deviation of a shift, as a share of itself, where none is stated (PROPOSED)."""

_GAS_SD: Final = 3.0  # how much of a gas shows at rest depends on where it can spread

VALVE_OPEN_AT_PERCENT: Final = -20.0
"""Charge error below which a valve is fully open and superheat rises as on an orifice (FOUND, RP-1173)."""


@dataclass(frozen=True, slots=True)
class Shift:
    """What a trouble of common size adds to a feature, and how surely (standard deviation); °F or a share."""

    by: float
    sd: float


@dataclass(frozen=True, slots=True)
class Trouble:
    """One way in which a system, or a reading of it, is wrong. `prior` is a share before any reading."""

    suspect: str
    prior: float
    shifts: Mapping[Feature, Shift] = field(default_factory=dict)
    detail: str = ""


def _row(*by: float, subcooling_sd: float | None = None, **more: float) -> dict[Feature, Shift]:
    """Shifts in the order of `COLUMNS`, then by the name of a further feature."""
    shifts = {one: Shift(size, RELATIVE * abs(size)) for one, size in zip(COLUMNS, by, strict=True)}
    if "STANDING" in more:
        shifts[Feature.STANDING] = Shift(more.pop("STANDING"), _GAS_SD)
    if subcooling_sd is not None:
        shifts[Feature.SUBCOOLING] = Shift(shifts[Feature.SUBCOOLING].by, subcooling_sd)
    return shifts | _only(**more)


def _only(**by: float) -> dict[Feature, Shift]:
    return {Feature[name]: Shift(size, RELATIVE * abs(size)) for name, size in by.items()}


# What 1 % of charge does, °F: reference section 6.4 (PROPOSED) for superheat and subcooling, the signs of
# the rest from the rule table, their sizes PROPOSED. The two air figures fall with too little charge and
# stay with too much.
PER_PERCENT: Final[Mapping[bool, Mapping[Feature, Shift]]] = {
    True: {
        Feature.EVAPORATING: Shift(0.2, 0.12),
        Feature.SUPERHEAT: Shift(-1.0, 0.3),
        Feature.CONDENSING: Shift(0.3, 0.15),
        Feature.SUBCOOLING: Shift(0.3, 0.12),
        Feature.DISCHARGE: Shift(-0.8, 0.4),
        Feature.CONDENSER_RISE: Shift(0.15, 0.1),
        Feature.SPLIT: Shift(0.15, 0.07),
    },
    False: {
        Feature.EVAPORATING: Shift(0.04, 0.06),
        Feature.SUPERHEAT: Shift(-0.0, 0.12),
        Feature.CONDENSING: Shift(0.3, 0.15),
        Feature.SUBCOOLING: Shift(0.6, 0.12),
        Feature.DISCHARGE: Shift(0.2, 0.3),
        Feature.CONDENSER_RISE: Shift(0.05, 0.1),
        Feature.SPLIT: Shift(0.06, 0.05),
    },
}
ONLY_WHEN_SHORT: Final = (Feature.CONDENSER_RISE, Feature.SPLIT)
OPEN_VALVE: Final[Mapping[Feature, Shift]] = {
    Feature.EVAPORATING: Shift(0.2, 0.12),
    Feature.SUPERHEAT: Shift(-1.2, 0.4),
    Feature.SPLIT: Shift(0.12, 0.06),
}
"""What each percent below that adds to the above: a valve that is fully open is an orifice."""

# Priors. Charge right 38, short 34, over 28 in 100 units: FOUND, a field survey of 4000 Californian units.
# That one unit in four has another trouble, and how those share it, is PROPOSED.
RIGHT_PRIOR: Final = 0.28
_UNDER, _OVER = 0.25, 0.21
_LITTLE_AIR, _DIRTY, _BLOCKED, _GAS, _LEAK = 0.07, 0.06, 0.04, 0.02, 0.03
# Each way of reading wrong; a strapped-on pipe sensor reads warm more often than not (FOUND, trade articles).
_READING, _WARM_CLAMP, _GAUGE = 0.005, 0.02, 0.01

_CHARGE: Final = (Trouble(UNDERCHARGE, _UNDER), Trouble(OVERCHARGE, _OVER))

_ORIFICE: Final = (
    Trouble(LOW_AIRFLOW, _LITTLE_AIR, _row(-7, -8, -4, -1, -8, -3, 7, subcooling_sd=3.0, AIRFLOW=-0.4)),
    Trouble(DIRTY_CONDENSER, _DIRTY, _row(3, -6, 14, -3, 8, 8, -2, subcooling_sd=3.0)),
    Trouble(RESTRICTION, _BLOCKED, _row(-8, 15, -4, 5, 15, -4, -4)),
    Trouble(NON_CONDENSABLES, _GAS, _row(2, -5, 12, 8, 6, 0, -1, STANDING=6)),
    Trouble(VALVE_LEAK, _LEAK, _row(8, -8, -6, -2, -5, -4, -5, subcooling_sd=4.0)),
)
_VALVE: Final = (
    Trouble(LOW_AIRFLOW, _LITTLE_AIR, _row(-7, -1, -4, 1, 2, -3, 7, subcooling_sd=3.0, AIRFLOW=-0.4)),
    Trouble(DIRTY_CONDENSER, _DIRTY, _row(2, -1, 14, 1, 12, 8, -2, subcooling_sd=4.0)),
    Trouble(RESTRICTION, _BLOCKED, _row(-8, 15, -2, 5, 12, -2, -3)),
    Trouble(NON_CONDENSABLES, _GAS, _row(0, 0, 12, 10, 10, 0, 0, STANDING=6)),
    Trouble(VALVE_LEAK, _LEAK, _row(8, -1, -6, -2, 3, -4, -5, subcooling_sd=4.0)),
)

SUCTION_CLAMP: Final = "the suction line's clamp is off the pipe, or warm"

# One instrument wrong moves the figures it goes into and no others; CALCULATED from how they are formed.
_READINGS: Final = tuple(
    Trouble(BAD_READING, prior, _only(**shifts), detail)
    for detail, prior, shifts in (
        # As far as it reads the air it does not answer charge: 0.3 to 1 of the way (PROPOSED).
        (SUCTION_CLAMP, _WARM_CLAMP, {"SUPERHEAT": 20.0, "ANSWER": -0.6}),
        ("the liquid line's clamp is off the pipe", _READING, {"SUBCOOLING": 7.0}),
        (
            "the low-side gauge reads too high",
            _GAUGE,
            {"EVAPORATING": 8.0, "SUPERHEAT": -8.0, "SIDES_AT_REST": 3.0},
        ),
        (
            "the low-side gauge reads too low",
            _GAUGE,
            {"EVAPORATING": -8.0, "SUPERHEAT": 8.0, "SIDES_AT_REST": -3.0},
        ),
        (
            "the high-side gauge reads too high",
            _READING,
            {"CONDENSING": 5.0, "SUBCOOLING": 5.0, "STANDING": 6.0, "SIDES_AT_REST": -6.0},
        ),
        (
            "the high-side gauge reads too low",
            _READING,
            {"CONDENSING": -5.0, "SUBCOOLING": -5.0, "STANDING": -6.0, "SIDES_AT_REST": 6.0},
        ),
        (
            "another refrigerant is in it, of higher pressure than the one that was set",
            _READING,
            {
                "EVAPORATING": 20.0,
                "SUPERHEAT": -20.0,
                "CONDENSING": 20.0,
                "SUBCOOLING": 20.0,
                "STANDING": 20.0,
            },
        ),
        (
            "another refrigerant is in it, of lower pressure than the one that was set",
            _READING,
            {
                "EVAPORATING": -20.0,
                "SUPERHEAT": 20.0,
                "CONDENSING": -20.0,
                "SUBCOOLING": -20.0,
                "STANDING": -20.0,
            },
        ),
        ("the supply air's probe hangs in the wrong place", _READING, {"SPLIT": -8.0}),
    )
)


def troubles(metering: Metering) -> tuple[Trouble, ...]:
    """Return every way to be wrong that is weighed for this metering, charge first."""
    return (*_CHARGE, *(_ORIFICE if metering is Metering.FIXED_ORIFICE else _VALVE), *_READINGS)
