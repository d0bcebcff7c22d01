"""The paragraphs above the fields: a recap, the review before a signature, where a record lies; scrolled."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from guide.errors import ChargewrightError
from guide.job.exceptions import departures
from guide.job.focus import Front
from guide.job.state import JobState
from guide.journal.event import Event, Stamp
from guide.screens.paint import listed
from guide.screens.place import Lead
from guide.screens.review import recap, record_words, review

_REVIEWED = frozenset({Front.CUSTOMER, Front.SIGN, Front.AMEND})

_PAGE = 5


class Leading:
    """What stands above the fields now; the review is made anew only when something was logged.

    `events` reads the job's events, `text` resolves a reference, `records` is the folder of records,
    `notice` stands under the first line of a recap.
    """

    def __init__(
        self, events: Callable[[], Iterable[Event]], text: Callable[[str | None], str], records: Path,
        *, notice: str = "",
    ) -> None:  # fmt: skip
        self._events = events
        self._text = text
        self._records = records
        self._notice = notice
        self._of: tuple[int, Front] | None = None
        self.lead = Lead()

    def renew(self, state: JobState, front: Front, now: Stamp) -> None:
        """Say what belongs above the fields at this front."""
        words = self.lead.words
        fresh = self._of != (state.last_seq, front)
        if front is Front.RESUME:
            words = recap(state, now)
            words = (*words[:1], self._notice, *words[1:]) if self._notice else words
        elif front is Front.CLOSED:
            words = record_words(state, self._records)
        elif front not in _REVIEWED:
            words = ()
        elif fresh:
            words = self._review(state)
        self.lead = Lead(words, 0 if fresh else self.lead.top)
        self._of = (state.last_seq, front)

    def _review(self, state: JobState) -> tuple[str, ...]:
        try:
            return review(state, departures(state.order, tuple(self._events())), self._text)
        except ChargewrightError as error:
            return (f"The review can't be made: {error}",)

    def scroll(self, width: int, *, ahead: bool) -> bool:
        """Read on or back; whether there is anything to read."""
        if not self.lead.words:
            return False
        whole = sum(len(listed(words, width)) for words in self.lead.words)
        top = self.lead.top + (_PAGE if ahead else -_PAGE)
        self.lead = Lead(self.lead.words, max(0, min(whole - 1, top)))
        return True
