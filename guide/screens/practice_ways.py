"""From page to page in practice: who learns, lessons, a run, its score, looking back; the trainer's pages.

A page ends before the next one begins, so that under each of them lies the first page of the program.
"""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Protocol

from guide.errors import ChargewrightError
from guide.screens.paint import Span, quiet, strong

if TYPE_CHECKING:
    from guide.bench.people import Technician
    from guide.screens.app import ChargewrightApp
    from guide.screens.practice_run import Run
    from guide.screens.practice_shown import (
        BesideRow,
        Card,
        LessonLine,
        OpenRun,
        Question,
        Scored,
        Stopped,
        Trainee,
    )
    from guide.screens.practice_trainer import TrainerDesk
    from guide.screens.practice_watched import Watched


class Desk(Protocol):
    """What the pages of a trainee need; everything may take a moment and raises ChargewrightError."""

    def trainees(self) -> tuple[Trainee, ...]:
        """Everybody who learns here."""

    def enter(self, who: str, name: str, passphrase: str) -> None:
        """Sign somebody in, made known first where there is a name."""

    @property
    def who(self) -> str:
        """The name of who is signed in; empty where nobody is."""

    def lessons(self) -> tuple[LessonLine, ...]:
        """Every lesson and how it stands."""

    def open_runs(self) -> tuple[OpenRun, ...]:
        """Runs that were left in the middle."""

    def card(self, lesson: str) -> Card:
        """A lesson before it begins."""

    def begin(self, lesson: str, help_level: str, seed: int) -> Run | Watched:
        """Open a job as a run of the lesson, with its unit."""

    def go_on(self, job: str) -> Run:
        """A run left in the middle, its unit brought to where it stood."""

    def score(self, run: Run) -> Scored:
        """What the run came to; logged once."""

    def questions(self, run: Run) -> tuple[Question, ...]:
        """The five questions after it."""

    def keep_answers(self, run: Run, answers: tuple[str, ...]) -> None:
        """Log what was answered."""

    def beside(self, run: Run) -> tuple[BesideRow, ...]:
        """The run beside the model run."""

    def leave(self) -> None:
        """Let the trainee's folder go."""


class Practice:
    """The ways between the pages of practice."""

    def __init__(self, app: ChargewrightApp) -> None:
        self._app = app
        self._desk: Desk | None = None
        self._wanted: str | None = None
        self._rows: asyncio.Task[tuple[BesideRow, ...]] | None = None

    @property
    def desk(self) -> Desk:
        """What the pages are filled from, made when it is first needed."""
        if self._desk is None:
            from guide.screens.practice_desk import PracticeDesk

            self._desk = PracticeDesk(self._app.folder)
        return self._desk

    @property
    def learning(self) -> bool:
        """Whether somebody is signed in to learn."""
        return self._desk is not None and bool(self._desk.who)

    def use(self, desk: Desk) -> None:
        """Fill the pages from this desk."""
        self._desk = desk

    # -- before a run -------------------------------------------------------------------------

    async def open(self, lesson: str | None = None) -> None:
        """Ask who learns; then the lessons, or one of them."""
        from guide.screens.practice_trainees import WhoLearns

        self._wanted = lesson
        if self.desk.who:
            await self._signed_in()
            return
        trainees = await asyncio.to_thread(self.desk.trainees)
        await self._app.push_screen(WhoLearns(trainees, self.desk.enter, self._signed_in))

    async def _signed_in(self) -> None:
        wanted, self._wanted = self._wanted, None
        if wanted is None:
            await self.lessons()
        else:
            await self._lesson(wanted)

    async def lessons(self, said: Span | None = None) -> None:
        """The list of lessons."""
        from guide.screens.practice_lessons import Lessons

        lessons = await asyncio.to_thread(self.desk.lessons)
        runs = await asyncio.to_thread(self.desk.open_runs)
        await self._app.push_screen(
            Lessons(self.desk.who, lessons, runs, self._picked, said=said or quiet(""))
        )

    async def _picked(self, what: str) -> None:
        sort, _, name = what.partition(":")
        try:
            if sort == "run":
                await self._sheet(await asyncio.to_thread(self.desk.go_on, name))
            else:
                await self._lesson(name)
        except ChargewrightError as error:
            await self._fault(error)

    async def _lesson(self, lesson: str) -> None:
        """Objectives and rubric, read to their end before a run can begin."""
        from guide.screens.practice_lessons import BeginRun
        from guide.screens.practice_reading import ReadOn
        from guide.screens.practice_words import card_paragraphs

        card = await asyncio.to_thread(self.desk.card, lesson)

        async def onward() -> None:
            await self._app.push_screen(
                BeginRun(
                    card,
                    lambda help_level, seed: self.desk.begin(lesson, help_level, seed),
                    self._begun,
                    self.lessons,
                )
            )

        words = card_paragraphs(card)
        await self._app.push_screen(
            ReadOn(card.title, words, onward, accept="begin a run", back=self.lessons)
        )

    async def _begun(self, made: Run | Watched) -> None:
        from guide.screens.practice_run import Run

        if isinstance(made, Run):
            await self._sheet(made)
            return
        from guide.screens.practice_watching import WatchedPage

        await self._app.push_screen(WatchedPage(made))

    async def _sheet(self, run: Run) -> None:
        from guide.screens.practice_page import PracticePage

        await self._app.push_screen(PracticePage(run))

    async def _fault(self, error: ChargewrightError) -> None:
        """Back to the list, with what went wrong."""
        from guide.screens.paint import Role

        await self.lessons(Span(f"! {error}", Role.FAULT))

    # -- a run is left ------------------------------------------------------------------------

    async def left(self, run: Run) -> None:
        """Left in the middle: it can be gone on with."""
        await self._let_go(run)
        await self.lessons(strong(f"{run.work.state.job} stands where you left it."))

    async def watched(self) -> None:
        """Watched to its end, or as far as one liked."""
        await self.lessons(strong("Now with your own hands: begin it again with less help."))

    async def stopped(self, run: Run, why: Stopped) -> None:
        """Something grave happened: what it would have done, then the score."""
        from guide.screens.practice_reading import ReadOn
        from guide.screens.practice_words import stop_paragraphs

        async def onward() -> None:
            await self.over(run)

        page = ReadOn("STOP", stop_paragraphs(why), onward, accept="to the score", grave=True)
        await self._app.push_screen(page)

    async def over(self, run: Run) -> None:
        """The conclusion where one is asked for, then the score."""
        from guide.screens.practice_lessons import Conclude

        asked = run.to_conclude()
        if asked is None:
            await self._score(run)
            return

        async def concluded(_picked: str) -> None:
            await self._score(run)

        await self._app.push_screen(Conclude(asked[0], asked[1], run.conclude, concluded))

    async def _score(self, run: Run) -> None:
        from guide.screens.practice_reading import ReadOn
        from guide.screens.practice_words import score_paragraphs

        try:
            scored = await asyncio.to_thread(self.desk.score, run)
        except ChargewrightError as error:
            await self._let_go(run)
            await self._fault(error)
            return

        async def onward() -> None:
            await self._look_back(run)

        title = f"SCORE: {run.title}"
        await self._app.push_screen(ReadOn(title, score_paragraphs(scored), onward, accept="look back"))

    async def _look_back(self, run: Run) -> None:
        from guide.screens.practice_debrief import Debrief

        questions = await asyncio.to_thread(self.desk.questions, run)
        # the model run takes seconds: it is worked while the questions are answered, so that nobody
        # looks at an empty first page meanwhile and presses its keys
        self._rows = asyncio.create_task(asyncio.to_thread(self.desk.beside, run))

        async def onward() -> None:
            await self._cycle(run)

        await self._app.push_screen(
            Debrief(questions, lambda answers: self.desk.keep_answers(run, answers), onward)
        )

    async def _cycle(self, run: Run) -> None:
        """The cycle the unit was left with, beside the one it should have; where it would run."""
        from guide.screens.practice_cycle import CyclePage, cycles_picture

        try:
            cycles = await asyncio.to_thread(run.unit.cycles)
        except ChargewrightError:
            cycles = None  # a unit that is gone has nothing to draw, and the way goes on
        american = run.work.state.order.scale_division.unit in {"oz", "lb"}
        picture = None if cycles is None else cycles_picture(cycles, american=american)
        if picture is None:
            await self._beside(run)
            return

        async def onward() -> None:
            await self._beside(run)

        await self._app.push_screen(CyclePage(picture, onward))

    async def _beside(self, run: Run) -> None:
        from guide.screens.practice_beside import Beside

        async def onward() -> None:
            await self._let_go(run)
            await self.lessons()

        try:
            rows = await (self._rows or asyncio.to_thread(self.desk.beside, run))
        except ChargewrightError as error:
            await self._let_go(run)
            await self._fault(error)
            return
        if rows:
            await self._app.push_screen(Beside(rows, onward))
        else:
            await onward()

    async def _let_go(self, run: Run) -> None:
        self._rows = None
        self._app.readings = None
        await asyncio.to_thread(run.close)

    async def train(self, technician: Technician) -> None:
        """The trainer's pages, for somebody who works in the practice journal itself."""
        from guide.screens.practice_trainer import Trainees

        await self._app.push_screen(Trainees(self.trainer_desk(technician)))

    def trainer_desk(self, technician: Technician) -> TrainerDesk:
        """What the trainer's pages are filled from."""
        from guide.screens.practice_training import RosterDesk

        return RosterDesk(self._app.folder, technician)

    async def leave(self) -> None:
        """Done with learning for now."""
        if self._desk is not None:
            await asyncio.to_thread(self._desk.leave)
