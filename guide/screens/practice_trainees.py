"""Who learns here: pick a name and type a passphrase, or begin as somebody new."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import Final

from guide.errors import ChargewrightError
from guide.screens.ask import Ask, Choice, pick, secret, text
from guide.screens.enrolment import MADE_FROM_IT, NAME, NEW_PASSPHRASE, NOT_THE_SAME, SOMEBODY_NEW, short_name
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import quiet
from guide.screens.practice_shown import Trainee

Enter = Callable[[str, str, str], None]
"""Signs a trainee in, or makes one known first: id, name (empty for one who is known), passphrase."""

_ID: Final = text("id", "Short name", note="letters, digits: ana, t07")


def known(trainees: tuple[Trainee, ...]) -> Filling:
    """Pick who learns, type the passphrase."""
    choices = tuple(Choice(each.id, f"{each.name} ({each.id})") for each in trainees)
    new = Choice(SOMEBODY_NEW, "somebody new: begin to learn here")
    asks = (pick("who", "Who learns today?", (*choices, new), picked=0), secret("passphrase", "Passphrase"))
    return Filling.of(asks)


def new() -> Filling:
    """What somebody new says of themselves."""
    asks: tuple[Ask, ...] = (replace(NAME, note="as on your records"), _ID, *NEW_PASSPHRASE)
    return Filling.of(asks)


class WhoLearns(FormPage):
    """Sign in to one's own lessons; `enter` takes a moment, `onward` is where it leads."""

    def __init__(
        self, trainees: tuple[Trainee, ...], enter: Enter, onward: Callable[[], Awaitable[None]]
    ) -> None:
        super().__init__()
        self._trainees = trainees
        self._enter = enter
        self._onward = onward
        self._new = not trainees
        self.filling = new() if self._new else known(trainees)

    def form(self) -> FormView:
        """Fields of one or the other."""
        nature = self.chargewright.nature
        if not self._new:
            words = ("Lessons, runs and scores are kept for each person, under a passphrase of their own.",)
            return FormView("PRACTICE: WHO LEARNS?", self.filling, words, said=self.said, nature=nature)
        return FormView(
            "PRACTICE: SOMEBODY NEW", self.filling, (MADE_FROM_IT,), said=self.said, nature=nature
        )

    async def pressed(self, key: str, character: str | None) -> None:
        """Picking somebody new opens the other form at once; a short name is made from the name."""
        was_at = self.filling.at
        await super().pressed(key, character)
        if not self._new and self.filling.at == 1 and self.filling.text("who") == SOMEBODY_NEW:
            self._new = True
            self.filling = new()
        elif self._new and was_at == 0 and self.filling.at == 1 and not self.filling.text("id"):
            taken = tuple(each.id for each in self._trainees)
            self.filling = self.filling.propose(short_name(self.filling.text("name"), taken))

    async def left(self) -> None:
        """Back to the names, or out."""
        if self._new and self._trainees:
            self._new = False
            self.filling = known(self._trainees)
        else:
            await super().left()

    async def done(self) -> None:
        """Make the keys or unlock them; both take a moment."""
        if self._new and self.filling.text("passphrase") != self.filling.text("again"):
            self.filling = self.filling.with_fault("again", NOT_THE_SAME)
            return
        self.say_busy("making your keys …" if self._new else "unlocking …")
        who = self.filling.text("id" if self._new else "who")
        name = self.filling.text("name") if self._new else ""
        try:
            await asyncio.to_thread(self._enter, who, name, self.filling.text("passphrase"))
        except ChargewrightError as error:
            wrong = "id" if self._new and "passphrase" not in str(error) else "passphrase"
            self.filling = self.filling.with_fault(wrong, str(error))
            self.said = quiet("")
            return
        self.chargewright.follow(self._onward(), leaving=True)
