"""When what was mastered falls due again: after 1, 4 and 12 weeks, and every 12 weeks from there on.

The first three are T14 of the reference on procedures (section 4), the rest is PROPOSED. A refresh that fails
brings the lesson back at once; after one that was long overdue the dates begin anew.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

REFRESH_WEEKS: Final = (1, 4, 12)
THEN_EVERY_WEEKS: Final = 12
LONG_GAP_WEEKS: Final = 12
"""So long beyond its date a refresh is long overdue (PROPOSED)."""


def after(base: date, count: int) -> date:
    """The date of a refresh, counted from 0, where the dates began at `base`."""
    if count < len(REFRESH_WEEKS):
        return base + timedelta(weeks=REFRESH_WEEKS[count])
    more = count - len(REFRESH_WEEKS) + 1
    return base + timedelta(weeks=REFRESH_WEEKS[-1] + more * THEN_EVERY_WEEKS)


class Dates:
    """The dates of refreshing since a lesson was mastered."""

    def __init__(self, mastered_on: date) -> None:
        self.mastered_on = mastered_on
        self.due = after(mastered_on, 0)
        self._base: date | None = mastered_on

    def take(self, day: date, *, good: bool) -> None:
        """One more run without help."""
        if not good:
            self._base, self.due = None, day
            return
        if self._base is None or day > self.due + timedelta(weeks=LONG_GAP_WEEKS):
            self._base, self.due = day, after(day, 0)
        elif day >= self.due:
            count = 0
            while after(self._base, count) <= day:
                count += 1
            self.due = after(self._base, count)
