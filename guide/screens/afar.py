"""Open jobs that nobody took up in this run of the program, looked at only: what they wait for."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError

if TYPE_CHECKING:
    from guide.bench.bench import Bench, JobLine
    from guide.job.state import JobState


class Afar:
    """Their states, folded anew only when something was logged."""

    def __init__(self) -> None:
        self.states: dict[str, JobState] = {}
        self._events: dict[str, int] = {}

    def look(self, bench: Bench, jobs: Sequence[JobLine]) -> None:
        """Read what is open now; a job that can't be read is left out, and says why when it is taken up."""
        there: dict[str, JobState] = {}
        for job in jobs:
            if job.status == "closed":
                continue
            if self._events.get(job.job) != job.events or job.job not in self.states:
                try:
                    there[job.job] = bench.state_of(job.job)
                except ChargewrightError:
                    continue
            else:
                there[job.job] = self.states[job.job]
            self._events[job.job] = job.events
        self.states = there
