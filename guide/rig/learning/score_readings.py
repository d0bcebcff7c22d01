"""What is lost for values that were not so, for readings and moves too soon, and at the end of a run."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from guide.job import payloads as p
from guide.job.state import Entry
from guide.procedure.channels import CHANNELS
from guide.procedure.model import Adjust, Confirm
from guide.rig.acts import Act
from guide.rig.learning.drawing import trouble_of
from guide.rig.learning.hint_costs import HINT_COSTS, HINT_NAMES
from guide.rig.learning.lesson import Item
from guide.rig.learning.losing import ALL, Slip, points_for
from guide.rig.learning.rubric import (
    ANSWER_INTERRUPTION_S,
    BAD_READING_POINTS,
    LATE_SHARE_A_POINT,
    TOO_SOON_POINTS,
)
from guide.rig.learning.run import Run, Told, concluded, finished
from guide.units import Kind, show

DEFAULT_OFF: Final = {Kind.TEMPERATURE: 1.0, Kind.PRESSURE: 7000.0, Kind.MASS: 0.01}
"""How far a value may be off where the order names no instrument for it [K, Pa, kg] (PROPOSED)."""
WRITING_DOWN: Final = 1.5
"""Times what the instrument may be off: for what moved while it was written down (PROPOSED)."""
SETTLED_ENOUGH_MIN: Final = 0.25
"""A reading so little before its time counts as in time (PROPOSED)."""


def readings(run: Run) -> Iterator[Slip]:
    """Values further from the true ones than their instruments may be off; sights told otherwise."""
    told = {each.seq: each for each in run.told}
    for entry in run.state.entries:
        why = run.unread.get(entry.seq, {}).get(entry.channel)
        if why and entry.seq in told:
            words = f"{entry.channel.replace('_', ' ')} was entered and could not be read: {why}."
            yield Slip(Item.READINGS, BAD_READING_POINTS, told[entry.seq], words)
            continue
        truth = run.true_readings.get(entry.seq, {}).get(entry.channel)
        if truth is None or entry.seq not in told:
            continue
        value = float(entry.value.si)
        earlier = run.true_earlier.get(entry.seq, {}).get(entry.channel, truth)
        beyond = max(min(truth, earlier) - value, value - max(truth, earlier))
        if beyond > _may_be_off(run, entry):
            was = show(truth, entry.value.unit, digits=1, site_pressure_Pa=run.state.order.site_pressure_Pa)
            words = (
                f"{entry.channel.replace('_', ' ')} was entered as {entry.value.typed} and was truly {was}."
            )
            yield Slip(Item.READINGS, BAD_READING_POINTS, told[entry.seq], words)
    for event in run.of(p.Answered):
        payload = event.payload
        assert isinstance(payload, p.Answered)
        true = run.true_answers.get(event.seq)
        proof = run.state.procedure.step(payload.step).proof
        if true is None or not isinstance(proof, Confirm):
            continue
        # two accepted answers may both do, but not where what follows hangs on which of them it was
        decides = bool(proof.fact) and true != payload.seen
        if (true in proof.accept) != payload.accepted or decides:
            words = f"{payload.step}: told was \u201c{payload.seen}\u201d, to be seen was \u201c{true}\u201d."
            yield Slip(Item.READINGS, BAD_READING_POINTS, event, words)


def _may_be_off(run: Run, entry: Entry) -> float:
    instrument = run.state.order.instrument_for(entry.channel)
    if instrument is not None:
        return WRITING_DOWN * float(instrument.off(entry.value.si))
    if entry.channel in {"weight before", "weight after", "cylinder_weight"}:
        return WRITING_DOWN * 2.0 * float(run.state.order.scale_division.si)
    channel = CHANNELS.get(entry.channel)
    return DEFAULT_OFF.get(channel.kind, math.inf) if channel is not None else math.inf


def waiting(run: Run) -> Iterator[Slip]:
    """Rounds read before the system has settled. (Moving again before a round is read, the walk refuses.)

    The first round after a return is none of these: what settles then began anew while nobody looked.
    """
    settled_min = float(run.state.order.appliance().settle_minutes)
    returned = False
    for event in run.of(p.RoundRead, p.Resumed):
        payload = event.payload
        if not isinstance(payload, p.RoundRead):
            returned = True
            continue
        proof = run.state.procedure.step(payload.step).proof
        assert isinstance(proof, Adjust)
        needed = max(settled_min, proof.settle_s / 60)
        passed = float(payload.assessment.minutes_since_change)
        if passed + SETTLED_ENOUGH_MIN < needed and not returned:
            words = f"Round {payload.number} was read after {passed:.0f} of {needed:.0f} min."
            yield Slip(Item.WAITING, TOO_SOON_POINTS, event, words)
        returned = False


def conclusion(run: Run) -> Iterator[Slip]:
    """Another trouble named than the true one, or none."""
    if run.lesson.conclusion is None:
        return
    truth = trouble_of(run.lesson, run.drawn)
    named = concluded(run.told)
    said = run.conclusion if run.conclusion is not None else (named[0] if named else None)
    event = named[1] if named else run.last
    if said is None:
        yield Slip(Item.CONCLUSION, ALL, event, f"No trouble was named; it was: {truth}.")
    elif said.strip().casefold() != truth.casefold():
        yield Slip(Item.CONCLUSION, ALL, event, f"Named was \u201c{said}\u201d; it was: {truth}.")


def interruption(run: Run) -> Iterator[Slip]:
    """A call that was not answered by putting the work to rest, or with a cylinder left open."""
    called = run.interrupted_at_s
    if called is None or called >= run.last.at_s:
        return
    until = called + ANSWER_INTERRUPTION_S
    rest = next((each for each in run.of(p.Paused) if called <= each.at_s <= until), None)
    if rest is None:
        late = next((each for each in run.told if each.at_s > until), run.last)
        minutes = ANSWER_INTERRUPTION_S / 60
        yield Slip(
            Item.INTERRUPTION, ALL, late, f"Called away, the work was not put to rest in {minutes:.0f} min."
        )
        return
    turned = [
        deed
        for deed in run.deeds
        if deed.seq < rest.seq and deed.handling.act in {Act.OPEN_CYLINDER, Act.CLOSE_CYLINDER}
    ]
    if turned and turned[-1].handling.act is Act.OPEN_CYLINDER:
        half = points_for(0.5, run.lesson.rubric.points(Item.INTERRUPTION))
        yield Slip(Item.INTERRUPTION, half, rest, "The work was left with the cylinder open.")


def time(run: Run) -> Iterator[Slip]:
    """More simulated time than the lesson gives."""
    limit = run.lesson.time_limit_s
    if limit is None or run.last.at_s <= limit:
        return
    over = run.last.at_s - limit
    event = next(each for each in run.told if each.at_s > limit)
    words = f"It took {run.last.at_s / 60:.0f} min of {limit / 60:.0f}."
    yield Slip(Item.TIME, math.ceil(over / (limit * LATE_SHARE_A_POINT)), event, words)


def hints(run: Run) -> Iterator[Slip]:
    """Hints taken; the same one twice costs once."""
    seen: set[tuple[str | None, str]] = set()
    for event in run.of(p.Practised):
        payload = event.payload
        assert isinstance(payload, p.Practised)
        taken = (payload.step, payload.act)
        if payload.what != "hint" or payload.act not in HINT_NAMES or taken in seen:
            continue
        seen.add(taken)
        cost = HINT_COSTS[HINT_NAMES.index(payload.act)]
        yield Slip(Item.HINTS, cost, event, f"Hint at {payload.step}: the {payload.act}.")


def came_to_its_end(run: Run) -> bool:
    """Whether a run has come to where its lesson ends; not by what was not so."""
    return finished(run, frozenset(slip.told.seq for slip in readings(run)))


def unshown(run: Run) -> Iterator[Slip]:
    """What a run that did not come to its end has not shown."""
    if came_to_its_end(run):
        return
    end: Told = run.last
    for item in (Item.ORDER, Item.CHARGE, Item.CONCLUSION, Item.CLEANLINESS, Item.TIME):
        yield Slip(item, ALL, end, "The run ended before this could be shown.")
    if run.interrupted_at_s is not None and run.interrupted_at_s >= end.at_s:
        yield Slip(Item.INTERRUPTION, ALL, end, "The run ended before this could be shown.")
