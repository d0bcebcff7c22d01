"""A scored run gone through once more before a trainer signs for it: does its log come to the logged score?

Whoever learns has the keys of their own journal and could write any score into it. What hands did, read and
waited stands beside it, and the score is a function of that alone.
"""

from __future__ import annotations

from guide.bench.bench import Bench
from guide.errors import ChargewrightError
from guide.job.state import begin
from guide.rig.learning.lesson import Score
from guide.rig.learning.lesson_reader import Ready
from guide.rig.learning.score import score
from guide.rig.retelling import retell
from guide.rig.trainees.entries import LessonScored
from guide.rig.trainees.sign_off import NotSignedOff


class ScoreAgain:
    """Scores the runs of a lesson in a trainee's journal again."""

    def __init__(self, bench: Bench, ready: Ready) -> None:
        self._bench = bench
        self._ready = ready

    def __call__(self, scored: LessonScored) -> Score:
        """What the run of a score comes to.

        Raises:
            NotSignedOff: its log can't be gone through again; the message says why.
        """
        try:
            state = self._bench.state_of(scored.job)
            start = begin(scored.job, state.order, state.procedure)
            return score(retell(self._ready, start, self._bench.journal.events(scored.job)))
        except ChargewrightError as error:
            raise NotSignedOff(f"{scored.lesson} is not signed off: {scored.job}: {error}") from error
