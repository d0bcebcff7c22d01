"""A panel in the middle of the sheet: a list of acts, a few fields, or a text to read. Pure.

The head and the numbers stay where they are around it, so that nobody loses the place.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from guide.screens.fields import GOES_ON, active_row, field_lines, in_sight
from guide.screens.filling import Filling
from guide.screens.paint import BLANK, Lines, Role, line, listed, paragraph, strong

_NOTHING = Filling()


@dataclass(frozen=True, slots=True)
class Panel:
    """What stands in the middle for a while; `act` says what its fields are for."""

    act: str
    title: str
    text: tuple[str, ...] = ()
    filling: Filling = _NOTHING
    accept: str = "accept"
    top: int = 0
    warn: str = ""
    """Words in the colour of a fault under the title."""
    stays: bool = False
    """Whether the text keeps half of the lines where room is short, and the list below it scrolls."""

    @property
    def reads(self) -> bool:
        """Whether it is there to be read, and not to be filled in."""
        return not self.filling.asks

    def scrolled(self, by: int) -> Panel:
        """The same text further down or up."""
        return replace(self, top=max(0, self.top + by))


def panel_lines(panel: Panel, width: int, height: int) -> Lines:
    """The panel in exactly so many lines."""
    heading: Lines = (line(strong(f" {panel.title}")),)
    if panel.warn:
        heading += paragraph(panel.warn, width, indent=1, role=Role.FAULT)
    body = tuple(row for words in panel.text for row in (listed(f"  {words}", width) if words else (BLANK,)))
    room = height - len(heading)
    if panel.reads:
        top = min(panel.top, max(0, len(body) - room))
        shown = body[top : top + room]
        if len(body) > top + room and shown:
            shown = (*shown[:-1], GOES_ON)
        return _filled((*heading, *shown), height)
    rows = field_lines(panel.filling, width)
    space: Lines = (BLANK,) if room > len(body) + len(rows) else ()
    lead = (*heading, *body, *space)
    if len(lead) + len(rows) > height:
        listed_rows = min(len(rows), max(3, height // 2)) if panel.stays else len(rows)
        kept = max(0, height - len(heading) - listed_rows)
        lead = (*heading, *body[:kept])
        room = height - len(lead)
        rows = in_sight(rows, active_row(panel.filling, width), room)
    return _filled((*lead, *rows), height)


def _filled(rows: Lines, height: int) -> Lines:
    return (*rows, *([BLANK] * (height - len(rows))))[:height]
