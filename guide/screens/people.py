"""Who is at the keyboard: make oneself known once, afterwards a name and a passphrase."""

from __future__ import annotations

import asyncio
import re
import unicodedata
from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.screens.ask import Choice, pick, secret, text
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import quiet

if TYPE_CHECKING:
    from guide.bench.people import KnownPerson, Technician

After = Callable[["Technician"], Awaitable[None]]

SOMEBODY_NEW = "\n"

_CERTIFICATION = (
    "EPA 608 Universal",
    "EPA 608 Type II",
    "EU certificate, category I",
    "none needed here",
)


def known_filling(people: tuple[KnownPerson, ...], last: str = "") -> Filling:
    """Pick a name, type the passphrase; it begins in the passphrase of whoever was here last."""
    ids = [person.id for person in people]
    picked = ids.index(last) if last in ids else 0
    choices = (
        *(Choice(person.id, f"{person.name} ({person.id})") for person in people),
        Choice(SOMEBODY_NEW, "somebody new: make yourself known"),
    )
    asks = (pick("who", "Who are you?", choices, picked=picked), secret("passphrase", "Passphrase"))
    return replace(Filling.of(asks), at=1)


_SHORT_NAME = re.compile(r"[^a-z0-9]")


def short_name(name: str, taken: tuple[str, ...] = ()) -> str:
    """A short name made from a name: its first word, with more of it where that is taken."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    words = [kept for word in plain.split() if (kept := _SHORT_NAME.sub("", word))]
    if not words:
        return ""
    tries = [words[0][:12], (words[0] + "".join(word[0] for word in words[1:]))[:12]]
    tries += [f"{words[0][:12]}{number}" for number in range(2, 100)]
    return next((short for short in tries if short not in taken), "")


def new_filling() -> Filling:
    """Everything a new person says of themselves."""
    return Filling.of(
        (
            text("name", "Your name", note="as it stands on records"),
            text("id", "Short name", note="letters, digits: ana, t07"),
            text("certification_type", "Certification", suggestions=_CERTIFICATION),
            text("certification_number", "Its number", needed=False, note="may stay empty"),
            secret("passphrase", "Passphrase", note="10 characters or more"),
            secret("again", "The same again"),
        )
    )


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
        words = (
            "Your keys are made from this, on this machine only. They sign what you log and the records "
            "you hand over. Nobody can reset the passphrase: keep it where only you find it.",
        )
        return FormView("MAKE YOURSELF KNOWN", self.filling, words, said=self.said, nature=nature)

    async def pressed(self, key: str, character: str | None) -> None:
        """Picking somebody new opens the other form at once."""
        was_at = self.filling.at
        await super().pressed(key, character)
        if not self._new and self.filling.at == 1 and self.filling.text("who") == SOMEBODY_NEW:
            self._new = True
            self.filling = new_filling()
        elif self._new and was_at == 0 and self.filling.at == 1 and not self.filling.text("id"):
            taken = tuple(person.id for person in self._people)
            self.filling = self.filling.paste(short_name(self.filling.text("name"), taken))

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
            self.filling = self.filling.with_fault("again", "the two are not the same")
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
        from guide.bench.people import KnownPerson

        bench = self.chargewright.bench
        assert bench is not None
        passphrase = self.filling.text("passphrase")
        if not self._new:
            return bench.sign_in(self.filling.text("who"), passphrase)
        known = KnownPerson(
            self.filling.text("id"),
            self.filling.text("name"),
            self.filling.text("certification_type"),
            self.filling.text("certification_number"),
        )
        bench.enrol(known, passphrase)
        return bench.sign_in(known.id, passphrase)


def _faulted(filling: Filling, words: str, *, new: bool) -> Filling:
    """A fault under the field it is about."""
    if not new or "passphrase" in words:
        return filling.with_fault("passphrase", words)
    return filling.with_fault("name" if "name can't" in words else "id", words)
