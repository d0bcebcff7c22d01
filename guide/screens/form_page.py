"""Pages that are a title, some words and fields: people, an order, a quick look, the first page."""

from __future__ import annotations

from dataclasses import dataclass

from guide.screens.fields import active_row, field_lines, in_sight
from guide.screens.filling import Filling, Outcome
from guide.screens.page import Page
from guide.screens.paint import (
    BLANK,
    Line,
    Lines,
    Role,
    Span,
    clean,
    cut,
    line,
    paragraph,
    quiet,
    rule,
    spread,
    strong,
)
from guide.screens.small import LEAST_HEIGHT, LEAST_WIDTH, too_small

_SILENCE = quiet("")


@dataclass(frozen=True, slots=True)
class FormView:
    """What a form shows."""

    title: str
    filling: Filling
    words: tuple[str, ...] = ()
    below: Lines = ()
    said: Span = _SILENCE
    nature: str = "real"
    keys: tuple[tuple[str, str], ...] = (("Enter", "next"), ("↑↓", "fields"), ("Esc", "back"))
    must_read: bool = False
    """Whether the beginning of the words has to be in sight where not all of them fit."""


def form_lines(view: FormView, width: int, height: int) -> Lines:
    """A form in exactly so many lines, the active field in sight."""
    if width < LEAST_WIDTH or height < LEAST_HEIGHT:
        return too_small(width, height)
    badge = line(Span(f" {view.nature.upper()} ", Role.PRACTICE), " ") if view.nature != "real" else ()
    name = line(quiet("chargewright ")) if width >= 60 else ()
    top: list[Line] = [spread(line(strong(f" {clean(view.title)}")), (*badge, *name), width), rule(width)]
    said = paragraph(clean(view.said.text), width, hang=3, role=view.said.role)[:3] if view.said.text else ()
    keys = [
        span
        for key, words in view.keys
        for span in (Span(f" {key} ", Role.KEY), Span(f" {words}  " if width >= 60 else f"{words} "))
    ]
    bottom: Lines = (*said, rule(width), cut(line(" ", *keys), width))
    words = tuple(row for text in view.words for row in paragraph(clean(text), width))
    below = view.below
    fields = field_lines(view.filling, width)
    room = height - len(top) - len(bottom)
    if len(words) + len(fields) + len(below) + 1 <= room:
        fields = (*words, *((BLANK,) if words else ()), *fields)
    else:
        below = below[: max(0, room - min(len(fields), 6))]
        left = max(0, room - len(fields) - len(below))
        if view.must_read or len(words) <= left:
            fields = (*words[:left], *fields)
    space = room - len(below)
    shown = in_sight(fields, active_row(view.filling, width), space)
    gap = tuple(BLANK for _ in range(space - len(shown)))
    rows = (*top, *shown, *gap, *below, *bottom) if below else (*top, *shown, *gap, *bottom)
    return tuple(cut(row, width) for row in rows)[:height]


class FormPage(Page):
    """A page with fields. Subclasses say what is shown and what the last Enter does."""

    def __init__(self) -> None:
        super().__init__()
        self.filling = Filling()
        self.said = quiet("")

    def form(self) -> FormView:
        """What to show."""
        raise NotImplementedError

    async def done(self) -> None:
        """All fields are filled in."""
        raise NotImplementedError

    def changed(self) -> None:
        """A key went into a field."""

    async def left(self) -> None:
        """Esc: back to where one came from."""
        self.app.pop_screen()

    def lines(self, width: int, height: int) -> Lines:
        """The form."""
        return form_lines(self.form(), width, height)

    async def pressed(self, key: str, character: str | None) -> None:
        """Fill in."""
        if key == "escape":
            await self.left()
            return
        self.filling, outcome = self.filling.press(key, character)
        if outcome is Outcome.DONE:
            await self.done()
        elif outcome is Outcome.STAY:
            self.said = quiet("")
            self.changed()

    def pasted(self, text: str) -> None:
        """Paste into the active field."""
        self.filling = self.filling.paste(text)
        self.changed()

    def say_busy(self, words: str) -> None:
        """Say what takes a moment, and paint it at once."""
        self.said = strong(words)
        self.repaint()

    def say_fault(self, words: str) -> None:
        """Say what went wrong."""
        self.said = Span(f"! {words}", Role.FAULT)
