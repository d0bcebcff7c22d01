"""What the readings of one step come to, for the step that judges them: superheat, subcooling, split. Pure.

Nothing of this is logged: what is logged are the readings and what the person saw in them.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from guide.charging.meaning import interpret
from guide.charging.round import FIELD_OF_CHANNEL, Metering, Round
from guide.charging.signature import split_excess_K, target_split_K
from guide.job import payloads as p
from guide.job.state import JobState
from guide.procedure.model import Confirm, Reading, Step


@dataclass(frozen=True, slots=True)
class Figure:
    """A temperature difference [K], how far it may be off, and the value or range it is held against."""

    name: str
    value_K: Decimal
    off_K: Decimal | None = None
    against: str = ""
    low_K: Decimal | None = None
    high_K: Decimal | None = None
    """Equal to `low_K` where it is held against one value."""


def measured(state: JobState, step: Step) -> tuple[tuple[Figure, ...], tuple[p.ReadingValue, ...]]:
    """The figures of the readings right before a step that asks what is seen, and those readings.

    Both are empty when the step before is no reading, was not worked, or says none of the three.
    """
    before = _before(state, step)
    if before is None or not isinstance(step.proof, Confirm) or not isinstance(before.proof, Reading):
        return (), ()
    newest = {entry.channel: entry.value for entry in state.entries if entry.step == before.id}
    values = tuple(newest.values())
    fields = {FIELD_OF_CHANNEL[v.channel]: float(v.si) for v in values if v.channel in FIELD_OF_CHANNEL}
    figures = _figures(state, Round(net_charged_kg=0.0, minutes_since_change=0.0, **fields))
    return figures, values if figures else ()


def _before(state: JobState, step: Step) -> Step | None:
    for part in state.path():
        if step in part.steps:
            at = part.steps.index(step)
            return part.steps[at - 1] if at else None
    return None


def _figures(state: JobState, now: Round) -> tuple[Figure, ...]:
    unit = state.order.appliance()
    meaning = interpret(unit, now)
    found = []
    if meaning.superheat_K is not None:
        low = high = meaning.target_superheat_K
        if unit.metering is not Metering.FIXED_ORIFICE:
            low, high = unit.superheat_range_K
        found.append(_figure("superheat", meaning.superheat_K, meaning.superheat_uncertainty_K, low, high))
    if meaning.subcooling_K is not None:
        target = meaning.target_subcooling_K
        found.append(
            _figure("subcooling", meaning.subcooling_K, meaning.subcooling_uncertainty_K, target, target)
        )
    excess = split_excess_K(unit, now)
    if excess is not None and now.indoor_db_K is not None and now.supply_db_K is not None:
        target = target_split_K(now.indoor_db_K, now.indoor_wb_K)
        found.append(_figure("split", now.indoor_db_K - now.supply_db_K, excess[1], target, target))
    return tuple(found)


def _figure(name: str, value: float, off: float | None, low: float | None, high: float | None) -> Figure:
    against = "" if low is None else "target" if low == high else "range"
    return Figure(name, _decimal(value), _maybe(off), against, _maybe(low), _maybe(high))


def _maybe(value: float | None) -> Decimal | None:
    return None if value is None else _decimal(value)


def _decimal(value: float) -> Decimal:
    return Decimal(repr(value)).quantize(Decimal("0.0001"))
