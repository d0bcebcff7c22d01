"""When a lesson is mastered and when it falls due again, from the scores in a trainee's journal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from guide.rig.trainees.entries import LessonScored

PASSES: Final = 2
REFRESH_WEEKS: Final = (1, 4, 12)


@dataclass(frozen=True, slots=True)
class Mastery:
    """Whether a lesson is mastered. `passes` are the jobs that show it, one a seed, or those so far."""

    passes: tuple[str, ...] = ()
    mastered_utc: str | None = None
    refresh_due: date | None = None

    def lacking(self, trainee: str) -> str:
        """What is missing to mastery, in words."""
        return (
            f"{trainee} has {len(self.passes)} of {PASSES} passed runs without help on different seeds, "
            "nothing lost for safety"
        )


def mastery(scores: Sequence[LessonScored]) -> Mastery:
    """What the scores of one lesson, in the order they were made, come to."""
    passes: dict[int, LessonScored] = {}
    for each in scores:
        if each.help == "none" and each.passed and each.safety and len(passes) < PASSES:
            passes.setdefault(each.seed, each)
    jobs = tuple(each.job for each in passes.values())
    if len(passes) < PASSES:
        return Mastery(jobs)
    last = max(each.utc for each in passes.values())
    return Mastery(jobs, last, date.fromisoformat(last[:10]) + timedelta(weeks=REFRESH_WEEKS[0]))
