"""Readings of a step held against what the step asks: channels there, plausible, within the limits."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from guide.charging.verdict import judge_limit
from guide.job import payloads as p
from guide.job.order import Order
from guide.procedure.model import ChannelAsk, Limit
from guide.procedure.site import ask_at_site, limit_at_site
from guide.units import show


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
    asked: Sequence[ChannelAsk], readings: Sequence[p.ReadingValue], site_pressure_Pa: Decimal
) -> str | None:
    """Which reading lies outside its plausible range without a reason, in words, or None."""
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
    return None


def verdicts(
    limits: Sequence[Limit], readings: Sequence[p.ReadingValue], order: Order
) -> tuple[p.LimitVerdict, ...]:
    """How each limited reading stands, with the uncertainty of the order's instrument for it, else none."""
    by_channel = {reading.channel: reading for reading in readings}
    judged = []
    for written in limits:
        limit = limit_at_site(written, order.site_pressure_Pa)
        instrument = order.instrument_for(limit.channel)
        uncertainty = instrument.accuracy if instrument else Decimal(0)
        verdict = judge_limit(
            float(by_channel[limit.channel].si), limit.bound, float(limit.value.si), float(uncertainty)
        )
        judged.append(
            p.LimitVerdict(
                channel=limit.channel,
                bound=limit.bound.value,
                limit=limit.value.si,
                uncertainty=uncertainty,
                verdict=verdict.value,
                source=limit.source,
            )
        )
    return tuple(judged)
