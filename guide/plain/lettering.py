"""What characters a terminal can be given. Pure."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from typing import Final

from guide import escape

_SIGNS: Final = {
    "°F": "deg F", "°C": "deg C", "°": " deg ", "±": "+/-", "…": "...", "–": "-", "—": "-", "−": "-",
    "×": "x", "·": "-", "✓": "done", "▶": ">", "→": "->", "≤": "at most", "≥": "at least", "µ": "u",
    "“": '"', "”": '"', "‘": "'", "’": "'", "²": "2", "³": "3",
}  # fmt: skip
_UNSET: Final = {"", "C", "POSIX"}


def ascii_only(text: str) -> str:
    """The text in ASCII: signs as words, letters without their accents, "?" for what has no ASCII form."""
    for sign, words in _SIGNS.items():
        text = text.replace(sign, words)
    kept = []
    for character in unicodedata.normalize("NFKD", text):
        if character.isascii():
            kept.append(character)
        elif not unicodedata.combining(character):
            kept.append("?")
    return "".join(kept)


def printable(text: str, *, utf8: bool) -> str:
    """One line that no terminal takes for a command, in the letters it has."""
    text = escape.for_terminal(text)
    return text if utf8 else ascii_only(text)


def takes_utf8(encoding: str | None, environment: Mapping[str, str], *, posix: bool = True) -> bool:
    """Whether the terminal may be given more than ASCII.

    Python writes UTF-8 in the C locale too and then names it in LC_CTYPE (PEP 538, FOUND), so the
    stream's encoding alone doesn't say what the terminal was set to.
    """
    if (encoding or "").lower().replace("-", "") != "utf8":
        return False
    if not posix or environment.get("PYTHONIOENCODING") or environment.get("PYTHONUTF8") == "1":
        return True
    whole, letters, language = (environment.get(name, "") for name in ("LC_ALL", "LC_CTYPE", "LANG"))
    coerced = letters in {"C.UTF-8", "C.utf8", "UTF-8"} and language in _UNSET
    named = whole or ("" if coerced else letters) or language
    return "UTF8" in named.upper().replace("-", "")
