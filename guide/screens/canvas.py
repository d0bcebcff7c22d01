"""Paints lines on a terminal. The one widget of this program."""

from __future__ import annotations

from collections.abc import Mapping

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from guide.screens.paint import BLANK, Line, Lines, Role
from guide.screens.palette import DAY, Ink

_HEAVY = str.maketrans("─│", "━┃")


def style_of(ink: Ink, *, colour: bool) -> Style:
    """How a role is painted; without colour bold and reverse are left to tell roles apart."""
    if not colour:
        return Style(bold=ink.bold, reverse=ink.reverse_without_colour)
    return Style(color=ink.text, bgcolor=ink.ground, bold=ink.bold)


class Canvas(Widget, can_focus=True):
    """The whole screen as painted lines. It knows nothing of what they say; keys go to its screen."""

    DEFAULT_CSS = "Canvas { width: 100%; height: 100%; }"

    class Pasted(Message):
        """Something was pasted."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    def __init__(self, *, colour: bool = True) -> None:
        super().__init__()
        self._lines: Lines = ()
        self._palette: Mapping[Role, Ink] = DAY
        self._colour = colour
        self._styles = self._make_styles()

    @property
    def lines(self) -> Lines:
        """What is painted now."""
        return self._lines

    def paint(self, lines: Lines, palette: Mapping[Role, Ink]) -> None:
        """Show these lines; a screen that has not changed is not painted again."""
        if lines == self._lines and palette is self._palette:
            return
        self._lines = lines
        if palette is not self._palette:
            self._palette = palette
            self._styles = self._make_styles()
        self.refresh()

    def _make_styles(self) -> dict[Role, Style]:
        return {role: style_of(ink, colour=self._colour) for role, ink in self._palette.items()}

    def render_line(self, y: int) -> Strip:
        """One row of the terminal."""
        parts: Line = self._lines[y] if y < len(self._lines) else BLANK
        ground = self._styles[Role.PLAIN]
        thick = self._palette[Role.RULE].thick
        segments = [
            Segment(span.text.translate(_HEAVY) if thick else span.text, self._styles[span.role])
            for span in parts
        ]
        return Strip(segments).crop(0, self.size.width).extend_cell_length(self.size.width, ground)

    def on_paste(self, event: events.Paste) -> None:
        """What is pasted goes to the field as text, never as keys."""
        event.stop()
        self.post_message(self.Pasted(event.text))
