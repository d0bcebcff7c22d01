"""A job's page as it meets the log: a command is made, logged, and only then said to be so."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.screens import answer, say
from guide.screens import sheet as painted
from guide.screens.explain import consequence
from guide.screens.playing import PlayedPage
from guide.units import UnitError

if TYPE_CHECKING:
    from guide.bench.bench import Bench, Issued
    from guide.bench.people import Technician
    from guide.job.work import Work
    from guide.journal.event import Event
    from guide.rig.rehearsal import Rehearsal


class WorkedPage(PlayedPage):
    """One job in one person's hands. What was typed stays where it went wrong."""

    def __init__(self, bench: Bench, technician: Technician, work: Work, rehearsal: Rehearsal | None) -> None:
        super().__init__(rehearsal)
        self._bench = bench
        self._technician = technician
        self._work = work
        self._busy = ""

    def _needs_reason(self, words: str) -> None:
        """A command goes against what is offered; ask for the reason."""
        raise NotImplementedError

    def _logged(self) -> None:
        """Something reached the disk."""

    async def _follow(self, make: Callable[[], c.Command]) -> bool:
        """Make a command and log it; whether it is logged."""
        try:
            command = make()
        except answer.NeedsReason as error:
            self._needs_reason(str(error))
            return False
        except UnitError as error:
            self._said = painted.said_refused(str(error))
            return False
        return await self._log(lambda: self._work.do(command))

    async def _log(self, do: Callable[[], tuple[Event, ...]]) -> bool:
        """Let something be logged; whether it reached the disk."""
        from guide.journal.reading import NotLogged

        async with self._lock:
            try:
                events = await asyncio.to_thread(do)
            except NotLogged as error:
                self._said = painted.said_not_logged(str(error))
                return False
            except ChargewrightError as error:
                self._said = painted.said_refused(str(error))
                return False
        self._logged()
        self._said = painted.said_logged(say.clock(events[0].stamp), consequence(self._work.state, events))
        return True

    async def _issue(self, passphrase: str) -> Issued | None:
        """Sign and close, or make the record of a closed job; both take a moment. None where it failed."""
        bench = self._bench
        make = bench.issue_record if self._work.state.closed is not None else bench.sign_off
        self._busy = "signing, writing and checking the record …"
        self.repaint()
        async with self._lock:
            try:
                issued = await asyncio.to_thread(make, self._work, self._technician, passphrase)
            except ChargewrightError as error:
                self._said = painted.said_refused(str(error))
                return None
            finally:
                self._busy = ""
        self._said = painted.said_logged(say.clock(self._work.now().stamp), "signed and written")
        return issued
