"""The model run of a lesson: the careful technician works it on a seed, from the opening to the record.

It shows that a lesson can be done, is watched by whoever is new to it, and is what a trainee's own run is
laid beside.
"""

from __future__ import annotations

import secrets
import tempfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson, Technician
from guide.job import payloads as p
from guide.job.commands import Practise
from guide.job.focus import Front
from guide.job.state import begin
from guide.job.work import Work
from guide.journal.port import SimulatedClock
from guide.rig.careful import Careful
from guide.rig.learning.beginning import beginning, stamp
from guide.rig.learning.drawing import draw, trouble_of
from guide.rig.learning.lesson import Help, Score
from guide.rig.learning.lesson_reader import Ready
from guide.rig.learning.run import CONCLUSION, Run, Told, concluded, over, told
from guide.rig.learning.score import score
from guide.rig.rehearsal import Rehearsal
from guide.rig.retelling import retell
from guide.rig.rig import Rig

MODEL = KnownPerson("model", "Careful Technician", "none, simulated", "none")
_LATE = "nothing real is measured"


@dataclass(slots=True)
class ModelRun:
    """One model run. `step` until it gives None; then `score` and the record are there."""

    ready: Ready
    seed: int
    rehearsal: Rehearsal
    score: Score | None = None
    story: Run | None = None

    @property
    def work(self) -> Work:
        """Its job."""
        return self.rehearsal.work

    def step(self) -> str | None:
        """Do the next thing and say it in words; None when the record is out and the run is scored.

        Raises:
            ChargewrightError: it can't go on; the message says where.
        """
        at_end = over(self.ready.lesson, self.work.state)
        if (at_end or self.work.focus().front is Front.SIGN) and self._has_to_conclude():
            trouble = trouble_of(self.ready.lesson, draw(self.ready.lesson, self.seed))
            self.work.do(Practise(p.Practised(what="chosen", act=trouble, at=CONCLUSION)))
            return f"names the trouble: {trouble}"
        if at_end and self.score is None:
            self.story = retold(self.ready, self.work)
            self.score = score(self.story)
            return f"the lesson ends here: {self.score.points} of {self.score.of} points"
        return self.rehearsal.step()

    def _has_to_conclude(self) -> bool:
        if self.ready.lesson.conclusion is None or self.work.state.closed is not None:
            return False
        return concluded(told(self.work.events())) is None


def retold(ready: Ready, work: Work) -> Run:
    """The run that a job's events tell so far.

    Raises:
        CantRetrace: the job is no run of this lesson as its file is now.
    """
    state = work.state
    return retell(ready, begin(state.job, state.order, state.procedure), work.events())


def in_folder(
    ready: Ready, seed: int, folder: Path, *, now: datetime, passphrase: str | None = None
) -> ModelRun:
    """A model run in a fresh folder of its own, with keys made for it.

    Raises:
        ChargewrightError: the lesson's unit can't be simulated, or the folder can't be used.
    """
    clock = _clock(now)
    bench = Bench.open(folder, nature="practice", clock=clock)
    try:
        secret = passphrase or secrets.token_urlsafe(24)
        bench.enrol(MODEL, secret)
        return at_bench(ready, seed, bench, bench.sign_in(MODEL.id, secret), secret, level=Help.NONE)
    except BaseException:
        bench.close()
        raise


def at_bench(
    ready: Ready, seed: int, bench: Bench, technician: Technician, passphrase: str, *, level: Help
) -> ModelRun:
    """A model run on somebody's bench, whose clock has to be a simulated one.

    Raises:
        ChargewrightError: the lesson's unit can't be simulated, or the job can't be opened.
    """
    assert isinstance(bench.clock, SimulatedClock)
    rig = Rig(beginning(ready, seed))  # what can't be simulated is refused before a job opens
    late = _LATE if bench.past_due(ready.order) else None
    work = bench.new_job(ready.order, technician, past_due_reason=late, lesson=stamp(ready, seed, level))
    player = Careful(work, rig, bench.clock)
    return ModelRun(ready, seed, Rehearsal(bench, technician, passphrase, work, player, bench.clock))


def model_told(ready: Ready, seed: int, *, now: datetime) -> tuple[Told, ...]:
    """The events of the model run of a lesson on a seed, to where the lesson ends; nothing of it is kept.

    Raises:
        ChargewrightError: the careful technician can't work it.
    """
    with tempfile.TemporaryDirectory(prefix="chargewright-") as folder:
        model = in_folder(ready, seed, Path(folder), now=now)
        try:
            while model.score is None and model.step() is not None:
                pass
            return told(model.work.events())
        finally:
            model.rehearsal.close()


def _clock(now: datetime) -> SimulatedClock:
    return SimulatedClock(now, boot=f"simulated-{secrets.token_hex(4)}")
