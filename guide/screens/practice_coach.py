"""What a lesson says while it runs: hints, candidates for the next step, careful hands, why it is over."""

from __future__ import annotations

from collections.abc import Iterator

from guide.job.focus import Front
from guide.job.state import JobState
from guide.procedure.model import Step
from guide.rig.by_hand import Move
from guide.rig.by_weight import View
from guide.rig.doing import handlings
from guide.rig.happenings import Happening
from guide.rig.learning.choices import choices
from guide.rig.learning.consequence import consequence
from guide.rig.learning.hint_costs import HINT_COSTS
from guide.rig.learning.hints import hint
from guide.rig.learning.lesson import Lesson
from guide.rig.learning.run import over
from guide.screens.practice_hands import due, known
from guide.screens.practice_shown import Candidate, Stopped


class LessonCoach:
    """The coach of one run of a lesson."""

    hint_costs = HINT_COSTS

    def __init__(self, lesson: Lesson, seed: int) -> None:
        self._lesson = lesson
        self._seed = seed

    def hints(self, step: Step, state: JobState) -> tuple[str, str, str]:
        """Where to look, the rule, the answer."""
        by_hand = handlings(step, state) if known(step) else ()
        return hint(self._lesson, step, by_hand).all()

    @property
    def conclusion(self) -> tuple[str, tuple[str, ...]] | None:
        """What is asked at the end: the question and the troubles to pick from."""
        asked = self._lesson.conclusion
        return None if asked is None else (asked.ask, asked.choices)

    def candidates(self, state: JobState) -> tuple[Candidate, ...]:
        """Steps of which one comes next."""
        return tuple(Candidate(step.id, step.do) for step in choices(state, self._seed))

    def moves(self, step: Step, state: JobState, front: Front, view: View) -> Iterator[Move]:
        """What careful hands do at this place, with the waiting in between; what is so already left out."""
        return due(step, state, front, view)

    def stopped(self, happening: Happening) -> Stopped:
        """Why a run is over."""
        end = consequence(happening)
        return Stopped(end.headline, end.why, end.instead)

    def over(self, state: JobState) -> bool:
        """Whether the part of the work that the lesson is about is done."""
        return over(self._lesson, state)
