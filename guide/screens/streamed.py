"""The stream at one job's page: what it says of the fields now, and what an Enter does with that."""

from __future__ import annotations

from guide.instruments.board import Live
from guide.instruments.readings import Readings
from guide.job.order import Order
from guide.screens import answer, live
from guide.screens.ask import Ask
from guide.screens.filling import Filling
from guide.units import UnitError


class Streamed:
    """What was heard last, what was said of the stream last, and which typed value was asked about."""

    def __init__(self) -> None:
        self._lives: dict[str, Live] = {}
        self._said = ""
        self._asked_about: tuple[str, str] | None = None

    def hear(self, readings: Readings, order: Order, asks: tuple[Ask, ...]) -> str:
        """Listen once more; words where something else is wrong with the stream than before, else nothing."""
        readings.poll()
        said = readings.said(order)
        news = said if said != self._said else ""
        self._said = said
        self._lives = live.heard(asks, lambda channel, unit: readings.live(order, channel, unit))
        return news

    def of(self, key: str) -> Live | None:
        """What was heard last of the channel behind a field."""
        return self._lives.get(key)

    def beside(self, asks: tuple[Ask, ...]) -> tuple[Ask, ...]:
        """The fields with what was heard beside them."""
        return live.with_live(asks, self._lives)

    def enter(self, filling: Filling, order: Order) -> tuple[Filling, bool]:
        """The fields after an Enter, and whether the key is used up by a question.

        An empty field takes the live value. A typed one that can't be right together with the live one is
        asked about; the next Enter on the same value keeps it.
        """
        value = live.acceptable(filling, self._lives)
        if value is not None:
            return filling.with_accepted(value), False
        ask = filling.active
        channel = live.channel_of(ask) if ask and ask.key in self._lives else None
        if ask is None or channel is None:
            return filling, False
        try:
            entered = answer.reading(order, filling, ask.key, channel, lambda why: why)
        except UnitError:
            return filling, False  # the field itself says what is wrong with it
        words = live.question(filling, self._lives, entered, order) if entered.source == "typed" else None
        if words is None or self._asked_about == (ask.key, entered.typed):
            return filling, False
        self._asked_about = (ask.key, entered.typed)
        return filling.with_fault(ask.key, words), True
