"""The pages of practice filled for real: a trainee's journal, the lesson files, a simulated unit a run."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from guide.bench.bench import Bench
from guide.bench.people import Technician
from guide.errors import ChargewrightError
from guide.instruments.readings import Readings
from guide.job import payloads as p
from guide.job.seed import HIGHEST_SEED
from guide.job.work import Work
from guide.journal.port import SystemClock
from guide.rig import wire
from guide.rig.learning.beginning import beginning, stamp
from guide.rig.learning.debrief import questions
from guide.rig.learning.drawing import draw
from guide.rig.learning.lesson import Help, Score
from guide.rig.learning.lesson_reader import Ready
from guide.rig.learning.run import Run as Story
from guide.rig.learning.score import score
from guide.rig.learning.shelf import OWN, load, paths
from guide.rig.left_off import after_s
from guide.rig.link import RigLink
from guide.rig.pace import PacedClock
from guide.rig.retrace import RunTime, acts_of
from guide.rig.trainees import keeping
from guide.rig.trainees.model_run import model_told, retold
from guide.rig.trainees.present import now_utc, today
from guide.rig.trainees.record import TraineeRecord
from guide.rig.trainees.roster import Roster
from guide.screens.practice_card import card_of, question_shown, row_shown, scored_shown
from guide.screens.practice_coach import LessonCoach
from guide.screens.practice_lead_in import work_up_to
from guide.screens.practice_rig import RigUnit
from guide.screens.practice_run import Run
from guide.screens.practice_shown import BesideRow, Card, LessonLine, OpenRun, Question, Scored, Trainee
from guide.screens.practice_training import lesson_lines, title_of, trainee_lines
from guide.screens.practice_watched import Watched, watched

STREAMS: Final = "streams"


class NobodyThere(ChargewrightError):
    """Something of a trainee's while nobody is signed in."""


@dataclass(slots=True)
class _Told:
    """A run gone through again, with its score."""

    story: Story
    score: Score


class PracticeDesk:
    """What the pages of one trainee are filled from, in one practice folder."""

    def __init__(self, practice: Path) -> None:
        self._own = practice / OWN
        self._roster = Roster(practice)
        self._bench: Bench | None = None
        self._technician: Technician | None = None
        self._ready: dict[str, Ready] = {}
        self._told: dict[str, _Told] = {}

    # -- who learns ---------------------------------------------------------------------------

    def trainees(self) -> tuple[Trainee, ...]:
        """Everybody who learns here."""
        return trainee_lines(self._roster)

    def enter(self, who: str, name: str, passphrase: str) -> None:
        """Sign somebody in, made known first where there is a name."""
        if name:
            self._roster.add(who, name, passphrase)
        at_work = self._roster.sign_in(who, passphrase)
        self._bench, self._technician = at_work.bench, at_work.technician

    @property
    def who(self) -> str:
        """The name of who is signed in; empty where nobody is."""
        return self._technician.known.name if self._technician is not None else ""

    def leave(self) -> None:
        """Let the trainee's folder go."""
        if self._bench is not None:
            self._bench.close()
        self._bench = self._technician = None
        self._told.clear()

    def _here(self) -> tuple[Bench, Technician]:
        if self._bench is None or self._technician is None:
            raise NobodyThere("nobody is signed in to learn; open the lessons again")
        return self._bench, self._technician

    def _record(self) -> TraineeRecord:
        bench, technician = self._here()
        return keeping.record_in(bench.journal, self._roster, technician.known.id)

    # -- lessons ------------------------------------------------------------------------------

    def lessons(self) -> tuple[LessonLine, ...]:
        """Every lesson and how it stands."""
        return lesson_lines(self._own, self._record())

    def open_runs(self) -> tuple[OpenRun, ...]:
        """Runs that were left in the middle, the newest first."""
        bench, _ = self._here()
        runs = [run for one in self._record().lessons.values() for run in one.runs]
        lessons = {run.job: run.lesson for run in runs}
        scored = {run.job for run in runs if run.scored is not None}
        files = paths(self._own)
        found = []
        for line in bench.jobs():
            lesson = lessons.get(line.job)
            if lesson is None or line.job in scored or line.status == "closed" or lesson.help == "worked":
                continue
            path = files.get(lesson.id)
            if path is not None:
                found.append(OpenRun(line.job, lesson.id, title_of(path) or lesson.id, lesson.help))
        return tuple(found)

    def card(self, lesson: str) -> Card:
        """A lesson before it begins."""
        ready = load(lesson, self._own)
        seed = secrets.randbelow(HIGHEST_SEED + 1) % 100_000
        return card_of(ready, self._record().lesson(lesson), seed)

    # -- a run --------------------------------------------------------------------------------

    def begin(self, lesson: str, help_level: str, seed: int) -> Run | Watched:
        """Open a job as a run of the lesson, with its unit."""
        bench, technician = self._here()
        ready, level = load(lesson, self._own), Help(help_level)
        clock = PacedClock(datetime.now().astimezone())
        bench.clock = clock
        if level is Help.WORKED:
            clock.hold()
            return watched(ready, seed, bench, technician)
        scenario = beginning(ready, seed)  # what can't be simulated is refused before a job is opened
        late = "nothing real is measured" if bench.past_due(ready.order) else None
        work = bench.new_job(ready.order, technician, past_due_reason=late, lesson=stamp(ready, seed, level))
        work_up_to(ready.lesson, work, scenario, clock)
        return self._run(ready, work, clock, seed)

    def go_on(self, job: str) -> Run:
        """A run left in the middle, its unit brought to where it stood."""
        bench, technician = self._here()
        state = bench.state_of(job)
        if state.opened is None or state.opened.lesson is None or state.last_at is None:
            raise NobodyThere(f"{job} is no run of a lesson")
        clock = PacedClock.after(state.last_at)
        clock.advance(after_s((bench.folder / STREAMS).glob(f"{state.job}-*.ndjson"), state.last_at.utc))
        bench.clock = clock
        work = bench.take_up(job, technician)
        lesson = state.opened.lesson
        ready = load(lesson.id, self._own)
        if ready.lesson.sha256 != lesson.sha256:
            raise NobodyThere(f"{job}: the lesson's file has changed since it was begun; begin it anew")
        return self._run(ready, work, clock, lesson.seed)

    def _run(self, ready: Ready, work: Work, clock: PacedClock, seed: int) -> Run:
        bench, technician = self._here()
        drawn = draw(ready.lesson, seed)
        events = tuple(work.events())
        opened = work.state.opened_at
        assert opened is not None
        command = wire.begin(
            work.state.order.text, opened=opened, seed=seed, start_fraction=drawn.start_fraction,
            faults=drawn.faults, weather=drawn.weather,
        )  # fmt: skip
        stream = bench.folder / STREAMS / f"{work.state.job}-{secrets.token_hex(4)}.ndjson"
        time = RunTime.of(events)
        last_s, t_s = time.at(events[-1].stamp), time.at(clock.now())
        link = RigLink(command, stream, acts_of(events), t_s=t_s)
        try:
            readings = Readings(link.follow(), clock)
        except ChargewrightError:
            link.close()
            raise
        self._ready[work.state.job] = ready
        scenario = beginning(ready, seed)
        call = scenario.troubles.interruption
        ahead = call is not None and call.at_s > last_s
        return Run(
            bench=bench, technician=technician, work=work, clock=clock,
            unit=RigUnit(link, scenario), coach=LessonCoach(ready.lesson, seed),
            title=ready.lesson.title, readings=readings,
            called_away=(call.at_s, call.words) if call is not None and ahead else None,
        )  # fmt: skip

    # -- after it -----------------------------------------------------------------------------

    def score(self, run: Run) -> Scored:
        """What the run came to; logged once."""
        bench, technician = self._here()
        told = self._tell(run)
        job, lesson = run.work.state.job, run.lesson
        bench.clock = SystemClock()
        if self._record().scored(job) is None:
            hints = sum(
                isinstance(each.payload, p.Practised) and each.payload.what == "hint"
                for each in told.story.told
            )
            entry = keeping.scored(
                job, told.story.lesson, seed=lesson.seed, help_level=lesson.help, score=told.score,
                conclusion=told.story.conclusion, hints=hints, utc=now_utc(),
            )  # fmt: skip
            keeping.keep_score(bench, technician, entry)
        return scored_shown(told.story, told.score, self._record().lesson(lesson.id), today())

    def _tell(self, run: Run) -> _Told:
        job = run.work.state.job
        if job not in self._told:
            story = retold(self._ready[job], run.work)
            self._told[job] = _Told(story, score(story))
        return self._told[job]

    def questions(self, run: Run) -> tuple[Question, ...]:
        """The five questions after it."""
        told = self._tell(run)
        return tuple(question_shown(each) for each in questions(told.story, told.score))

    def keep_answers(self, run: Run, answers: tuple[str, ...]) -> None:
        """Log what was answered."""
        bench, technician = self._here()
        keeping.keep_debrief(bench, technician, run.work.state.job, answers, utc=now_utc())

    def beside(self, run: Run) -> tuple[BesideRow, ...]:
        """The run beside the model run."""
        from guide.rig.learning.replay import rows

        told = self._tell(run)
        now = datetime.now().astimezone()
        model = model_told(self._ready[run.work.state.job], run.lesson.seed, now=now)
        found = rows(run.work.state.procedure, told.story.told, model, told.score.losses)
        return tuple(row_shown(row) for row in found if not row.made_ready)
