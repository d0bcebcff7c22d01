"""What is lost for air let in, refrigerant let out, the charge at the end and the moves on the way there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from guide.job import payloads as p
from guide.job.state import Move
from guide.procedure.model import Adjust
from guide.rig.happenings import Happening, Kind
from guide.rig.learning.lesson import ChargeAim, ChargeBy, Item
from guide.rig.learning.losing import Slip, points_for, share_lost
from guide.rig.learning.rubric import (
    ALL_LOST_FACTOR,
    BIG_MOVE_POINTS,
    MOVE_SHARE,
    OVERSHOOT_POINTS,
    PUMP_POINTS,
    ALL_AIR_kg,
    ALL_WATER_kg,
    FREE_AIR_kg,
    FREE_WATER_kg,
)
from guide.rig.learning.run import Outcome, Run, Told
from guide.rig.learning.score_hands import first_own_seq
from guide.units import show

SLACK: Final = 1.25
"""A move may be so many times what was advised, for the valve that closes late (PROPOSED)."""
BY_WEIGHT_INSTEAD: Final = 0.05
"""How far off the charge may be [share] where superheat or subcooling can't tell at the end (PROPOSED)."""


def air(run: Run) -> Iterator[Slip]:
    """Air and water let into the circuit."""
    said = _grams("of air got in")
    yield from _summed(run, Kind.AIR_IN, Item.AIR, free=FREE_AIR_kg, everything=ALL_AIR_kg, said=said)
    said = _grams("of water got in")
    yield from _summed(
        run, Kind.MOISTURE_IN, Item.AIR, free=FREE_WATER_kg, everything=ALL_WATER_kg, said=said
    )


def refrigerant(run: Run) -> Iterator[Slip]:
    """Refrigerant let out, beyond what good work loses."""
    free = run.lesson.unavoidable_loss_kg
    said = _grams("of refrigerant were let out")
    everything = max(free, 1e-6) * ALL_LOST_FACTOR
    yield from _summed(
        run, Kind.REFRIGERANT_LOST, Item.REFRIGERANT, free=free, everything=everything, said=said
    )
    for happening in run.happenings:
        if happening.kind in {Kind.PUMP_AGAINST_PRESSURE, Kind.REFRIGERANT_IN_PUMP}:
            words = f"{happening.kind.value.capitalize()}."
            yield Slip(Item.REFRIGERANT, PUMP_POINTS, run.cause(happening.at_s), words)


def charge(run: Run) -> Iterator[Slip]:
    """The charge at the end, as it truly is."""
    aim = run.lesson.aim
    if aim is None:
        return
    off, words = _off(run, aim)
    if off <= 1.0:
        return
    carried = run.lesson.rubric.points(Item.CHARGE)
    # half at once, the rest by how far beyond
    points = points_for(0.5 + 0.5 * min(1.0, off - 1.0), carried)
    yield Slip(Item.CHARGE, points, _last_of_charge(run), words)


def increments(run: Run) -> Iterator[Slip]:
    """Moves of a charging loop that were too big, against the advice, or taken back."""
    nameplate = float(run.state.order.nameplate_charge.si)
    division = float(run.state.order.scale_division.si)
    told = {each.seq: each for each in run.told}
    before = 0
    for move in _loop_moves(run):
        kg, event = float(move.into_system_kg), told[move.seq]
        way = 1 if kg > 0 else -1
        why = _too_big(run, move, nameplate, division)
        if why is not None:
            yield Slip(Item.INCREMENTS, BIG_MOVE_POINTS, event, why)
        if before and way != before:
            words = "taken out again" if way < 0 else "put in again"
            yield Slip(Item.INCREMENTS, OVERSHOOT_POINTS, event, f"{_mass(abs(kg))} had to be {words}.")
        before = way
    yield from _trips(run)


def _trips(run: Run) -> Iterator[Slip]:
    first_in = next((m.seq for m in run.state.moves if m.into_system_kg > 0), None)
    for happening in run.happenings:
        cause = run.cause(happening.at_s)
        if happening.kind is Kind.HIGH_PRESSURE_TRIP and first_in is not None and cause.seq >= first_in:
            words = "The high-pressure switch opened after charge was added."
            yield Slip(Item.INCREMENTS, BIG_MOVE_POINTS, cause, words)


def _too_big(run: Run, move: Move, nameplate: float, division: float) -> str | None:
    kg = float(move.into_system_kg)
    if abs(kg) > MOVE_SHARE * nameplate * SLACK + 2 * division:
        return f"{_mass(abs(kg))} at once is {abs(kg) / nameplate:.0%} of the nameplate charge."
    rounds = [each for each in run.state.rounds if each.seq < move.seq]
    if not rounds:
        return f"{_mass(abs(kg))} moved before anything was read."
    advice = rounds[-1].read.assessment
    if advice.action not in {"add", "recover"}:
        return f"{_mass(abs(kg))} moved where the advice was: {advice.action}."
    if (advice.action == "add") != (kg > 0):
        return f"{_mass(abs(kg))} moved the wrong way: the advice was {advice.action}."
    if abs(kg) > SLACK * float(advice.amount_kg) + 2 * division:
        return f"{_mass(abs(kg))} moved where {_mass(float(advice.amount_kg))} were advised."
    return None


def _loop_moves(run: Run) -> Iterator[Move]:
    steps = {step.id: step for _, step in run.state.procedure.steps()}
    for move in run.state.moves:
        step = steps.get(move.step)
        if move.observed and step is not None and isinstance(step.proof, Adjust) and move.into_system_kg:
            yield move


def _off(run: Run, aim: ChargeAim) -> tuple[float, str]:
    """How many tolerances the end is away from where it has to be, and in words."""
    end = run.end
    if aim.by is ChargeBy.UNTOUCHED:
        net, most = 0.0, 0.0
        for move in run.state.moves:
            net += float(move.into_system_kg)
            most = max(most, abs(net))
        # what went past the scale, or was weighed otherwise than it was, moved all the same
        most = max(most, abs(end.charge_kg - run.drawn.start_fraction * end.right_charge_kg))
        nameplate = float(run.state.order.nameplate_charge.si)
        return most / nameplate / aim.within, f"{_mass(most)} of charge moved, and it was not the charge."
    if aim.by is not ChargeBy.WEIGHT:
        superheat = aim.by is ChargeBy.SUPERHEAT
        value = end.superheat_K if superheat else end.subcooling_K
        target = end.target_superheat_K if superheat else end.target_subcooling_K
        if value is not None and target is not None:
            words = f"{aim.by.value.capitalize()} was truly {show(value, 'dF', digits=1)} at the end"
            return abs(value - target) / aim.within, f"{words}, its target {show(target, 'dF', digits=1)}."
        return _off_by_weight(end, BY_WEIGHT_INSTEAD)
    return _off_by_weight(end, aim.within)


def _off_by_weight(end: Outcome, within: float) -> tuple[float, str]:
    share = end.charge_kg / end.right_charge_kg - 1.0
    side = "over" if share > 0 else "short"
    return abs(share) / within, f"The charge was truly {abs(share):.1%} {side} at the end."


def _last_of_charge(run: Run) -> Told:
    """The event that left the charge as it is: the last weighing, the end of the loop, else the last."""
    kinds = (p.WeighEnded, p.AdjustEnded, p.WeighingFinished)
    own = [told for told in run.of(*kinds) if told.seq >= first_own_seq(run)]
    return own[-1] if own else run.last


def _summed(
    run: Run, kind: Kind, item: Item, *, free: float, everything: float, said: Callable[[float, float], str]
) -> Iterator[Slip]:
    """Slips for amounts that add up: each happening loses what it adds to what was lost before it."""
    carried = run.lesson.rubric.points(item)
    total, lost = 0.0, 0
    for happening in _of(run, kind):
        amount = happening.amount or 0.0
        total += amount
        now = points_for(share_lost(total, free, everything), carried)
        if now > lost:
            yield Slip(item, now - lost, run.cause(happening.at_s), said(amount, total))
            lost = now


def _of(run: Run, kind: Kind) -> list[Happening]:
    return sorted((each for each in run.happenings if each.kind is kind), key=lambda each: each.at_s)


def _grams(what: str) -> Callable[[float, float], str]:
    def said(amount: float, total: float) -> str:
        digits = 2 if amount < 0.01 else 0
        sum_up = f", {total * 1000:.{digits}f} g in all" if total > amount * 1.001 else ""
        return f"{amount * 1000:.{digits}f} g {what}{sum_up}."

    return said


def _mass(kg: float) -> str:
    return f"{show(kg, 'oz', digits=1)} ({kg * 1000:.0f} g)"
