"""The five questions after a run, one by one; the model answer stands beside the own once that is given."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Sequence

from guide.errors import ChargewrightError
from guide.screens.ask import Choice, pick, text
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import quiet
from guide.screens.practice_shown import Question

Keep = Callable[[tuple[str, ...]], None]


def question_filling(question: Question) -> Filling:
    """The field of one question."""
    if question.choices:
        choices = tuple(Choice(each, each) for each in question.choices)
        return Filling.of((pick("answer", question.ask, choices),))
    return Filling.of((text("answer", "Your answer"),))


class Debrief(FormPage):
    """What was to be, what happened, why, what told it first, what next time; `keep` logs the answers."""

    def __init__(
        self, questions: Sequence[Question], keep: Keep, onward: Callable[[], Awaitable[None]]
    ) -> None:
        super().__init__()
        self._questions = tuple(questions)
        self._keep = keep
        self._onward = onward
        self._answers: list[str] = []
        self._answered = False
        self.filling = question_filling(self._questions[0])

    def form(self) -> FormView:
        """One question; once it is answered, both answers."""
        number = len(self._answers) + (0 if self._answered else 1)
        question = self._questions[number - 1]
        title = f"LOOK BACK: question {number} of {len(self._questions)}"
        nature = self.chargewright.nature
        if self._answered:
            own = f"You: {self._answers[-1]}"
            words = (question.ask, "", own, "", f"Model answer: {question.model}")
            last = number == len(self._questions)
            return FormView(
                title, Filling(), words, said=self.said, nature=nature,
                keys=(("Enter", "look inside the unit" if last else "next question"),),
            )  # fmt: skip
        return FormView(
            title, self.filling, (question.ask,), said=self.said, nature=nature,
            keys=(("Enter", "answer"), ("↑↓", "pick")) if question.choices else (("Enter", "answer"),),
        )  # fmt: skip

    async def pressed(self, key: str, character: str | None) -> None:
        """Answer, then Enter for the next one."""
        if not self._answered:
            await super().pressed(key, character)
        elif key == "enter":
            await self._next()

    async def left(self) -> None:
        """There is no way round it."""
        self.say_busy("A line is enough. Your answers are kept for you and your trainer.")

    async def done(self) -> None:
        """Show the model answer."""
        self.said = quiet("")
        self._answers.append(self.filling.text("answer"))
        self._answered = True

    async def _next(self) -> None:
        if len(self._answers) < len(self._questions):
            self._answered = False
            self.filling = question_filling(self._questions[len(self._answers)])
            return
        try:
            await asyncio.to_thread(self._keep, tuple(self._answers))
        except ChargewrightError as error:
            self.say_fault(str(error))
            return
        self.chargewright.follow(self._onward(), leaving=True)
