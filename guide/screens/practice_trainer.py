"""The trainer's pages: who learns here, what each showed, what is assigned to them, what is signed off."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Awaitable, Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Final, Protocol

from guide.errors import ChargewrightError
from guide.job.seed import HIGHEST_SEED
from guide.screens.ask import Choice, pick, text
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import strong

if TYPE_CHECKING:
    from guide.screens.practice_shown import LessonLine, Trainee

RECORD, ASSIGN, SIGN = "record", "assign", "sign"
_ACTS: Final = (
    Choice(RECORD, "what they showed: runs, lost points, what is due", letter="r"),
    Choice(ASSIGN, "assign a lesson", letter="a"),
    Choice(SIGN, "sign off a lesson they have mastered", letter="s"),
)
_PICK: Final = (("Enter", "go on"), ("↑↓", "pick"), ("Esc", "back"))
_SEED = re.compile(r"[0-9]{1,10}")


class TrainerDesk(Protocol):
    """What the trainer's pages need; everything may take a moment and raises ChargewrightError."""

    def trainees(self) -> tuple[Trainee, ...]:
        """Everybody who learns here."""

    def lessons(self, trainee: str) -> tuple[LessonLine, ...]:
        """Every lesson, with where a trainee stands."""

    def record(self, trainee: str) -> tuple[str, ...]:
        """What a trainee showed, in paragraphs."""

    def assign(self, trainee: str, lesson: str, seed: int | None, due: date | None, note: str) -> None:
        """Set a lesson."""

    def sign_off(self, trainee: str, lesson: str) -> str:
        """Sign a lesson off; what was signed, in words."""


class Trainees(FormPage):
    """Everybody who learns here."""

    def __init__(self, desk: TrainerDesk) -> None:
        super().__init__()
        self._desk = desk
        self._there: tuple[Trainee, ...] = ()
        self._read = False

    def on_mount(self) -> None:
        """Read who is there."""
        self.run_worker(self._fill(), group="fill")

    async def _fill(self) -> None:
        try:
            self._there = await asyncio.to_thread(self._desk.trainees)
        except ChargewrightError as error:
            self.say_fault(str(error))
        self._read = True
        choices = tuple(Choice(each.id, f"{each.name} ({each.id})") for each in self._there)
        self.filling = Filling.of((pick("who", "", choices, picked=0),)) if choices else Filling()
        self.repaint()

    def form(self) -> FormView:
        """The list."""
        nobody = "Nobody learns here yet. Whoever opens the lessons and says who they are stands here then."
        words = ("Whose learning is it about?",) if self._there or not self._read else (nobody,)
        return FormView(
            "TRAINER", self.filling, words, said=self.said, nature=self.chargewright.nature, keys=_PICK
        )

    async def done(self) -> None:
        """To one of them."""
        if self.filling.asks:
            trainee = next(each for each in self._there if each.id == self.filling.text("who"))
            await self.app.push_screen(OneTrainee(self._desk, trainee))


class OneTrainee(FormPage):
    """What can be done about one trainee."""

    def __init__(self, desk: TrainerDesk, trainee: Trainee) -> None:
        super().__init__()
        self._desk = desk
        self._trainee = trainee
        self.filling = Filling.of((pick("act", "", _ACTS, picked=0),))

    def form(self) -> FormView:
        """Three acts."""
        return FormView(
            f"TRAINER: {self._trainee.name}", self.filling, said=self.said,
            nature=self.chargewright.nature, keys=_PICK,
        )  # fmt: skip

    async def done(self) -> None:
        """Show, assign, or sign."""
        from guide.screens.read_page import ReadPage

        act, who = self.filling.text("act"), self._trainee
        try:
            if act == RECORD:
                words = await asyncio.to_thread(self._desk.record, who.id)
                await self.app.push_screen(ReadPage(f"RECORD: {who.name}", words))
                return
            lessons = await asyncio.to_thread(self._desk.lessons, who.id)
        except ChargewrightError as error:
            self.say_fault(str(error))
            return
        page = Assign if act == ASSIGN else SignOff
        await self.app.push_screen(page(self._desk, who, lessons, self._told))

    async def _told(self, words: str) -> None:
        self.said = strong(words)
        self.repaint()


class _AboutLesson(FormPage):
    """A page that does something about one lesson of one trainee, and tells it to the page under it."""

    def __init__(
        self,
        desk: TrainerDesk,
        trainee: Trainee,
        lessons: Sequence[LessonLine],
        told: Callable[[str], Awaitable[None]],
    ) -> None:
        super().__init__()
        self._desk = desk
        self._trainee = trainee
        self._told = told
        self._choices = tuple(Choice(each.id, each.title, note=each.standing) for each in lessons)

    def _do(self) -> str:
        """Do it; what was done, in words."""
        raise NotImplementedError

    async def done(self) -> None:
        """Do it, in a moment."""
        self.say_busy("writing it down …")
        try:
            words = await asyncio.to_thread(self._do)
        except ChargewrightError as error:
            self.say_fault(str(error))
            return
        self.chargewright.follow(self._told(words), leaving=True)


class Assign(_AboutLesson):
    """Set a lesson: on any seed or one, by a day or none."""

    def __init__(
        self,
        desk: TrainerDesk,
        trainee: Trainee,
        lessons: Sequence[LessonLine],
        told: Callable[[str], Awaitable[None]],
    ) -> None:
        super().__init__(desk, trainee, lessons, told)
        self.filling = Filling.of(
            (
                pick("lesson", "Which lesson?", self._choices, picked=0),
                text("seed", "Seed", needed=False, note="may stay empty: any"),
                text("due", "To be passed by", needed=False, note="2027-01-31, or empty"),
                text("note", "A word with it", needed=False),
            )
        )

    def form(self) -> FormView:
        """Four fields."""
        return FormView(
            f"ASSIGN A LESSON TO {self._trainee.name}", self.filling, said=self.said,
            nature=self.chargewright.nature,
        )  # fmt: skip

    def _do(self) -> str:
        seed, due = self.filling.text("seed"), self.filling.text("due")
        lesson = self.filling.text("lesson")
        self._desk.assign(
            self._trainee.id, lesson, int(seed) if seed else None,
            date.fromisoformat(due) if due else None, self.filling.text("note"),
        )  # fmt: skip
        return f"Assigned: {lesson}{f', seed {seed}' if seed else ''}{f', by {due}' if due else ''}."

    async def done(self) -> None:
        """Check seed and day, then write it down."""
        seed, due = self.filling.text("seed"), self.filling.text("due")
        if seed and (not _SEED.fullmatch(seed) or int(seed) > HIGHEST_SEED):
            self.filling = self.filling.with_fault("seed", f"a whole number from 0 to {HIGHEST_SEED}")
        elif due and not _is_day(due):
            self.filling = self.filling.with_fault("due", "a day as year-month-day: 2027-01-31")
        else:
            await super().done()


class SignOff(_AboutLesson):
    """Sign a lesson off with the trainer's own key; what is not mastered is refused with the reason."""

    def __init__(
        self,
        desk: TrainerDesk,
        trainee: Trainee,
        lessons: Sequence[LessonLine],
        told: Callable[[str], Awaitable[None]],
    ) -> None:
        super().__init__(desk, trainee, lessons, told)
        self.filling = Filling.of((pick("lesson", "Which lesson?", self._choices, picked=0),))

    def form(self) -> FormView:
        """One field."""
        words = ("Your signature says that they can do what the lesson asks. It rests on their runs.",)
        return FormView(
            f"SIGN OFF FOR {self._trainee.name}", self.filling, words, said=self.said,
            nature=self.chargewright.nature, keys=(("Enter", "sign it off"), ("↑↓", "pick"), ("Esc", "back")),
        )  # fmt: skip

    def _do(self) -> str:
        return self._desk.sign_off(self._trainee.id, self.filling.text("lesson"))


def _is_day(typed: str) -> bool:
    try:
        date.fromisoformat(typed)
    except ValueError:
        return False
    return len(typed) == 10
