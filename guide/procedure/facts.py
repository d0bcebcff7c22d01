"""The facts an order or a person can state about a job: a closed list, each with its possible values.

Besides these a procedure may use facts set by its own steps (a `choose`, or a `confirm` that names a
fact). A fact that is unknown is asked for, never assumed.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact of a job. Empty `values` means any text, such as the refrigerant's designation."""

    name: str
    ask: str
    values: tuple[str, ...]


_FACTS: Final = (
    Fact(
        "application",
        "What kind of system is it, and in which mode?",
        (
            "unitary air conditioner in cooling",
            "heat pump in cooling",
            "heat pump in heating",
            "chiller",
            "refrigeration",
            "other",
        ),
    ),
    Fact(
        "metering",
        "What feeds the evaporator?",
        ("fixed orifice", "thermostatic valve", "electronic valve"),
    ),
    Fact("refrigerant", "Which refrigerant does the nameplate name?", ()),
    # ISO 817 / ASHRAE 34 classes.
    Fact(
        "safety group",
        "Which safety group has the refrigerant?",
        ("A1", "A2L", "A2", "A3", "B1", "B2L", "B2", "B3"),
    ),
    Fact("receiver", "Is there a liquid receiver?", ("none", "fitted")),
    Fact(
        "capacity",
        "Does the compressor's capacity vary?",
        ("fixed", "held by the maker's test mode", "varies", "unknown"),
    ),
    Fact(
        "release when purging hoses",
        "Do the rules of this place allow a minimal release when hoses are purged?",
        ("allowed", "forbidden"),
    ),
    # ratings as the order states them for its equipment
    Fact(
        "recovery machine rating",
        "For which refrigerants is the recovery machine rated?",
        ("flammable", "non-flammable", "unknown"),
    ),
    Fact(
        "vacuum pump rating",
        "For which refrigerants is the vacuum pump rated?",
        ("flammable", "non-flammable", "unknown"),
    ),
    Fact("line set", "Does the order name a line set?", ("named", "none named")),
    Fact(
        "target subcooling",
        "Does the order name the maker's target subcooling?",
        ("named", "none named"),
    ),
)

FACTS: Final = MappingProxyType({fact.name: fact for fact in _FACTS})
"""Every fact that can come with an order, by name."""
