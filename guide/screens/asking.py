"""The lower half of the sheet's middle: the call on the person, a countdown, the fields. Pure."""

from __future__ import annotations

from guide.screens import say
from guide.screens.fields import active_row, field_lines, in_sight
from guide.screens.filling import Filling
from guide.screens.mode import Mode, Turn
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
)

_LABELLED = frozenset({Mode.CUSTOMER, Mode.WEIGH_NEXT})
"""Where the call has put the question already, so that the list of answers needs no label."""


def asked_lines(turn: Turn, filling: Filling, width: int, room: int, *, tight: int, tightest: int) -> Lines:
    """Call, countdown and fields; near the tightest the fields are a window around the active one."""
    gap: Lines = (BLANK,) if tight == 0 else ()
    rows: list[Line] = [*gap, *_call(turn, width)]
    if turn.left_s is not None:
        rows += [*gap, countdown(turn.left_s, width), *gap]
    only_active = tight >= tightest
    bare = turn.mode in _LABELLED and tight >= tightest - 1
    fields = field_lines(filling, width, only_active=only_active, asides=tight < 3)
    room -= len(rows)
    if tight >= tightest - 1 and len(fields) > room > 0:
        fields = _window(filling, fields, width, room, only_active=only_active, bare=bare)
    return (*rows, *fields)


def squeezed(above: Lines, turn: Turn, filling: Filling, width: int, height: int) -> Lines:
    """Where nothing else fits: the active field and its call stay, what stands above them is cut first."""
    bare = turn.mode in _LABELLED
    fields = field_lines(filling, width, only_active=True, asides=False)
    picks = filling.active is not None and bool(filling.active.choices)
    least = min(len(fields), 3 if picks else 2)
    call = _call(turn, width)
    if turn.left_s is not None:
        call = (countdown(turn.left_s, width), *call)
    kept = max(1, min(len(call), height - least - 1)) if call else 0
    if kept < len(call):
        call = (*call[: kept - 1], (*cut(call[kept - 1], width - 2), quiet(" …")))
    some = max(least, height - kept - len(above))
    fields = _window(filling, fields, width, some, only_active=True, bare=bare)
    return (*above[: max(0, height - kept - len(fields))], *call, *fields)


def _call(turn: Turn, width: int) -> Lines:
    if not turn.call:
        return ()
    return paragraph(clean(turn.call), width, indent=7 if width >= 60 else 1, role=Role.STRONG)


def _window(
    filling: Filling, fields: Lines, width: int, room: int, *, only_active: bool, bare: bool
) -> Lines:
    """So many rows of the fields with the active one in sight, and a word where a list goes on."""
    at = active_row(filling, width, only_active=only_active)
    picks = filling.active is not None and bool(filling.active.choices)
    if bare and picks and at < len(fields) and filling.at == 0:
        fields, at = fields[1:], max(0, at - 1)
    return in_sight(fields, at, room, told=picks)


def countdown(left_s: float, width: int) -> Line:
    """Time left, or that it is up."""
    words = f" {say.countdown(left_s)} " if left_s > 0 else " TIME IS UP "
    return line(" " * (7 if width >= 60 else 1), Span(words, Role.PICKED), " left" if left_s > 0 else "")
