"""What a job measured, as series that can be drawn: the charging path, and any channel against time.

Pure: the same events give the same series. Values stay SI; whoever draws picks units and scale.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final, Literal

from guide.job import payloads as p
from guide.job.elapsed import elapsed
from guide.job.state import JobState
from guide.journal.event import Event, Stamp
from guide.procedure.channels import CHANNELS
from guide.procedure.model import Adjust, ChargeMethod
from guide.units import UnitError, is_gauge

Phase = Literal["", "start", "end", "before", "after"]

VACUUM_CHANNELS: Final = frozenset(name for name, channel in CHANNELS.items() if channel.unit_ip == "micron")
"""Channels read in microns: their curve only shows on a logarithmic scale."""


@dataclass(frozen=True, slots=True)
class PathPoint:
    """One round of the charging loop [kg, K]; a figure that was not reached is None."""

    number: int
    net_kg: float
    superheat_K: float | None
    subcooling_K: float | None
    target_K: float | None


@dataclass(frozen=True, slots=True)
class ChargingPath:
    """Superheat and subcooling against net refrigerant moved, round by round.

    `judged` names the figure that the target and its band of `tolerance_K` to both sides belong to.
    """

    judged: Literal["superheat", "subcooling"]
    tolerance_K: float
    points: tuple[PathPoint, ...]


@dataclass(frozen=True, slots=True)
class LiveSample:
    """One value that a stream brought, at its moment [SI]; not part of the log."""

    at: Stamp
    si: float


@dataclass(frozen=True, slots=True)
class Sample:
    """One value [SI] and the seconds from the trace's first value to it."""

    seconds: float
    si: float
    step: str = ""
    phase: Phase = ""


@dataclass(frozen=True, slots=True)
class Bound:
    """A limit that readings of a trace were held against [SI]."""

    bound: str
    si: float


@dataclass(frozen=True, slots=True)
class Trace:
    """One channel against time.

    `logged` are the values in the job's log, corrected where they were; `live` those a stream brought in
    between. `unit` is how the newest reading was written. `vouched` is False where a reboot lies between
    two values, so that only the wall clock tells the time that passed.
    """

    channel: str
    label: str
    unit: str
    began: Stamp
    logged: tuple[Sample, ...]
    live: tuple[Sample, ...] = ()
    bounds: tuple[Bound, ...] = ()
    vouched: bool = True

    @property
    def vacuum(self) -> bool:
        """Whether this is a vacuum, to be drawn on a logarithmic scale."""
        return self.channel in VACUUM_CHANNELS

    @property
    def held(self) -> bool:
        """Whether a timed hold has a value at its start and at its end."""
        return {"start", "end"} <= {sample.phase for sample in self.logged}


@dataclass(slots=True)
class _Gathering:
    label: str
    channel: str
    unit: str = ""
    stamps: list[Stamp] = field(default_factory=list)
    notes: list[tuple[float, str, Phase]] = field(default_factory=list)
    bounds: dict[tuple[str, Decimal], None] = field(default_factory=dict)


def charging_path(state: JobState, step: str | None = None) -> ChargingPath | None:
    """The rounds of a charging step (of the newest one without `step`), or None where there are none."""
    if not state.rounds:
        return None
    step = state.rounds[-1].read.step if step is None else step
    rounds = state.step_rounds(step)
    if not rounds:
        return None
    judged = judged_figure(state, step)
    points = []
    for done in rounds:
        a = done.read.assessment
        target = a.target_superheat_K if judged == "superheat" else a.target_subcooling_K
        points.append(
            PathPoint(
                done.read.number,
                float(a.net_charged_kg),
                _float(a.superheat_K),
                _float(a.subcooling_K),
                _float(target),
            )
        )
    return ChargingPath(judged, float(rounds[-1].read.assessment.tolerance_K), tuple(points))


def judged_figure(state: JobState, step: str) -> Literal["superheat", "subcooling"]:
    """By which figure a charging step judges: by its method, else by the order's metering device."""
    try:
        proof = state.procedure.step(step).proof
    except KeyError:
        return "superheat" if state.order.metering.value == "fixed orifice" else "subcooling"
    if isinstance(proof, Adjust) and proof.method is not ChargeMethod.SUPERHEAT:
        return "subcooling"
    return "superheat"


def _float(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def traces(
    events: Iterable[Event], live: Mapping[str, Sequence[LiveSample]] | None = None
) -> tuple[Trace, ...]:
    """Every channel that the log holds a value of, in the order of their first values.

    `live` is the history that a stream left, by channel; samples before the first logged value are left
    out, and a channel that only the stream knows makes no trace: what was not logged is no evidence.

    Raises:
        BadBody: an event is not of its form.
    """
    pairs = [(event, p.read_payload(event.kind, event.body)) for event in events]
    corrected = {
        (payload.of_seq, payload.channel): payload.new
        for _, payload in pairs
        if isinstance(payload, p.Corrected)
    }
    found: dict[tuple[str, str], _Gathering] = {}
    on_scale = ""
    for event, payload in pairs:
        if isinstance(payload, p.WeighBegun):
            on_scale = payload.cylinder
        for name, cylinder, step, phase, as_logged in _values(payload, on_scale):
            value = corrected.get((event.seq, name), as_logged)
            key = (as_logged.channel, cylinder)
            gathering = found.setdefault(key, _Gathering(_label(*key), as_logged.channel))
            gathering.unit = value.unit
            gathering.stamps.append(event.stamp)
            gathering.notes.append((float(value.si), step, phase))
        if isinstance(payload, p.Read | p.WaitEnded):
            for verdict in payload.verdicts:
                # what bounds a change is no value of the channel
                if verdict.change is None and (verdict.channel, "") in found:
                    found[verdict.channel, ""].bounds[verdict.bound, verdict.limit] = None
    return tuple(_trace(gathering, (live or {}).get(gathering.channel, ())) for gathering in found.values())


def trace(
    events: Iterable[Event], channel: str, live: Mapping[str, Sequence[LiveSample]] | None = None
) -> Trace | None:
    """The trace of one channel, or None where the log holds no value of it.

    Raises:
        BadBody: an event is not of its form.
    """
    return next((one for one in traces(events, live) if one.channel == channel), None)


def vacuum_curves(
    events: Iterable[Event], live: Mapping[str, Sequence[LiveSample]] | None = None
) -> tuple[Trace, ...]:
    """The traces of vacuum gauges.

    Raises:
        BadBody: an event is not of its form.
    """
    return tuple(one for one in traces(events, live) if one.vacuum)


def drawing_unit(one: Trace) -> str:
    """The unit a trace is drawn in: as written, but absolute for a vacuum, whose logarithm is drawn."""
    unit = one.unit
    try:
        gauge = is_gauge(unit)
    except UnitError:
        gauge = True
    return "micron" if one.vacuum and gauge else unit


def _values(payload: p.Payload, on_scale: str) -> Iterator[tuple[str, str, str, Phase, p.ReadingValue]]:
    """Entry name, cylinder, step, phase and value of everything an event read."""
    match payload:
        case p.Read() | p.RoundRead():
            for value in payload.readings:
                yield value.channel, "", payload.step, "", value
        case p.WaitBegun():
            for value in payload.readings:
                yield value.channel, "", payload.step, "start", value
        case p.WaitEnded():
            for value in payload.readings:
                yield value.channel, "", payload.step, "end", value
        case p.WeighBegun():
            yield "weight before", on_scale, payload.step, "before", payload.before
        case p.WeighEnded():
            yield "weight after", on_scale, payload.step, "after", payload.after
        case _:
            return


def _label(channel: str, cylinder: str) -> str:
    known = CHANNELS.get(channel)
    label = known.label if known else channel
    return f"{label} ({cylinder})" if cylinder else label


def _trace(gathering: _Gathering, live: Sequence[LiveSample]) -> Trace:
    began = gathering.stamps[0]
    seconds, vouched = [0.0], True
    for earlier, later in zip(gathering.stamps, gathering.stamps[1:], strict=False):
        passed = elapsed(earlier, later)
        seconds.append(seconds[-1] + passed.seconds)
        vouched = vouched and passed.vouched
    logged = tuple(
        Sample(at, si, step, phase) for at, (si, step, phase) in zip(seconds, gathering.notes, strict=True)
    )
    between = sorted(
        (_placed(sample, gathering.stamps, seconds) for sample in live if _after(began, sample.at)),
        key=lambda sample: sample.seconds,
    )
    bounds = tuple(Bound(bound, float(si)) for bound, si in gathering.bounds)
    return Trace(
        gathering.channel, gathering.label, gathering.unit, began, logged, tuple(between), bounds, vouched
    )


def _after(began: Stamp, at: Stamp) -> bool:
    if began.boot == at.boot:
        return at.mono_ns >= began.mono_ns
    return at.utc >= began.utc


def _placed(sample: LiveSample, stamps: Sequence[Stamp], seconds: Sequence[float]) -> Sample:
    """A live sample on the trace's own time: counted from the last logged value before it."""
    place = 0
    for index, stamp in enumerate(stamps):
        if _after(stamp, sample.at):
            place = index
    return Sample(seconds[place] + elapsed(stamps[place], sample.at).seconds, sample.si)
