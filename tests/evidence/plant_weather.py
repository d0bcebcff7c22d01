"""Superheat of the model at the right charge against a maker's table of targets, over its whole area.

The table gives no indoor dry bulb, and on a dry coil superheat follows it by 1.5 °F a degree: so three rules
for it are shown, none of them published (PROPOSED). With the first, indoor air is warmer where it is wetter.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Final

from guide.charging.wording import to_F
from guide.rig.plant import NoSteadyState
from tests.charging.troubled_rounds import DATA
from tests.evidence.plant_model import ORIFICE, SIX, VALVE, Asked, ask, superheat_F
from tests.evidence.plant_row import Compared

TABLE: Final = "Carrier 38VTA guide, table 4, superheat at the suction service valve"
_BAND: Final = "acceptance bands drawn up before the model"
RULES: Final[Mapping[str, Callable[[float], float]]] = {
    "warmer where wetter": lambda wet_F: max(73.1, 80.0 + 1.6 * (wet_F - 67.0)),
    "about half humidity": lambda wet_F: max(75.0, 80.0 + 1.2 * (wet_F - 67.0)),
    "always 80 °F": lambda wet_F: max(80.0, wet_F + 1.0),
}
WARMER: Final = "warmer where wetter"


def rows() -> Iterator[Compared]:
    """How far off, by refrigerant and by rule for the indoor dry bulb."""
    for refrigerant in SIX:
        yield from _of("Superheat at the right charge", refrigerant, WARMER)
    for rule in RULES:
        if rule != WARMER:
            yield from _of("Superheat at the right charge, other rules indoors", "R-410A", rule)
    yield from _nodes()
    yield from _splits()


def _of(group: str, refrigerant: str, rule: str) -> Iterator[Compared]:
    off = list(misses_F(refrigerant, rule).values())
    share2, share3 = (100.0 * sum(abs(one) <= most for one in off) / len(off) for most in (2.0, 3.0))
    where = f"{refrigerant}, {rule}, {len(off)} places"
    for quantity, model, low, high, unit, band in (
        ("within 2 °F", share2, 100.0, 100.0, "%", "table ± 2 °F everywhere"),
        ("within 3 °F", share3, 90.0, 100.0, "%", "9 places of 10"),
        ("root mean square", _rms(off), 0.0, 2.0, "°F", "as ± 2 °F"),
        ("worst", max(off, key=abs), -5.0, 5.0, "°F", "the table's own tolerance, ± 5 °F"),
    ):
        yield Compared(group, f"{quantity}, {where}", model, None, low, high, unit, band, _BAND, "PROPOSED")


def _nodes() -> Iterator[Compared]:
    """Every other row and column of the table itself, so that where it lies off can be seen."""
    misses = misses_F("R-410A", WARMER)
    for (outdoor_F, wet_F), measured in maker_table().items():
        if outdoor_F % 10 == 5 and wet_F % 4 == 2:
            miss = misses[outdoor_F, wet_F]
            yield Compared(
                "Superheat at the right charge, R-410A, warmer where wetter",
                f"{outdoor_F:.0f} °F outdoors, {wet_F:.0f} °F wet bulb",
                measured + miss,
                measured,
                measured - 3.0,
                measured + 3.0,
                "°F",
                "± 3 °F; ± 5 °F is the table's own",
                TABLE,
                "FOUND",
            )


def _splits() -> Iterator[Compared]:
    """What the indoor air cools, behind the fan, at 95 °F outdoors; superheat is as it comes."""
    for metering in (ORIFICE, VALVE):
        for dry_F in (74.0, 78.0, 82.0):
            for wet_F in (58.0, 62.0, 66.0):
                state = ask("R-410A", metering, Asked(1.0, dry_F, wet_F))
                measured = _split_table()[dry_F, wet_F]
                yield Compared(
                    "Temperature split",
                    f"{metering.value}, {dry_F:.0f} °F and {wet_F:.0f} °F wet bulb indoors",
                    dry_F - to_F(state.supply_db_K),
                    measured,
                    measured - 3.0,
                    measured + 3.0,
                    "°F",
                    "± 3 °F, the rule's own tolerance",
                    "Title 24, table RA3.2-3",
                    "MEMORY",
                )


@cache
def _split_table() -> Mapping[tuple[float, float], float]:
    """Target temperature split [°F] by return dry and wet bulb [°F]."""
    return _grid("target_temp_split_ra32.csv")


@cache
def misses_F(refrigerant: str, rule: str) -> Mapping[tuple[float, float], float]:
    """Model less table at every place of the table, by outdoor dry and indoor wet bulb, °F; NaN: none."""
    return {
        (outdoor_F, wet_F): _superheat_F(refrigerant, RULES[rule](wet_F), wet_F, outdoor_F) - target_F
        for (outdoor_F, wet_F), target_F in maker_table().items()
    }


def _superheat_F(refrigerant: str, indoor_F: float, wet_F: float, outdoor_F: float) -> float:
    try:
        return superheat_F(ask(refrigerant, ORIFICE, Asked(1.0, indoor_F, wet_F, outdoor_F)))
    except NoSteadyState:
        return math.nan


@cache
def maker_table() -> Mapping[tuple[float, float], float]:
    """Target superheat [°F] by outdoor dry bulb and indoor wet bulb [°F]; dashes left out."""
    return _grid("target_superheat_maker_a.csv")


def _grid(name: str) -> dict[tuple[float, float], float]:
    """A table with one dry bulb a row and one wet bulb a column, its dashes left out."""
    text = (DATA / name).read_text(encoding="utf-8")
    head, *lines = csv.reader(line for line in text.splitlines() if not line.startswith("#"))
    wets = [float(column.removeprefix("WB")) for column in head[1:]]
    return {
        (float(row[0]), wet_F): float(cell)
        for row in lines
        for wet_F, cell in zip(wets, row[1:], strict=True)
        if cell.strip()
    }


def _rms(values: list[float]) -> float:
    return math.sqrt(sum(one * one for one in values) / len(values))
