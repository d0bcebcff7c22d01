"""The first page: open jobs, a new one, a quick look, a demonstration, records, leave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from guide.screens.ask import Choice, pick
from guide.screens.enrolment import NONE_NEEDED
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import Lines, Role, Span, line, paragraph, quiet, strong

if TYPE_CHECKING:
    from guide.bench.bench import JobLine
    from guide.bench.people import Technician

_KEYS = (("Enter", "go"), ("↑↓", "pick"), ("a letter", "at once"))

NEW, LOOK, DEMO, RECORDS = "new", "look", "demo", "records"
PEOPLE, KEEP, OTHER, LEAVE = "people", "keep", "other", "leave"
LESSONS, TRAINER = "lessons", "trainer"
_ACTS = (
    Choice(NEW, "new job", letter="n"),
    Choice(LOOK, "quick look at readings, without a job", letter="q"),
    Choice(RECORDS, "records of closed jobs", letter="r"),
    Choice(PEOPLE, "who works here", letter="w"),
    Choice(KEEP, "backup to a stick, or bring one back", letter="b"),
    Choice(OTHER, "practice: lessons, and jobs that are no evidence", letter="p"),
    Choice(DEMO, "demonstration on a simulated system", letter="d"),
    Choice(LEAVE, "leave", letter="x"),
)
_PRACTICE_ACTS = (
    Choice(LESSONS, "lessons on a simulated unit", letter="l"),
    Choice(TRAINER, "trainer: who learns, what is assigned, what is signed off", letter="t"),
)


def job_choice(job: JobLine, local_offset: str) -> Choice:
    """One job as a line to pick."""
    from guide.screens.say import (
        local,  # with the spine of jobs behind it, which the first frame does without
    )

    note = f"{job.status}, {local(job.last_utc, local_offset)}, {job.technician}"
    return Choice(f"job:{job.job}", f"{job.job}  {job.place}", note=note)


def home_filling(
    jobs: Sequence[JobLine], *, loaded: bool, local_offset: str = "+00:00", nature: str = "real"
) -> Filling:
    """Open jobs first, then what else one can do; until the journal is read only what needs none."""
    acts = tuple(
        replace(act, words="back to real work") if act.value == OTHER and nature != "real" else act
        for act in _ACTS
        if loaded or act.value in {LOOK, LEAVE}
    )
    open_jobs = tuple(job_choice(job, local_offset) for job in jobs if job.status != "closed")
    lessons = _PRACTICE_ACTS if loaded and nature == "practice" else ()
    choices = (*open_jobs, *lessons, *acts)
    return Filling.of((pick("go", "", choices, picked=0),))


def _introduced(who: Technician) -> str:
    known = who.known
    held = known.certification_type
    words = f"certification: {held}" if held == NONE_NEEDED else held
    return ", ".join(word for word in (known.name, words, known.certification_number) if word)


class Home(FormPage):
    """Where the program begins."""

    def __init__(self) -> None:
        super().__init__()
        self.loaded = False
        self.filling = home_filling((), loaded=False)
        self.jobs: tuple[JobLine, ...] = ()

    def show_jobs(self, jobs: tuple[JobLine, ...]) -> None:
        """The journal was read."""
        self.loaded = True
        self.jobs = jobs
        bench = self.chargewright.bench
        offset = bench.clock.now().local_offset if bench else "+00:00"
        self.filling = home_filling(jobs, loaded=True, local_offset=offset, nature=self.chargewright.nature)
        self.repaint()

    def on_screen_resume(self) -> None:
        """Read the list again when coming back."""
        if self.loaded:
            self.chargewright.list_jobs()

    def form(self) -> FormView:
        """The list."""
        open_jobs = sum(job.status != "closed" for job in self.jobs)
        if not self.loaded:
            words: tuple[str, ...] = ("reading the journal …",)
        elif open_jobs:
            words = (f"{open_jobs} job{'s' if open_jobs > 1 else ''} not closed:",)
        else:
            words = ("No open job.",)
        who = self.chargewright.technician
        below: Lines = (
            *self._in_hand(),
            line(quiet(f" at the keyboard: {_introduced(who) if who else 'nobody signed in'}")),
            line(quiet(f" data: {self.chargewright.folder}")),
        )
        return FormView(
            "WHAT NEXT?", self.filling, words, below=below, said=self.said, nature=self.chargewright.nature,
            keys=_KEYS,
        )  # fmt: skip

    def _in_hand(self) -> Lines:
        """The jobs taken up since the program began, and what each waits for; then waits of the others."""
        app = self.chargewright
        works = {job: w for job, w in app.works.items() if w.state.closed is None}
        others = {job: state for job, state in app.afar.states.items() if job not in works}
        if not works and not others:
            return ()
        from guide.screens.waits import left_s, waits

        rows: Lines = ()
        width = max(20, self.size.width)
        if works:
            words = "   ".join(waits(work.state, work.now().stamp) for _, work in sorted(works.items()))
            rows += paragraph(f"in hand: {words}", width, role=Role.STRONG)
        now = app.bench.clock.now() if app.bench else None
        waiting = [
            waits(state, now)
            for _, state in sorted(others.items())
            if now is not None and (state.weighing is not None or left_s(state, now) is not None)
        ]
        if waiting:
            rows += paragraph(f"not taken up yet: {'   '.join(waiting)}", width, role=Role.STRONG)
        return rows

    async def done(self) -> None:
        """Go where the picked line leads."""
        where = self.filling.text("go")
        if where == LEAVE:
            self.app.exit()
        else:
            self.chargewright.follow(self.chargewright.go(where))

    async def left(self) -> None:
        """Esc on the first page picks leaving; Enter then leaves."""
        active = self.filling.active
        if active is not None:
            last = len(active.choices) - 1
            self.filling = Filling.of((pick("go", "", active.choices, picked=last),))
            self.said = Span("Enter leaves the program.", strong("").role)
