"""A lesson that is watched: the careful technician works it to where it ends; nobody signs it."""

from __future__ import annotations

from dataclasses import dataclass

from guide.bench.bench import Bench
from guide.bench.people import Technician
from guide.job.focus import Front
from guide.rig.learning.lesson import Help
from guide.rig.learning.lesson_reader import Ready
from guide.rig.learning.run import over
from guide.rig.rehearsal import Rehearsal
from guide.rig.trainees.model_run import ModelRun, at_bench


@dataclass(slots=True)
class Watched(Rehearsal):
    """One run of a lesson with all the help there is. `step` until it gives None."""

    model: ModelRun | None = None

    @property
    def over(self) -> bool:
        """Whether nothing is left to be watched."""
        assert self.model is not None
        front = self.work.focus().front
        return front in {Front.SIGN, Front.CLOSED, Front.STOPPED} or over(
            self.model.ready.lesson, self.work.state
        )

    def step(self) -> str | None:
        """Do the next thing and say it in words; None where nothing is left to be watched.

        Raises:
            ChargewrightError: it can't go on; the message says where.
        """
        if self.over:
            return None
        play = self.player.step()
        return play.words if play is not None else None

    def close(self) -> None:
        """The folder is the trainee's and stays open."""


def watched(ready: Ready, seed: int, bench: Bench, technician: Technician) -> Watched:
    """The run of a lesson that plays; the bench's clock is a simulated one that moves only with it.

    Raises:
        ChargewrightError: the lesson's unit can't be simulated, or the job can't be opened.
    """
    model = at_bench(ready, seed, bench, technician, "", level=Help.WORKED)
    made = model.rehearsal
    return Watched(bench, technician, "", made.work, made.player, made.clock, model=model)
