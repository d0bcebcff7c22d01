"""Limits and targets in words: their value on this unit, and where it comes from. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Final

from guide.job.state import JobState
from guide.procedure.channels import CHANNELS
from guide.procedure.model import OrderFigure, Reading, Wait
from guide.screens import say
from guide.screens.paint import clean

_FROM: Final = MappingProxyType(
    {
        OrderFigure.LOW_SIDE_DESIGN_PRESSURE: "low-side design pressure of the nameplate, in the order",
        OrderFigure.HIGH_SIDE_DESIGN_PRESSURE: "high-side design pressure of the nameplate, in the order",
        OrderFigure.RECOVERY_LEVEL: "40 CFR 82.156(a), Table 1, for this refrigerant, charge and machine",
        OrderFigure.WEIGH_IN_CHARGE: "nameplate charge and what the line set adds, in the order",
    }
)


def limit_words(state: JobState, proof: Reading | Wait) -> Iterator[str]:
    """Each limit of a step, one paragraph a limit."""
    for limit in proof.limits:
        typed = limit.value if isinstance(limit.value, OrderFigure) else None
        value = figure_words(state, typed) if typed else clean(getattr(limit.value, "typed", ""))
        bound = f"{label(limit.channel)} {limit.bound.value} {value}"
        yield f"Limit: {bound}. Source: {_source(state, limit.source)}"
    for change in proof.changes if isinstance(proof, Wait) else ():
        more = ", the change of gas temperature taken out" if change.gas_temperature else ""
        most = say.typed_difference(change.at_most)
        bound = f"{label(change.channel)} may {change.drift.value} by at most {most}"
        yield f"Limit: {bound} over the hold{more}. Source: {_source(state, change.source)}"


def figure_words(state: JobState, figure: OrderFigure) -> str:
    """A figure of the order: its value, and where it comes from."""
    value = state.order.figure(figure)
    return f"{clean(value.typed) if value is not None else 'not given'} ({_FROM[figure]})"


def label(channel: str) -> str:
    """What a channel is called on the pages."""
    return CHANNELS[channel].label if channel in CHANNELS else channel.replace("_", " ")


def _source(state: JobState, key: str) -> str:
    return clean(dict(state.procedure.sources).get(key, key))
