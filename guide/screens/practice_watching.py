"""The sheet while a lesson is watched: act by act the careful technician works it, each with its reason."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from guide.screens import sheet as painted
from guide.screens.job_page import JobPage
from guide.screens.paint import Lines, quiet
from guide.screens.practice_words import strip
from guide.screens.settings import Detail

if TYPE_CHECKING:
    from guide.screens.practice_watched import Watched


class WatchedPage(JobPage):
    """A lesson worked by the careful technician; nothing typed here goes into it."""

    in_hand = False

    def __init__(self, watched: Watched) -> None:
        self._begun = False
        self._watched = watched
        super().__init__(watched.bench, watched.technician, watched.work, rehearsal=watched)
        self._said = quiet("Enter: the careful technician does the next thing, and the sheet says why.")

    @property
    def _over(self) -> bool:
        return self._watched.over

    def view(self) -> painted.View:
        """The sheet with every reason, and the strip that says what this is."""
        words = strip(1, "worked", narrow=self.size.width < 60)
        return replace(super().view(), elsewhere=words, detail=Detail.TEACHING)

    def lines(self, width: int, height: int) -> Lines:
        """The sheet, with the keys of somebody who watches."""
        if self._playing:
            pairs = [("any key", "hold on")]
        elif self._over:
            pairs = [("Enter", "back to the lessons")]
        else:
            pairs = [("Enter", "next act"), ("a", "all by itself"), ("Esc", "enough")]
        return (*super().lines(width, height)[:-1], painted.fitting_keys(pairs, width))

    def _play_on(self, *, once: bool = False) -> None:
        """Only when asked to: the first act waits for a key."""
        if self._begun:
            super()._play_on(once=once)
        self._begun = True

    async def pressed(self, key: str, character: str | None) -> None:
        """One act, all of them, or enough."""
        if self._playing:
            self._playing = False
            self._said = quiet("Holding on.")
        elif key == "escape" or (key == "enter" and self._over):
            self._leave()
        elif key == "enter":
            self._play_on(once=True)
        elif character == "a":
            self._play_on()

    def _leave(self) -> None:
        """To the lessons."""
        self.chargewright.follow(self.chargewright.practice.watched(), leaving=True)
