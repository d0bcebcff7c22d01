"""Writes the table of figures: `python -m tests.evidence.figures`.

Every module `figures_<part>.py` beside this one gives `rows()`; the page shows them grouped and sorted, each
with what it is held against, and ends with the counts. A test keeps the page fresh and every row inside its
tolerance.
"""

from __future__ import annotations

import importlib
import math
import re
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache
from itertools import groupby
from pathlib import Path

from tests.evidence.figure import Row

FOLDER = Path(__file__).parent
PAGE = FOLDER / "figures.md"
MARKS = {
    "FOUND": "read in a published copy",
    "LIBRARY": "computed by a registry library",
    "CALCULATED": "worked out from a published formula or from found data",
    "MEMORY": "recalled, not read",
}
_HEAD = """# Our figures beside outside ones

Written by `python -m tests.evidence.figures`; `tests/evidence/test_figures.py` keeps it fresh and demands
that every difference lies within what is allowed. "Allowed" says what the outside figure is good for: its
last printed digit, or the accuracy that its source states. Where each source was read stands at the end.
"""


@cache
def gather() -> tuple[Row, ...]:
    """The rows of every `figures_<part>.py`, in the page's order."""
    found: list[Row] = []
    for file in sorted(FOLDER.glob("figures_*.py")):
        found.extend(importlib.import_module(f"tests.evidence.{file.stem}").rows())
    return tuple(sorted(found, key=_order))


def group_of(row: Row) -> str:
    """What a row is grouped under: its quantity up to the first comma."""
    return row.quantity.split(",", 1)[0].strip()


def source_of(row: Row) -> str:
    """The short name of a row's source."""
    return row.source.split(" - ", 1)[0].strip()


def page(rows: Sequence[Row]) -> str:
    """The whole page, ready to be written."""
    parts = [_HEAD]
    for group, members in groupby(rows, key=group_of):
        parts.append(
            f"\n## {group}\n\n"
            "| quantity | ours | outside | difference | allowed | unit | source | mark |\n"
            "|---|---|---|---|---|---|---|---|\n"
        )
        parts.extend(_line(row) for row in members)
    parts.append(_counts(rows))
    return "".join(parts)


def _order(row: Row) -> tuple[str, str, list[tuple[int, float, str]]]:
    return group_of(row), source_of(row), _natural(row.quantity)


def _natural(text: str) -> list[tuple[int, float, str]]:
    """So that -10 stands before 5 and 5 before 40."""
    pieces = re.split(r"((?<![\w.])-?\d+(?:\.\d+)?)", text)
    return [
        (0, float(piece), "") if index % 2 else (1, 0.0, piece) for index, piece in enumerate(pieces) if piece
    ]


def _line(row: Row) -> str:
    places = 0 if row.tolerance >= 100 else min(9, max(0, 1 - math.floor(math.log10(row.tolerance or 1e-6))))
    rest = row.quantity.split(",", 1)[-1].strip()
    cells = (
        rest,
        _number(row.ours, places),
        _number(row.outside, places),
        _signed(row.difference, places),
        _number(row.tolerance, places),
        row.unit,
        source_of(row),
        row.mark,
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |\n"


def _number(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def _signed(value: float, places: int) -> str:
    text = _number(value, places)
    return text if text.startswith("-") else f"+{text}"


def _where(rows: Iterable[Row], source: str) -> str:
    places = {
        row.source.split(" - ", 1)[1] for row in rows if source_of(row) == source and " - " in row.source
    }
    return "; ".join(sorted(places)).replace("|", "\\|")


def _counts(rows: Sequence[Row]) -> str:
    return (
        f"\n## Counts\n\n{len(rows)} figures from {len(set(map(source_of, rows)))} sources.\n"
        "\n| mark | meaning | figures |\n|---|---|---|\n"
        + "".join(f"| {mark} | {MARKS[mark]} | {count} |\n" for mark, count in _counted(r.mark for r in rows))
        + "\n| source | figures | where |\n|---|---|---|\n"
        + "".join(
            f"| {source} | {count} | {_where(rows, source)} |\n"
            for source, count in _counted(map(source_of, rows))
        )
    )


def _counted(names: Iterable[str]) -> list[tuple[str, int]]:
    return sorted(Counter(names).items(), key=lambda pair: (-pair[1], pair[0]))


if __name__ == "__main__":
    PAGE.write_text(page(gather()), encoding="utf-8")
    sys.stdout.write(f"{PAGE}: {len(gather())} figures\n")
