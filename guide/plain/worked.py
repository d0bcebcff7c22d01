"""One job at a plain prompt as it meets the log: a command is made, logged, and only then said to be so."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job.focus import Front
from guide.plain.filling import WantsMore
from guide.plain.voice import Gone, Voice
from guide.screens import say
from guide.screens.explain import consequence
from guide.screens.settings import Settings, keep_settings, read_settings
from guide.screens.unit_system import in_system

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.bench.people import Technician
    from guide.job.state import JobState
    from guide.job.work import Work
    from guide.journal.event import Event


class Worked:
    """One job in one person's hands, and who is told of it."""

    def __init__(self, voice: Voice, bench: Bench, technician: Technician, work: Work) -> None:
        self._voice = voice
        self._bench = bench
        self._technician = technician
        self._work = work
        self._settings = read_settings(bench.folder)
        self._again = False
        self._told: tuple[object, ...] = ()

    @property
    def _shown(self) -> JobState:
        """The job in the units that are wanted; commands are made of the state as it is."""
        return in_system(self._work.state, self._settings.system)

    def pause(self, why: str) -> None:
        """Let the job rest at its place, where it is not at rest already."""
        if self._work.focus().front not in {Front.RESUME, Front.OPEN, Front.CLOSED}:
            self._log(lambda: c.Pause(self._work.keep(why)), quietly=True)

    def _use(self, settings: Settings) -> None:
        """Say and ask like this from now on, and the next time."""
        self._settings = settings
        keep_settings(self._bench.folder, settings)
        self._told = ()

    def _line(self, prompt: str, within_s: float | None = None) -> str:
        written = self._voice.line(prompt, within_s).strip()
        if written == "?":
            raise WantsMore("?")
        return written

    def _refuse(self, why: str) -> None:
        self._voice.say(f"REFUSED: {why}")

    def _log(self, make: Callable[[], c.Command], *, quietly: bool = False) -> bool:
        """Make a command and log it; whether it reached the disk."""
        return self._do_logged(lambda: self._work.do(make()), quietly=quietly)

    def _do_logged(self, do: Callable[[], tuple[Event, ...]], *, quietly: bool = False) -> bool:
        """Let something be logged, and only then say so; whether it reached the disk."""
        from guide.journal.reading import NotLogged

        try:
            events = do()
        except NotLogged as error:
            said = f"NOT LOGGED: {error}"
            logged = False
        except ChargewrightError as error:
            said = f"REFUSED: {error}"
            logged = False
        else:
            more = consequence(self._work.state, events)
            said = f"Logged {say.clock(events[0].stamp)}." + (f" {more.rstrip('.')}." if more else "")
            logged = True
            self._again = False
        try:
            self._voice.say(said)
        except Gone:
            if not quietly:
                raise
        return logged
