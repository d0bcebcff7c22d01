"""A stream of readings at a linear prompt: what an instrument offers there, and what an answer makes of it.

A prompt stands still while the stream goes on. So the value that an empty line accepts is the one that was
said, and only for a few seconds; after that the present one is said first.
"""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable
from types import TracebackType
from typing import Final

from guide.instruments.board import Live
from guide.instruments.readings import Readings
from guide.job.order import Order
from guide.job.state import JobState
from guide.procedure.model import Step
from guide.screens.ask import Ask, Sort
from guide.screens.filling import Filling
from guide.screens.following import Following
from guide.screens.streamed import Streamed

AGAIN: Final = "live"
"""Typed in a field, says once more what the stream says."""
STANDS_S: Final = 10.0
"""How long a value that was said may be accepted [s] (PROPOSED): to hear it through and press a key."""
_OLD_S: Final = 2.0
_EVERY_S: Final = 0.5
_COUNT: Final = re.compile(r"[0-9]+")
HOW: Final = (
    "Readings come from a stream. At a field with a live value an empty line accepts it, "
    f"{AGAIN} says it once more, and what you type yourself goes before it."
)


class Listening:
    """Takes in what a followed stream says, also while a prompt waits for a line."""

    def __init__(self, readings: Readings) -> None:
        self._readings = readings
        self._one_at_a_time = threading.Lock()
        self._over = threading.Event()
        self._followed: tuple[Following, JobState, Step | None] | None = None
        self._thread = threading.Thread(target=self._listen, name="listening", daemon=True)

    def __enter__(self) -> Listening:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._over.set()
        self._thread.join(2.0)

    def to(self, order: Order, seconds: Callable[[], float] = time.monotonic) -> Hearing:
        """The stream as one job hears it, from now on; tests give the clock."""
        with self._one_at_a_time:
            self._readings.board(order)
        return Hearing(self, order, seconds)

    def hear(self, streamed: Streamed, order: Order, asks: tuple[Ask, ...]) -> str:
        """Tell a job what the stream says of its fields; words where something is newly wrong with it."""
        with self._one_at_a_time:
            return streamed.hear(self._readings, order, asks)

    def follow(self, following: Following, state: JobState, step: Step | None) -> None:
        """Keep for a job what its step follows over time, from now on and until another step is."""
        with self._one_at_a_time:
            self._followed = (following, state, step)
            following.hear(self._readings, state, step)

    def meant(self, following: Following, shown: JobState, step: Step | None) -> tuple[str, ...]:
        """What was followed means so far, the headline first."""
        with self._one_at_a_time:
            return following.said(shown, step)

    def take_in(self) -> None:
        """Take in what the stream said since the last time."""
        with self._one_at_a_time:
            self._readings.poll()
            if self._followed is not None:
                following, state, step = self._followed
                following.hear(self._readings, state, step)

    def _listen(self) -> None:
        while not self._over.wait(_EVERY_S):
            self.take_in()


class Hearing:
    """One job's fields and what the stream says of them."""

    def __init__(self, listening: Listening, order: Order, seconds: Callable[[], float]) -> None:
        self._listening = listening
        self._order = order
        self._seconds = seconds
        self._streamed = Streamed()
        self._said_at = 0.0
        self._explained = False
        self._news = ""
        self._following = Following()

    def meant(self, state: JobState, shown: JobState, step: Step | None) -> tuple[str, ...]:
        """What a hold or a pull-down at this step means so far by the stream, the headline first."""
        self._listening.follow(self._following, state, step)
        return self._listening.meant(self._following, shown, step)

    def offer(self, filling: Filling) -> tuple[str, tuple[str, ...]]:
        """What the stream says of the active field, for its prompt, and lines to say before it."""
        ask = filling.active
        assert ask is not None
        news = self._listening.hear(self._streamed, self._order, filling.asks)
        kind = _COUNT.sub("", news)  # a count that grows is no news to somebody who has to hear it through
        rows = (f"Stream: {news}.",) if news and kind != self._news else ()
        self._news = kind or self._news
        live = self._streamed.of(ask.key)
        if ask.sort is not Sort.QUANTITY:
            return "", rows
        if not self._explained:  # at once: a stream that has only just begun may have said nothing yet
            self._explained = True
            rows = (*rows, HOW)
        if live is None:
            return "", rows
        self._said_at = self._seconds()
        if filling.cell(ask.key).typed.text.strip():
            return "", rows
        return _words(ask, live), rows

    def take(self, filling: Filling, written: str) -> tuple[Filling, str]:
        """The fields once a line was given to the active one, and words where it has to be asked again."""
        if not written and self._seconds() - self._said_at > STANDS_S and self._fills(filling):
            return filling, "That value was said a while ago. Now:"
        if written:
            # what was typed is held against the present, not against what was said before it was read
            self._listening.hear(self._streamed, self._order, filling.asks)
        taken, asked = self._streamed.enter(filling, self._order)
        assert filling.active is not None
        return taken, taken.cell(filling.active.key).fault if asked else ""

    def _fills(self, filling: Filling) -> bool:
        assert filling.active is not None
        live = self._streamed.of(filling.active.key)
        empty = not filling.cell(filling.active.key).typed.text.strip()
        return empty and live is not None and live.state == "live"


def _words(ask: Ask, live: Live) -> str:
    """The value, its age where it is not of this moment, its rest; or why there is none to accept."""
    if live.state != "live" or live.value is None:
        return f"{live.state}: {live.words}" if live.words else str(live.state)
    number = live.value.typed.removesuffix(ask.unit).strip()
    age = f", {live.age_s:.0f} s old" if live.age_s >= _OLD_S else ""
    return f"live {number}{age}, steady {live.settled_s:.0f} s, empty line accepts it"
