"""What a terminal too small for a page shows. Pure."""

from __future__ import annotations

from typing import Final

from guide.screens.paint import BLANK, Lines, Role, paragraph

LEAST_WIDTH: Final = 40
LEAST_HEIGHT: Final = 12
"""Below this no page is painted (goal U1 of the usability list: degraded but complete at 40 x 12)."""


def too_small(width: int, height: int) -> Lines:
    """What a terminal below the least size shows."""
    least = f"{LEAST_WIDTH} x {LEAST_HEIGHT}"
    words = f"This window is {width} x {height}. Make it at least {least}. Nothing is lost."
    rows = paragraph(words, max(width, 10), indent=0, role=Role.STRONG)
    return (*rows, *([BLANK] * height))[:height]
