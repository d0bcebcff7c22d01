"""The refrigerants this program knows: composition, safety group, warming potential, flammability, class.

The data are in `components.csv` and `refrigerants.csv`, each figure with its mark (`listing.py`). Worked out
here, CALCULATED:

* GWP of a blend on each basis, from its components; a basis for which a component has no known value is
  refused with that reason;
* the lower flammability limit of a flammable blend by Le Chatelier's rule;
* whether it is ozone-depleting: it holds a class I or class II substance.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from difflib import get_close_matches
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Final

from guide.errors import ChargewrightError
from guide.refrigerant.listing import (
    LEFT_OUT,
    UNKNOWN_GROUP,
    Component,
    Listed,
    Substance,
    components,
    listed,
)

__all__ = [
    "AR4", "AR5", "AR6", "UNKNOWN_GROUP", "US_RULE", "Component", "Gwp", "Lfl", "NotComputable",
    "PressureClass", "Refrigerant", "UnknownBasis", "UnknownRefrigerant", "all_refrigerants", "blend_gwps",
    "find", "usual",
]  # fmt: skip

AR4: Final = "AR4"
AR5: Final = "AR5"
AR6: Final = "AR6"
US_RULE: Final = "40 CFR 84.64"
BASES: Final = (AR4, US_RULE, AR5, AR6)
"""In the order of the columns of `components.csv`."""

_USUAL: Final = ("R-22", "R-32", "R-134a", "R-407C", "R-410A", "R-454B")


class UnknownRefrigerant(ChargewrightError):
    """A name that no refrigerant of the catalogue has."""


class NotComputable(UnknownRefrigerant):
    """A refrigerant that is known by name, but that this program can't compute."""


class UnknownBasis(ChargewrightError):
    """A basis for which the catalogue holds no warming potential."""


class PressureClass(StrEnum):
    """Appliance classes of 40 CFR 82.152, by liquid saturation pressure at 104 °F.

    Limits: 45 psia FOUND [S62], 45 to 170 psia FOUND [S63]; 170 and 355 psia from MEMORY.
    """

    LOW = "low-pressure"
    MEDIUM = "medium-pressure"
    HIGH = "high-pressure"
    VERY_HIGH = "very high-pressure"


@dataclass(frozen=True, slots=True)
class Gwp:
    """A 100-year global warming potential (CO2 = 1) and the list it is taken from."""

    value: Decimal
    basis: str


@dataclass(frozen=True, slots=True)
class Lfl:
    """Lower flammability limit [kg/m³ of air]; `mark` is FOUND, MEMORY or CALCULATED (Le Chatelier).

    A calculated one may differ from a measured one by a quarter: the appliance's own papers go first.
    """

    value_kg_per_m3: Decimal
    mark: str


@dataclass(frozen=True, slots=True)
class Refrigerant:
    """One refrigerant: what it is made of and how rules class it.

    `designation` is the ASHRAE form with hyphen. `safety_group` is "unknown" where none is assigned or
    known. `no_gwp` says for each basis without a value why there is none. `lfl` is None for what does not
    burn and for what no limit is known of: `flammable` tells them apart. `ozone_depleting` decides between
    40 CFR 82 and 84.
    """

    designation: str
    components: tuple[Component, ...]
    safety_group: str
    gwps: tuple[Gwp, ...]
    pressure_class: PressureClass
    ozone_depleting: bool
    notes: tuple[str, ...]
    composition_mark: str = "FOUND"
    safety_mark: str = "FOUND"
    lfl: Lfl | None = None
    no_gwp: Mapping[str, str] = field(default_factory=dict)

    @property
    def flammable(self) -> bool | None:
        """Whether its safety group is a flammable one; None where the group is not known."""
        if self.safety_group == UNKNOWN_GROUP:
            return None
        return not self.safety_group.endswith("1")

    def gwp(self, basis: str) -> Gwp:
        """The warming potential on one basis: `AR4`, `40 CFR 84.64`, `AR5` or `AR6`.

        Raises:
            UnknownBasis: no value on that basis; the message says why.
        """
        for gwp in self.gwps:
            if gwp.basis == basis:
                return gwp
        known = ", ".join(gwp.basis for gwp in self.gwps) or "none"
        why = self.no_gwp.get(basis)
        reason = f" ({why})" if why else ""
        raise UnknownBasis(
            f'{self.designation}: no GWP on basis "{_printable(basis)}"{reason}; known are {known}'
        )


def blend_gwps(parts: Iterable[Component]) -> tuple[Gwp, ...]:
    """GWP of a blend on every basis that has one: the sum of mass fraction times component GWP, unrounded.

    The rule of 40 CFR 84.64(b), FOUND [S16]; the same arithmetic is customary for the other bases. What that
    rule lists no value for is left out, 84.64(c).
    """
    known, _ = _gwps(tuple(parts))
    return known


def _gwps(parts: tuple[Component, ...]) -> tuple[tuple[Gwp, ...], Mapping[str, str]]:
    known: list[Gwp] = []
    refused: dict[str, str] = {}
    for column, basis in enumerate(BASES):
        values = [(part, components()[part.designation].gwps[column]) for part in parts]
        missing = [part.designation for part, value in values if not value]
        if missing:
            refused[basis] = f"none is known for {', '.join(missing)}"
        elif all(value == LEFT_OUT for _, value in values):
            refused[basis] = "the rule lists no value for it"
        else:
            counted = (part.mass_fraction * Decimal(value) for part, value in values if value != LEFT_OUT)
            known.append(Gwp(sum(counted, Decimal(0)), basis))
    return tuple(known), MappingProxyType(refused)


def _lfl(entry: Listed) -> Lfl | None:
    """By Le Chatelier's rule in mass terms (MEMORY, any text on explosion limits): 1/L = sum of w over L.

    Summed over the components that burn by themselves, w their shares of what burns. The others count as if
    they burned like these: on the safe side, since some of them do burn in such company (PROPOSED).
    """
    if entry.safety_group == UNKNOWN_GROUP or entry.safety_group.endswith("1"):
        return None
    parts = [(part, components()[part.designation]) for part in entry.composition]
    if len(parts) == 1:
        alone = parts[0][1]
        return None if alone.lfl_kg_m3 is None else Lfl(alone.lfl_kg_m3, alone.lfl_mark)
    if any(_may_burn(substance) and substance.lfl_kg_m3 is None for _, substance in parts):
        return None
    limits = [(part.mass_fraction, substance.lfl_kg_m3) for part, substance in parts]
    burning = [(fraction, alone_kg_m3) for fraction, alone_kg_m3 in limits if alone_kg_m3 is not None]
    if not burning:
        return None
    share = sum((fraction for fraction, _ in burning), Decimal(0))
    limit = share / sum((fraction / alone_kg_m3 for fraction, alone_kg_m3 in burning), Decimal(0))
    return Lfl(limit.quantize(Decimal("0.001"), ROUND_HALF_EVEN), "CALCULATED")


@cache
def _may_burn(substance: Substance) -> bool:
    groups = [entry.safety_group for entry in listed() if entry.designation == substance.designation]
    return not groups or not groups[0].endswith("1")


def _refrigerant(entry: Listed) -> Refrigerant:
    gwps, no_gwp = _gwps(entry.composition)
    return Refrigerant(
        designation=entry.designation,
        components=entry.composition,
        safety_group=entry.safety_group,
        gwps=gwps,
        pressure_class=PressureClass(entry.pressure_class),
        ozone_depleting=any(components()[part.designation].ozone_depleting for part in entry.composition),
        notes=(entry.note,) if entry.note else (),
        composition_mark=entry.composition_mark,
        safety_mark=entry.safety_mark,
        lfl=_lfl(entry),
        no_gwp=no_gwp,
    )


def _key(name: str) -> str:
    return name.strip().casefold().replace("-", "").replace(" ", "")


@cache
def _by_key() -> Mapping[str, Listed]:
    return MappingProxyType({_key(entry.designation): entry for entry in listed()})


@cache
def _known(entry: Listed) -> Refrigerant:
    return _refrigerant(entry)


_LOOKS_LIKE: Final = str.maketrans({"o": "0", "i": "1", "l": "1"})


def find(name: str) -> Refrigerant:
    """The refrigerant of a name; `R-410A`, `R410A`, `r 410a` are the same.

    Raises:
        NotComputable: listed, but this program can't compute it; the message says why.
        UnknownRefrigerant: not in the catalogue; the message offers near names.
    """
    entry = _by_key().get(_key(name))
    if entry is not None and entry.refused:
        raise NotComputable(f"{entry.designation} can't be computed here: {entry.refused}")
    if entry is not None:
        return _known(entry)
    usable = [key for key, other in _by_key().items() if not other.refused]
    typed = _key(name)[:20]
    # a letter for the digit that looks like it is the likeliest slip, a usual refrigerant the likeliest wish
    meant = typed[:1] + typed[1:].translate(_LOOKS_LIKE)
    near = [meant] if meant in usable else get_close_matches(typed, usable, n=3, cutoff=0.6)
    near.sort(key=lambda key: _by_key()[key].designation not in _USUAL)
    would = " or ".join(_by_key()[key].designation for key in near) or ", ".join(_USUAL)
    raise UnknownRefrigerant(
        f'refrigerant "{_printable(name)}" is not in the catalogue; did you mean {would}?'
    )


def all_refrigerants() -> tuple[Refrigerant, ...]:
    """Every refrigerant that can be computed, ordered by number."""
    return tuple(_known(entry) for entry in listed() if not entry.refused)


def usual() -> tuple[Refrigerant, ...]:
    """The few that unitary air conditioners mostly hold, to be offered first."""
    return tuple(find(designation) for designation in _USUAL)


def _printable(text: str) -> str:
    return "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text[:24])
