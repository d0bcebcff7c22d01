"""Who is at the keyboard: make oneself known once, afterwards a name and a passphrase."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.screens.ask import pick, secret
from guide.screens.enrolment import (
    MADE_FROM_IT,
    NAME,
    NEW_PASSPHRASE,
    NOT_THE_SAME,
    PARTICULARS,
    SOMEBODY_NEW,
    names,
    person_in,
    short_name,
)
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import quiet

if TYPE_CHECKING:
    from guide.bench.people import KnownPerson, Technician

After = Callable[["Technician"], Awaitable[None]]


def known_filling(people: tuple[KnownPerson, ...], last: str = "") -> Filling:
    """Pick a name, type the passphrase; it begins in the passphrase of whoever was here last."""
    ids = [person.id for person in people]
    picked = ids.index(last) if last in ids else 0
    asks = (pick("who", "Who are you?", names(people), picked=picked), secret("passphrase", "Passphrase"))
    return replace(Filling.of(asks), at=1)


def _certified(person: KnownPerson) -> str:
    return " ".join(word for word in (person.certification_type, person.certification_number) if word)


def new_filling() -> Filling:
    """Everything a new person says of themselves."""
    return Filling.of((NAME, *PARTICULARS, *NEW_PASSPHRASE))


class People(FormPage):
    """Sign in, or make oneself known; `after` is called with the technician."""

    def __init__(self, people: tuple[KnownPerson, ...], after: After, last: str = "") -> None:
        super().__init__()
        self._people = people
        self._last = last
        self._after = after
        self._new = not people
        self.filling = new_filling() if self._new else known_filling(people, last)

    def form(self) -> FormView:
        """Fields of one or the other."""
        nature = self.chargewright.nature
        if not self._new:
            return FormView("WHO IS AT THE KEYBOARD?", self.filling, said=self.said, nature=nature)
        return FormView("MAKE YOURSELF KNOWN", self.filling, (MADE_FROM_IT,), said=self.said, nature=nature)

    async def pressed(self, key: str, character: str | None) -> None:
        """Picking somebody new opens the other form at once."""
        was_at = self.filling.at
        await super().pressed(key, character)
        if not self._new and self.filling.at == 1 and self.filling.text("who") == SOMEBODY_NEW:
            self._new = True
            self.filling = new_filling()
        elif self._new and was_at == 0 and self.filling.at == 1 and not self.filling.text("id"):
            taken = tuple(person.id for person in self._people)
            self.filling = self.filling.propose(short_name(self.filling.text("name"), taken))

    async def left(self) -> None:
        """Back to the names, or out."""
        if self._new and self._people:
            self._new = False
            self.filling = known_filling(self._people, self._last)
        else:
            await super().left()

    async def done(self) -> None:
        """Make the keys or unlock them; both take a moment."""
        bench = self.chargewright.bench
        if self._new and self.filling.text("passphrase") != self.filling.text("again"):
            self.filling = self.filling.with_fault("again", NOT_THE_SAME)
            return
        self.say_busy("making your keys …" if self._new else "unlocking …")
        try:
            technician = await asyncio.to_thread(self._enter)
        except ChargewrightError as error:
            self.filling = _faulted(self.filling, str(error), new=self._new)
            self.said = quiet("")
            return
        assert bench is not None
        self.chargewright.technician = technician
        # this page ends here and its worker with it, so the app takes over
        self.chargewright.follow(self._after(technician), leaving=True)

    def _enter(self) -> Technician:
        bench = self.chargewright.bench
        assert bench is not None
        passphrase = self.filling.text("passphrase")
        if not self._new:
            return bench.sign_in(self.filling.text("who"), passphrase)
        known = person_in(self.filling, self.filling.text("name"))
        bench.enrol(known, passphrase)
        return bench.sign_in(known.id, passphrase)


def _faulted(filling: Filling, words: str, *, new: bool) -> Filling:
    """A fault under the field it is about."""
    if not new or "passphrase" in words:
        return filling.with_fault("passphrase", words)
    return filling.with_fault("name" if "name can't" in words else "id", words)
