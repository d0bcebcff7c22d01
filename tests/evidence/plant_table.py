"""Writes the validation table of the simulated plant: `python -m tests.evidence.plant_table`.

The rows come from the modules of `_PARTS`; the page groups them and ends with the counts. A test keeps the
page fresh, and the rows outside their bands to the list of `plant_outside.py`.
"""

from __future__ import annotations

import math
import sys
from collections import Counter
from collections.abc import Sequence
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Final

from tests.evidence import (
    plant_charge,
    plant_faults,
    plant_lines,
    plant_signs,
    plant_slopes,
    plant_weather,
)
from tests.evidence.plant_outside import WHY
from tests.evidence.plant_row import Compared

PAGE: Final = Path(__file__).parent / "plant.md"
_PARTS: Final = (plant_charge, plant_slopes, plant_weather, plant_faults, plant_signs, plant_lines)
_HEAD: Final = """# The simulated plant beside published measurements

Written by `python -m tests.evidence.plant_table`; `tests/evidence/test_plant_table.py` keeps it fresh.
"Model" is the steady state of a 3-ton split at the air that is named (80/67 °F indoors and 95 °F outdoors
where none is), "published" the figure from outside. The band says how far the model may lie from it and the
next column why it is that wide. A row that leaves its band stays and says OUTSIDE; why, stands below its
group. Bands were drawn up before the model ran. Of the model's parameters a few were set by what stands on
this page: superheat at the right charge, the slopes of the answer to charge, and a valve's capacity and
power at wrong charge at rating conditions; `rated.py` and `void_fraction.py` name them. There agreement
shows that the model can follow, elsewhere that it foretells.

Marks: FOUND, read in a published copy; CALCULATED, worked out from published coefficients; MEMORY, recalled,
not read; PROPOSED, a band of our own drawn from several published figures.
"""


@cache
def gather() -> tuple[Compared, ...]:
    """Every row, those of a group together, groups as they come."""
    groups: dict[str, list[Compared]] = {}
    for part in _PARTS:
        for row in part.rows():
            groups.setdefault(row.group, []).append(row)
    return tuple(row for rows in groups.values() for row in rows)


def page(rows: Sequence[Compared]) -> str:
    """The whole page, ready to be written."""
    parts = [_HEAD, _summary(rows)]
    for group, members in groupby(rows, key=lambda row: row.group):
        some = list(members)
        parts.append(
            f"\n## {group}\n\n"
            "| quantity | model | published | difference | band | unit | band because | source | mark | |\n"
            "|---|---|---|---|---|---|---|---|---|---|\n"
        )
        parts.extend(_line(row) for row in some)
        why = dict.fromkeys(WHY.get(row.key, "NOT EXPLAINED") for row in some if not row.inside)
        parts.extend(f"\nOutside: {words}\n" for words in why)
    return "".join(parts)


def _summary(rows: Sequence[Compared]) -> str:
    groups = list(dict.fromkeys(row.group for row in rows))
    inside = Counter(row.group for row in rows if row.inside)
    total = Counter(row.group for row in rows)
    lines = [f"| {group} | {total[group]} | {inside[group]} |\n" for group in groups]
    return (
        f"\n{sum(inside.values())} of {len(rows)} rows lie inside their bands.\n"
        "\n| group | rows | inside |\n|---|---|---|\n" + "".join(lines)
    )


def _line(row: Compared) -> str:
    places = 3 if row.unit == "ratio" else 2 if row.unit in {"oz/ft"} or "for 1 %" in row.quantity else 1
    cells = (
        row.quantity,
        _number(row.model, places),
        "" if row.measured is None else _number(row.measured, places),
        "" if row.difference is None else f"{_number(row.difference, places, sign='+')}",
        _band(row, places),
        row.unit,
        row.band,
        row.source,
        row.mark,
        "" if row.inside else "OUTSIDE",
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |\n"


def _band(row: Compared, places: int) -> str:
    if math.isinf(row.low):
        return f"at most {_number(row.high, places)}"
    if math.isinf(row.high):
        return f"at least {_number(row.low, places)}"
    return f"{_number(row.low, places)} to {_number(row.high, places)}"


def _number(value: float, places: int, *, sign: str = "") -> str:
    if math.isnan(value):
        return "none"
    text = f"{value:{sign}.{places}f}"
    return f"{0.0:{sign}.{places}f}" if float(text) == 0.0 else text


if __name__ == "__main__":
    PAGE.write_text(page(gather()), encoding="utf-8")
    sys.stdout.write(f"{PAGE}: {len(gather())} rows\n")
