"""The letters of a record's pages: embedded fonts, their widths, text made safe for them, lines broken.

The fonts ride with the program, so that the same text breaks into the same lines everywhere. What
the fonts have no letter for, and letters of scripts that run from right to left (nothing here
reorders them), stand as a visible code such as `[U+4E2D]`: never an empty box, never a wrong order.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Final

from guide.escape import for_terminal

PLAIN: Final = "RecordSans"
BOLD: Final = "RecordSans-Bold"
_FILES: Final = {PLAIN: "DejaVuSansCondensed.ttf", BOLD: "DejaVuSansCondensed-Bold.ttf"}
_RIGHT_TO_LEFT: Final = frozenset({"R", "AL", "AN"})


@cache
def widths(font: str) -> Mapping[str, float]:
    """Advance of every letter a font has, over the font size. Loads the font for reportlab too."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    with resources.as_file(resources.files("guide.record") / "fonts" / _FILES[font]) as path:
        loaded = TTFont(font, str(path))
    pdfmetrics.registerFont(loaded)
    face = loaded.face
    return {chr(code): face.getCharWidth(code) / 1000 for code in face.charToGlyph if code >= 32}


@cache
def _printed(character: str) -> str:
    if character == "\n":
        return character
    if character not in widths(PLAIN) or character not in widths(BOLD):
        return f"[U+{ord(character):04X}]"
    if unicodedata.bidirectional(character) in _RIGHT_TO_LEFT:
        return f"[U+{ord(character):04X}]"
    return character


def printable(text: str) -> str:
    """Text with nothing in it that a page can't show; line feeds stay."""
    return "".join(map(_printed, for_terminal(text, lines=True)))


def width(text: str, font: str, size: float) -> float:
    """How wide a printable text is [points]."""
    table = widths(font)
    return size * sum(table[character] for character in text)


def break_lines(text: str, font: str, size: float, room: float) -> list[str]:
    """A printable text in lines no wider than `room` [points]; a word too long for one is cut."""
    table = widths(font)
    blank = table[" "] * size
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line, used = "", 0.0
        for word in paragraph.split(" "):
            needed = size * sum(table[character] for character in word)
            if line and used + blank + needed <= room:
                line, used = f"{line} {word}", used + blank + needed
                continue
            if line:
                lines.append(line)
            if needed > room:
                *full, rest = _cut(word, table, size, room)
                lines += full
                line, used = rest, size * sum(table[character] for character in rest)
            else:
                line, used = word, needed
        lines.append(line)
    return lines


def _cut(word: str, table: Mapping[str, float], size: float, room: float) -> list[str]:
    pieces: list[str] = []
    start, used = 0, 0.0
    for position, character in enumerate(word):
        advance = table[character] * size
        if used + advance > room and position > start:
            pieces.append(word[start:position])
            start, used = position, 0.0
        used += advance
    pieces.append(word[start:])
    return pieces
