"""A followed stream as the jobs of one program use it: one feed, a board an order, one clock.

The feed's lines go to every board, so two jobs on one roof may share a stream.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Protocol, runtime_checkable

from guide.escape import for_terminal
from guide.instruments.board import Board, Live, Now
from guide.instruments.feed import Feed
from guide.instruments.watched import Watched
from guide.job.order import Order
from guide.journal.event import Stamp
from guide.journal.port import Clock, SystemClock


@runtime_checkable
class Paced(Protocol):
    """A simulated clock that runs by itself, so many times as fast as real time."""

    @property
    def factor(self) -> int:
        """How many times."""


def now_of(stamp: Stamp, pace: float | None = None) -> Now:
    """The present as a board needs it: the clock that counts suspend, and UTC."""
    return Now(stamp.mono_ns / 1e9, datetime.fromisoformat(stamp.utc).timestamp(), pace)


class Readings:
    """What a feed hands on, told apart by order. Nothing here waits and nothing raises.

    With a paced clock the times that the stream gives are taken to be that clock's.
    """

    def __init__(self, feed: Feed, clock: Clock | None = None) -> None:
        self._feed = feed
        self._clock = clock or SystemClock()
        self._boards: dict[str, Board] = {}

    def poll(self) -> None:
        """Take what arrived; call it about as often as a page is painted, at least once a second."""
        batch = self._feed.taken()
        now = self._now()
        for board in self._boards.values():
            board.take(batch, now)
            if self._feed.lost:
                board.lose(self._feed.lost)

    def board(self, order: Order) -> Board:
        """The board of an order; it fills from the first call on."""
        return self._boards.setdefault(order.sha256, Board(order))

    def live(self, order: Order, channel: str, unit: str) -> Live | None:
        """What a channel of an order says now, as text in `unit`; None where the stream never spoke of it."""
        return self.board(order).live(channel, unit, self._now())

    def watch(self, order: Order, watched: Watched, channels: Iterable[str]) -> None:
        """Let somebody who follows channels of an order over time have what came since the last call."""
        watched.hear(self.board(order).history, channels, self._clock.now())

    def said(self, order: Order) -> str:
        """What is not as it should be with the stream, in a line; empty while all is well."""
        words = [f"{self._feed.lost}; type what is asked"] if self._feed.lost else []
        if unknown := self.board(order).unknown():
            named = ", ".join(sorted({f"{sample.source} {sample.channel}" for sample in unknown})[:3])
            words.append(f"not on the order, not used: {named}")
        if self._feed.bad:
            words.append(f"{self._feed.bad} lines refused, the last: {self._feed.last_fault}")
        # where time runs faster than in life, more is sent in a second than anybody follows: no fault
        if self._feed.dropped and not isinstance(self._clock, Paced):
            words.append(f"{self._feed.dropped} lines left out")
        if self._feed.unkept:
            words.append("the lines can't be kept beside the journal")
        return for_terminal("; ".join(words))

    def close(self) -> None:
        """End the feed."""
        self._feed.close()

    def _now(self) -> Now:
        pace = self._clock.factor if isinstance(self._clock, Paced) else None
        return now_of(self._clock.now(), pace)
