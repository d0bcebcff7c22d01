"""The error of this room: a figure that no calculation can use."""

from __future__ import annotations

import math

from guide.errors import ChargewrightError


class FigureError(ChargewrightError):
    """A number is missing, not finite or impossible; the message says which and what would do."""


def finite(name: str, value: float) -> float:
    """Return `value` unchanged, or refuse it.

    Raises:
        FigureError: when `value` is not a finite number.
    """
    if not math.isfinite(value):
        raise FigureError(f"{name} is not a number a calculation can use: measure it again")
    return value


def positive(name: str, value: float) -> float:
    """Return `value` unchanged when it is finite and above zero.

    Raises:
        FigureError: when it is not.
    """
    if not finite(name, value) > 0.0:
        raise FigureError(f"{name} must be above zero, not {value:g}: check what was entered")
    return value
