"""Quantities as people write them, and the SI values behind them.

Inside the program everything is SI: kelvin, pascal absolute, kilogram, metre, second. Units exist only
where a person types or reads. A pressure always says gauge or absolute; a gauge pressure means nothing
without the atmosphere at the site; a temperature difference is never converted like a temperature.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from difflib import get_close_matches
from typing import Final

from guide.unit_table import QUANTUM, UNITS, Kind, STANDARD_PRESSURE_Pa, Unit, UnitError, lookup

__all__ = [
    "COMPOUND_MASS",
    "Kind",
    "Quantity",
    "STANDARD_PRESSURE_Pa",
    "UnitError",
    "from_si",
    "is_gauge",
    "kind_of",
    "parse",
    "show",
    "standard_pressure_at",
    "to_si",
    "units_of",
    "usual_digits",
]

COMPOUND_MASS: Final = "lb+oz"
"""The symbol of a mass written as pounds and ounces, such as `22lb0.5oz`."""

_LONGEST_TEXT: Final = 40
_LARGEST: Final = Decimal("1e12")
_LARGEST_EXPONENT: Final = 9
# The atmosphere wherever people work, from the highest towns to the deepest shafts (PROPOSED).
_SITE_PRESSURE_RANGE_Pa: Final = (Decimal(30_000), Decimal(150_000))
_EXACT: Final = Context(prec=60)


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity: its SI value, and beside it what the person wrote.

    `si` is in K, K, Pa absolute, Pa, kg, m or s according to `kind`; `unit` is the canonical symbol
    (`COMPOUND_MASS` for pounds with ounces); `typed` is the text without the blanks around it.
    """

    kind: Kind
    si: Decimal
    typed: str
    unit: str


_BARE_PRESSURES: Final = {
    "psi": ("psig", "psia"),
    "bar": ("barg", "bara"),
    "kpa": ("kPag", "kPaa"),
    "mpa": ("MPag", "MPaa"),
    "pa": ("Pag", "Paa"),
    "inhg": ("inHgv", "inHga"),
    "mbar": ("mbara",),
    "mmhg": ("mmHga",),
}
_NUMBER: Final = r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_ONE_QUANTITY: Final = re.compile(rf"({_NUMBER})(?:[eE]([+-]?[0-9]+))? *(\S*)")
_POUNDS_OUNCES: Final = re.compile(rf"({_NUMBER}) *lbs? *({_NUMBER}) *oz", re.IGNORECASE)


def parse(text: str, kind: Kind, *, site_pressure_Pa: Decimal | None = None) -> Quantity:
    """Read one quantity of the given kind, such as `40F`, `118.4 psig`, `500micron`, `22lb0.5oz`.

    A gauge pressure needs `site_pressure_Pa`, the absolute pressure of the atmosphere at the site [Pa].

    Raises:
        UnitError: the text is no such quantity; the message says what would do.
    """
    written = text.strip(" ")
    where = f'{kind} "{_printable(written)}"'
    _refuse_odd_text(text, written, where, kind)
    if kind is Kind.MASS and (match := _POUNDS_OUNCES.fullmatch(written)):
        return Quantity(kind, _pounds_ounces(match[1], match[2], where), written, COMPOUND_MASS)
    match = _ONE_QUANTITY.fullmatch(written)
    if match is None:
        raise UnitError(f"{where}: not a number with a unit; write {_examples(kind)}")
    number, exponent, symbol = match[1], match[2], match[3]
    if exponent is not None and (len(exponent) > 3 or abs(int(exponent)) > _LARGEST_EXPONENT):
        raise UnitError(
            f"{where}: exponent beyond {_LARGEST_EXPONENT}; write the number out, as {_examples(kind)}"
        )
    if not symbol:
        raise UnitError(f"{where}: no unit; write {_alternatives(f'{number}{s}' for s in units_of(kind))}")
    unit = _unit_for(symbol, kind, where)
    value = Decimal(number if exponent is None else f"{number}e{exponent}")
    try:
        si = to_si(value, unit.symbol, site_pressure_Pa=site_pressure_Pa)
    except UnitError as error:
        raise UnitError(f"{where}: {error}") from error
    if si < 0 and kind in (Kind.MASS, Kind.DURATION):
        raise UnitError(f"{where}: a {kind} is not negative; write it without the minus sign")
    return Quantity(kind, si, written, unit.symbol)


def to_si(value: Decimal | float, unit: str, *, site_pressure_Pa: Decimal | float | None = None) -> Decimal:
    """The SI value [K, Pa, kg, m or s] of a number in `unit`, to the step in which values are stored.

    Raises:
        UnitError: unknown unit, gauge without a site pressure, below absolute zero or vacuum, too large.
    """
    row = _known(unit)
    number = _finite(value)
    site = _site(row, site_pressure_Pa)
    with localcontext(_EXACT):
        si = (number + row.shift) * row.numerator / row.denominator
        if row.sense:
            si = site + row.sense * si
        si = si.quantize(QUANTUM[row.kind]) + 0  # plus zero: no negative zero in a record
    if si < 0 and row.kind is Kind.TEMPERATURE:
        raise UnitError("below absolute zero; check number, sign and unit")
    if si < 0 and row.kind is Kind.PRESSURE:
        raise UnitError("below absolute vacuum; check number, sign and unit")
    return si


def from_si(si: Decimal | float, unit: str, *, site_pressure_Pa: Decimal | float | None = None) -> Decimal:
    """The number in `unit` of an SI value, to the decimals that a stored value carries; no trailing zeros.

    Raises:
        UnitError: unknown unit, gauge without a site pressure, not a finite number.
    """
    row = _known(unit)
    return _plain(_in_unit(row, si, site_pressure_Pa, row.decimals))


def show(
    si: Decimal | float,
    unit: str,
    *,
    digits: int | None = None,
    site_pressure_Pa: Decimal | float | None = None,
    with_unit: bool = True,
) -> str:
    """The SI value as text in `unit`, such as `118.4 psig` or `22 lb 0.5 oz`, readable by `parse` again.

    `digits` fixes the decimals (of the ounces for pounds and ounces); without it as many as the value has,
    so that what was typed comes back. `usual_digits` says how many suit a screen.

    Raises:
        UnitError: unknown unit, gauge without a site pressure, not a finite number, digits not 0 to 12.
    """
    if digits is not None and not 0 <= digits <= 12:
        raise UnitError(f"{digits} decimals can't be shown; 0 to 12 would do")
    if unit == COMPOUND_MASS:
        return _show_pounds_ounces(_in_unit(UNITS["oz"], si, None, 6 if digits is None else digits), digits)
    row = _known(unit)
    value = _in_unit(row, si, site_pressure_Pa, row.decimals if digits is None else digits)
    text = f"{_plain(value) if digits is None else value:f}"
    return f"{text} {row.label or row.symbol}" if with_unit else text


def units_of(kind: Kind) -> tuple[str, ...]:
    """The units a person may type for this kind (pounds with ounces, as `22lb0.5oz`, besides)."""
    return tuple(symbol for symbol, unit in UNITS.items() if unit.kind is kind)


def kind_of(unit: str) -> Kind:
    """What a unit measures.

    Raises:
        UnitError: unknown unit.
    """
    return Kind.MASS if unit == COMPOUND_MASS else _known(unit).kind


def is_gauge(unit: str) -> bool:
    """Whether a number in this unit counts from the atmosphere at the site.

    Raises:
        UnitError: unknown unit.
    """
    return unit != COMPOUND_MASS and _known(unit).sense != 0


def usual_digits(unit: str) -> int:
    """Decimals that suit a field instrument in this unit (common practice, no source).

    Raises:
        UnitError: unknown unit.
    """
    return 1 if unit == COMPOUND_MASS else _known(unit).usual


def standard_pressure_at(altitude_m: Decimal | float) -> Decimal:
    """Pressure of the standard atmosphere [Pa] at an altitude [m] above sea level, -500 to 9000 m.

    ISO 2533 / ICAO Doc 7488, layer below 11 km (MEMORY): p = 101325 (1 - 0.0065 H / 288.15)^(g/(R L)), with
    g = 9.80665 m/s2, R = 287.05287 J/(kg K), L = 0.0065 K/m. H is the geopotential altitude; taking the
    height on a map for it is off by less than 0.02 % of the pressure below 3000 m.

    Raises:
        UnitError: altitude outside the range.
    """
    altitude = _finite(altitude_m)
    if not -500 <= altitude <= 9000:
        raise UnitError(
            f"altitude {altitude:.4g} m: outside -500 to 9000 m; check it, or give the barometer reading"
        )
    with localcontext(_EXACT):
        exponent = Decimal("9.80665") / (Decimal("287.05287") * Decimal("0.0065"))
        ratio = 1 - Decimal("0.0065") * altitude / Decimal("288.15")
        return (STANDARD_PRESSURE_Pa * ratio**exponent).quantize(QUANTUM[Kind.PRESSURE])


def _refuse_odd_text(text: str, written: str, where: str, kind: Kind) -> None:
    if len(text) > _LONGEST_TEXT:
        raise UnitError(f"{where}: longer than {_LONGEST_TEXT} characters; write {_examples(kind)}")
    if not written:
        raise UnitError(f"{kind}: nothing written; write {_examples(kind)}")
    if not all((c.isascii() and c.isprintable()) or c == "°" for c in written):
        raise UnitError(
            f"{where}: a character that is no plain digit, letter or sign; write {_examples(kind)}"
        )
    if "_" in written:
        raise UnitError(f"{where}: no underscores in numbers; write {_printable(written.replace('_', ''))}")
    if re.search(r"[0-9] +[0-9]", written) and not _POUNDS_OUNCES.fullmatch(written):
        raise UnitError(f"{where}: no blanks inside a number; write {_printable(written.replace(' ', ''))}")
    if "," in written:
        point, none = written.replace(",", "."), written.replace(",", "")
        if written.count(",") > 1 or "." in written:
            raise UnitError(f"{where}: no commas in numbers; write {none}")
        both = f"{point} (or {none})" if re.search(r",[0-9]{3}(?![0-9])", written) else point
        raise UnitError(f"{where}: decimal comma; write {both}")


def _unit_for(symbol: str, kind: Kind, where: str) -> Unit:
    unit = lookup(symbol)
    if unit is not None and unit.kind is kind:
        return unit
    folded = symbol.casefold()
    difference = lookup("d" + symbol)
    if kind is Kind.PRESSURE_DIFFERENCE and difference is not None and difference.kind is kind:
        return difference  # a difference needs no word about gauge or absolute
    if kind is Kind.PRESSURE and folded in _BARE_PRESSURES:
        words = _alternatives(_BARE_PRESSURES[folded])
        raise UnitError(
            f"{where}: {_printable(symbol)} does not say gauge, vacuum or absolute; write {words}"
        )
    if unit is None:
        near = get_close_matches(symbol, units_of(kind), n=1, cutoff=0.6)
        would = f"{near[0]}, or another of" if near else "one of"
        raise UnitError(
            f"{where}: unit {_printable(symbol)} unknown here; write {would} {', '.join(units_of(kind))}"
        )
    raise UnitError(
        f"{where}: {unit.symbol} is a {unit.kind}, not a {kind}; write {_alternatives(units_of(kind))}"
    )


def _known(unit: str) -> Unit:
    row = lookup(unit)
    if row is None:
        raise UnitError(f'unit "{_printable(unit)}" unknown; known are {", ".join(UNITS)}')
    return row


def _in_unit(
    row: Unit, si: Decimal | float, site_pressure_Pa: Decimal | float | None, decimals: int
) -> Decimal:
    number = _finite(si)
    site = _site(row, site_pressure_Pa)
    with localcontext(_EXACT):
        if row.sense:
            number = row.sense * (number - site)
        value = number * row.denominator / row.numerator - row.shift
        return value.quantize(Decimal(1).scaleb(-decimals)) + 0


def _site(row: Unit, site_pressure_Pa: Decimal | float | None) -> Decimal:
    if not row.sense:
        return Decimal(0)
    if site_pressure_Pa is None:
        raise UnitError(
            f"{row.symbol} counts from the atmosphere at the site; give the altitude or the barometer"
        )
    site = _finite(site_pressure_Pa)
    low, high = _SITE_PRESSURE_RANGE_Pa
    if not low <= site <= high:
        raise UnitError(
            f"site pressure {site:.6g} Pa is no atmosphere; give one of {low} to {high} Pa absolute"
        )
    return site


def _finite(value: Decimal | float) -> Decimal:
    number = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    if not number.is_finite():
        raise UnitError("not a finite number; write digits")
    if abs(number) > _LARGEST:
        raise UnitError("number too large; check the digits and the exponent")
    return number


def _plain(value: Decimal) -> Decimal:
    normal = value.normalize(_EXACT)
    exponent = normal.as_tuple().exponent
    return (
        normal.quantize(Decimal(1), context=_EXACT) if isinstance(exponent, int) and exponent > 0 else normal
    )


def _pounds_ounces(pounds: str, ounces: str, where: str) -> Decimal:
    lb, oz = Decimal(pounds), Decimal(ounces)
    if pounds[0] in "+-" or ounces[0] in "+-":
        raise UnitError(f"{where}: no signs in pounds with ounces; write 22lb0.5oz")
    if "." in pounds:
        raise UnitError(f"{where}: whole pounds stand before ounces; write 22lb0.5oz or 22.03lb")
    if oz >= 16:
        raise UnitError(f"{where}: 16 oz are a pound; write fewer than 16 oz after the pounds")
    if lb > _LARGEST:
        raise UnitError(f"{where}: number too large; check the digits")
    with localcontext(_EXACT):
        return to_si(16 * lb + oz, "oz")


def _show_pounds_ounces(ounces: Decimal, digits: int | None) -> str:
    with localcontext(_EXACT):
        pounds, rest = divmod(abs(ounces), 16)
    sign = "-" if ounces < 0 else ""
    return f"{sign}{int(pounds)} lb {_plain(rest) if digits is None else rest:f} oz"


def _printable(text: str) -> str:
    kept = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text[:_LONGEST_TEXT])
    return kept if len(text) <= _LONGEST_TEXT else kept + "…"


def _alternatives(words: Iterable[str]) -> str:
    listed = tuple(words)
    return listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} or {listed[-1]}"


def _examples(kind: Kind) -> str:
    return {
        Kind.TEMPERATURE: "40F or 4.4C",
        Kind.TEMPERATURE_DIFFERENCE: "10dF or 5.5dK",
        Kind.PRESSURE: "118.4psig, 8.2barg or 500micron",
        Kind.PRESSURE_DIFFERENCE: "5dpsi or 0.3dbar",
        Kind.MASS: "2oz, 22lb0.5oz or 1.25kg",
        Kind.LENGTH: "25ft or 7.5m",
        Kind.DURATION: "15min or 90s",
    }[kind]
