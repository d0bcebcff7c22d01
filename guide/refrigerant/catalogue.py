"""The refrigerants this program knows: composition, safety group, warming potential, pressure class.

Marks of the data (`reference/regulations.md` section 3, sources numbered there):

* compositions of blends, mass fractions: FOUND [S25];
* component GWPs of AR4, AR5, AR6: FOUND [S26], R-1234yf AR6 FOUND [S27], R-1234yf AR4 and AR5 MEMORY;
* exchange values for 40 CFR 84.64: FOUND [S15]; R-1234yf = 1 there: MEMORY;
* safety groups: FOUND [S29], R-454B FOUND [S58];
* pressure classes: CALCULATED from the liquid pressure at 104 °F; the limits 170 and 355 psia are MEMORY,
  45 psia FOUND [S62], 45 to 170 psia FOUND [S63].
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from guide.errors import ChargewrightError

AR4: Final = "AR4"
AR5: Final = "AR5"
AR6: Final = "AR6"
US_RULE: Final = "40 CFR 84.64"


class UnknownRefrigerant(ChargewrightError):
    """A name that no refrigerant of the catalogue has."""


class UnknownBasis(ChargewrightError):
    """A basis for which the catalogue holds no warming potential."""


class PressureClass(StrEnum):
    """Appliance classes of 40 CFR 82.152, by liquid saturation pressure at 104 °F."""

    LOW = "low-pressure"
    MEDIUM = "medium-pressure"
    HIGH = "high-pressure"
    VERY_HIGH = "very high-pressure"


@dataclass(frozen=True, slots=True)
class Component:
    """One component of a refrigerant with its nominal mass fraction (0 to 1)."""

    designation: str
    mass_fraction: Decimal


@dataclass(frozen=True, slots=True)
class Gwp:
    """A 100-year global warming potential (CO2 = 1) and the list it is taken from."""

    value: Decimal
    basis: str


@dataclass(frozen=True, slots=True)
class Refrigerant:
    """One refrigerant: what it is made of and how rules class it.

    `designation` is the ASHRAE form with hyphen. `ozone_depleting` decides between 40 CFR 82 and 84.
    """

    designation: str
    components: tuple[Component, ...]
    safety_group: str
    gwps: tuple[Gwp, ...]
    pressure_class: PressureClass
    ozone_depleting: bool
    notes: tuple[str, ...]

    def gwp(self, basis: str) -> Gwp:
        """The warming potential on one basis: `AR4`, `40 CFR 84.64`, `AR5` or `AR6`.

        Raises:
            UnknownBasis: no value on that basis.
        """
        for gwp in self.gwps:
            if gwp.basis == basis:
                return gwp
        known = ", ".join(gwp.basis for gwp in self.gwps)
        raise UnknownBasis(f'{self.designation}: no GWP on basis "{_printable(basis)}"; known are {known}')


COMPONENT_GWPS: Final = MappingProxyType(
    {
        AR4: {"R-22": "1810", "R-32": "675", "R-125": "3500", "R-134a": "1430", "R-1234yf": "4"},
        US_RULE: {"R-22": "1810", "R-32": "675", "R-125": "3500", "R-134a": "1430", "R-1234yf": "1"},
        # AR5 gives R-1234yf as "< 1": 1 is the upper bound.
        AR5: {"R-22": "1760", "R-32": "677", "R-125": "3170", "R-134a": "1300", "R-1234yf": "1"},
        AR6: {"R-22": "1960", "R-32": "771", "R-125": "3740", "R-134a": "1530", "R-1234yf": "0.501"},
    }
)
"""GWP of each component by basis; marks in the module's text."""


def blend_gwps(components: Iterable[Component]) -> tuple[Gwp, ...]:
    """GWP of a blend on every basis: the sum of mass fraction times component GWP, unrounded.

    The rule of 40 CFR 84.64(b), FOUND [S16]; the same arithmetic is customary for the other bases.
    """
    listed = tuple(components)
    return tuple(
        Gwp(
            sum((part.mass_fraction * Decimal(table[part.designation]) for part in listed), Decimal(0)), basis
        )
        for basis, table in COMPONENT_GWPS.items()
    )


def _refrigerant(
    designation: str,
    mass_percent: dict[str, str],
    safety_group: str,
    pressure_class: PressureClass,
    *notes: str,
    ozone_depleting: bool = False,
) -> Refrigerant:
    components = tuple(Component(name, Decimal(share) / 100) for name, share in mass_percent.items())
    return Refrigerant(
        designation, components, safety_group, blend_gwps(components), pressure_class, ozone_depleting, notes
    )


_ALL: Final = (
    _refrigerant(
        "R-22",
        {"R-22": "100"},
        "A1",
        PressureClass.HIGH,
        "an ozone-depleting substance: 40 CFR 82 applies, 40 CFR 84 does not",
        ozone_depleting=True,
    ),
    _refrigerant(
        "R-32",
        {"R-32": "100"},
        "A2L",
        PressureClass.VERY_HIGH,
        "359 psia at 104 °F is just above the limit of 355 psia; the class matters from 200 lb of charge up",
    ),
    _refrigerant("R-134a", {"R-134a": "100"}, "A1", PressureClass.MEDIUM),
    _refrigerant("R-407C", {"R-32": "23", "R-125": "25", "R-134a": "52"}, "A1", PressureClass.HIGH),
    _refrigerant(
        "R-410A",
        {"R-32": "50", "R-125": "50"},
        "A1",
        PressureClass.HIGH,
        "352 psia at 104 °F is just below the limit of 355 psia",
    ),
    _refrigerant("R-454B", {"R-32": "68.9", "R-1234yf": "31.1"}, "A2L", PressureClass.HIGH),
)


def _key(name: str) -> str:
    return name.strip().casefold().replace("-", "").replace(" ", "")


_BY_KEY: Final = {_key(refrigerant.designation): refrigerant for refrigerant in _ALL}


def find(name: str) -> Refrigerant:
    """The refrigerant of a name; `R-410A`, `R410A`, `r 410a` are the same.

    Raises:
        UnknownRefrigerant: not in the catalogue; the message offers near names.
    """
    found = _BY_KEY.get(_key(name))
    if found is not None:
        return found
    near = get_close_matches(_key(name)[:20], _BY_KEY, n=3, cutoff=0.6)
    would = " or ".join(_BY_KEY[key].designation for key in near) or ", ".join(r.designation for r in _ALL)
    raise UnknownRefrigerant(
        f'refrigerant "{_printable(name)}" is not in the catalogue; did you mean {would}?'
    )


def all_refrigerants() -> tuple[Refrigerant, ...]:
    """Every refrigerant of the catalogue, ordered by number."""
    return _ALL


def _printable(text: str) -> str:
    return "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text[:24])
