"""Lines of text with roles: what a page is before a terminal paints it.

Pure. A page is a tuple of lines, a line a tuple of spans; a role says what a span is, never which
colour it has. Widths are terminal cells.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from rich.cells import cell_len, set_cell_size

from guide import escape


class Role(StrEnum):
    """What a piece of text is."""

    PLAIN = "plain"
    QUIET = "quiet"
    STRONG = "strong"
    RULE = "rule"
    FIELD = "field"
    CURSOR = "cursor"
    PICKED = "picked"
    FAULT = "fault"
    KEY = "key"
    DANGER = "danger"
    WARNING = "warning"
    CAUTION = "caution"
    NOTICE = "notice"
    PRACTICE = "practice"


@dataclass(frozen=True, slots=True)
class Span:
    """A piece of one line."""

    text: str
    role: Role = Role.PLAIN


Line = tuple[Span, ...]
Lines = tuple[Line, ...]

BLANK: Line = ()


def clean(text: str) -> str:
    """Free text made harmless for one line of the terminal."""
    return escape.for_terminal(text)


def line(*parts: str | Span) -> Line:
    """A line of plain strings and spans."""
    return tuple(Span(part) if isinstance(part, str) else part for part in parts if part)


def strong(text: str) -> Span:
    """Text that carries the page."""
    return Span(text, Role.STRONG)


def quiet(text: str) -> Span:
    """Text that explains."""
    return Span(text, Role.QUIET)


def width_of(parts: Iterable[Span]) -> int:
    """Cells a line takes."""
    return sum(cell_len(span.text) for span in parts)


def shorten(text: str, width: int) -> str:
    """Text cut to a width, with an ellipsis where something was cut off."""
    if cell_len(text) <= width:
        return text
    return set_cell_size(text, max(0, width - 1)).rstrip() + "…" if width > 0 else ""


def pad(text: str, width: int) -> str:
    """Text cut or filled with blanks to exactly a width."""
    return set_cell_size(shorten(text, width), width)


def cut(parts: Line, width: int) -> Line:
    """A line cut to a width."""
    kept: list[Span] = []
    left = width
    for span in parts:
        cells = cell_len(span.text)
        if cells > left:
            if left > 0:
                kept.append(Span(shorten(span.text, left), span.role))
            break
        kept.append(span)
        left -= cells
    return tuple(kept)


def spread(left: Line, right: Line, width: int) -> Line:
    """A line with one part at its left and one at its right end; the left part gives way."""
    room = width - width_of(right)
    left = cut(left, max(0, room - 1))
    return (*left, Span(" " * max(0, room - width_of(left))), *right)


def rule(width: int, title: str = "") -> Line:
    """A dividing line, with words in it where there is something to say."""
    if not title:
        return (Span("─" * width, Role.RULE),)
    words = f" {shorten(title, width - 6)} "
    return (
        Span("──", Role.RULE),
        Span(words, Role.QUIET),
        Span("─" * (width - 2 - cell_len(words)), Role.RULE),
    )


def wrap(text: str, width: int) -> tuple[str, ...]:
    """Text broken into pieces no wider than a width, at blanks where there are any."""
    pieces: list[str] = []
    now = ""
    for word in text.split(" "):
        rest = word
        while True:
            candidate = f"{now} {rest}" if now else rest
            if cell_len(candidate) <= width:
                now = candidate
                break
            if now:
                pieces.append(now)
                now = ""
                continue
            head = _head(rest, width)
            pieces.append(head)
            rest = rest[len(head) :]
    if now or not pieces:
        pieces.append(now)
    return tuple(pieces)


def _head(word: str, width: int) -> str:
    end = 1
    while end < len(word) and cell_len(word[: end + 1]) <= width:
        end += 1
    return word[:end]


def paragraph(
    text: str, width: int, *, indent: int = 1, hang: int | None = None, role: Role = Role.PLAIN
) -> Lines:
    """Text as lines, indented, the second and later lines by `hang`."""
    later = indent if hang is None else hang
    pieces = wrap(text, max(8, width - max(indent, later) - 1))
    return tuple(
        line(" " * (indent if number == 0 else later), Span(piece, role))
        for number, piece in enumerate(pieces)
    )


def listed(text: str, width: int) -> Lines:
    """A paragraph whose own leading blanks say how far it stands in."""
    words = text.lstrip(" ")
    if not words:
        return (BLANK,)
    indent = 1 + len(text) - len(words)
    return paragraph(words, width, indent=indent, hang=indent + 2)


def plain(lines: Sequence[Line]) -> str:
    """The text of lines without their roles, trailing blanks cut off."""
    return "\n".join("".join(span.text for span in parts).rstrip() for parts in lines)


def beside(left: Sequence[Line], right: Sequence[Line], left_width: int, height: int) -> Lines:
    """Two columns with a bar between them."""
    rows: list[Line] = []
    for row in range(height):
        one = cut(left[row], left_width) if row < len(left) else BLANK
        fill = Span(" " * (left_width - width_of(one)))
        two = right[row] if row < len(right) else BLANK
        rows.append((*one, fill, Span("│ ", Role.RULE), *two))
    return tuple(rows)
