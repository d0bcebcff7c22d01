"""Fields painted as lines: label, box with a cursor, unit, what stands beside it. Pure."""

from __future__ import annotations

from rich.cells import cell_len

from guide.screens.ask import Ask, Sort, unit_words
from guide.screens.entry import Typed
from guide.screens.filling import Cell, Filling
from guide.screens.paint import (
    Line,
    Lines,
    Role,
    Span,
    clean,
    line,
    pad,
    paragraph,
    quiet,
    shorten,
    strong,
    wrap,
)

_MARK = Span(" ▶ ", Role.STRONG)
GOES_ON = line(quiet("   … more: ↓"))
"""Stands in the last row of a list that goes on below."""
_BOX = 13
_NARROW_BOX = 11
_LONGEST_LABEL = 34


def field_lines(
    filling: Filling, width: int, *, only_active: bool = False, flat: bool = False, asides: bool = True
) -> Lines:
    """Every field, or the active one alone where room is short; `flat` gives label and box one line."""
    if not filling.asks:
        return ()
    labels = [cell_len(ask.label) for ask in filling.asks]
    column = min(_LONGEST_LABEL if width >= 60 else max(8, width - 24), max([*labels, 8]))
    rows: list[Line] = []
    for position, (ask, cell) in enumerate(zip(filling.asks, filling.cells, strict=True)):
        active = position == filling.at
        if only_active and not active:
            continue
        alone = len(filling.asks) == 1
        rows += _field(ask, cell, width, column=column, active=active, alone=alone, flat=flat)
        if active and asides and ask.aside:
            rows += paragraph(clean(ask.aside), width, indent=3, role=Role.QUIET)
    return tuple(rows)


def _field(ask: Ask, cell: Cell, width: int, *, column: int, active: bool, alone: bool, flat: bool) -> Lines:
    rows: list[Line] = []
    if ask.sort is Sort.PICK:
        rows += _pick(ask, cell, width, column=column, active=active, alone=alone)
    elif active and cell.why is not None:
        rows.append(_one_line(ask, cell, width, column=column, active=False))
        mark = _MARK
        box = _box(cell.why, max(12, width - column - 8), hidden=False)
        rows.append((mark, strong(pad("  because", column)), Span(" "), *box))
    else:
        if width < 60 and active and not flat:
            rows += _two_lines(ask, cell, width)
        else:
            rows.append(_one_line(ask, cell, width, column=column, active=active))
        if active and ask.suggestions:
            numbered = "   ".join(f"{n} {words}" for n, words in enumerate(ask.suggestions, 1))
            rows += paragraph(f"or a number: {numbered}", width, indent=3, role=Role.QUIET)
    if cell.fault and active:
        rows += paragraph(f"! {clean(cell.fault)}", width, indent=3, hang=5, role=Role.FAULT)
    return tuple(rows)


def _two_lines(ask: Ask, cell: Cell, width: int) -> Lines:
    """The active field of a narrow terminal: its label whole, then box, unit and note."""
    unit = unit_words(ask.unit) if ask.sort is Sort.QUANTITY else ""
    size = _BOX if ask.sort is Sort.QUANTITY else width - 9
    box = _box(cell.typed, size, hidden=ask.sort is Sort.SECRET)
    label = line(_MARK, strong(shorten(ask.label, width - 4)))
    tail = f"{unit} " if unit else ""
    note = shorten(clean(ask.note), max(0, width - size - 9 - len(tail)))
    return (label, line("   ", *box, tail, quiet(note)))


def _one_line(ask: Ask, cell: Cell, width: int, *, column: int, active: bool) -> Line:
    mark = _MARK if active else Span("   ")
    label = Span(pad(shorten(ask.label, column), column), Role.STRONG if active else Role.PLAIN)
    hidden = ask.sort is Sort.SECRET
    unit = unit_words(ask.unit) if ask.sort is Sort.QUANTITY else ""
    room = width - column - 8
    most = _BOX if width >= 60 else _NARROW_BOX
    size = min(most, room) if ask.sort is Sort.QUANTITY else max(8, min(room, 44 if not ask.note else 30))
    if active:
        box: Line = _box(cell.typed, size, hidden=hidden)
    else:
        shown = "•" * len(cell.typed.text) if hidden else clean(cell.typed.text)
        box = (Span(f"  {pad(shown, size)}  "),)
    odd = "kept: unusual" if cell.unlikely and cell.why and not active else ""
    note = odd or ask.note
    left = width - 3 - column - 1 - size - 4 - (7 if unit else 0) - 1
    tail = f" {pad(unit, 6)}" if unit else ""
    beside = f" {shorten(clean(note), left - 1)}" if note and left > 6 else ""
    return (mark, label, Span(" "), *box, Span(tail), quiet(beside))


def _box(typed: Typed, size: int, *, hidden: bool) -> Line:
    """A box of a fixed size around what is typed, scrolled so that the cursor is in it."""
    text = "•" * len(typed.text) if hidden else "".join(clean(c) or " " for c in typed.text)
    start = 0
    while cell_len(text[start : typed.cursor]) > size - 1:
        start += 1
    before = text[start : typed.cursor]
    under = text[typed.cursor : typed.cursor + 1] or " "
    after = shorten(text[typed.cursor + 1 :], max(0, size - cell_len(before) - cell_len(under)))
    fill = " " * max(0, size - cell_len(before) - cell_len(under) - cell_len(after))
    return (
        Span("[", Role.STRONG),
        Span(f" {before}", Role.FIELD),
        Span(under, Role.CURSOR),
        Span(f"{after}{fill}", Role.FIELD),
        Span("]", Role.STRONG),
        Span(" "),
    )


def _pick(ask: Ask, cell: Cell, width: int, *, column: int, active: bool, alone: bool) -> Lines:
    if not active:
        shown = clean(ask.choices[cell.picked].words) if cell.picked is not None else ""
        label = pad(shorten(ask.label, column), column)
        return (line("   ", label, "   ", shorten(shown, width - column - 8)),)
    rows: list[Line] = [] if alone else [line(_MARK, strong(shorten(ask.label, width - 4)))]
    for number, choice in enumerate(ask.choices, 1):
        picked = cell.picked == number - 1
        key = choice.letter or (str(number) if number < 10 else " ")
        words = clean(choice.words)
        role = Role.PICKED if picked else Role.PLAIN
        note = f"  {clean(choice.note)}" if choice.note else ""
        pieces = wrap(words, width - 9)
        if cell_len(pieces[-1]) + cell_len(note) > width - 9:
            note = ""
        mark = "▶" if picked else " "
        leads = [(f"   {mark} ", Span(f"{key} ", Role.STRONG)), *[("       ",)] * (len(pieces) - 1)]
        last = len(pieces) - 1
        rows += [
            line(*lead, Span(f" {piece} ", role), *([quiet(note)] if place == last else []))
            for place, (lead, piece) in enumerate(zip(leads, pieces, strict=True))
        ]
    return tuple(rows)


def in_sight(rows: Lines, at: int, room: int, *, told: bool = True) -> Lines:
    """So many rows with the one at `at` among them, and a word where they go on, if that is to be told."""
    if len(rows) <= room:
        return rows
    start = max(0, min(at - room // 2, len(rows) - room))
    shown = rows[start : start + room]
    if told and room > 2 and start + room < len(rows) and at < start + room - 1:
        shown = (*shown[:-1], GOES_ON)
    return shown


def active_row(filling: Filling, width: int, *, only_active: bool = False) -> int:
    """The row of the active field or picked answer among `field_lines`; its label where none is picked."""
    rows = field_lines(filling, width, only_active=only_active)
    for number, parts in enumerate(rows):
        if any(span.role in {Role.CURSOR, Role.PICKED} for span in parts):
            return number
    marked = (number for number, parts in enumerate(rows) if parts and parts[0] == _MARK)
    return next(marked, 0)
