"""A picture of numbers as lines of text, for any window from 36 by 6 up. Pure.

What is what shows by shape, word and place, never by colour alone. The newest numbers stand above the
picture, and as many of the older ones as fit stand beside or below it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from rich.cells import cell_len

from guide.screens.chart_axis import Axis, linear_axis, log_axis, thinned, tight_axis
from guide.screens.paint import Line, Lines, Role, Span, clean, quiet, shorten, strong, width_of

LEAST_WIDTH: Final = 24
LEAST_HEIGHT: Final = 5
_SIDE_FROM: Final = 66

_BRAILLE: Final = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
_PLAIN_SIGNS: Final = str.maketrans({"●": "*", "○": "o", "░": ":", "╌": "-", "│": "|", "└": "+", "─": "-",
                                     "±": "+-", "°": "", "…": "~"})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Curve:
    """Points in drawing units, joined in their order; `mark` stands at each, none where it is empty."""

    points: tuple[tuple[float, float], ...]
    mark: str = "●"
    joined: bool = True


@dataclass(frozen=True, slots=True)
class Picture:
    """What a chart shows. `heads` are lines that must be read, first one first; `rows` a small table of
    the numbers, oldest first; `short` stands for the first head where the window is narrow."""

    heads: tuple[str, ...]
    x_label: str
    y_label: str
    curves: tuple[Curve, ...]
    band: tuple[float, float] | None = None
    levels: tuple[float, ...] = ()
    log: bool = False
    rows: tuple[str, ...] = ()
    rows_head: str = ""
    short: str = ""
    least_x: float = 1.0
    least_y: float = 1.0


def chart(picture: Picture, width: int, height: int, *, ascii_only: bool = False) -> Lines:
    """A picture as at most `height` lines, none wider than `width` cells.

    With `ascii_only` nothing but ASCII stands in it. A window too small for a picture gets the numbers.
    """
    width, height = max(0, width), max(0, height)
    heads = [clean(head) for head in picture.heads]
    if width < 60 and picture.short:
        heads[0] = clean(picture.short)
    if width < LEAST_WIDTH or height < LEAST_HEIGHT or not _points(picture):
        words = [*heads, *map(clean, reversed(picture.rows))]
        return _finished([(quiet(shorten(word, width)),) for word in words[:height]], ascii_only=ascii_only)
    kept = heads[: max(1, min(len(heads), (height - 4) // 2))]
    lines: list[Line] = [
        (strong(shorten(head, width)) if index == 0 else quiet(shorten(head, width)),)
        for index, head in enumerate(kept)
    ]
    left = height - len(lines)
    side = _side_width(picture, width)
    below = 0 if side or left < 11 else min(len(picture.rows) + 1, (left - 7) // 2)
    drawn = _plot(picture, width - side, left - below, ascii_only=ascii_only)
    table = _table(picture, side - 2 if side else width, len(drawn) if side else below)
    if side:
        for index, row in enumerate(drawn):
            cell = table[index] if index < len(table) else ""
            fill = " " * (width - side + 2 - width_of(row))
            lines.append((*row, Span(fill), quiet(cell)) if cell else row)
    else:
        lines += drawn
        lines += [(quiet(row),) for row in table]
    return _finished(lines[:height], ascii_only=ascii_only)


def _points(picture: Picture) -> list[tuple[float, float]]:
    return [
        point for curve in picture.curves for point in curve.points if all(math.isfinite(c) for c in point)
    ]


def _side_width(picture: Picture, width: int) -> int:
    if width < _SIDE_FROM or not picture.rows:
        return 0
    wanted = max(len(clean(row)) for row in (picture.rows_head, *picture.rows)) + 2
    return min(wanted, width // 2)


def _table(picture: Picture, width: int, height: int) -> list[str]:
    """The head of the numbers and the newest of them that fit, oldest first."""
    if height < 2 or not picture.rows:
        return []
    rows = [picture.rows_head, *picture.rows[-(height - 1) :]]
    return [shorten(clean(row), width) for row in rows]


def _finished(lines: Sequence[Line], *, ascii_only: bool) -> Lines:
    if not ascii_only:
        return tuple(lines)
    return tuple(
        tuple(
            Span(
                span.text.translate(_PLAIN_SIGNS).encode("ascii", "replace").decode()[: cell_len(span.text)],
                span.role,
            )
            for span in parts
        )
        for parts in lines
    )


def _plot(picture: Picture, width: int, height: int, *, ascii_only: bool) -> list[Line]:
    """Rows of the picture with its axes: `height - 2` rows of field, the line below it, its numbers."""
    points = _points(picture)
    rows = max(1, height - 2)
    band = [value for value in picture.band or () if math.isfinite(value)]
    levels = [level for level in picture.levels if math.isfinite(level)]
    values = [y for _, y in points] + band + levels
    most = max(2, (rows + 1) // 2)
    if picture.log:
        y_axis = log_axis(values, max(8, most))
    else:
        y_axis = linear_axis(values, max(4, most), least_span=picture.least_y)
    y_axis = thinned(y_axis, most)
    gutter = max(map(len, y_axis.labels)) + 1
    field = max(4, width - gutter - 2)
    x_axis = tight_axis([x for x, _ in points], max(2, field // 10), least_span=picture.least_x)
    canvas = _Field(field, rows, x_axis, y_axis)
    if len(band) == 2:
        canvas.fill(min(band), max(band))
    for level in levels:
        canvas.level(level)
    for curve in picture.curves:
        kept = [point for point in curve.points if all(math.isfinite(c) for c in point)]
        if curve.joined:
            canvas.join(kept, ascii_only=ascii_only)
    for curve in picture.curves:
        if curve.mark:
            for x, y in curve.points:
                if math.isfinite(x) and math.isfinite(y):
                    canvas.mark(x, y, curve.mark)
    labels = {canvas.row(tick): label for tick, label in zip(y_axis.ticks, y_axis.labels, strict=True)}
    out: list[Line] = []
    for index, text in enumerate(canvas.texts()):
        label = labels.get(index, "")
        out.append((quiet(label.rjust(gutter - 1) + " "), Span("│", Role.RULE), Span(text)))
    words = f" {shorten(clean(picture.x_label), field - 4)} " if field > 8 else ""
    lead = "└" + "─" * (field - len(words) - 1)
    out.append((quiet(" " * gutter), Span(lead, Role.RULE), quiet(words), Span("─", Role.RULE)))
    out.append((quiet(shorten(_x_numbers(x_axis, field, gutter), width)),))
    return out


def _x_numbers(axis: Axis, field: int, gutter: int) -> str:
    """The numbers below the field, as many as have room."""
    row = [" "] * (gutter + 1 + field)
    free = 0
    for tick, label in zip(axis.ticks, axis.labels, strict=True):
        start = gutter + 1 + round(axis.share(tick) * (field - 1)) - len(label) // 2
        start = min(max(start, free), len(row) - len(label))
        if start < free:
            continue
        row[start : start + len(label)] = label
        free = start + len(label) + 1
    return "".join(row).rstrip()


class _Field:
    """Cells of a chart; each holds a mark, or dots of a joining line, or what lies behind."""

    def __init__(self, width: int, height: int, x_axis: Axis, y_axis: Axis) -> None:
        self.width, self.height = width, height
        self._x, self._y = x_axis, y_axis
        self._back = [[" "] * width for _ in range(height)]
        self._dots = [[0] * width for _ in range(height)]
        self._signs: list[list[str]] = [[""] * width for _ in range(height)]

    def row(self, value: float) -> int:
        """The row a value falls into, 0 at the top."""
        return round((1 - self._y.share(value)) * (self.height - 1))

    def _column(self, value: float) -> int:
        return round(self._x.share(value) * (self.width - 1))

    def fill(self, low: float, high: float) -> None:
        """Shade the rows between two values."""
        for row in range(self.row(high), self.row(low) + 1):
            self._back[row] = ["░"] * self.width

    def level(self, value: float) -> None:
        """A line of dashes all across at a value."""
        self._back[self.row(value)] = ["╌"] * self.width

    def mark(self, x: float, y: float, sign: str) -> None:
        """A sign at a point."""
        self._signs[self.row(y)][self._column(x)] = sign

    def join(self, points: Sequence[tuple[float, float]], *, ascii_only: bool) -> None:
        """A thin line through points."""
        wide, tall = 2 * self.width - 2, 4 * self.height - 4
        places = [(self._x.share(x) * wide, (1 - self._y.share(y)) * tall) for x, y in points]
        for (x0, y0), (x1, y1) in pairwise(places):
            steps = max(1, math.ceil(max(abs(x1 - x0), abs(y1 - y0))))
            for step in range(steps + 1):
                # a cell's mark stands in its middle, so the line is moved by half a cell
                x = int(x0 + (x1 - x0) * step / steps + 0.5)
                y = int(y0 + (y1 - y0) * step / steps + 1.5)
                if ascii_only:
                    self._back[y // 4][x // 2] = "."
                else:
                    self._dots[y // 4][x // 2] |= _BRAILLE[y % 4][x % 2]

    def texts(self) -> list[str]:
        """The rows from the top."""
        return [
            "".join(
                self._signs[row][column]
                or (
                    chr(0x2800 + self._dots[row][column])
                    if self._dots[row][column]
                    else self._back[row][column]
                )
                for column in range(self.width)
            )
            for row in range(self.height)
        ]
