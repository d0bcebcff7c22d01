"""Leafing through a job's pictures: which is shown; drawn anew only when a value was logged or heard."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from guide.errors import ChargewrightError
from guide.job.state import JobState, current_step
from guide.journal.event import Event
from guide.screens.chart import Picture
from guide.screens.following import Following
from guide.screens.pictures import pictures
from guide.screens.settings import System


class Gallery:
    """The pictures of one job; `events` reads the job's events from its journal."""

    def __init__(self, events: Callable[[], Iterable[Event]], following: Following | None = None) -> None:
        self._events = events
        self._following = following or Following()
        self._shown: int | None = None
        self._of: tuple[int, System, int] | None = None
        self._drawn: tuple[Picture, ...] = ()

    @property
    def open(self) -> bool:
        """Whether a picture stands over the sheet."""
        return self._shown is not None

    def begin(self) -> None:
        """Show the first."""
        self._shown = 0

    def key(self, key: str) -> None:
        """Arrows turn to the next one, Enter and Esc go back to the work."""
        if self._shown is None:
            return
        if key in {"enter", "escape"}:
            self._shown = None
        elif key in {"down", "right", "pagedown"}:
            self._shown += 1
        elif key in {"up", "left", "pageup"}:
            self._shown -= 1

    def any(self, state: JobState, system: System) -> bool:
        """Whether there is a picture to show."""
        return bool(self._all(state, system))

    def _all(self, state: JobState, system: System) -> tuple[Picture, ...]:
        """The charging path, then each channel read more than once; none where the log can't be drawn."""
        of = (state.last_seq, system, self._following.count)
        if self._of != of:
            try:
                self._drawn = self._anew(state, system)
            except ChargewrightError:
                self._drawn = ()
            self._of = of
        return self._drawn

    def _anew(self, state: JobState, system: System) -> tuple[Picture, ...]:
        step = current_step(state)
        said = self._following.said(state, step)
        return pictures(state, tuple(self._events()), system, self._following.heard(), said)

    def now(self, state: JobState, system: System) -> Picture | None:
        """The picture that stands over the sheet, if one does."""
        if self._shown is None:
            return None
        there = self._all(state, system)
        return there[self._shown % len(there)] if there else None
