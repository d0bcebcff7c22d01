"""Pass, fail or undecided: a value against a limit with its uncertainty between them.

The rule is the guard band of JCGM 106:2012 ("guarded acceptance" and "guarded rejection", MEMORY)
with a band as wide as the uncertainty: what is nearer to the limit than that is undecided.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from guide.charging.refusal import FigureError, finite
from guide.charging.round import Verdict


class Bound(StrEnum):
    """On which side of a limit the good values lie; the limit itself is good."""

    AT_MOST = "at most"
    AT_LEAST = "at least"


def judge(difference: float, tolerance: float, uncertainty: float) -> Verdict:
    """Judge |difference| against a tolerance; all three in one unit.

    Pass if |difference| + uncertainty <= tolerance, fail if |difference| - uncertainty > tolerance.

    Raises:
        FigureError: for a figure that is not finite, or a negative tolerance or uncertainty.
    """
    if finite("tolerance", tolerance) < 0.0:
        raise FigureError(f"a tolerance can't be negative ({tolerance:g}): give the half width of the band")
    return judge_limit(abs(finite("difference", difference)), Bound.AT_MOST, tolerance, uncertainty)


def judge_limit(value: float, bound: Bound, limit: float, uncertainty: float) -> Verdict:
    """Judge a value against a one-sided limit; all in one unit.

    Raises:
        FigureError: for a figure that is not finite, or a negative uncertainty.
    """
    if finite("uncertainty", uncertainty) < 0.0:
        raise FigureError(f"an uncertainty can't be negative ({uncertainty:g}): give the half width")
    finite("value", value)
    finite("limit", limit)
    if bound is Bound.AT_LEAST:
        value, limit = -value, -limit
    if value + uncertainty <= limit:
        return Verdict.PASS
    if value - uncertainty > limit:
        return Verdict.FAIL
    return Verdict.UNDECIDED


def all_of(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the verdict on several demands at once: one fail fails, one undecided leaves it open."""
    seen = set(verdicts)
    for verdict in (Verdict.FAIL, Verdict.UNDECIDED):
        if verdict in seen:
            return verdict
    return Verdict.PASS
