"""Live values beside the fields: what a stream says of each channel asked for, offered, never taken alone.

Enter on an empty field accepts the value shown; the log then says it was read by an instrument and
accepted by a person. A typed value that stands too far from the live one is asked about once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal

from guide.instruments.board import Live, disagreement
from guide.job import payloads as p
from guide.job.elapsed import in_words
from guide.job.order import Order
from guide.job.weighing import SCALE_NOISE_DIVISIONS
from guide.procedure.channels import CHANNELS
from guide.screens.ask import Ask, Sort
from guide.screens.filling import Filling

Says = Callable[[str, str], Live | None]
"""What a channel says now, as text in a unit."""

_WEIGHTS = frozenset({"before", "after", "weight"})

_MINUTES_FROM_S = 600.0
"""From here on the time for which a value has been steady is said in minutes, so that both fit."""


def channel_of(ask: Ask) -> str | None:
    """The measuring channel that a field stands for, if it does."""
    if ask.sort is not Sort.QUANTITY:
        return None
    if ask.key in _WEIGHTS:
        return "cylinder_weight"
    return ask.key if ask.key in CHANNELS else None


def heard(asks: tuple[Ask, ...], says: Says) -> dict[str, Live]:
    """What the stream says of the fields asked, by field."""
    found = {}
    for ask in asks:
        channel = channel_of(ask)
        live = says(channel, ask.unit) if channel else None
        if live is not None:
            found[ask.key] = live
    return found


def with_live(asks: tuple[Ask, ...], lives: Mapping[str, Live]) -> tuple[Ask, ...]:
    """The fields with the live value, its state and how long it has been steady beside them."""
    return tuple(
        replace(ask, note=_note(ask, lives[ask.key]), aside=_aside(lives[ask.key]))
        if ask.key in lives
        else ask
        for ask in asks
    )


def _note(ask: Ask, live: Live) -> str:
    """The value without the unit that the field states anyway; one that is not to be used is marked so."""
    number = live.value.typed.removesuffix(ask.unit).rstrip("° ") if live.value is not None else ""
    if live.state == "live" and number:
        steady_s = live.settled_s
        steady = f"{steady_s:.0f} s" if steady_s < _MINUTES_FROM_S else f"{steady_s / 60:.0f} min"
        return f"live {number}, {steady}"
    if live.state == "stale":
        return f"OLD {number}, {in_words(live.age_s)}".replace(" ,", ",")
    return live.state.upper()


def _aside(live: Live) -> str:
    """Who says it, how old it is, how steady; or why it is not to be used."""
    by = live.instrument or live.source
    if live.state == "live":
        return f"from {by}, {in_words(live.age_s)} old, steady for {in_words(live.settled_s)}: Enter takes it"
    return f"from {by}: {live.words or live.state}"


def acceptable(filling: Filling, lives: Mapping[str, Live]) -> p.ReadingValue | None:
    """The live value that Enter would accept: the active field is empty and its channel is live."""
    ask = filling.active
    live = lives.get(ask.key) if ask else None
    if ask is None or live is None or live.state != "live" or filling.cell(ask.key).typed.text.strip():
        return None
    return live.value


def question(filling: Filling, lives: Mapping[str, Live], typed: p.ReadingValue, order: Order) -> str | None:
    """Words that ask which is right, where a typed value and the live one can't both be."""
    live = lives.get(filling.active.key) if filling.active else None
    limit = _off(order, typed)
    if live is None or limit is None:
        return None
    words = disagreement(typed, live, limit)
    return f"{words} Enter again keeps what you typed." if words else None


def _off(order: Order, typed: p.ReadingValue) -> Decimal | None:
    """How far one reading of a channel may be off [SI difference]; a scale by its own noise."""
    if typed.channel == "cylinder_weight":
        return SCALE_NOISE_DIVISIONS * order.scale_division.si
    instrument = order.instrument_for(typed.channel)
    return instrument.off(typed.si) if instrument else None


def chosen(typed: p.ReadingValue, accepted: p.ReadingValue | None) -> p.ReadingValue:
    """What a field stands for: the accepted live value while the field shows it, else what was typed."""
    if accepted is None or accepted.si != typed.si:
        return typed
    return accepted.model_copy(update={"unusual": typed.unusual})
