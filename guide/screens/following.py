"""A stream followed over the time of a hold or a pull-down: what it brought, and what that means so far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from guide.instruments.readings import Readings
from guide.instruments.watched import Watched
from guide.job.hold_meaning import watched
from guide.job.series import LiveSample
from guide.job.state import JobState
from guide.procedure.model import Step
from guide.screens.hold_meant import meant


class Following:
    """The values of one job's page, and the words for them; worked out anew only when a value came."""

    def __init__(self) -> None:
        self._watched = Watched()
        self._of: tuple[object, ...] = ()
        self._said: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """How many values there are; it changes whenever one comes."""
        return self._watched.count

    def hear(self, readings: Readings, state: JobState, step: Step | None) -> None:
        """Keep what came since the last time."""
        readings.watch(state.order, self._watched, watched(step))

    def heard(self) -> Mapping[str, Sequence[LiveSample]]:
        """Every value so far, by channel."""
        return self._watched.all()

    def said(self, shown: JobState, step: Step | None) -> tuple[str, ...]:
        """What the values mean at a step of the job as it is shown; the headline first."""
        of = (self.count, shown.last_seq, step.id if step else "", shown.order, shown.waiting)
        if of != self._of:
            self._of, self._said = of, meant(shown, step, self.heard())
        return self._said
