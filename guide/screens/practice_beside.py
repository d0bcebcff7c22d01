"""The own run beside the model run, step by step."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence

from guide.screens.form_page import FormPage, FormView, form_lines
from guide.screens.paint import (
    BLANK,
    Line,
    Lines,
    Role,
    beside,
    clean,
    line,
    paragraph,
    quiet,
    rule,
    shorten,
    strong,
)
from guide.screens.practice_shown import BesideRow
from guide.screens.small import LEAST_HEIGHT, LEAST_WIDTH

_TWO_COLUMNS = 60
"""From this width on the two runs stand side by side."""


def beside_lines(row: BesideRow, width: int, height: int) -> Lines:
    """One step: what the model run did, what the own did, what differs, what it cost."""
    top: Lines = paragraph(f"{row.step}  {clean(row.do)}", width, hang=7, role=Role.STRONG)
    notes: Lines = ()
    for words in row.differs:
        notes += paragraph(clean(words), width, hang=3)
    for words in row.lost:
        notes += paragraph(clean(words), width, hang=5, role=Role.FAULT)
    room = max(2, height - len(top) - len(notes) - 1)
    if width >= _TWO_COLUMNS:
        half = width // 2
        left = _column("your run", row.own, half - 1)
        right = _column("model run", row.model, width - half - 2)
        middle = beside(left, right, half, min(room, max(len(left), len(right))))
    else:
        middle = (*_column("your run", row.own, width), *_column("model run", row.model, width))[:room]
    return (*top, *middle, BLANK, *notes)[:height]


def _column(name: str, words: Sequence[str], width: int) -> Lines:
    head: Line = line(" ", quiet(shorten(name, width - 2)))
    rows = tuple(row for each in words or ("nothing",) for row in paragraph(clean(each), width, hang=3))
    return (head, *rows)


class Beside(FormPage):
    """Both runs; up and down go from step to step, `w` to the next step where they differ."""

    def __init__(self, rows: Sequence[BesideRow], onward: Callable[[], Awaitable[None]]) -> None:
        super().__init__()
        self._rows = tuple(rows)
        self._onward = onward
        self._at = 0

    def form(self) -> FormView:
        """The heading and the keys."""
        keys = (("Enter", "on"), ("↑↓", "step by step"), ("w", "where it differs"))
        title = f"{self._at + 1} of {len(self._rows)}: YOUR RUN BESIDE THE MODEL RUN"
        return FormView(title, self.filling, said=self.said, nature=self.chargewright.nature, keys=keys)

    def lines(self, width: int, height: int) -> Lines:
        """The step in front, and the names of the steps around it where there is room."""
        frame = form_lines(self.form(), width, height)
        room = height - 4
        if width < LEAST_WIDTH or height < LEAST_HEIGHT or not self._rows:
            return frame
        shown = beside_lines(self._rows[self._at], width, room)
        left = room - len(shown)
        if left > 3:
            shown = (*shown, rule(width, "next"), *self._next_rows(width, left - 1))
        return (*frame[:2], *shown, *frame[2 + len(shown) :])

    def _next_rows(self, width: int, most: int) -> Lines:
        coming = self._rows[self._at + 1 : self._at + 1 + most]
        return tuple(
            line(
                "   ",
                quiet(shorten(f"{row.step}  {clean(row.do)}", width - 14)),
                strong("  differs") if row.differs or row.lost else "",
            )
            for row in coming
        )

    async def pressed(self, key: str, character: str | None) -> None:
        """From step to step, or on."""
        self.said = quiet("")
        last = max(0, len(self._rows) - 1)
        if key in {"enter", "escape"}:
            self.chargewright.follow(self._onward(), leaving=True)
        elif key in {"down", "pagedown", "space"}:
            self._at = min(last, self._at + 1)
        elif key in {"up", "pageup"}:
            self._at = max(0, self._at - 1)
        elif character == "w":
            ahead = [
                number
                for number in range(self._at + 1, last + 1)
                if self._rows[number].differs or self._rows[number].lost
            ]
            if ahead:
                self._at = ahead[0]
            else:
                self.said = quiet("No further difference.")
