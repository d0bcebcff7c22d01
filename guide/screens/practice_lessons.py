"""The lessons of one trainee, and how a run begins: which help, which seed."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Awaitable, Callable, Sequence
from typing import TYPE_CHECKING, Final

from guide.errors import ChargewrightError
from guide.job.seed import HIGHEST_SEED
from guide.screens.ask import Choice, pick, text
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import Span, clean, line, quiet, strong
from guide.screens.practice_shown import Card, LessonLine, OpenRun
from guide.screens.practice_words import HELPS

if TYPE_CHECKING:
    from guide.screens.practice_run import Run
    from guide.screens.practice_watched import Watched

    Made = Run | Watched
    """A run to be worked, or one to be watched."""

_KEYS: Final = (("Enter", "open"), ("↑↓", "pick"), ("Esc", "back"))
_SEED = re.compile(r"[0-9]{1,10}")

Pick = Callable[[str], Awaitable[None]]


def lesson_choices(lessons: Sequence[LessonLine], runs: Sequence[OpenRun]) -> tuple[Choice, ...]:
    """Runs left in the middle first, then every lesson with where one stands with it."""
    begun = tuple(Choice(f"run:{each.job}", f"go on: {each.title}", note=each.job) for each in runs)
    return (*begun, *(Choice(f"lesson:{each.id}", each.title, note=in_short(each)) for each in lessons))


def in_short(lesson: LessonLine) -> str:
    """Where one stands with a lesson, in two or three words; whether it was set."""
    words = lesson.standing.partition(",")[0].partition(";")[0]
    return f"{words}, set" if ", set" in lesson.standing else words


class Lessons(FormPage):
    """Every lesson with where the trainee stands; `onward` opens one or goes on with a run."""

    def __init__(
        self, who: str, lessons: Sequence[LessonLine], runs: Sequence[OpenRun], onward: Pick, *, said: Span
    ) -> None:
        super().__init__()
        self._who = who
        self._onward = onward
        self._standings = {f"lesson:{each.id}": each.standing for each in lessons}
        self._standings |= {f"run:{each.job}": f"{each.job}, left in the middle" for each in runs}
        self.filling = Filling.of((pick("lesson", "", lesson_choices(lessons, runs), picked=0),))
        self.said = said

    def form(self) -> FormView:
        """The list."""
        words = ("Pick what to practise. Every lesson can be run as often as you like.",)
        standing = self._standings.get(self.filling.text("lesson"), "")
        below = (
            line(f" {clean(standing)}"),
            line(quiet(f" learning: {clean(self._who)}")),
        )
        return FormView(
            "LESSONS", self.filling, words, below=below, said=self.said,
            nature=self.chargewright.nature, keys=_KEYS,
        )  # fmt: skip

    async def left(self) -> None:
        """Done with learning for now."""
        await self.chargewright.practice.leave()
        await super().left()

    async def done(self) -> None:
        """Open what is picked."""
        self.chargewright.follow(self._onward(self.filling.text("lesson")), leaving=True)


def begin_filling(card: Card) -> Filling:
    """How much help, and which seed; both have a proposal."""
    helps = tuple(Choice(help_, HELPS.get(help_, help_)) for help_ in card.helps)
    picked = card.helps.index(card.suggested) if card.suggested in card.helps else 0
    seed = text("seed", "Seed", start=str(card.seed), note="same number, same unit")
    return Filling.of((pick("help", "How much help?", helps, picked=picked), seed))


class BeginRun(FormPage):
    """The last page before a run; `begin` takes a moment, `onward` shows what it made."""

    def __init__(
        self,
        card: Card,
        begin: Callable[[str, int], Made],
        onward: Callable[[Made], Awaitable[None]],
        back: Callable[[], Awaitable[None]],
    ) -> None:
        super().__init__()
        self._card = card
        self._begin = begin
        self._onward = onward
        self._back = back
        self.filling = begin_filling(card)

    def form(self) -> FormView:
        """Two fields."""
        words = (f"{self._card.title}.", *((self._card.assigned,) if self._card.assigned else ()))
        return FormView(
            "BEGIN THE RUN", self.filling, words, said=self.said, nature=self.chargewright.nature,
            keys=(("Enter", "next, then begin"), ("↑↓", "pick"), ("Esc", "back")),
        )  # fmt: skip

    async def left(self) -> None:
        """Back to the list."""
        self.chargewright.follow(self._back(), leaving=True)

    async def done(self) -> None:
        """Begin, if the seed is one."""
        typed = self.filling.text("seed")
        if not _SEED.fullmatch(typed) or int(typed) > HIGHEST_SEED:
            self.filling = self.filling.with_fault("seed", f"a whole number from 0 to {HIGHEST_SEED}")
            return
        self.said = strong("setting up the unit …")
        self.repaint()
        try:
            made = await asyncio.to_thread(self._begin, self.filling.text("help"), int(typed))
        except ChargewrightError as error:
            self.say_fault(str(error))
            return
        self.chargewright.follow(self._onward(made), leaving=True)


class Conclude(FormPage):
    """What was the matter with this unit, in the trainee's opinion; asked before the score."""

    def __init__(self, ask: str, choices: Sequence[str], log: Callable[[str], None], onward: Pick) -> None:
        super().__init__()
        self._log = log
        self._onward = onward
        self.filling = Filling.of((pick("trouble", ask, tuple(Choice(each, each) for each in choices)),))
        self._ask = ask

    def form(self) -> FormView:
        """The troubles to pick from."""
        return FormView(
            "YOUR CONCLUSION", self.filling, (self._ask,), said=self.said, nature=self.chargewright.nature,
            keys=(("Enter", "this one"), ("↑↓", "pick")),
        )  # fmt: skip

    async def left(self) -> None:
        """There is no way round it."""
        self.said = quiet("Pick one: a guess is better than nothing.")

    async def done(self) -> None:
        """Log it, then on to the score."""
        picked = self.filling.text("trouble")
        try:
            await asyncio.to_thread(self._log, picked)
        except ChargewrightError as error:
            self.say_fault(str(error))
            return
        self.chargewright.follow(self._onward(picked), leaving=True)
