"""Readings of a step held against what the step asks: channels there, plausible, within the limits."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from guide.charging.pressure_test import Gas, change_uncertainty_Pa, expected_pressure_Pa
from guide.charging.refusal import FigureError
from guide.charging.round import Verdict
from guide.charging.verdict import Bound, judge_limit
from guide.job import payloads as p
from guide.job.focus import Refused
from guide.job.order import Order
from guide.job.state import JobState, named_rules
from guide.procedure.channels import CHANNELS
from guide.procedure.model import ChangeLimit, ChannelAsk, Drift, Limit, OrderFigure, Wait
from guide.procedure.site import ask_at_site, at_site
from guide.units import Quantity, parse, show

LEAP_PARTS: Final = 5
"""A leap is more than this part of a channel's plausible range (PROPOSED)."""
_STEP_SI = Decimal("0.0001")
"""Changes are kept to this step [Pa, K]."""


def missing(asked: Sequence[ChannelAsk], readings: Sequence[p.ReadingValue]) -> str | None:
    """What is wrong with the set of channels entered, or None."""
    given = [reading.channel for reading in readings]
    for ask in asked:
        if ask.channel not in given:
            return f"{ask.ask} is not entered yet"
    wanted = {ask.channel for ask in asked}
    for channel in given:
        if channel not in wanted:
            return f"{channel} is not asked for at this step"
    return "a channel is entered twice" if len(set(given)) != len(given) else None


def implausible(
    asked: Sequence[ChannelAsk],
    readings: Sequence[p.ReadingValue],
    site_pressure_Pa: Decimal,
    before: Mapping[str, p.ReadingValue] = MappingProxyType({}),
) -> str | None:
    """Which reading lies outside its plausible range without a reason, in words, or None.

    `before` are the values of the round before: a leap from them wants a reason too.
    """
    by_channel = {ask.channel: ask for ask in asked}
    for reading in readings:
        ask = ask_at_site(by_channel[reading.channel], site_pressure_Pa)
        if reading.unusual is None and not ask.low.si <= reading.si <= ask.high.si:
            low = show(ask.low.si, ask.unit, site_pressure_Pa=site_pressure_Pa)
            high = show(ask.high.si, ask.unit, site_pressure_Pa=site_pressure_Pa)
            return (
                f"{ask.ask}: {reading.typed} lies outside {low} to {high}; "
                "check the unit, read again, or keep it with a reason"
            )
        if reading.unusual is None and leapt(reading, before.get(reading.channel), site_pressure_Pa):
            return (
                f"{ask.ask}: {reading.typed} is a leap from {before[reading.channel].typed} in the round "
                "before; read again, or keep it with a reason"
            )
    return None


def beyond_instrument(
    asked: Sequence[ChannelAsk], readings: Sequence[p.ReadingValue], order: Order
) -> str | None:
    """Which reading lies outside its instrument's range without a reason, in words, or None."""
    for reading in readings:
        instrument = order.instrument_for(reading.channel)
        if instrument is None or instrument.range is None or reading.unusual is not None:
            continue
        if not instrument.reaches(reading.si):
            ask = next(each for each in asked if each.channel == reading.channel)
            low, high = instrument.range
            return (
                f"{ask.ask}: {reading.typed} lies outside what {instrument.id} reads, {low.typed} to "
                f"{high.typed}; read it with another instrument, or keep it with a reason"
            )
    return None


def round_before(state: JobState, step_id: str) -> Mapping[str, p.ReadingValue]:
    """The values of the last round at a charging step, as corrected, without those that were odd then."""
    rounds = state.step_rounds(step_id)
    if not rounds or not named_rules(state):
        return {}
    seq = rounds[-1].seq
    return {
        entry.channel: entry.value
        for entry in state.entries
        if entry.seq == seq and entry.value.unusual is None
    }


def leapt(reading: p.ReadingValue, before: p.ReadingValue | None, site_pressure_Pa: Decimal) -> bool:
    """Whether a value is further from the round before than a unit in steady operation goes.

    The bound is a fifth of the channel's plausible range (PROPOSED): 83 psi of suction pressure, 42 °F of
    suction line. One move of a charging loop changes them by far less.
    """
    if before is None or reading.channel not in CHANNELS:
        return False
    return abs(reading.si - before.si) > leap_bound(reading.channel, site_pressure_Pa)


def leap_bound(channel: str, site_pressure_Pa: Decimal) -> Decimal:
    """How far a channel may be from the round before without being asked about [SI]."""
    known = CHANNELS[channel]
    low, high = (
        parse(text, known.kind, site_pressure_Pa=site_pressure_Pa) for text in (known.low, known.high)
    )
    return (high.si - low.si) / LEAP_PARTS


def likely(state: JobState, step_id: str, ask: ChannelAsk) -> tuple[Decimal, Decimal]:
    """Between which values [SI] a reading is taken without a reason.

    They are its range and its instrument's, and near the round before.
    """
    site = state.order.site_pressure_Pa
    here = ask_at_site(ask, site)
    low, high = here.low.si, here.high.si
    instrument = state.order.instrument_for(ask.channel)
    if instrument is not None and instrument.range is not None:
        low, high = max(low, instrument.range[0].si), min(high, instrument.range[1].si)
    before = round_before(state, step_id).get(ask.channel)
    if before is None:
        return low, high
    bound = leap_bound(ask.channel, site)
    return max(low, before.si - bound), min(high, before.si + bound)


def limit_value(limit: Limit, order: Order) -> Quantity | None:
    """What a limit says on this order's appliance and site, or None where the order lacks the figure."""
    if isinstance(limit.value, OrderFigure):
        return order.figure(limit.value)
    return at_site(limit.value, order.site_pressure_Pa)


def verdicts(
    limits: Sequence[Limit], readings: Sequence[p.ReadingValue], order: Order, *, strict: bool = True
) -> tuple[p.LimitVerdict, ...]:
    """How each limited reading stands, with the uncertainty of the order's instrument for it, else none.

    A reading beyond its limit fails: no error of an instrument speaks for it (PROPOSED). Within the limit but
    nearer to it than the instrument can tell, or outside the instrument's range, it is undecided. Not
    `strict`, one beyond its limit may be undecided too.

    Raises:
        Refused: a limit hangs on a figure that the order does not give.
    """
    by_channel = {reading.channel: reading for reading in readings}
    judged = []
    for limit in limits:
        value = limit_value(limit, order)
        if value is None:
            figure = str(limit.value).replace("_", " ")
            raise Refused(f"{limit.channel} can't be judged: the order gives no {figure}")
        reading = by_channel[limit.channel].si
        uncertainty = _accuracy(order, limit.channel, reading)
        instrument = order.instrument_for(limit.channel)
        if instrument is not None and not instrument.reaches(reading):
            verdict = Verdict.UNDECIDED
        else:
            verdict = judge_limit(float(reading), limit.bound, float(value.si), float(uncertainty))
        if strict and _beyond(reading, limit.bound, value.si):
            verdict = Verdict.FAIL
        judged.append(
            p.LimitVerdict(
                channel=limit.channel,
                bound=limit.bound.value,
                limit=value.si,
                uncertainty=uncertainty,
                verdict=verdict.value,
                source=limit.source,
            )
        )
    return tuple(judged)


def change_verdicts(
    changes: Sequence[ChangeLimit],
    start: Sequence[p.ReadingValue],
    end: Sequence[p.ReadingValue],
    order: Order,
    *,
    strict: bool = True,
) -> tuple[p.LimitVerdict, ...]:
    """How far each channel ran between the start and the end of a hold, against what it may.

    The change kept is the end less the start, or less what a closed gas would show at the end's temperature
    (above zero: risen). A rise is bound by "at most" the limit, a fall by "at least" the limit below zero.

    Raises:
        Refused: a pressure or temperature that no gas has.
    """
    before = {reading.channel: reading.si for reading in start}
    after = {reading.channel: reading.si for reading in end}
    try:
        return tuple(_change(each, before, after, order, strict=strict) for each in changes)
    except FigureError as error:
        raise Refused(f"{error}; read it again") from error


def of_hold(
    hold: Wait,
    start: Sequence[p.ReadingValue],
    end: Sequence[p.ReadingValue],
    order: Order,
    *,
    strict: bool = True,
) -> tuple[p.LimitVerdict, ...]:
    """Every verdict of a timed hold: its limits at the end, then what changed over it.

    Raises:
        Refused: a limit hangs on a figure that the order does not give.
    """
    return verdicts(hold.limits, end, order, strict=strict) + change_verdicts(
        hold.changes, start, end, order, strict=strict
    )


def _beyond(value: Decimal, bound: Bound, limit: Decimal) -> bool:
    return value > limit if bound is Bound.AT_MOST else value < limit


def _change(
    limit: ChangeLimit,
    before: Mapping[str, Decimal],
    after: Mapping[str, Decimal],
    order: Order,
    *,
    strict: bool,
) -> p.LimitVerdict:
    first, last = before[limit.channel], after[limit.channel]
    accuracy = float(max(_accuracy(order, limit.channel, si) for si in (first, last)))
    if limit.gas_temperature is None:
        change = last - first
        uncertainty = math.hypot(accuracy, accuracy)
    else:
        gas = Gas(float(first), float(before[limit.gas_temperature]))
        end_K = float(after[limit.gas_temperature])
        change = last - Decimal(repr(expected_pressure_Pa(gas, end_K)))
        uncertainty = change_uncertainty_Pa(
            gas,
            end_K,
            pressure_accuracy_Pa=accuracy,
            temperature_accuracy_K=float(
                _accuracy(order, limit.gas_temperature, after[limit.gas_temperature])
            ),
        )
    rise = limit.drift is Drift.RISE
    bound = Bound.AT_MOST if rise else Bound.AT_LEAST
    most = limit.at_most.si if rise else -limit.at_most.si
    change = change.quantize(_STEP_SI)
    rounded = Decimal(repr(uncertainty)).quantize(_STEP_SI)
    verdict = judge_limit(float(change), bound, float(most), float(rounded))
    if strict and _beyond(change, bound, most):
        verdict = Verdict.FAIL
    return p.LimitVerdict(
        channel=limit.channel,
        bound=bound.value,
        limit=most,
        uncertainty=rounded,
        verdict=verdict.value,
        source=limit.source,
        change=change,
    )


def _accuracy(order: Order, channel: str, si: Decimal) -> Decimal:
    instrument = order.instrument_for(channel)
    return instrument.off(si) if instrument else Decimal(0)
