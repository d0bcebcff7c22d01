"""Several jobs in hand: which others are open, what they wait for, which comes next. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from guide.screens.waits import waits

if TYPE_CHECKING:
    from guide.job.work import Work


def others(works: Mapping[str, Work], mine: str) -> tuple[str, ...]:
    """The other jobs taken up in this run of the program, still open."""
    return tuple(sorted(job for job, work in works.items() if job != mine and work.state.closed is None))


def elsewhere(works: Mapping[str, Work], mine: str) -> str:
    """What the others wait for, in a line."""
    return "   ".join(waits(works[job].state, works[job].now().stamp) for job in others(works, mine))


def after(works: Mapping[str, Work], mine: str) -> str | None:
    """The other job that comes next after this one, round again at the end."""
    there = others(works, mine)
    return next((job for job in there if job > mine), there[0] if there else None)
