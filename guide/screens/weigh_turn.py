"""What is asked where refrigerant crosses the scale: which cylinder, what it weighs, if it is done. Pure."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_DOWN, Decimal
from typing import Final

from guide.charging.refusal import FigureError
from guide.job.order import Cylinder
from guide.job.state import ABORT_SIGN_STEP, JobState
from guide.job.weighing import Progress, progress, stop_at_kg
from guide.procedure.model import Direction, Step, Weigh
from guide.screens import say
from guide.screens.ask import Ask, Choice, Sort, pick, quantity
from guide.screens.mode import FINISHED, WEIGH_ON, Mode, Turn


def cylinders_for(state: JobState, direction: str | None) -> tuple[Choice, ...]:
    """The order's cylinders that can serve, as answers; those for either way without a direction."""
    filled = {move.cylinder for move in state.moves if move.into_system_kg < 0}
    fitting = [
        c
        for c in state.order.cylinders
        if (
            c.refrigerant == state.order.refrigerant.designation
            or (direction == "out" and state.order.refrigerant.designation in c.holds)
        )
        and not (direction == "in" and c.contents == "empty" and c.id not in filled)
        and not (direction == "out" and c.contents not in {"empty", "recovered"})
    ] or list(state.order.cylinders)
    return tuple(Choice(c.id, c.id, note=_known_of(state, c, direction)) for c in fitting)


def _known_of(state: JobState, cylinder: Cylinder, direction: str | None) -> str:
    """What is in a cylinder; for recovering also the weight at which it is full."""
    words = f"{cylinder.refrigerant}, {cylinder.contents}"
    full = full_at(state, cylinder.id) if direction == "out" else None
    return f"{words}, full at {say.weight(full, state.order)}" if full is not None else words


def full_at(state: JobState, cylinder: str) -> Decimal | None:
    """The gross weight [kg] at which a cylinder is full, as the scale shows it; None where not known."""
    try:
        return stop_at_kg(state, cylinder)
    except FigureError:
        return None


def weigh_asks(state: JobState, direction: str | None) -> tuple[Ask, ...]:
    """The fields before refrigerant moves: which cylinder, and what it weighs; no direction: either way."""
    cylinders = cylinders_for(state, direction)
    used = [move.cylinder for move in state.moves]
    names = [choice.value for choice in cylinders]
    picked = names.index(used[-1]) if used and used[-1] in names else (0 if len(names) == 1 else None)
    last = state.last_weight(names[picked]) if picked is not None else None
    weight_field = Ask(
        "before",
        "Weight before",
        Sort.QUANTITY,
        unit=say.weight_unit(state.order),
        note=f"was {say.weight(last.si, state.order)} (=)" if last else "",
        same=last.typed if last else "",
    )
    if len(cylinders) > 1 and last is not None:
        # another cylinder may be picked, so the value before is only told, with its cylinder's name
        note = f"{names[picked or 0]} was {say.weight(last.si, state.order)}"
        weight_field = replace(weight_field, note=note, same="")
    if len(cylinders) == 1:
        return (weight_field,)
    return (pick("cylinder", "Cylinder", cylinders, picked=picked), weight_field)


def only_cylinder(state: JobState, direction: str) -> str:
    """The cylinder that is meant where only one can be."""
    return cylinders_for(state, direction)[0].value


def named_cylinder(state: JobState, direction: str) -> str:
    """The one cylinder that can be meant by its name; where several can, "the cylinder" is asked for."""
    fitting = cylinders_for(state, direction)
    return fitting[0].words if len(fitting) == 1 else "the cylinder"


_LOGGED_TO_kg: Final = Decimal("0.000001")
"""The last digit of an advised amount in the log."""


def close_at(state: JobState) -> Decimal | None:
    """The weight [kg] at which to shut the valve of this weighing: by advice, target or fill limit."""
    weighing = state.weighing
    moved = _to_move(state)
    if weighing is None:
        return None
    full = weighing.begun.stop_at_kg
    if moved is None or moved <= 0:
        return full
    division = state.order.scale_division.si
    # advice is logged to the milligram: nine divisions rounded there are still nine, not eight
    steps = ((moved + _LOGGED_TO_kg) / division).to_integral_value(ROUND_DOWN)
    moved = steps * division if steps else moved  # a weight the scale can show, never more than wanted
    before = weighing.begun.before.si
    if weighing.begun.direction == "out":
        return before + moved if full is None else min(before + moved, full)
    gives = _gives(state)
    at = before - (moved if gives is None else min(moved, gives))
    return at if at > 0 else None


def _gives(state: JobState) -> Decimal | None:
    """About how much the cylinder on the scale can give, down to its tare [kg]; None where not known."""
    weighing = state.weighing
    known = state.order.cylinder(weighing.begun.cylinder) if weighing else None
    if weighing is None or known is None or weighing.begun.direction != "in":
        return None
    gives = known.gives_kg(weighing.begun.before.si)
    return None if gives is None else max(gives, Decimal(0))


def _short(state: JobState) -> str:
    """Words where the cylinder on the scale can't give as much as is wanted."""
    wanted, gives = _to_move(state), _gives(state)
    if wanted is None or gives is None or gives >= wanted:
        return ""
    return f" It holds about {say.weight(gives, state.order)}: have ANOTHER ready."


def _to_move(state: JobState) -> Decimal | None:
    """How much the weighing under way is to move [kg], where that is known."""
    begun = state.weighing.begun if state.weighing else None
    if begun is None or begun.against_advice is not None:
        return None
    if begun.step != ABORT_SIGN_STEP and isinstance(state.procedure.step(begun.step).proof, Weigh):
        return progress(state, state.procedure.step(begun.step)).remaining_kg
    rounds = state.step_rounds(begun.step)
    return rounds[-1].read.assessment.amount_kg if rounds else None


def weigh_turn(state: JobState, step: Step, proof: Weigh) -> Turn:
    """The next weighing of a step; one that takes several asks from the second on whether it is finished."""
    direction = proof.direction.value
    asks = weigh_asks(state, direction)
    stands = progress(state, step)
    if not proof.repeat or not any(move.step == step.id for move in state.moves):
        call = f"WEIGH {named_cylinder(state, direction)}, its valve shut."
        if stands.target_kg is not None:
            call = f"{_way(proof)}: {_left(state, stands)} {call}"
        call += _limit(state, direction)
        return Turn(Mode.WEIGH_BEGIN, "cylinder stands on the scale", asks, call=call)
    finished = stands.target_kg is not None and stands.on_target(state.order.scale_division.si)
    so_far = f"{_way(proof)} {say.weight(stands.moved_kg, state.order)} so far. {_left(state, stands)}"
    choices = (
        Choice(WEIGH_ON, "weigh on, same or new cylinder"),
        Choice(FINISHED, "this step is finished", note="on target" if finished else ""),
    )
    picked = (1 if finished else 0) if stands.target_kg is not None else None
    return Turn(
        Mode.WEIGH_NEXT,
        "so it is",
        (pick("next", "What next?", choices, picked=picked), *asks),
        call=so_far.strip() + _limit(state, direction),
    )


def _limit(state: JobState, direction: str) -> str:
    """At which weight the one cylinder that can be meant is full; of several it stands beside each."""
    fitting = cylinders_for(state, direction)
    full = full_at(state, fitting[0].value) if direction == "out" and len(fitting) == 1 else None
    return f" It is FULL at {say.weight(full, state.order)}." if full is not None else ""


def _way(proof: Weigh) -> str:
    return "Into the system" if proof.direction is Direction.IN else "Out of the system"


def _left(state: JobState, stands: Progress) -> str:
    """What is wanted and what is left of it."""
    if stands.target_kg is None or stands.remaining_kg is None:
        return ""
    wanted = f"{say.weight(stands.target_kg, state.order)} wanted"
    if stands.moved_kg == 0:
        return f"{wanted}."
    if stands.on_target(state.order.scale_division.si):
        return f"{wanted}: on target."
    left = say.amount(abs(stands.remaining_kg), state.order)
    return f"{wanted}, {left} {'left' if stands.remaining_kg >= 0 else 'TOO MUCH'}."


def weighing_turn(state: JobState) -> Turn:
    """A cylinder stands on the scale: where to shut its valve, and the weight after."""
    assert state.weighing is not None
    begun = state.weighing.begun
    target = close_at(state)
    into = begun.direction == "in"
    way = f"OPEN the valve of {begun.cylinder} slowly" if into else f"RECOVER into {begun.cylinder}"
    at = f" at {say.weight(target, state.order)}" if target is not None else " when you are done"
    if target is not None and target == begun.stop_at_kg:
        at = f" when you are done, {say.weight(target, state.order)} at the latest: it is full then"
    call = f"{way}, CLOSE it{at}. Then read the scale.{_short(state)}"
    note = f"before {say.weight(begun.before.si, state.order)}"
    return Turn(
        Mode.WEIGH_END,
        "valve is closed, this is the weight",
        (quantity("after", "Weight after", say.weight_unit(state.order), note=note),),
        call=call,
    )
