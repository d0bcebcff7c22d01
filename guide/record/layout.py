"""Pages laid out as plain marks: texts, rules, boxes and lines at their places. Drawn by `guide.record.pdf`.

Lengths are points (1/72 inch), the origin is the lower left corner. Nothing is clipped: a row that
is taller than a page runs on over the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from guide.record.content import Table
from guide.record.lettering import BOLD, PLAIN, break_lines, printable, width

SIZES: Final = {"A4": (595.0, 842.0), "Letter": (612.0, 792.0)}
MARGIN: Final = 46.0
TOP: Final = 58.0
BOTTOM: Final = 50.0

_SHORT: Final = 12
"""Rows up to which a table is kept on one page where it fits on half of one."""

INK: Final = 0.10
SOFT: Final = 0.38
HAIR: Final = 0.72
PALE: Final = 0.93


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text; `ink` is a grey from 0 (black) to 1 (white)."""

    x: float
    y: float
    text: str
    font: str = PLAIN
    size: float = 8.5
    ink: float = INK


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle, filled or framed or both, each with a grey."""

    x: float
    y: float
    width: float
    height: float
    fill: float | None = None
    frame: float | None = None


@dataclass(frozen=True, slots=True)
class Path:
    """A line through points."""

    points: tuple[tuple[float, float], ...]
    ink: float = INK
    thickness: float = 0.5
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Dot:
    """A disc."""

    x: float
    y: float
    radius: float
    ink: float = INK


Mark = Text | Box | Path | Dot


@dataclass(frozen=True, slots=True)
class _Face:
    """How the cells of a row are set."""

    font: str
    size: float
    leading: float
    pad: float


class Flow:
    """Marks put onto one page after another, from the top down."""

    def __init__(self, page_size: str) -> None:
        self.width, self.height = SIZES.get(page_size, SIZES["A4"])
        self.pages: list[list[Mark]] = [[]]
        self.left = MARGIN
        self.right = self.width - MARGIN
        self.y = self.height - TOP
        self._sections: list[tuple[int, str]] = []

    @property
    def room(self) -> float:
        """Height left on this page."""
        return self.y - BOTTOM

    def put(self, *marks: Mark) -> None:
        """Marks onto the present page."""
        self.pages[-1].extend(marks)

    def new_page(self) -> None:
        """Go on at the top of a fresh page."""
        self.pages.append([])
        self.y = self.height - TOP

    def need(self, height: float) -> None:
        """Make sure that so much height is left, on a fresh page if need be."""
        if self.room < height:
            self.new_page()

    def gap(self, height: float) -> None:
        """Leave some height empty."""
        self.y -= height

    def paragraph(
        self, text: str, *, font: str = PLAIN, size: float = 8.5, ink: float = INK, after: float = 4.0
    ) -> None:
        """Prose over the whole width."""
        leading = size * 1.32
        for line in break_lines(printable(text), font, size, self.right - self.left):
            self.need(leading)
            self.y -= leading
            self.put(Text(self.left, self.y + leading * 0.27, line, font, size, ink))
        self.gap(after)

    def heading(self, text: str) -> None:
        """The title of a section, kept together with what follows."""
        self.need(64.0)
        self._sections.append((len(self.pages) - 1, printable(text)))
        self.gap(9.0)
        self.put(Path(((self.left, self.y), (self.right, self.y)), INK, 0.9))
        self.paragraph(text, font=BOLD, size=11.0, after=3.0)

    def sections_on(self, page: int) -> list[tuple[str, str]]:
        """Key and title of every section that begins on a page."""
        return [
            (f"section-{number}", title)
            for number, (where, title) in enumerate(self._sections)
            if where == page
        ]

    def pairs(self, pairs: Sequence[tuple[str, str]], *, size: float = 8.5, share: float = 0.25) -> None:
        """Labels and values in two columns."""
        table = Table(("", ""), (share, 1 - share), tuple(pairs))
        self._rows(table, size, with_head=False, soft_first=True)
        self.gap(4.0)

    def table(self, table: Table, *, size: float = 7.2) -> None:
        """A table whose head stands again on every page."""
        if 0 < len(table.rows) <= _SHORT:
            height = self._height(table, size)
            if height < (self.height - TOP - BOTTOM) / 2:
                self.need(height)
        if table.title:
            self.need(48.0)
            self.gap(2.0)
            self.paragraph(table.title, font=BOLD, size=8.5, after=1.5)
        if not table.rows:
            self.paragraph(table.none, size=8.5, ink=INK, after=6.0)
            return
        self._rows(table, size, with_head=True, soft_first=False)
        self.gap(6.0)

    def _height(self, table: Table, size: float) -> float:
        """About how tall a short table is, its title and head included."""
        across = (self.right - self.left) / sum(table.shares)
        lines = [
            max(
                len(break_lines(printable(cell), PLAIN, size, share * across - 5))
                for cell, share in zip(row, table.shares, strict=True)
            )
            for row in (table.heads, *table.rows)
        ]
        return 18.0 + sum(lines) * size * 1.28 + (len(lines) + 1) * 3.4

    def _rows(self, table: Table, size: float, *, with_head: bool, soft_first: bool) -> None:
        total = sum(table.shares)
        across = self.right - self.left
        spans = [across * share / total for share in table.shares]
        starts = [self.left + sum(spans[:index]) for index in range(len(spans))]
        leading, pad = size * 1.28, 3.4 if with_head else 2.4
        page_room = self.height - TOP - BOTTOM
        head_lines = [
            break_lines(printable(head), BOLD, size, span - 5)
            for head, span in zip(table.heads, spans, strict=True)
        ]
        head_height = max(map(len, head_lines)) * leading + pad if with_head else 0.0

        def head() -> None:
            if with_head:
                self.put(Box(self.left, self.y - head_height, across, head_height, fill=PALE))
                self._cells(starts, head_lines, _Face(BOLD, size, leading, pad), soft_first=False)
                self.y -= head_height

        self.need(head_height + leading + pad)
        head()
        for row in table.rows:
            cells = [
                break_lines(printable(cell), PLAIN, size, span - 5)
                for cell, span in zip(row, spans, strict=True)
            ]
            tall = max(map(len, cells))
            if tall * leading + pad > self.room and tall * leading + pad <= page_room - head_height:
                self.new_page()
                head()
            done = 0
            while done < tall:
                fits = int((self.room - pad) / leading)
                if fits < 1:
                    self.new_page()
                    head()
                    continue
                part = [cell[done : done + fits] for cell in cells]
                self._cells(starts, part, _Face(PLAIN, size, leading, pad), soft_first=soft_first)
                self.y -= max(map(len, part)) * leading + pad
                done += fits
            self.put(Path(((self.left, self.y), (self.right, self.y)), HAIR, 0.3))

    def _cells(
        self,
        starts: Sequence[float],
        cells: Sequence[Sequence[str]],
        face: _Face,
        *,
        soft_first: bool,
    ) -> None:
        for column, (x, lines) in enumerate(zip(starts, cells, strict=True)):
            ink = SOFT if soft_first and column == 0 else INK
            for number, line in enumerate(lines, start=1):
                y = self.y - face.pad / 2 - (number - 0.27) * face.leading
                if line:
                    self.put(Text(x + 2.5, y, line, face.font, face.size, ink))


def centred(text: str, x: float, y: float, *, font: str, size: float, ink: float) -> Text:
    """A line of text around a middle."""
    return Text(x - width(text, font, size) / 2, y, text, font, size, ink)


def flush_right(text: str, x: float, y: float, *, font: str, size: float, ink: float) -> Text:
    """A line of text that ends at x."""
    return Text(x - width(text, font, size), y, text, font, size, ink)
