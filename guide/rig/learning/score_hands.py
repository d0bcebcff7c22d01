"""What is lost for safety, for the order of steps, and for clean work: claims held against deeds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from guide.job import payloads as p
from guide.procedure.model import Step, Wait
from guide.rig.happenings import Happening
from guide.rig.learning.consequence import consequence, rewind
from guide.rig.learning.demands import CLEAN_STEPS, SAFETY_STEPS, Gap, demand_of, gaps
from guide.rig.learning.lesson import Help, Item
from guide.rig.learning.losing import ALL, Slip
from guide.rig.learning.rubric import (
    MOST_LEFT_OUT,
    SKIP_POINTS,
    TOO_SOON_POINTS,
    UNCLEAN_POINTS,
    WRONG_STEP_POINTS,
)
from guide.rig.learning.run import CONCLUSION, Run, Told

_CLAIMS: Final = (p.Answered, p.Read, p.WaitEnded)


def safety(run: Run) -> Iterator[Slip]:
    """Grave happenings, what ended the run, and safety left out."""
    graves = [each for each in run.happenings if each.grave]
    for happening in graves:
        yield Slip(Item.SAFETY, ALL, run.cause(happening.at_s), _grave_words(run, happening))
    for told in run.of(p.Practised):
        payload = told.payload
        assert isinstance(payload, p.Practised)
        if payload.what == "ended" and not graves:
            yield Slip(Item.SAFETY, ALL, told, f"The run was ended: {payload.act}.")
    for told, step in _skipped(run):
        if step.hazards or step.do.startswith(SAFETY_STEPS):
            yield Slip(Item.SAFETY, ALL, told, f"{step.id} was left out, and it is about safety: {step.do}")
    yield from (slip for slip in _unfounded(run) if slip.item is Item.SAFETY)


def order(run: Run) -> Iterator[Slip]:
    """Steps left out, said to be done and not done, done too late; other steps picked than the next."""
    for told, step in _skipped(run):
        if not step.do.startswith(CLEAN_STEPS) and not isinstance(step.proof, Wait):
            yield Slip(Item.ORDER, SKIP_POINTS, told, f"{step.id} was left out: {step.do}")
    yield from (slip for slip in _unfounded(run) if slip.item is Item.ORDER)
    for told in run.of(p.Practised):
        payload = told.payload
        assert isinstance(payload, p.Practised)
        if payload.what == "chosen" and payload.at != CONCLUSION and payload.act != payload.step:
            words = f"{payload.act} was picked where {payload.step} comes next."
            yield Slip(Item.ORDER, WRONG_STEP_POINTS, told, words)


def cleanliness(run: Run) -> Iterator[Slip]:
    """Leak tests, caps, labels and cleaning left out, or claimed and not done."""
    for told, step in _skipped(run):
        if step.do.startswith(CLEAN_STEPS):
            yield Slip(Item.CLEANLINESS, UNCLEAN_POINTS, told, f"{step.id} was left out: {step.do}")
    yield from (slip for slip in _unfounded(run) if slip.item is Item.CLEANLINESS)


def skipped_holds(run: Run) -> Iterator[Slip]:
    """Holds left out."""
    for told, step in _skipped(run):
        if isinstance(step.proof, Wait):
            yield Slip(Item.WAITING, TOO_SOON_POINTS, told, f"{step.id} was left out: {step.do}")


def much_left_out(run: Run) -> Iterator[Slip]:
    """Where more than a few steps were left out or only claimed, what went well shows nothing."""
    own = first_own_seq(run)
    skipped = {told.seq: told for told, _ in _skipped(run) if told.seq >= own}
    claimed = {told.seq: told for told, gap, _ in _gaps(run) if gap.late is None}
    events = sorted((skipped | claimed).items())
    if len(events) <= MOST_LEFT_OUT:
        return
    told = events[MOST_LEFT_OUT][1]
    words = f"More than {MOST_LEFT_OUT} steps were left out or not done by hand: this was not shown."
    for item in (
        Item.ORDER, Item.READINGS, Item.WAITING, Item.CHARGE, Item.CONCLUSION, Item.CLEANLINESS,
    ):  # fmt: skip
        yield Slip(item, ALL, told, words)


def _grave_words(run: Run, happening: Happening) -> str:
    end = consequence(happening)
    return f"{end.headline} {end.instead} {rewind(run, happening).words}"


def _skipped(run: Run) -> Iterator[tuple[Told, Step]]:
    for told in run.of(p.Skipped):
        payload = told.payload
        assert isinstance(payload, p.Skipped)
        yield told, run.state.procedure.step(payload.step)


def _gaps(run: Run) -> Iterator[tuple[Told, Gap, Item]]:
    """Claims without the deeds, and what that is lost for; none in a run that is played."""
    if run.help is Help.WORKED:
        return
    done = run.deeds
    first_own = first_own_seq(run)
    for told in run.of(*_CLAIMS):
        payload = told.payload
        assert isinstance(payload, _CLAIMS)
        if told.seq < first_own or not payload.accepted:
            continue
        step = run.state.procedure.step(payload.step)
        demand = demand_of(step.do, payload.seen if isinstance(payload, p.Answered) else "")
        if demand is not None:
            yield from ((told, gap, demand.item) for gap in gaps(demand, told.seq, done))


def _unfounded(run: Run) -> Iterator[Slip]:
    for told, gap, item in _gaps(run):
        points = {Item.SAFETY: ALL, Item.CLEANLINESS: UNCLEAN_POINTS}.get(item, SKIP_POINTS)
        step = getattr(told.payload, "step", "")
        if gap.late is None:
            words = f"{step} was said to be done, and hands did not do it: {gap.wanted.words}."
        else:
            words = f"{step} was done too late (event {gap.late.seq}): {gap.wanted.words}."
        yield Slip(item, points, told, words)


def first_own_seq(run: Run) -> int:
    """The event from which on the work is the trainee's own: what comes before is worked for them."""
    parts = run.lesson.parts
    if parts is None:
        return 0
    before = []
    for part in run.state.procedure.parts:
        if part.id == parts.first:
            break
        before.append(part.id)
    first_end: dict[str, int] = {}
    for told in run.of(p.PartEnded):
        if isinstance(told.payload, p.PartEnded) and told.payload.part in before:
            first_end.setdefault(told.payload.part, told.seq)
    return min(max(first_end.values(), default=-1) + 1, run.last.seq)
