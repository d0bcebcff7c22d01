"""What the stream says now, channel by channel of the job. Pure but for the state it holds; bounded.

It starts from the channels the order's instruments fill, so a device nobody ordered fills nothing.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final, Literal

from guide.instruments.freshness import is_stale
from guide.instruments.line import Sample
from guide.instruments.settling import settled_s
from guide.job.order import Order
from guide.job.payloads import ReadingValue
from guide.procedure.channels import CHANNELS
from guide.units import UnitError, kind_of, parse, show, to_si, usual_digits

HISTORY: Final = 600
"""Values kept a channel, one a second at most: ten minutes."""
_MOST_UNKNOWN: Final = 20
State = Literal["live", "stale", "bad", "lost", "unknown source"]


@dataclass(frozen=True, slots=True)
class Now:
    """The present: a clock nobody sets and that counts suspend [s], and UTC [s since 1970].

    `pace` is there where both are simulated and run so many times as fast as real time; the times that the
    stream gives are then of the same clock, and count instead of the moment at which a sample arrives.
    """

    clock_s: float
    utc_s: float
    pace: float | None = None

    def came_s(self, sample: Sample) -> float:
        """When a sample that arrives now is taken to have come [s of the clock]."""
        if self.pace is None or sample.utc_s is None:
            return self.clock_s
        return min(self.clock_s, self.clock_s - (self.utc_s - sample.utc_s))


@dataclass(frozen=True, slots=True)
class Live:
    """What one channel says now. `value` is ready to be accepted; only "live" may fill a field."""

    channel: str
    value: ReadingValue | None
    source: str
    instrument: str | None
    age_s: float
    state: State
    settled_s: float
    words: str


@dataclass(slots=True)
class _Slot:
    sample: Sample
    si: Decimal | None
    fault: str
    arrived_s: float
    interval_s: float = 1.0
    history: deque[tuple[float, float]] = field(default_factory=lambda: deque(maxlen=HISTORY))


def fills(order: Order) -> Mapping[tuple[str, str], tuple[str, str | None]]:
    """(source, channel as the stream names it) to (channel of the job, instrument id).

    An instrument without a source of its own is known in the stream by its id; the scale likewise. The
    first instrument of the order that has a channel fills it.
    """
    found: dict[tuple[str, str], tuple[str, str | None]] = {
        (order.scale_id, "cylinder_weight"): ("cylinder_weight", order.scale_id)
    }
    filled = {"cylinder_weight"}
    for instrument in order.instruments:
        source = instrument.source or instrument.id
        names = {channel: name for name, channel in instrument.stream_channels}
        for channel in instrument.channels:
            name = names.get(channel, channel)
            # two instruments never share a channel: values of both would look like one that never settles
            if channel not in filled and (source, name) not in found:
                found[(source, name)] = (channel, instrument.id)
                filled.add(channel)
    return found


class Board:
    """The latest of each channel; `take` what a feed handed on, then ask `live`."""

    def __init__(self, order: Order) -> None:
        self._site_Pa = order.site_pressure_Pa
        self._fills = fills(order)
        self._order = order
        self._slots: dict[str, _Slot] = {}
        self._unknown: dict[tuple[str, str], Sample] = {}
        self._lost = ""

    def take(self, batch: Iterable[Sample], now: Now) -> None:
        """Take the samples that arrived since the last time."""
        for sample in batch:
            filled = self._fills.get((sample.source, sample.channel))
            if filled is None:
                if len(self._unknown) < _MOST_UNKNOWN:
                    self._unknown[(sample.source, sample.channel)] = sample
                continue
            self._put(filled[0], sample, now)

    def lose(self, words: str) -> None:
        """The feed ended: every channel is lost from here on, and why."""
        self._lost = words

    def unknown(self) -> tuple[Sample, ...]:
        """What the stream sent that fills no channel of the order: to be shown, not used."""
        return tuple(self._unknown.values())

    def history(self, channel: str) -> tuple[tuple[float, float], ...]:
        """(time [s], SI value) of the last ten minutes at most, oldest first."""
        slot = self._slots.get(channel)
        return () if slot is None else tuple(slot.history)

    def live(self, channel: str, unit: str, now: Now) -> Live | None:
        """What the channel says now, as text in `unit`; None where the stream never spoke of it."""
        slot = self._slots.get(channel)
        if slot is None:
            return None
        instrument = self._fills[(slot.sample.source, slot.sample.channel)][1]
        age = now.clock_s - slot.arrived_s
        source_age = None if slot.sample.utc_s is None else now.utc_s - slot.sample.utc_s
        value = None if slot.si is None else self._value(channel, slot, unit, instrument)
        state: State = "live"
        words = ""
        if self._lost:
            state, words = "lost", f"{self._lost}; type it"
        elif value is None or slot.fault:
            state, words = "bad", slot.fault or "can't be shown in this unit; type it"
        elif is_stale(
            arrived_age_s=age, source_age_s=source_age, interval_s=slot.interval_s, pace=now.pace or 1.0
        ):
            state, words = "stale", "too old to use; type it"
        rest = self._rest_s(channel, slot) if state == "live" else 0.0
        shown_age = max(age, source_age or 0.0, 0.0)
        return Live(channel, value, slot.sample.source, instrument, shown_age, state, rest, words)

    @staticmethod
    def _rest_s(channel: str, slot: _Slot) -> float:
        assert slot.si is not None
        return settled_s((*slot.history, (slot.arrived_s, float(slot.si))), CHANNELS[channel].kind)

    def _put(self, channel: str, sample: Sample, now: Now) -> None:
        si, fault = self._si(channel, sample)
        slot = self._slots.get(channel)
        came_s = now.came_s(sample)
        if slot is None:
            slot = self._slots[channel] = _Slot(sample, si, fault, came_s)
        else:
            gap = max(0.0, came_s - slot.arrived_s)
            slot.interval_s += 0.2 * (min(gap, 60.0) - slot.interval_s)
            slot.sample, slot.si, slot.fault, slot.arrived_s = sample, si, fault, came_s
        if si is None or fault:
            slot.history.clear()  # a bad value breaks the rest: settling starts again
        elif not slot.history or came_s - slot.history[-1][0] >= 1.0:
            slot.history.append((came_s, float(si)))

    def _si(self, channel: str, sample: Sample) -> tuple[Decimal | None, str]:
        known = CHANNELS[channel]
        if kind_of(sample.unit) is not known.kind:
            return None, f"{sample.unit} is no {known.kind}; mend the source or type it"
        try:
            si = to_si(sample.value, sample.unit, site_pressure_Pa=self._site_Pa)
            low, high = (
                parse(t, known.kind, site_pressure_Pa=self._site_Pa).si for t in (known.low, known.high)
            )
        except UnitError as error:
            return None, f"{error}"
        if not low <= si <= high:
            return si, f"outside {known.low} to {known.high}; check the instrument or type it"
        instrument = self._order.instrument_for(channel)
        if instrument is not None and instrument.range is not None and not instrument.reaches(si):
            ends = " to ".join(end.typed for end in instrument.range)
            return si, f"outside what {instrument.id} reads, {ends}; type it from another instrument"
        return si, "" if sample.quality == "good" else f"its source calls it {sample.quality}; type it"

    def _value(self, channel: str, slot: _Slot, unit: str, instrument: str | None) -> ReadingValue | None:
        assert slot.si is not None
        try:
            text = show(slot.si, unit, digits=usual_digits(unit), site_pressure_Pa=self._site_Pa)
            shown = parse(text, CHANNELS[channel].kind, site_pressure_Pa=self._site_Pa)
        except UnitError:
            return None
        return ReadingValue(
            channel=channel, si=shown.si, unit=shown.unit, typed=text, source="stream",
            instrument=instrument, line_sha256=slot.sample.sha256,
        )  # fmt: skip


def disagreement(typed: ReadingValue, live: Live, limit: Decimal | float) -> str | None:
    """In words that typed and live value differ by more than both can be off; None where they don't.

    `limit` is how far one reading of this channel may be off [SI difference]; both are taken to have it
    and to be independent, so their difference may reach sqrt(2) of it (GUM, JCGM 100, MEMORY).
    """
    if live.state != "live" or live.value is None:
        return None
    if abs(float(typed.si - live.value.si)) <= math.sqrt(2.0) * float(limit):
        return None
    return f"typed {typed.typed}, live {live.value.typed}: more apart than both can be off; which is right?"
