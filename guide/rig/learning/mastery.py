"""When a lesson is mastered, and when it falls due again.

A run is passed when nothing was lost for safety and its points reach the minimum
(`guide.rig.learning.score`). Mastered: two passed runs without help on different seeds, neither of
which was run before. From then on it falls due by `guide.rig.learning.refresh`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final, Protocol

from guide.rig.learning import fading
from guide.rig.learning.lesson import Help
from guide.rig.learning.refresh import Dates

PASSES: Final = 2
"""So many passed runs make mastery (PROPOSED)."""


class Past(fading.Past, Protocol):
    """An earlier scored run, as much as mastery hangs on."""

    @property
    def seed(self) -> int:
        """Its seed."""

    @property
    def utc(self) -> str:
        """When, "2026-11-26T…Z"; only the day counts."""


class Stand(StrEnum):
    """Where a trainee stands with a lesson."""

    NEW = "not begun"
    TRIED = "tried"
    PASSED_ONCE = "passed once"
    MASTERED = "mastered"
    DUE = "refresh due"


@dataclass(frozen=True, slots=True)
class Mastery:
    """Where a trainee stands: since when mastered, when it falls due, on which seeds it was passed."""

    stand: Stand
    mastered_on: date | None = None
    due: date | None = None
    seeds: tuple[int, ...] = ()

    def words(self) -> str:
        """In a few words, for a list of lessons."""
        if self.stand is Stand.MASTERED and self.due is not None:
            return f"mastered; refresh on {self.due.isoformat()}"
        if self.stand is Stand.DUE and self.due is not None:
            return f"refresh due since {self.due.isoformat()}"
        return self.stand.value


def mastery(runs: Sequence[Past], today: date) -> Mastery:
    """Where a trainee stands on a day, by all scored runs of one lesson in the order they were made."""
    seeds: list[int] = []
    dates: Dates | None = None
    for run in runs:
        if run.help != Help.NONE:
            continue
        good = run.passed and run.safety
        day = date.fromisoformat(run.utc[:10])
        if dates is not None:
            dates.take(day, good=good)
        elif good and run.seed not in seeds:
            seeds.append(run.seed)
            if len(seeds) == PASSES:
                dates = Dates(day)
    if dates is not None:
        stand = Stand.DUE if dates.due <= today else Stand.MASTERED
        return Mastery(stand, dates.mastered_on, dates.due, tuple(seeds))
    if seeds:
        return Mastery(Stand.PASSED_ONCE, seeds=tuple(seeds))
    return Mastery(Stand.TRIED if runs else Stand.NEW)
