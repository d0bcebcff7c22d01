"""The two data files of the catalogue, read strictly: `components.csv` and `refrigerants.csv`.

Where each figure comes from stands in the files: FOUND (read, sources numbered in the published rules),
MEMORY (recalled), LIBRARY (as CoolProp 8 carries it). Compositions marked FOUND are those of the ASHRAE
designations list as open property software copies it [S25], R-507A and R-513A [S28].
"""

import csv
import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Final

from guide.errors import ChargewrightError

UNKNOWN_GROUP: Final = "unknown"
GWP_COLUMNS: Final = ("gwp_ar4", "gwp_us", "gwp_ar5", "gwp_ar6")
LEFT_OUT: Final = "out"

_COMPONENT_COLUMNS: Final = (
    "designation", "library", "ozone", *GWP_COLUMNS, "gwp_marks", "lfl_kg_m3", "lfl_mark", "freezes_K",
)  # fmt: skip
_REFRIGERANT_COLUMNS: Final = (
    "designation", "composition", "composition_mark", "safety_group", "safety_mark", "pressure_class",
    "doubt_K", "note", "refused",
)  # fmt: skip
_MARKS: Final = {"F": "FOUND", "M": "MEMORY", "D": "definition"}
_GROUP: Final = re.compile(r"[AB](1|2L?|3)|unknown")
_CLASSES: Final = ("low-pressure", "medium-pressure", "high-pressure", "very high-pressure")
_DESIGNATION: Final = re.compile(r"R-[0-9A-Za-z]{1,7}(\([EZ]\))?")
_PART: Final = re.compile(r"(\S+) ([0-9]+(?:\.[0-9]+)?)")


class BadListing(ChargewrightError):
    """A data file of the catalogue that is missing or damaged."""


@dataclass(frozen=True, slots=True)
class Component:
    """One component of a refrigerant with its nominal mass fraction (0 to 1)."""

    designation: str
    mass_fraction: Decimal


@dataclass(frozen=True, slots=True)
class Substance:
    """A component as `components.csv` has it.

    `gwps` in the order AR4, 40 CFR 84.64, AR5, AR6: a number, `"out"` (left out by the rule) or `""` (not
    known here). `lfl_kg_m3` is the lower flammability limit [kg/m³], None where none is known.
    """

    designation: str
    library_name: str
    ozone_depleting: bool
    gwps: tuple[str, str, str, str]
    gwp_marks: tuple[str, str, str, str]
    lfl_kg_m3: Decimal | None
    lfl_mark: str
    freezes_K: float | None


@dataclass(frozen=True, slots=True)
class Listed:
    """A refrigerant as `refrigerants.csv` has it; `refused` says why it can't be computed, or is empty.

    `doubted` says that a printed boiling point contradicts the library's mixture model.
    """

    designation: str
    composition: tuple[Component, ...]
    composition_mark: str
    safety_group: str
    safety_mark: str
    pressure_class: str
    doubted: bool
    note: str
    refused: str


@cache
def components() -> MappingProxyType[str, Substance]:
    """Every component by its designation.

    Raises:
        BadListing: the shipped file is missing or damaged.
    """
    return MappingProxyType(
        {row["designation"]: _substance(row) for row in _rows("components.csv", _COMPONENT_COLUMNS)}
    )


@cache
def listed() -> tuple[Listed, ...]:
    """Every listed refrigerant, ordered by number, the refused ones among them.

    Raises:
        BadListing: the shipped file is missing or damaged.
    """
    return tuple(_listed(row) for row in _rows("refrigerants.csv", _REFRIGERANT_COLUMNS))


def _substance(row: dict[str, str]) -> Substance:
    name = row["designation"]
    gwps = tuple(row[column] for column in GWP_COLUMNS)
    marks = row["gwp_marks"]
    if row["ozone"] not in ("yes", "no") or len(marks) != len(gwps):
        raise BadListing(f"components.csv: {name}: a column holds what it can't; install the program again")
    for gwp, mark in zip(gwps, marks, strict=True):
        if (mark == "-") != (gwp == "") or (gwp not in ("", LEFT_OUT) and _number(name, gwp) < 0):
            raise BadListing(f"components.csv: {name}: a GWP without its mark; install the program again")
    lfl, freezes = row["lfl_kg_m3"], row["freezes_K"]
    if bool(lfl) != bool(row["lfl_mark"]):
        raise BadListing(f"components.csv: {name}: an LFL without its mark; install the program again")
    ar4, us, ar5, ar6 = gwps
    mark_ar4, mark_us, mark_ar5, mark_ar6 = (_MARKS.get(mark, "") for mark in marks)
    return Substance(
        designation=name,
        library_name=row["library"],
        ozone_depleting=row["ozone"] == "yes",
        gwps=(ar4, us, ar5, ar6),
        gwp_marks=(mark_ar4, mark_us, mark_ar5, mark_ar6),
        lfl_kg_m3=_number(name, lfl) if lfl else None,
        lfl_mark=row["lfl_mark"],
        freezes_K=float(_number(name, freezes)) if freezes else None,
    )


def _listed(row: dict[str, str]) -> Listed:
    name = row["designation"]
    parts = tuple(_component(name, text) for text in row["composition"].split(" / ") if text)
    total = sum((part.mass_fraction for part in parts), Decimal(0))
    if total != 1 and not (row["refused"] and not parts):
        raise BadListing(f"refrigerants.csv: {name}: composition is not 100 %; install the program again")
    group = row["safety_group"]
    if not _GROUP.fullmatch(group) or (group == UNKNOWN_GROUP) != (row["safety_mark"] == "none"):
        raise BadListing(f"refrigerants.csv: {name}: safety group and mark; install the program again")
    if row["pressure_class"] not in (("",) if row["refused"] else _CLASSES):
        raise BadListing(f"refrigerants.csv: {name}: no pressure class; install the program again")
    return Listed(
        designation=name,
        composition=parts,
        composition_mark=row["composition_mark"],
        safety_group=group,
        safety_mark=row["safety_mark"],
        pressure_class=row["pressure_class"],
        doubted=bool(row["doubt_K"]),
        note=row["note"],
        refused=row["refused"],
    )


def _component(name: str, text: str) -> Component:
    part = _PART.fullmatch(text)
    if part is None or part[1] not in components():
        raise BadListing(f"refrigerants.csv: {name}: unknown component; install the program again")
    return Component(part[1], _number(name, part[2]) / 100)


def _number(name: str, text: str) -> Decimal:
    try:
        number = Decimal(text)
    except InvalidOperation as error:
        raise BadListing(f"catalogue: {name}: no number where one must be; install again") from error
    if not number.is_finite():
        raise BadListing(f"catalogue: {name}: no number where one must be; install the program again")
    return number


def _rows(file_name: str, columns: tuple[str, ...]) -> list[dict[str, str]]:
    try:
        text = (resources.files("guide.refrigerant") / file_name).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadListing(f"{file_name}: missing or no text; install the program again") from error
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    rows = list(csv.DictReader(lines, strict=True))
    names = [row.get("designation", "") for row in rows]
    if (
        not rows
        or any(tuple(row) != columns or None in row.values() for row in rows)
        or not all(_DESIGNATION.fullmatch(name) for name in names)
        or len(set(names)) != len(names)
    ):
        raise BadListing(f"{file_name}: its rows are not of the known form; install the program again")
    return rows
