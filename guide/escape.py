"""Free text made harmless for each place it is printed: terminal, PDF, spreadsheet cell, file name.

The journal keeps what was typed; these functions clean it on the way out. Threats: terminal
control sequences (CWE-150), bidirectional overrides, layout markup, spreadsheet formulas
(CWE-1236, ASVS 1.2.10), path tricks.
"""

from __future__ import annotations

import re
import unicodedata
from html import escape as _escape_markup

MARK = "\N{REPLACEMENT CHARACTER}"
"""Stands where a character was that must not be printed."""

_BIDI = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_ZERO_WIDTH = frozenset("\u200b\u200c\u200d\u2060\ufeff\u00ad\u180e")
_FORMULA_STARTS = frozenset("=+-@\t\r\n\0＝＋－＠")
_MOST_COMBINING = 3
_RESERVED_NAMES = frozenset(
    {"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))}
)


def for_terminal(text: str, *, lines: bool = False) -> str:
    """One line of text without control, bidirectional, zero-width or unassigned characters.

    With `lines`, line feeds stay. A pile of combining marks is cut to three on one letter.
    """
    cleaned: list[str] = []
    combining = 0
    for character in unicodedata.normalize("NFC", text):
        category = unicodedata.category(character)
        if character == "\n" and lines:
            cleaned.append(character)
            combining = 0
        elif character in "\t\n":
            cleaned.append(" ")
            combining = 0
        elif character in _ZERO_WIDTH:
            continue
        elif character in _BIDI or category in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}:
            cleaned.append(MARK)
            combining = 0
        elif category in {"Mn", "Me"}:
            combining += 1
            if combining <= _MOST_COMBINING:
                cleaned.append(character)
        else:
            cleaned.append(character)
            combining = 0
    return "".join(cleaned)


def for_pdf(text: str) -> str:
    """Text for a paragraph of the PDF: cleaned, with all layout markup made literal."""
    return _escape_markup(for_terminal(text, lines=True), quote=True)


def for_cell(text: str) -> str:
    """Text for a spreadsheet cell: cleaned, and a leading formula sign defused by an apostrophe.

    Numbers are written as numbers by their column and never come through here.
    """
    cleaned = for_terminal(text)
    return "'" + cleaned if text[:1] in _FORMULA_STARTS or cleaned[:1] in _FORMULA_STARTS else cleaned


def for_file_name(text: str) -> str:
    """A short file name rebuilt from an allow-list: letters, digits, dot, hyphen, underscore."""
    ascii_only = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", ascii_only).strip(".-_")[:80].rstrip(".-_") or "unnamed"
    return f"_{name}" if name.split(".")[0].lower() in _RESERVED_NAMES else name
