"""The units the program knows: symbols, exact factors, how far a typed value survives storage.

Conversion factors (MEMORY: NIST SP 811 appendix B.8 and the definitions it cites; mmHg and Torr FOUND in a
copy of an encyclopaedia article on the torr):

* lb = 0.45359237 kg, oz = lb/16, in = 0.0254 m, ft = 12 in: exact, agreement of 1959.
* psi = lbf/in2, with lbf = lb x 9.80665 m/s2: exact by these definitions.
* Torr = 101325/760 Pa: exact. bar = 1e5 Pa: exact.
* mmHg = 13.5951 x 9.80665 Pa = 133.322387415 Pa (conventional); inHg = 25.4 mmHg; micron = mmHg/1000.
* t/K = t/°C + 273.15 = (t/°F + 459.67) x 5/9 = (t/°R) x 5/9: exact.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Final

from guide.errors import ChargewrightError

STANDARD_PRESSURE_Pa: Final = Decimal("101325")
"""Standard atmosphere [Pa], exact: ISO 2533 (MEMORY)."""


class UnitError(ChargewrightError):
    """A quantity that can't be read, shown or converted as asked."""


class Kind(StrEnum):
    """What a quantity measures; the value reads as words in a message."""

    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature difference"
    PRESSURE = "pressure"
    PRESSURE_DIFFERENCE = "pressure difference"
    MASS = "mass"
    LENGTH = "length"
    DURATION = "duration"


@dataclass(frozen=True, slots=True)
class Unit:
    """`si = (value + shift) * numerator / denominator`; `sense`: counted from the site's atmosphere."""

    symbol: str
    kind: Kind
    numerator: Decimal
    decimals: int  # of a typed value that survive the quantised SI value
    usual: int  # decimals that suit a field instrument (common practice, no source)
    denominator: Decimal = Decimal(1)
    shift: Decimal = Decimal(0)
    sense: int = 0  # 0 absolute, +1 above the site's atmosphere, -1 below it
    label: str = ""


# Smallest step of a stored SI value. Chosen so that every typed value comes back, see the property tests.
QUANTUM: Final = {
    Kind.TEMPERATURE: Decimal("1e-6"),
    Kind.TEMPERATURE_DIFFERENCE: Decimal("1e-6"),
    Kind.PRESSURE: Decimal("1e-4"),
    Kind.PRESSURE_DIFFERENCE: Decimal("1e-4"),
    Kind.MASS: Decimal("1e-8"),
    Kind.LENGTH: Decimal("1e-7"),
    Kind.DURATION: Decimal("1e-6"),
}

_LB: Final = Decimal("0.45359237")
_INCH: Final = Decimal("0.0254")
_POUND_FORCE: Final = Decimal("4.4482216152605")
_SQUARE_INCH: Final = Decimal("0.00064516")
_MM_MERCURY: Final = Decimal("133.322387415")
_IN_MERCURY: Final = Decimal("3386.388640341")
_FIVE, _NINE, _ONE = Decimal(5), Decimal(9), Decimal(1)
_T, _DT, _P, _DP = Kind.TEMPERATURE, Kind.TEMPERATURE_DIFFERENCE, Kind.PRESSURE, Kind.PRESSURE_DIFFERENCE


def _unit_table() -> tuple[Unit, ...]:
    kilo, mega, bar, milli = Decimal(1000), Decimal(1_000_000), Decimal(100_000), Decimal("0.001")
    return (
        Unit("F", _T, _FIVE, 5, 1, denominator=_NINE, shift=Decimal("459.67"), label="°F"),
        Unit("C", _T, _ONE, 6, 1, shift=Decimal("273.15"), label="°C"),
        Unit("K", _T, _ONE, 6, 2),
        Unit("R", _T, _FIVE, 5, 1, denominator=_NINE, label="°R"),
        Unit("dF", _DT, _FIVE, 5, 1, denominator=_NINE),
        Unit("dC", _DT, _ONE, 6, 1),
        Unit("dK", _DT, _ONE, 6, 1),
        Unit("dR", _DT, _FIVE, 5, 1, denominator=_NINE),
        Unit("psig", _P, _POUND_FORCE, 6, 1, denominator=_SQUARE_INCH, sense=1),
        Unit("psia", _P, _POUND_FORCE, 6, 1, denominator=_SQUARE_INCH),
        Unit("barg", _P, bar, 7, 2, sense=1),
        Unit("bara", _P, bar, 7, 2),
        Unit("kPag", _P, kilo, 6, 1, sense=1),
        Unit("kPaa", _P, kilo, 6, 1),
        Unit("MPag", _P, mega, 8, 3, sense=1),
        Unit("MPaa", _P, mega, 8, 3),
        Unit("Pag", _P, _ONE, 3, 0, sense=1),
        Unit("Paa", _P, _ONE, 3, 0),
        Unit("micron", _P, _MM_MERCURY * milli, 3, 0),
        Unit("inHgv", _P, _IN_MERCURY, 6, 1, sense=-1),
        Unit("inHga", _P, _IN_MERCURY, 6, 2),
        Unit("Torr", _P, STANDARD_PRESSURE_Pa, 5, 1, denominator=Decimal(760)),
        Unit("mmHga", _P, _MM_MERCURY, 5, 1),
        Unit("mbara", _P, Decimal(100), 5, 1),
        Unit("dpsi", _DP, _POUND_FORCE, 6, 1, denominator=_SQUARE_INCH),
        Unit("dbar", _DP, bar, 7, 2),
        Unit("dkPa", _DP, kilo, 6, 1),
        Unit("dPa", _DP, _ONE, 3, 0),
        Unit("dmicron", _DP, _MM_MERCURY * milli, 3, 0),
        Unit("lb", Kind.MASS, _LB, 7, 2),
        Unit("oz", Kind.MASS, _LB, 6, 1, denominator=Decimal(16)),
        Unit("kg", Kind.MASS, _ONE, 7, 3),
        Unit("g", Kind.MASS, milli, 4, 0),
        Unit("m", Kind.LENGTH, _ONE, 6, 2),
        Unit("cm", Kind.LENGTH, Decimal("0.01"), 4, 1),
        Unit("mm", Kind.LENGTH, milli, 3, 0),
        Unit("ft", Kind.LENGTH, _INCH * 12, 5, 1),
        Unit("in", Kind.LENGTH, _INCH, 5, 1),
        Unit("s", Kind.DURATION, _ONE, 6, 0),
        Unit("min", Kind.DURATION, Decimal(60), 6, 1),
        Unit("h", Kind.DURATION, Decimal(3600), 6, 2),
    )


UNITS: Final = {unit.symbol: unit for unit in _unit_table()}
_BY_FOLDED: Final = {symbol.casefold(): unit for symbol, unit in UNITS.items()}
_OTHER_SPELLINGS: Final = {"microns": "micron", "lbs": "lb", "hr": "h"}


def lookup(symbol: str) -> Unit | None:
    """The unit a symbol means, in any case that leaves no doubt; None where there is none."""
    if symbol in UNITS:
        return UNITS[symbol]
    bare = symbol[1:] if symbol.startswith("°") else symbol
    folded = bare.casefold()
    unit = _BY_FOLDED.get(_OTHER_SPELLINGS.get(folded, folded))
    if unit is None or (symbol.startswith("°") and unit.symbol not in {"F", "C", "R"}):
        return None
    # M and m are a factor of a thousand million apart: there the case is part of the unit.
    return None if unit.symbol[0] in "mM" and bare[0] != unit.symbol[0] else unit
