"""One thing asked of the person: a quantity, a text, a secret, or one of several answers. Pure.

A bare number is refused everywhere in this program. A field that states its unit is the exception
that proves it: the unit stands beside the number on the screen and is written behind what was typed,
so that what is kept carries it. Any other unit of the same kind may be typed instead.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from guide.unit_table import UNITS
from guide.units import COMPOUND_MASS, Kind, Quantity, UnitError, kind_of, parse, show, usual_digits

_BARE = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")
_TWO_BARE = re.compile(r"([0-9]+) +([0-9]+(?:\.[0-9]+)?|\.[0-9]+)")


class Sort(StrEnum):
    """What kind of answer is wanted."""

    QUANTITY = "quantity"
    TEXT = "text"
    SECRET = "secret"  # noqa: S105 - a sort of field
    PICK = "pick"


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to pick. A `letter` picks it at once, a digit only moves to it."""

    value: str
    words: str
    note: str = ""
    letter: str = ""


@dataclass(frozen=True, slots=True)
class Ask:
    """One field.

    `unit` is the unit the field states; `low` and `high` [SI] bound what is likely; `note` stands
    beside the field; a digit alone picks one of `suggestions` where a text is asked; "=" alone stands
    for `same`, the value before, when it was read again and is the same.
    """

    key: str
    label: str
    sort: Sort
    unit: str = ""
    low: Decimal | None = None
    high: Decimal | None = None
    choices: tuple[Choice, ...] = ()
    suggestions: tuple[str, ...] = ()
    note: str = ""
    needed: bool = True
    start: str = ""
    picked: int | None = None
    same: str = ""
    aside: str = ""
    """A line under the field while it is active, where there is room."""


def quantity(key: str, label: str, unit: str, *, note: str = "", needed: bool = True, start: str = "") -> Ask:
    """A field for a quantity in a stated unit."""
    return Ask(key, label, Sort.QUANTITY, unit=unit, note=note, needed=needed, start=start)


def text(
    key: str,
    label: str,
    *,
    suggestions: tuple[str, ...] = (),
    note: str = "",
    needed: bool = True,
    start: str = "",
) -> Ask:
    """A field for a line of text."""
    return Ask(key, label, Sort.TEXT, suggestions=suggestions, note=note, needed=needed, start=start)


def secret(key: str, label: str, *, note: str = "") -> Ask:
    """A field whose characters are not shown."""
    return Ask(key, label, Sort.SECRET, note=note)


def pick(key: str, label: str, choices: tuple[Choice, ...], *, picked: int | None = None) -> Ask:
    """A field answered by picking."""
    return Ask(key, label, Sort.PICK, choices=choices, picked=picked)


def unit_words(unit: str) -> str:
    """How a field states its unit."""
    if unit == COMPOUND_MASS:
        return "lb oz"
    return UNITS[unit].label or unit


def with_unit(typed: str, unit: str) -> str:
    """What was typed, with the stated unit behind it where none was typed."""
    written = typed.strip()
    if unit == COMPOUND_MASS:
        both = _TWO_BARE.fullmatch(written)
        return f"{both[1]}lb{both[2]}oz" if both else written
    return f"{written}{unit}" if unit and _BARE.fullmatch(written) else written


def read_quantity(ask: Ask, typed: str, site_pressure_Pa: Decimal | None) -> Quantity:
    """The quantity in a field.

    Raises:
        UnitError: it is none; the message says what would do.
    """
    if not typed.strip():
        if ask.unit == COMPOUND_MASS:
            raise UnitError("nothing typed yet; type pounds and ounces as two numbers: 22 0.5")
        raise UnitError(f"nothing typed yet; type the number, {unit_words(ask.unit)} is added")
    if ask.unit == COMPOUND_MASS and _BARE.fullmatch(typed.strip()):
        raise UnitError(
            f"pounds and ounces are two numbers: 22 0.5 (or one with its unit: {typed.strip()}lb)"
        )
    return parse(with_unit(typed, ask.unit), kind_of(ask.unit), site_pressure_Pa=site_pressure_Pa)


def unlikely(ask: Ask, value: Quantity, site_pressure_Pa: Decimal | None) -> str | None:
    """Words for a value outside its likely range, or None."""
    if ask.low is None or ask.high is None or ask.low <= value.si <= ask.high:
        return None
    low = show(ask.low, ask.unit, digits=_digits(ask.unit), site_pressure_Pa=site_pressure_Pa)
    high = show(ask.high, ask.unit, digits=_digits(ask.unit), site_pressure_Pa=site_pressure_Pa)
    return f"outside {low} to {high}: read again. Enter keeps it and asks why."


def _digits(unit: str) -> int | None:
    if unit == COMPOUND_MASS or kind_of(unit) is Kind.MASS:
        return None
    return usual_digits(unit) if unit in {"barg", "bara", "MPag", "MPaa"} else 0
