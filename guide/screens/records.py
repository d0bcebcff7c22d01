"""Closed jobs and whether their record was made; records made elsewhere, kept here to be read."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.screens.ask import Choice, pick, text
from guide.screens.filling import Filling
from guide.screens.foreign import foreign_choices, opened, take_in
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import line, quiet
from guide.screens.read_page import ReadPage

if TYPE_CHECKING:
    from guide.bench.bench import Bench, JobLine
    from guide.bench.imported import Imported

TAKE_IN = "take in"


class Records(FormPage):
    """A list; Enter opens the closed job, which shows its record or makes it, or reads a foreign record."""

    def __init__(self, jobs: tuple[JobLine, ...], kept: tuple[Imported, ...] = ()) -> None:
        super().__init__()
        self._own = [job for job in jobs if job.status == "closed"]
        self._kept = kept
        self._taking_in = False
        self.filling = self._list()

    def _list(self) -> Filling:
        own = tuple(Choice(f"job:{job.job}", f"{job.job}  {job.place}", note=_note(job)) for job in self._own)
        take = Choice(TAKE_IN, "take in a record made elsewhere, to be read", letter="t")
        return Filling.of((pick("go", "", (*own, *foreign_choices(self._kept), take), picked=0),))

    def form(self) -> FormView:
        """The list, or where a record is to be taken from."""
        nature = self.chargewright.nature
        if self._taking_in:
            words = ("It is checked first. It never becomes part of this machine's log.",)
            return FormView("TAKE IN A RECORD", self.filling, words, said=self.said, nature=nature)
        words = ("Closed jobs:",) if self._own else ("No job was closed here yet.",)
        below = (line(quiet(f" records: {self.chargewright.folder / 'records'}")),)
        keys = (("Enter", "open"), ("↑↓", "pick"), ("Esc", "back"))
        return FormView("RECORDS", self.filling, words, below=below, said=self.said, nature=nature, keys=keys)

    async def left(self) -> None:
        """Back to the list, or out."""
        if self._taking_in:
            self._taking_in = False
            self.filling = self._list()
        else:
            await super().left()

    async def done(self) -> None:
        """Open a job, read a record, or take one in."""
        bench = self.chargewright.bench
        assert bench is not None
        if self._taking_in:
            await self._take_in(bench)
            return
        where = self.filling.text("go")
        if where == TAKE_IN:
            self._taking_in = True
            self.filling = Filling.of((text("path", "PDF or folder", note="an export's folder, or a PDF"),))
        elif where.startswith("imported:"):
            await self._read(bench, where.removeprefix("imported:"))
        else:
            self.chargewright.follow(self.chargewright.go(where))

    async def _take_in(self, bench: Bench) -> None:
        self.say_busy("checking it …")
        try:
            item = await asyncio.to_thread(take_in, bench, self.filling.text("path"))
        except ChargewrightError as error:
            self.say_fault(str(error))
            return
        self._kept = await asyncio.to_thread(bench.imported)
        self._taking_in = False
        self.filling = self._list()
        self.said = quiet(f"kept to be read: {item.about.job}, {item.about.place}")

    async def _read(self, bench: Bench, name: str) -> None:
        self.say_busy("checking it again …")
        try:
            words = await asyncio.to_thread(opened, bench, name)
        except ChargewrightError as error:
            self.say_fault(str(error))
            return
        self.said = quiet("")
        await self.app.push_screen(ReadPage("A RECORD MADE ELSEWHERE", words))


def _note(job: JobLine) -> str:
    made = "record made" if job.recorded else "RECORD MISSING: Enter makes it"
    return f"{job.last_utc[:10]}, {made}"
