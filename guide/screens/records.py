"""Closed jobs, and whether their record was made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from guide.screens.ask import Choice, pick
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import line, quiet

if TYPE_CHECKING:
    from guide.bench.bench import JobLine


class Records(FormPage):
    """A list; Enter opens the closed job, which shows its record or makes it."""

    def __init__(self, jobs: tuple[JobLine, ...]) -> None:
        super().__init__()
        closed = [job for job in jobs if job.status == "closed"]
        self._none = not closed
        self.filling = Filling()
        if closed:
            choices = tuple(
                Choice(f"job:{job.job}", f"{job.job}  {job.place}", note=_note(job)) for job in closed
            )
            self.filling = Filling.of((pick("go", "", choices, picked=0),))

    def form(self) -> FormView:
        """The list, or that there is none."""
        words = ("No job was closed yet.",) if self._none else ("Closed jobs:",)
        below = (line(quiet(f" records: {self.chargewright.folder / 'records'}")),)
        keys = (("Esc", "back"),) if self._none else (("Enter", "open"), ("↑↓", "pick"), ("Esc", "back"))
        return FormView(
            "RECORDS",
            self.filling,
            words,
            below=below,
            said=self.said,
            nature=self.chargewright.nature,
            keys=keys,
        )

    async def done(self) -> None:
        """Open the job."""
        if self._none:
            self.app.pop_screen()
        else:
            self.chargewright.follow(self.chargewright.go(self.filling.text("go")))


def _note(job: JobLine) -> str:
    made = "record made" if job.recorded else "RECORD MISSING: Enter makes it"
    return f"{job.last_utc[:10]}, {made}"
