"""Pass, fail or undecided: a value against a limit with its uncertainty between them.

The rule is the guard band of JCGM 106:2012 ("guarded acceptance" and "guarded rejection", MEMORY)
with a band as wide as the uncertainty: what is nearer to the limit than that is undecided. Where the
uncertainty holds 95 % of what may be, a pass is wrong in at most 2.5 % (FOUND, ILAC-G8:09/2019).
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


def judge(difference: float, tolerance: float, uncertainty: float, below: float | None = None) -> Verdict:
    """Judge |difference| against a tolerance; all in one unit.

    The true difference may lie `uncertainty` above the one found, and `below` (default: as much)
    below it. Pass if all of that is within the tolerance, fail if none of it is.

    Raises:
        FigureError: for a figure that is not finite, or a negative tolerance or uncertainty.
    """
    if finite("tolerance", tolerance) < 0.0:
        raise FigureError(f"a tolerance can't be negative ({tolerance:g}): give the half width of the band")
    return all_of(
        (
            judge_limit(difference, Bound.AT_MOST, tolerance, uncertainty, below),
            judge_limit(difference, Bound.AT_LEAST, -tolerance, uncertainty, below),
        )
    )


def judge_limit(
    value: float, bound: Bound, limit: float, uncertainty: float, below: float | None = None
) -> Verdict:
    """Judge a value against a one-sided limit; all in one unit.

    The true value may lie `uncertainty` above the one found, and `below` (default: as much) below it.

    Raises:
        FigureError: for a figure that is not finite, or a negative uncertainty.
    """
    above = uncertainty
    below = uncertainty if below is None else below
    for width in (above, below):
        if finite("uncertainty", width) < 0.0:
            raise FigureError(f"an uncertainty can't be negative ({width:g}): give the half width")
    finite("value", value)
    finite("limit", limit)
    if bound is Bound.AT_LEAST:
        value, limit, above, below = -value, -limit, below, above
    if value + above <= limit:
        return Verdict.PASS
    if value - below > limit:
        return Verdict.FAIL
    return Verdict.UNDECIDED


def all_of(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the verdict on several demands at once: one fail fails, one undecided leaves it open."""
    seen = set(verdicts)
    for verdict in (Verdict.FAIL, Verdict.UNDECIDED):
        if verdict in seen:
            return verdict
    return Verdict.PASS
