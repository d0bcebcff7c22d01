"""What comes before the parts of a lesson that count: the careful technician does it, at the same unit."""

from __future__ import annotations

from guide.job.work import Work
from guide.rig.careful import Careful
from guide.rig.learning.lesson import Lesson
from guide.rig.pace import PacedClock
from guide.rig.rig import Rig
from guide.rig.scenario import Scenario


def work_up_to(lesson: Lesson, work: Work, scenario: Scenario, clock: PacedClock) -> None:
    """Work a job just opened to where its lesson begins; every act stands in its log as anybody's does.

    Raises:
        ChargewrightError: it can't be worked so far.
    """
    if lesson.parts is None:
        return
    ids = [part.id for part in work.state.procedure.parts]
    before = frozenset(ids[: ids.index(lesson.parts.first)])
    if not before:
        return
    clock.hold()
    careful = Careful(work, Rig(scenario), clock)
    while not before <= work.state.ended_parts and careful.step() is not None:
        pass
    clock.go()
