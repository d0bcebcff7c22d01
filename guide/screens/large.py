"""Numbers that can be read from two metres: blocks of our own, each digit three by five squares. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from guide.charging.round import Action
from guide.job import payloads as p
from guide.job.focus import Front
from guide.job.state import JobState
from guide.screens import say
from guide.screens.fields import active_row, field_lines
from guide.screens.figures import ADVICE_WORDS, VERDICT_WORDS
from guide.screens.filling import Filling
from guide.screens.mode import Mode, Turn
from guide.screens.paint import BLANK, Line, Lines, Role, Span, clean, line, quiet, shorten, strong, wrap
from guide.screens.turn import changed_since_round
from guide.screens.weigh_turn import close_at

_ROWS: Final = 5
_GLYPHS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "0": ("###", "# #", "# #", "# #", "###"),
        "1": (" # ", "## ", " # ", " # ", "###"),
        "2": ("###", "  #", "###", "#  ", "###"),
        "3": ("###", "  #", " ##", "  #", "###"),
        "4": ("# #", "# #", "###", "  #", "  #"),
        "5": ("###", "#  ", "###", "  #", "###"),
        "6": ("###", "#  ", "###", "# #", "###"),
        "7": ("###", "  #", " # ", " # ", " # "),
        "8": ("###", "# #", "###", "# #", "###"),
        "9": ("###", "# #", "###", "  #", "###"),
        ".": (" ", " ", " ", " ", "#"),
        ":": (" ", "#", " ", "#", " "),
        "-": ("   ", "   ", "###", "   ", "   "),
        "+": ("   ", " # ", "###", " # ", "   "),
        " ": ("  ", "  ", "  ", "  ", "  "),
    }
)


def block_rows(text: str, width: int, height: int) -> tuple[str, ...]:
    """A number as rows of blocks, as large as fits; empty where not even the smallest does.

    Signs without a glyph are left out. A square is as many cells wide as twice its height, about a
    square on a terminal, or one cell where room is short.
    """
    glyphs = [_GLYPHS[sign] for sign in text if sign in _GLYPHS]
    if not glyphs:
        return ()
    squares = sum(len(glyph[0]) + 1 for glyph in glyphs) - 1
    for across, down in ((6, 3), (4, 2), (2, 1), (1, 1)):
        if squares * across <= width and _ROWS * down <= height:
            rows = (" ".join(glyph[row] for glyph in glyphs) for row in range(_ROWS))
            return tuple(
                "".join(("█" if square == "#" else " ") * across for square in row)
                for row in rows
                for _ in range(down)
            )
    return ()


@dataclass(frozen=True, slots=True)
class Shown:
    """One number to be shown large: what it is, the number, and what is said beside it."""

    label: str
    number: str
    words: str = ""


def shown_large(state: JobState, front: Front, asked: Turn, weight_now: Decimal | None) -> tuple[Shown, ...]:
    """What is worth showing large at this place; empty where words matter more than numbers."""
    if front not in {Front.STEP, Front.WEIGHING}:
        return ()
    if asked.mode is Mode.WEIGH_END or (asked.mode is Mode.ADVISED_MOVE and weight_now is not None):
        return _weights(state, weight_now)
    if asked.left_s is not None and asked.left_s > 0:
        return (Shown("LEFT TO WAIT", say.countdown(asked.left_s), asked.call),)
    judged = asked.mode in {Mode.ROUND, Mode.SETTLE, Mode.ADVISED_MOVE, Mode.LOOP_END}
    if not judged or not state.rounds:
        return ()
    return _figures(state)


def _weights(state: JobState, weight_now: Decimal | None) -> tuple[Shown, ...]:
    target = close_at(state)
    unit = "lb oz" if say.weight_unit(state.order) != "kg" else "kg"
    until = f"close at {say.weight(target, state.order)}" if target is not None else ""
    if weight_now is not None:
        return (Shown(f"ON THE SCALE NOW {unit}", _digits(say.weight(weight_now, state.order)), until),)
    if target is not None:
        return (Shown(f"CLOSE THE VALVE AT {unit}", _digits(say.weight(target, state.order))),)
    return ()


def _digits(weight: str) -> str:
    return " ".join("".join(c if c in "0123456789.-" else " " for c in weight).split())


def _figures(state: JobState) -> tuple[Shown, ...]:
    done = state.rounds[-1]
    said = done.read.assessment
    unit = say.temperature_unit(done.read.readings)
    degrees = "°F" if unit == "F" else "K"
    stale = " before the last move" if changed_since_round(state, done.read.step) else ""

    def one(name: str, value: Decimal | None, target: Decimal | None) -> list[Shown]:
        if value is None:
            return []
        of = f"of {say.difference(target, unit)}" if target is not None else ""
        return [Shown(f"{name} {degrees}{stale}", say.difference(value, unit), of)]

    superheat = one("SUPERHEAT", said.superheat_K, said.target_superheat_K)
    subcooling = one("SUBCOOLING", said.subcooling_K, said.target_subcooling_K)
    by_subcooling = said.target_subcooling_K is not None and said.target_superheat_K is None
    return tuple(subcooling + superheat if by_subcooling else superheat + subcooling)


def said_in_words(state: JobState) -> tuple[str, ...]:
    """Verdict and advice of the newest round; nothing once refrigerant moved after it."""
    if not state.rounds or changed_since_round(state, state.rounds[-1].read.step):
        return ()
    said: p.Assessment = state.rounds[-1].read.assessment
    moves = Action(said.action) in {Action.ADD, Action.RECOVER}
    amount = f" {say.amount(said.amount_kg, state.order)}" if moves else ""
    return (VERDICT_WORDS[said.verdict], f"{ADVICE_WORDS[said.action]}{amount}")


def large_lines(
    state: JobState, asked: Turn, filling: Filling, numbers: tuple[Shown, ...], *, width: int, height: int
) -> Lines:
    """The middle with its first numbers large, the active field below; empty where it does not fit."""
    fields = _fields(filling, width, 4 if height >= 14 else 1)
    said = said_in_words(state) if asked.mode not in {Mode.WEIGH_END, Mode.SETTLE} else ()
    told: tuple[Line, ...] = ()
    if asked.call and asked.call not in {shown.words for shown in numbers[:1]}:
        most = max(0, min(2, height - len(fields) - (_ROWS + 1)))
        pieces = wrap(clean(asked.call), width - 2)
        if len(pieces) > most:
            pieces = (*pieces[: max(0, most - 1)], shorten(f"{pieces[most - 1]} …", width - 2))[:most]
        told = tuple(line(" ", strong(piece)) for piece in pieces)
    room = height - len(fields) - len(told)
    both = len(numbers) > 1 and room >= 2 * (_ROWS + 1)
    rows: list[Line] = []
    for place, shown in enumerate(numbers[: 2 if both else 1]):
        drawn = _one(shown, said if place == 0 else (), width, room // 2 if both else room)
        if not drawn:
            return ()
        rows += drawn
    rows += told
    gap = [BLANK] * (height - len(rows) - len(fields))
    return (*rows, *gap, *fields)


def _one(shown: Shown, said: tuple[str, ...], width: int, height: int) -> list[Line]:
    """One number under its label; the words stand beside it where there is room, else behind its label."""
    blocks = block_rows(shown.number, width - 2, height - 1)
    if not blocks:
        return []
    broad = max(len(row) for row in blocks)
    words = [shown.words, *said]
    if shown.words and width - broad - 4 >= max(len(word) for word in words):
        beside = [*words, *([""] * len(blocks))]
        label = line(strong(f" {shown.label}"))
    else:
        beside = [""] * len(blocks)
        told = "  ".join(word for word in words if word)
        label = line(strong(f" {shown.label}"), quiet(shorten(f"  {told}", width - len(shown.label) - 2)))
    body = [
        line(" ", Span(row.ljust(broad), Role.STRONG), "  " if word else "", strong(word))
        for row, word in zip(blocks, beside, strict=False)
    ]
    return [label, *body]


def _fields(filling: Filling, width: int, most: int) -> Lines:
    if not filling.asks:
        return ()
    rows = field_lines(filling, width, only_active=True, flat=most == 1)
    at = active_row(filling, width)
    if len(rows) <= most:
        return rows
    start = max(0, min(at - most + 1, len(rows) - most))
    return rows[start : start + most]
