"""Journal and keys copied to a stick, and brought back from one into a new folder."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Final

from guide.errors import ChargewrightError
from guide.screens.ask import Ask, Choice, pick, text
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import Lines, line, quiet, strong

BACK_UP, BRING_BACK = "back up", "bring back"
_WHAT: Final = (
    Choice(BACK_UP, "copy journal, keys, photos and records to a stick", letter="c"),
    Choice(BRING_BACK, "bring such a copy back, into a new folder", letter="b"),
)


def _path(typed: str) -> Path:
    return Path(typed.strip("'\"")).expanduser().absolute()


class Keeping(FormPage):
    """First what, then where; afterwards what to write down."""

    def __init__(self) -> None:
        super().__init__()
        self._what = ""
        self._told: tuple[str, ...] = ()
        self.filling = self._begin()

    @staticmethod
    def _begin() -> Filling:
        return Filling.of((pick("what", "", _WHAT, picked=0),))

    def form(self) -> FormView:
        """The question, the folders, or what was done."""
        nature = self.chargewright.nature
        if self._told:
            return FormView(
                "DONE", Filling(), self._told, said=self.said, nature=nature, keys=(("Enter", "back"),)
            )
        title = {BACK_UP: "A COPY ON A STICK", BRING_BACK: "BRING A COPY BACK"}.get(self._what, "BACKUP")
        return FormView(
            title, self.filling, self._words(), below=self._below(), said=self.said, nature=nature
        )

    def _words(self) -> tuple[str, ...]:
        if self._what == BACK_UP:
            return ("Keys rest in it as they do here, locked by their passphrases. Keep the stick safe.",)
        if self._what == BRING_BACK:
            return ("All of it is checked first. Nothing here is overwritten: name a folder that is new.",)
        return ()

    def _below(self) -> Lines:
        if self._what != BACK_UP:
            return ()
        who = self.chargewright.technician
        if who is None:
            return (line(quiet(" nobody signed in: the head of the log is not signed anew before")),)
        return (line(quiet(" the head of the log is signed first, by "), strong(who.known.name)),)

    async def left(self) -> None:
        """Back to the question, or out."""
        if self._what and not self._told:
            self._what = ""
            self.filling = self._begin()
        else:
            await super().left()

    async def pressed(self, key: str, character: str | None) -> None:
        """Enter leaves what was told."""
        if self._told and key == "enter":
            self.app.pop_screen()
        else:
            await super().pressed(key, character)

    async def done(self) -> None:
        """Ask for the folders, or do it."""
        if not self._what:
            self._what = self.filling.text("what")
            self.filling = Filling.of(_folders(self._what))
            return
        self.say_busy("copying …" if self._what == BACK_UP else "checking and copying …")
        try:
            self._told = await asyncio.to_thread(self._do)
        except ChargewrightError as error:
            self.say_fault(str(error))
            return
        self.said = quiet("")

    def _do(self) -> tuple[str, ...]:
        from guide.bench.backup import restore, restored_words

        if self._what == BACK_UP:
            bench = self.chargewright.bench
            assert bench is not None
            return bench.backup(_path(self.filling.text("to")), self.chargewright.technician).words()
        to = _path(self.filling.text("to"))
        brought = restore(_path(self.filling.text("from")), to)
        return (*restored_words(brought.manifest), f"Work in it with: chargewright --data {to}")


def _folders(what: str) -> tuple[Ask, ...]:
    if what == BACK_UP:
        return (text("to", "New folder", note="on the stick"),)
    return (
        text("from", "The copy", note="the folder it lies in"),
        text("to", "New folder", note="to be made"),
    )
