"""Refrigerant across the scale: when it may move, from which cylinder, and how much it was."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.cylinder import MIXED, UNKNOWN, Cylinder
from guide.job.focus import Refused, at_step
from guide.job.state import Entry, JobState, named_rules
from guide.procedure.model import Adjust, Direction, Step, Weigh
from guide.units import COMPOUND_MASS, show

SCALE_NOISE_DIVISIONS: Final = 3
"""A difference of weight up to this many scale divisions is the scale's own (PROPOSED)."""
TARGET_SHARE: Final = Decimal("0.02")
"""How far of its target a weighing may stay off without a reason, if the scale allows (PROPOSED)."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How a step that weighs stands [kg], counted the way it moves refrigerant; None without a target."""

    moved_kg: Decimal
    target_kg: Decimal | None
    remaining_kg: Decimal | None
    """Below zero when more has moved than wanted."""

    def on_target(self, division_kg: Decimal) -> bool:
        """Whether what has moved is as much as wanted, within the scale's noise or a share of the target."""
        if self.target_kg is None or self.remaining_kg is None:
            return self.moved_kg > 0
        return abs(self.remaining_kg) <= max(
            SCALE_NOISE_DIVISIONS * division_kg, TARGET_SHARE * self.target_kg
        )


def progress(state: JobState, step: Step) -> Progress:
    """How much a weigh step has moved so far, in all its weighings, and what is left of its target.

    Done again after refrigerant went the other way at another weigh step, it counts from there. What other
    weigh steps moved the same way towards the same target is no longer this step's to move.

    Raises:
        Refused: the step weighs nothing, or its target hangs on a figure that the order does not give.
    """
    proof = step.proof
    if not isinstance(proof, Weigh):
        raise Refused(f"step {step.id} weighs no refrigerant")
    way = 1 if proof.direction is Direction.IN else -1
    moved = elsewhere = Decimal(0)
    for move in reversed(state.moves):
        other = _weigh(state, move.step)
        if move.step == step.id:
            moved += way * move.into_system_kg
        elif way * move.into_system_kg < 0 and other is not None:
            break
        elif other is not None and other.target is proof.target:
            elsewhere += way * move.into_system_kg
    if proof.target is None:
        return Progress(moved, None, None)
    target = state.order.figure(proof.target)
    if target is None:
        raise Refused(f"the order gives no {proof.target.replace('_', ' ')}, which step {step.id} goes by")
    wanted = target.si - elsewhere
    return Progress(moved, wanted, wanted - moved)


def _weigh(state: JobState, step_id: str) -> Weigh | None:
    try:
        proof = state.procedure.step(step_id).proof
    except KeyError:
        return None
    return proof if isinstance(proof, Weigh) else None


def begin_weigh(state: JobState, command: c.BeginWeigh, now: c.Now) -> tuple[p.Payload, ...]:
    """A cylinder goes on the scale: it is the right one, and the move is wanted at this place."""
    step = at_step(state, command.step)
    if isinstance(step.proof, Weigh):
        if command.direction != step.proof.direction.value:
            raise Refused(f"this step moves refrigerant {step.proof.direction.value}, not the other way")
    elif isinstance(step.proof, Adjust):
        _check_against_advice(state, step, command)
    else:
        raise Refused(f"no refrigerant moves at step {step.id}")
    _check_cylinder(state, command.cylinder, command.direction)
    _check_weight(command.before)
    stop_at = _check_room(state, command, now) if command.direction == "out" else None
    return (
        p.WeighBegun(
            step=step.id,
            direction=command.direction,
            cylinder=command.cylinder,
            before=command.before,
            against_advice=command.against_advice,
            stop_at_kg=stop_at,
        ),
    )


def stop_at_kg(state: JobState, cylinder: str) -> Decimal | None:
    """The gross weight [kg] at which recovering into a cylinder stops; None where its collar is not known.

    Raises:
        FigureError: what is in it is not known.
    """
    known = state.order.cylinder(cylinder)
    if known is None:
        return None
    return known.stop_at_kg(state.order.refrigerant.designation, state.order.scale_division.si)


def _check_room(state: JobState, command: c.BeginWeigh, now: c.Now) -> Decimal | None:
    """That a cylinder may be filled and has room; the weight at which that ends [kg]."""
    known = state.order.cylinder(command.cylinder)
    assert known is not None
    division = state.order.scale_division.si
    in_use = any(move.cylinder == known.id for move in state.moves)
    against = known.against_filling(
        state.order.refrigerant.designation,
        command.before.si,
        division,
        date.fromisoformat(now.stamp.utc[:10]),
        in_use=in_use,
    )
    if against is not None:
        raise Refused(f"cylinder {known.id}: {against}")
    stop_at = stop_at_kg(state, known.id)
    if stop_at is not None and command.before.si > stop_at - division / 2:
        unit = COMPOUND_MASS if state.order.scale_division.unit in {"oz", "lb", COMPOUND_MASS} else "kg"
        shown = [
            show(kg, unit, digits=2 if unit == COMPOUND_MASS else 3) for kg in (command.before.si, stop_at)
        ]
        raise Refused(
            f"cylinder {known.id} weighs {shown[0]} and is full at {shown[1]}; recover into another one"
        )
    return stop_at


def _check_against_advice(state: JobState, step: Step, command: c.BeginWeigh) -> None:
    rounds = state.step_rounds(step.id)
    if not rounds or _changed_since_last_round(state, step):
        raise Refused("take a round of readings before refrigerant moves again")
    advised = {"in": "add", "out": "recover"}[command.direction]
    if rounds[-1].read.assessment.action != advised and command.against_advice is None:
        raise Refused(
            f"the advice is {rounds[-1].read.assessment.action}; to move refrigerant {command.direction} "
            "all the same, give a reason"
        )


def _changed_since_last_round(state: JobState, step: Step) -> bool:
    last = state.step_rounds(step.id)[-1]
    return any(move.seq > last.seq for move in state.moves)


def _check_cylinder(state: JobState, cylinder: str, direction: str) -> None:
    known = state.order.cylinder(cylinder)
    if known is None:
        names = ", ".join(entry.id for entry in state.order.cylinders)
        raise Refused(f"cylinder {cylinder} is not on the order, which has {names}")
    if known.refrigerant in {MIXED, UNKNOWN}:
        _check_mixed(known, state.order.refrigerant.designation, direction)
    elif known.refrigerant != state.order.refrigerant.designation:
        raise Refused(
            f"cylinder {cylinder} holds {known.refrigerant}, the appliance "
            f"{state.order.refrigerant.designation}: never mix refrigerants"
        )
    if direction == "out" and named_rules(state) and known.contents not in {"empty", "recovered"}:
        raise Refused(
            f"cylinder {cylinder} holds {known.contents} refrigerant; recover into one that is empty or "
            "holds recovered refrigerant"
        )
    filled = any(move.cylinder == cylinder and move.into_system_kg < 0 for move in state.moves)
    if direction == "in" and known.contents == "empty" and not filled:
        raise Refused(f"cylinder {cylinder} is an empty one for recovery; nothing can be charged from it")


def _check_mixed(known: Cylinder, designation: str, direction: str) -> None:
    """A cylinder of mixed refrigerant takes more of what is in it, for reclaim; it never gives any."""
    if direction == "in":
        raise Refused(
            f"cylinder {known.id} holds {known.refrigerant} refrigerant; nothing is charged from it"
        )
    if known.refrigerant == UNKNOWN:
        raise Refused(
            f"what cylinder {known.id} holds is not known, so it has no fill limit; recover into another one"
        )
    if designation not in known.holds:
        held = ", ".join(known.holds) or "nothing named"
        raise Refused(f"cylinder {known.id} holds {held} and no {designation}: never mix refrigerants")
    if known.collar is None:
        raise Refused(
            f"cylinder {known.id} is mixed and has no fill limit; write water_capacity and tare of its collar"
        )


def _check_weight(weight: p.ReadingValue) -> None:
    if weight.channel != "cylinder_weight" or weight.si <= 0:
        raise Refused("a cylinder on the scale weighs something; enter its weight")


def end_weigh(state: JobState, command: c.EndWeigh, _now: c.Now) -> tuple[p.Payload, ...]:
    """A cylinder's valve is closed: what moved is the difference of its two weights."""
    weighing = state.weighing
    if weighing is None or weighing.begun.step != command.step:
        raise Refused("no weighing is under way at this step")
    _check_weight(command.after)
    moved = _moved(weighing.begun.direction, weighing.begun.before, command.after)
    if moved < -SCALE_NOISE_DIVISIONS * state.order.scale_division.si:
        came = "heavier" if weighing.begun.direction == "in" else "lighter"
        raise Refused(f"the cylinder got {came}; read the scale again, or correct the weight before")
    return (p.WeighEnded(step=command.step, after=command.after, moved_kg=moved),)


def _moved(direction: str, before: p.ReadingValue, after: p.ReadingValue) -> Decimal:
    return before.si - after.si if direction == "in" else after.si - before.si


def end_adjust(state: JobState, command: c.EndAdjust, _now: c.Now) -> tuple[p.Payload, ...]:
    """The charging loop is left: on its verdict, on its advice to stop, or with a reason."""
    step = at_step(state, command.step)
    if not isinstance(step.proof, Adjust):
        raise Refused(f"step {step.id} has no charging loop")
    rounds = state.step_rounds(step.id)
    if not rounds or _changed_since_last_round(state, step):
        raise Refused("take a round of readings first; the charge was changed since the last one")
    last = rounds[-1].read.assessment
    if last.action == "done":
        outcome = "in tolerance" if last.verdict == "pass" else "undecided, accepted"
    elif last.action == "stop":
        outcome = "stopped"
    elif command.reason is None:
        raise Refused(f"the advice is {last.action}; to leave the loop all the same, give a reason")
    else:
        outcome = "accepted against advice"
    return (p.AdjustEnded.model_validate({"step": step.id, "outcome": outcome, "reason": command.reason}),)


def end_weighing(state: JobState, command: c.EndWeighing, _now: c.Now) -> tuple[p.Payload, ...]:
    """The weighings of a step are done: on target, or with a reason."""
    step = at_step(state, command.step)
    if not isinstance(step.proof, Weigh) or not step.proof.repeat:
        raise Refused(f"step {step.id} does not take several weighings")
    stands = progress(state, step)
    if not stands.on_target(state.order.scale_division.si) and command.reason is None:
        if stands.target_kg is None or stands.remaining_kg is None:
            raise Refused("nothing has moved at this step; weigh it, or finish with a reason")
        grams = stands.remaining_kg * 1000
        words = f"{grams:.0f} g are left" if grams > 0 else f"{-grams:.0f} g more than wanted have moved"
        raise Refused(f"{words}; weigh on, or finish with a reason")
    return (
        p.WeighingFinished(
            step=step.id, moved_kg=stands.moved_kg, target_kg=stands.target_kg, reason=command.reason
        ),
    )


def moved_after(state: JobState, entry: Entry, new: p.ReadingValue) -> Decimal | None:
    """What a weighing moved once one of its weights is corrected, or None for another entry."""
    for move in state.moves:
        if move.before is None or move.step != entry.step:
            continue
        direction = "in" if move.into_system_kg >= 0 else "out"
        if entry.channel == "weight after" and move.seq == entry.seq:
            return _moved(direction, move.before, new)
        if entry.channel == "weight before" and move.begun_seq == entry.seq:
            return _moved(direction, new, move.after)
    return None


def unexplained(state: JobState, check: p.CylinderCheck | None) -> Decimal | None:
    """What left a cylinder since its last weight, where that is more than the scale's own noise."""
    if check is None:
        return None
    _check_weight(check.weight)
    last = state.last_weight(check.cylinder)
    if last is None:
        return None
    gone = last.si - check.weight.si
    return gone if abs(gone) > SCALE_NOISE_DIVISIONS * state.order.scale_division.si else None
