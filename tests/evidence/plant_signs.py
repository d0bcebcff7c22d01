"""Which way each figure goes with each trouble: the model's shifts against published signs.

A shift smaller than its dead band counts as none. The published rule table comes from a fixed-orifice
rooftop unit; what it says of evaporating and condensing temperature and of the two air differences is held
against a valve as well, what a valve changes (superheat, subcooling, discharge) only where somebody says
it of a valve.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Final

from guide.charging.wording import K_PER_F
from guide.rig.plant import Metering, SteadyState
from tests.charging.troubled_rounds import DATA
from tests.evidence.plant_charge import KIND
from tests.evidence.plant_model import (
    ORIFICE,
    VALVE,
    Asked,
    ask,
    subcooling_F,
    superheat_F,
)
from tests.evidence.plant_row import Compared, Mark

RULES: Final = "Rossi and Braun rule table, Purdue report on rooftop units p. 213"
RECALLED: Final = "rows beside the rule table"
TRADE: Final = "trade forum sign matrix, entry 355 (lower authority)"
DEAD_F: Final = 0.3
NOTHING_F: Final = 1.0
"""A published "no change" holds up to this shift (PROPOSED)."""

_COLUMNS: Final[Mapping[str, Callable[[SteadyState], float]]] = {
    "evaporating": lambda s: s.evaporating_K / K_PER_F,
    "superheat": superheat_F,
    "condensing": lambda s: s.condensing_K / K_PER_F,
    "subcooling": subcooling_F,
    "discharge": lambda s: s.discharge_K / K_PER_F,
    "condenser air rise": lambda s: s.outdoor_leaving_K / K_PER_F,
    "evaporator air drop": lambda s: -s.supply_db_K / K_PER_F,
}
# Name, what is asked, the row of the rule table.
_Case = tuple[str, Asked, str]
_BOTH: Final[tuple[_Case, ...]] = (
    ("compressor valve leak, 20 %", Asked(valve_leak=0.2), "compressor valve leak"),
    ("restriction, 6 bar at rated flow", Asked(restriction_Pa=6e5), "liquid line restriction"),
    ("outdoor air, 60 %", Asked(outdoor_air=0.6), "condenser fouling"),
    ("indoor air, 60 %", Asked(indoor_air=0.6), "evaporator fouling (low indoor airflow)"),
    ("non-condensables, 1.5 bar", Asked(gas_Pa=1.5e5), "non-condensable gas"),
)
_OF_ORIFICE: Final[tuple[_Case, ...]] = (
    ("undercharge, 80 %", Asked(charge=0.8), "refrigerant leakage (undercharge)"),
    ("overcharge, 120 %", Asked(charge=1.2), "overcharge, fixed orifice"),
)
_SHORT: Final = "undercharge, TXV (until valve is full open)"
_OF_VALVE: Final[tuple[_Case, ...]] = (
    ("undercharge, 90 %", Asked(charge=0.9), _SHORT),
    ("undercharge, 70 %", Asked(charge=0.7), _SHORT),
    ("overcharge, 120 %", Asked(charge=1.2), "overcharge, TXV"),
)
# What a valve leaves as it is on an orifice: there the rule table speaks of both.
_FREE_OF_VALVE: Final = ("evaporating", "condensing", "condenser air rise", "evaporator air drop")
_TRADE: Final[tuple[_Case, ...]] = (
    ("undercharge, 80 %", Asked(charge=0.8), "low charge"),
    ("overcharge, 120 %", Asked(charge=1.2), "overcharge"),
    ("indoor air, 60 %", Asked(indoor_air=0.6), "low indoor airflow"),
    ("outdoor air, 75 %", Asked(outdoor_air=0.75), "mild low outdoor airflow"),
    ("restriction, 3 bar at rated flow", Asked(restriction_Pa=3e5), "mild restriction, factory charge"),
    ("compressor valve leak, 20 %", Asked(valve_leak=0.2), "weak compressor valves"),
)
_TRADE_COLUMNS: Final[Mapping[str, str]] = {
    "superheat": "superheat",
    "subcooling": "subcooling",
    "suction_pressure": "evaporating",
    "head_pressure": "condensing",
    "indoor_TD": "evaporator air drop",
}
_WORDS: Final = {"high": "+", "low": "-", "normal": "0", "normal to high": "0/+", "low to normal": "0/-"}


def rows() -> Iterator[Compared]:
    """Every sign, a row each."""
    rules = _rule_table()
    for metering, cases in ((ORIFICE, (*_OF_ORIFICE, *_BOTH)), (VALVE, (*_OF_VALVE, *_BOTH))):
        for name, asked, row in cases:
            cells, found = rules[row]
            for column, cell in cells.items():
                if metering is VALVE and row in _of_orifice_only() and column not in _FREE_OF_VALVE:
                    continue
                mark: Mark = "FOUND" if found else "MEMORY"
                group = f"Signs, {KIND[metering]}"
                yield _row(
                    group,
                    name,
                    column,
                    _part(cell, name),
                    metering,
                    asked,
                    RULES if found else RECALLED,
                    mark,
                )
    for name, asked, row in _TRADE:
        for heading, column in _TRADE_COLUMNS.items():
            cell = _WORDS[_trade_table()[row][heading]]
            yield _row(
                "Signs, fixed orifice, trade matrix", name, column, cell, ORIFICE, asked, TRADE, "FOUND"
            )


def _of_orifice_only() -> frozenset[str]:
    return frozenset(row for _, _, row in _BOTH)


def _part(cell: str, name: str) -> str:
    """ "0 then +" means nothing at first and a rise once the valve is fully open; "+ (apparent)" is "+"."""
    first, then, last = cell.partition(" then ")
    if then:
        return last.strip() if name.endswith("70 %") else first.strip()
    return cell.split(" ", maxsplit=1)[0]


def _row(
    group: str,
    name: str,
    column: str,
    cell: str,
    metering: Metering,
    asked: Asked,
    source: str,
    mark: Mark,
) -> Compared:
    shift_F = _COLUMNS[column](ask("R-410A", metering, asked)) - _COLUMNS[column](ask("R-410A", metering))
    low, high, words = _SIGN[cell]
    return Compared(group, f"{name}: {column}", shift_F, None, low, high, "°F", words, source, mark)


_SIGN: Final = {
    "+": (DEAD_F, math.inf, f"up by {DEAD_F:g} or more"),
    "-": (-math.inf, -DEAD_F, f"down by {DEAD_F:g} or more"),
    "0": (-NOTHING_F, NOTHING_F, f"within ± {NOTHING_F:g}"),
    "0/-": (-math.inf, NOTHING_F, f"down, or within {NOTHING_F:g}"),
    "0/+": (-NOTHING_F, math.inf, f"up, or within {NOTHING_F:g}"),
}


@cache
def _rule_table() -> Mapping[str, tuple[Mapping[str, str], bool]]:
    """Cells by column, and whether the row was FOUND; by the row's name."""
    return {
        row[0]: (dict(zip(_COLUMNS, row[1:8], strict=True)), row[-1] == "FOUND")
        for row in csv.reader(_plain("fault_signatures_rules.csv"))
        if row[0] != "fault"
    }


@cache
def _trade_table() -> Mapping[str, Mapping[str, str]]:
    return {row["condition"]: row for row in csv.DictReader(_plain("fault_signatures_trade.csv"))}


def _plain(name: str) -> list[str]:
    text = (DATA / name).read_text(encoding="utf-8")
    return [line for line in text.splitlines() if not line.startswith("#")]
