"""Colours of the roles, by day and by night, and the contrast they have.

Colour only underlines: whatever a role says is also said by a word, a mark or a place, so that the
pages read the same with NO_COLOR. Signal words take the colours of ANSI Z535 (MEMORY: danger red,
warning orange, caution yellow, notice blue), each dark or light enough for the text on it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from guide.screens.paint import Role


@dataclass(frozen=True, slots=True)
class Ink:
    """How one role is painted: colours as `#rrggbb`, and what a terminal without colour still shows."""

    text: str
    ground: str
    bold: bool = False
    reverse_without_colour: bool = False
    thick: bool = False
    """Whether lines are drawn heavy: a thin one is gone in the sun."""


_WHITE, _BLACK = "#ffffff", "#000000"

_SIGNALS: Final = {
    Role.DANGER: Ink(_WHITE, "#8f0000", bold=True, reverse_without_colour=True),
    Role.WARNING: Ink(_BLACK, "#ff9f1a", bold=True, reverse_without_colour=True),
    Role.CAUTION: Ink(_BLACK, "#ffd500", bold=True, reverse_without_colour=True),
    Role.NOTICE: Ink(_WHITE, "#003c82", bold=True, reverse_without_colour=True),
    Role.PRACTICE: Ink(_WHITE, "#5a1a6e", bold=True, reverse_without_colour=True),
}

DAY: Final[Mapping[Role, Ink]] = MappingProxyType(
    {
        Role.PLAIN: Ink(_BLACK, _WHITE),
        Role.QUIET: Ink("#3a3a3a", _WHITE),
        Role.STRONG: Ink(_BLACK, _WHITE, bold=True),
        Role.RULE: Ink("#4a4a4a", _WHITE),
        Role.FIELD: Ink(_BLACK, "#dfe8f2", bold=True),
        Role.CURSOR: Ink(_WHITE, _BLACK, bold=True, reverse_without_colour=True),
        Role.PICKED: Ink(_WHITE, _BLACK, bold=True, reverse_without_colour=True),
        Role.FAULT: Ink("#7d0000", _WHITE, bold=True),
        Role.KEY: Ink(_BLACK, "#e4e4e4"),
        **_SIGNALS,
    }
)
"""Dark on white: what is left of a screen in the sun."""

NIGHT: Final[Mapping[Role, Ink]] = MappingProxyType(
    {
        Role.PLAIN: Ink("#f2f2f2", _BLACK),
        Role.QUIET: Ink("#c4c4c4", _BLACK),
        Role.STRONG: Ink(_WHITE, _BLACK, bold=True),
        Role.RULE: Ink("#a8a8a8", _BLACK),
        Role.FIELD: Ink(_WHITE, "#25303c", bold=True),
        Role.CURSOR: Ink(_BLACK, _WHITE, bold=True, reverse_without_colour=True),
        Role.PICKED: Ink(_BLACK, _WHITE, bold=True, reverse_without_colour=True),
        Role.FAULT: Ink("#ffb3a7", _BLACK, bold=True),
        Role.KEY: Ink(_WHITE, "#2b2b2b"),
        **_SIGNALS,
    }
)
"""Light on black, for plant rooms."""


_REVERSED: Final = Ink(_WHITE, _BLACK, bold=True, reverse_without_colour=True)
_BOLD: Final = Ink(_BLACK, _WHITE, bold=True)

SUN: Final[Mapping[Role, Ink]] = MappingProxyType(
    {
        Role.PLAIN: _BOLD,
        Role.QUIET: _BOLD,
        Role.STRONG: _BOLD,
        Role.RULE: Ink(_BLACK, _WHITE, bold=True, thick=True),
        Role.FIELD: _BOLD,
        Role.CURSOR: _REVERSED,
        Role.PICKED: _REVERSED,
        Role.FAULT: _BOLD,
        Role.KEY: _REVERSED,
        Role.DANGER: _REVERSED,
        Role.WARNING: _REVERSED,
        Role.CAUTION: _REVERSED,
        Role.NOTICE: _REVERSED,
        Role.PRACTICE: _REVERSED,
    }
)
"""Black and white and nothing between, bold throughout: for a screen in full sun."""


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2.2, relative luminance, MEMORY)."""
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    channels = (int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
