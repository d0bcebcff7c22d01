"""The own run beside the model run, step by step: what was done and when, what was read, what differs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from guide.job import payloads as p
from guide.procedure.channels import CHANNELS
from guide.procedure.model import Procedure
from guide.rig.acts import Handling
from guide.rig.learning.lesson import Loss
from guide.rig.learning.run import Told, deeds
from guide.rig.spoken import spoken
from guide.units import Kind, show

LATER_S: Final = 120.0
"""A step that took so much longer than in the model run is worth a word (PROPOSED)."""
APART: Final = {Kind.TEMPERATURE: 1.5, Kind.PRESSURE: 15_000.0, Kind.MASS: 0.03}
"""Values so far apart are worth a word [K, Pa, kg] (PROPOSED)."""


@dataclass(frozen=True, slots=True)
class Value:
    """A value entered at a step: its channel, as typed, and SI."""

    channel: str
    typed: str
    si: float


@dataclass(frozen=True, slots=True)
class Side:
    """One run at one step: when it came there and left [s], events, hands, values, what was said."""

    begun_s: float
    ended_s: float
    seqs: tuple[int, ...]
    hands: tuple[Handling, ...]
    values: tuple[Value, ...]
    said: tuple[str, ...]

    @property
    def took_s(self) -> float:
        """How long it took [s]."""
        return self.ended_s - self.begun_s


@dataclass(frozen=True, slots=True)
class Row:
    """One step of the procedure: the model run, the own run, what differs in words, points lost there."""

    step: str
    do: str
    model: Side | None
    own: Side | None
    differences: tuple[str, ...]
    losses: tuple[Loss, ...]

    @property
    def lost(self) -> int:
        """Points lost there."""
        return sum(loss.points for loss in self.losses)

    @property
    def made_ready(self) -> bool:
        """Whether it was done before the run began, since the lesson begins later."""
        sides = [side for side in (self.own, self.model) if side is not None]
        return bool(sides) and not self.losses and all(side.ended_s == 0.0 for side in sides)


def rows(
    procedure: Procedure, own: Sequence[Told], model: Sequence[Told], losses: Iterable[Loss] = ()
) -> tuple[Row, ...]:
    """The steps that either run came to, in the order of the procedure, each with both runs beside it.

    A loss stands at the step its event belongs to; one that belongs to none stands at the last step before.
    """
    mine, theirs = sides(own), sides(model)
    at = _places(own)
    lost: dict[str, list[Loss]] = {}
    for loss in losses:
        lost.setdefault(at.get(loss.seq, ""), []).append(loss)
    known = {step.id: step.do for _, step in procedure.steps()}
    known |= {step.id: step.do for step in procedure.on_abort.steps}
    out = []
    for step_id in [*known, *sorted({*mine, *theirs, *lost} - known.keys())]:
        left, right = theirs.get(step_id), mine.get(step_id)
        here = tuple(lost.get(step_id, ()))
        if left is not None or right is not None or here:
            do = known.get(step_id, "")
            words = differences(left, right, _by_then(mine, right))
            out.append(Row(step_id, do, left, right, words, here))
    return tuple(out)


def sides(told: Sequence[Told]) -> Mapping[str, Side]:
    """A run step by step. What hands do belongs to the step it names, else to the one that is answered,
    read or weighed next.
    """
    places = _places(told)
    hands = {deed.seq: deed.handling for deed in deeds(told)}
    gathered: dict[str, list[Told]] = {}
    before: dict[str, float] = {}
    last_s = 0.0
    for each in told:
        step = places.get(each.seq)
        if step is not None:
            gathered.setdefault(step, []).append(each)
            before.setdefault(step, last_s)
        last_s = each.at_s
    return {
        step: Side(
            begun_s=before[step],
            ended_s=events[-1].at_s,
            seqs=tuple(each.seq for each in events),
            hands=tuple(hands[each.seq] for each in events if each.seq in hands),
            values=tuple(value for each in events for value in _values(each.payload)),
            said=tuple(words for each in events if (words := _said(each.payload))),
        )
        for step, events in gathered.items()
    }


def differences(model: Side | None, own: Side | None, before: Sequence[Handling] = ()) -> tuple[str, ...]:
    """What differs between two runs at a step, in words; `before`: what own hands had done by then."""
    if own is None:
        return ("not done",) if model is not None else ()
    if model is None:
        return ("the model run has no such step",)
    out = []
    missing = [each for each in dict.fromkeys(model.hands) if not _has(own.hands, each)]
    undone = [each for each in missing if not _has(before, each)]
    out += [f"left undone: {spoken(each)}" for each in undone]
    out += [f"done at an earlier step: {spoken(each)}" for each in missing if each not in undone]
    extra = [spoken(each) for each in dict.fromkeys(own.hands) if not _has(model.hands, each)]
    if extra:
        out.append(f"done besides: {'; '.join(extra)}")
    later = own.took_s - model.took_s
    if abs(later) > LATER_S:
        out.append(f"{abs(later) / 60:.0f} min {'longer' if later > 0 else 'shorter'}")
    theirs = {value.channel: value for value in model.values}
    for value in {value.channel: value for value in own.values}.values():
        other = theirs.get(value.channel)
        if other is not None and _apart(value, other):
            out.append(f"{value.channel.replace('_', ' ')} {value.typed}, in the model run {other.typed}")
    if own.said and model.said and own.said[-1] != model.said[-1]:
        out.append(f"\u201c{own.said[-1]}\u201d, in the model run \u201c{model.said[-1]}\u201d")
    return tuple(out)


def _by_then(own: Mapping[str, Side], here: Side | None) -> tuple[Handling, ...]:
    """What own hands had done at other steps when they came to this one."""
    if here is None:
        return ()
    return tuple(hand for side in own.values() if side.ended_s <= here.begun_s for hand in side.hands)


def _has(hands: Sequence[Handling], wanted: Handling) -> bool:
    return any(each.act is wanted.act and each.at == wanted.at for each in hands)


def _apart(one: Value, other: Value) -> bool:
    channel = CHANNELS.get(one.channel)
    kind = channel.kind if channel is not None else Kind.MASS
    return abs(one.si - other.si) > APART.get(kind, float("inf"))


def _places(told: Sequence[Told]) -> dict[int, str]:
    """The step each event belongs to, by seq."""
    out: dict[int, str] = {}
    waiting: list[int] = []
    last = ""
    for each in told:
        step = getattr(each.payload, "step", None)
        if isinstance(each.payload, p.Practised) and each.payload.what == "handled":
            if step is None:
                waiting.append(each.seq)
            else:
                out[each.seq] = step
            continue
        if step is None or isinstance(each.payload, p.NotApplicable):
            if last:
                out[each.seq] = last
            continue
        for seq in waiting:
            out[seq] = step
        waiting, last = [], step
        out[each.seq] = step
    for seq in waiting:
        out[seq] = last
    return {seq: step for seq, step in out.items() if step}


def _values(payload: p.Payload) -> tuple[Value, ...]:
    match payload:
        case p.Read(readings=readings) | p.WaitEnded(readings=readings) | p.RoundRead(readings=readings):
            return tuple(Value(each.channel, each.typed, float(each.si)) for each in readings)
        case p.WeighEnded(moved_kg=moved):
            return (Value("moved", show(moved, "oz", digits=1), float(moved)),)
        case _:
            return ()


def _said(payload: p.Payload) -> str:
    match payload:
        case p.Answered(seen=seen):
            return seen
        case p.Skipped():
            return "left out"
        case p.Chosen(option=option):
            return option
        case p.AdjustEnded(outcome=outcome):
            return outcome
        case _:
            return ""
