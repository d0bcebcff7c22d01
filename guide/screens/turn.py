"""What is asked of the person now: the state of a job turned into words and fields. Pure.

This is the whole of what the screens know about the sequence: which fields stand at which place of
the walk. What may follow what is decided in `guide.job.walk`, which refuses whatever is wrong here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, Decimal
from enum import StrEnum

from guide.charging.round import Action
from guide.job import payloads as p
from guide.job.elapsed import elapsed, in_words
from guide.job.focus import Focus, Front
from guide.job.limits import likely
from guide.job.state import ABORT_SIGN_STEP, JobState, refrigerant_may_move
from guide.job.walk import offered
from guide.job.weighing import Progress, progress
from guide.journal.event import Stamp
from guide.procedure.channels import CHANNELS
from guide.procedure.model import (
    Adjust,
    ChannelAsk,
    Choose,
    Confirm,
    Direction,
    Reading,
    Step,
    Wait,
    Weigh,
)
from guide.screens import say
from guide.screens.ask import Ask, Choice, Sort, pick, quantity, secret, text
from guide.screens.filling import Filling
from guide.screens.settings import System
from guide.screens.unit_system import in_unit

CUSTOMER_ANSWERS = (
    Choice("acknowledged", "was shown it, types a name"),
    Choice("not present", "is not present"),
    Choice("refused", "was shown it, refuses"),
)


WEIGH_ON, FINISHED = "weigh on", "finished"
"""Answers where a step takes several weighings."""


class Mode(StrEnum):
    """What Enter will do at the end of the fields."""

    RESUME = "resume"
    HAZARD = "hazard"
    ANSWER = "answer"
    CHOOSE = "choose"
    READ = "read"
    WAIT_BEGIN = "begin the wait"
    WAITING = "waiting"
    WAIT_END = "end the wait"
    WEIGH_BEGIN = "begin the weighing"
    WEIGH_NEXT = "weigh on or finish"
    WEIGH_END = "end the weighing"
    ROUND = "round"
    SETTLE = "settle"
    ADVISED_MOVE = "move"
    LOOP_END = "end the loop"
    PART_END = "end the part"
    CUSTOMER = "customer"
    SIGN = "sign"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class Turn:
    """What is asked now: the mode, the call on the person, the fields, what Enter does."""

    mode: Mode
    accept: str
    asks: tuple[Ask, ...] = ()
    call: str = ""
    """A line above the fields that says what to do, where the step's own action does not."""
    left_s: float | None = None
    """Seconds of a wait that are left."""


def turn(
    state: JobState, focus: Focus, now: Stamp, *, reading_again: bool = False, system: System = System.ORDER
) -> Turn:
    """What is asked at this place, at this moment; `state` is already in the units of `system`."""
    asked = _turn(state, focus, now, reading_again=reading_again)
    if system is System.ORDER:
        return asked
    asks = tuple(
        replace(ask, unit=in_unit(ask.unit, system))
        if ask.sort is Sort.QUANTITY and ask.key in CHANNELS
        else ask
        for ask in asked.asks
    )
    return replace(asked, asks=asks)


def _turn(state: JobState, focus: Focus, now: Stamp, *, reading_again: bool) -> Turn:  # noqa: PLR0911 - one return a front
    match focus.front:
        case Front.RESUME | Front.OPEN:
            return _resume(state)
        case Front.WEIGHING:
            return _weighing(state)
        case Front.HAZARD:
            return Turn(Mode.HAZARD, "I have read this")
        case Front.PART_END:
            return Turn(
                Mode.PART_END, "this part is complete", call="Look over the part. Nothing left to do in it?"
            )
        case Front.CUSTOMER:
            return _customer()
        case Front.SIGN | Front.AMEND:
            asks = (secret("passphrase", "Passphrase"),)
            return Turn(Mode.SIGN, "sign and close", asks, call=_meaning(state, focus))
        case Front.CLOSED:
            return _closed(state)
    assert focus.step is not None
    return _step(state, focus.step, now, reading_again=reading_again)


def _step(  # noqa: PLR0911 - one return a proof
    state: JobState, step: Step, now: Stamp, *, reading_again: bool
) -> Turn:
    match step.proof:
        case Confirm() as proof:
            answers = tuple(Choice(a, a) for a in proof.accept) + tuple(Choice(a, a) for a in proof.refuse)
            return Turn(
                Mode.ANSWER, "this is what I see", (pick("seen", proof.ask, answers),), call=proof.ask
            )
        case Reading() as proof:
            return Turn(Mode.READ, "accept", channel_asks(state, step.id, proof.channels))
        case Wait() as proof:
            return _wait(state, step, proof, now, reading_again=reading_again)
        case Weigh() as proof:
            return _weigh(state, step, proof)
        case Adjust() as proof:
            return _adjust(state, step, proof, now, reading_again=reading_again)
        case Choose() as proof:
            return _choose(state, proof)
        case _:
            return _customer()


def _closed(state: JobState) -> Turn:
    if state.issued:
        return Turn(Mode.CLOSED, "back", call="CLOSED AND SIGNED.")
    call = "The job is closed, its record is not written yet. MAKE it:"
    return Turn(Mode.SIGN, "make the record", (secret("passphrase", "Passphrase"),), call=call)


def _customer() -> Turn:
    asks = (pick("how", "The customer", CUSTOMER_ANSWERS), text("name", "Customer's name", needed=False))
    return Turn(Mode.CUSTOMER, "write it down", asks, call="SHOW the customer what was done.")


def _meaning(state: JobState, focus: Focus) -> str:
    if state.amending:
        return "Sign the amendment."
    meaning = getattr(focus.step.proof, "meaning", "") if focus.step else ""
    return f"Your signature says: {meaning}" if meaning else "Sign the record of this job."


def _resume(state: JobState) -> Turn:
    if not refrigerant_may_move(state):
        return Turn(Mode.RESUME, "go on")
    weighing = state.weighing.begun if state.weighing else None
    directed = weighing.direction if weighing else None
    cylinders = _cylinders(state, directed)
    names = [choice.value for choice in cylinders]
    last = weighing.cylinder if weighing else (state.moves[-1].cylinder if state.moves else None)
    asks = (
        pick(
            "cylinder",
            "Cylinder on the scale",
            cylinders,
            picked=names.index(last) if last in names else None,
        ),
        quantity("weight", "It weighs now", say.weight_unit(state.order), note=_weighed_last(state, last)),
        pick("valve", "Its valve is", (Choice("closed", "closed"), Choice("open", "open"))),
    )
    return Turn(
        Mode.RESUME,
        "go on",
        asks,
        call="Refrigerant may have moved while you were away. LOOK at the cylinder.",
    )


def _weighed_last(state: JobState, cylinder: str | None) -> str:
    value = state.last_weight(cylinder) if cylinder else None
    return f"last {say.weight(value.si, state.order)}" if value else ""


def _cylinders(state: JobState, direction: str | None) -> tuple[Choice, ...]:
    """The order's cylinders that can serve, as answers; those for either way without a direction."""
    filled = {move.cylinder for move in state.moves if move.into_system_kg < 0}
    fitting = [
        c
        for c in state.order.cylinders
        if c.refrigerant == state.order.refrigerant.designation
        and not (direction == "in" and c.contents == "empty" and c.id not in filled)
        and not (direction == "out" and c.contents not in {"empty", "recovered"})
    ] or list(state.order.cylinders)
    return tuple(Choice(c.id, c.id, note=f"{c.refrigerant}, {c.contents}") for c in fitting)


def weigh_asks(state: JobState, direction: str | None) -> tuple[Ask, ...]:
    """The fields before refrigerant moves: which cylinder, and what it weighs; no direction: either way."""
    cylinders = _cylinders(state, direction)
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
    return _cylinders(state, direction)[0].value


def close_at(state: JobState) -> Decimal | None:
    """The weight [kg] at which to shut the valve of the weighing under way, by advice or target."""
    weighing = state.weighing
    moved = _to_move(state)
    if weighing is None or moved is None or moved <= 0:
        return None
    division = state.order.scale_division.si
    steps = (moved / division).to_integral_value(ROUND_DOWN)
    moved = steps * division if steps else moved  # a weight the scale can show, never more than wanted
    before = weighing.begun.before.si
    at = before - moved if weighing.begun.direction == "in" else before + moved
    return at if at > 0 else None


def _to_move(state: JobState) -> Decimal | None:
    """How much the weighing under way is to move [kg], where that is known."""
    begun = state.weighing.begun if state.weighing else None
    if begun is None or begun.against_advice is not None:
        return None
    if begun.step != ABORT_SIGN_STEP and isinstance(state.procedure.step(begun.step).proof, Weigh):
        return progress(state, state.procedure.step(begun.step)).remaining_kg
    rounds = state.step_rounds(begun.step)
    return rounds[-1].read.assessment.amount_kg if rounds else None


def _weigh(state: JobState, step: Step, proof: Weigh) -> Turn:
    """The next weighing of a step; one that takes several asks from the second on whether it is finished."""
    direction = proof.direction.value
    asks = weigh_asks(state, direction)
    stands = progress(state, step)
    if not proof.repeat or not any(move.step == step.id for move in state.moves):
        call = "" if stands.target_kg is None else f"{_way(proof)}: {_left(state, stands)}"
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
        call=so_far.strip(),
    )


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


def whole(asked: Turn, filling: Filling) -> bool:
    """Whether the first answer says all there is to say, so that the fields behind it stay empty."""
    if filling.at == 0:
        return False
    if asked.mode is Mode.CUSTOMER:
        return filling.text("how") in {"refused", "not present"}
    return asked.mode is Mode.WEIGH_NEXT and filling.text("next") == FINISHED


def _weighing(state: JobState) -> Turn:
    assert state.weighing is not None
    begun = state.weighing.begun
    target = close_at(state)
    into = begun.direction == "in"
    way = f"OPEN the valve of {begun.cylinder} slowly" if into else f"RECOVER into {begun.cylinder}"
    at = f" at {say.weight(target, state.order)}" if target is not None else " when you are done"
    call = f"{way}, CLOSE it{at}. Then read the scale."
    note = f"before {say.weight(begun.before.si, state.order)}"
    return Turn(
        Mode.WEIGH_END,
        "valve is closed, this is the weight",
        (quantity("after", "Weight after", say.weight_unit(state.order), note=note),),
        call=call,
    )


def channel_asks(state: JobState, step_id: str, channels: tuple[ChannelAsk, ...]) -> tuple[Ask, ...]:
    """One field a channel, the last value entered there beside it."""
    asks = []
    for asked in channels:
        mine = [e.value for e in state.entries if e.step == step_id and e.channel == asked.channel]
        notes = []
        low, high = likely(state, step_id, asked)
        unit = say.weight_unit(state.order) if asked.channel == "cylinder_weight" else asked.unit
        if mine:
            notes.append(f"was {say.reading_before(mine[-1], unit, state.order.site_pressure_Pa)} (=)")
        elif asked.settled_s:
            notes.append(f"steady for {asked.settled_s} s")
        asks.append(
            Ask(
                asked.channel,
                asked.ask or CHANNELS[asked.channel].label,
                Sort.QUANTITY,
                unit=unit,
                low=low,
                high=high,
                note=", ".join(notes),
                same=mine[-1].typed if mine else "",
            )
        )
    return tuple(asks)


def _wait(state: JobState, step: Step, proof: Wait, now: Stamp, *, reading_again: bool) -> Turn:
    asks = channel_asks(state, step.id, proof.channels)
    if state.waiting is None:
        call = f"At least {in_words(proof.at_least_s)}. The wait begins with Enter."
        if asks:
            call = f"At least {in_words(proof.at_least_s)}, read at its start and at its end. Now the start:"
        return Turn(Mode.WAIT_BEGIN, "begin the wait", asks, call=call)
    left = max(0.0, state.waiting.begun.at_least_s - elapsed(state.waiting.at, now).seconds)
    if left > 0 and reading_again and may_end_early(proof):
        call = "BEFORE ITS TIME a hold only ends when a limit is clearly not met. Read now:"
        return Turn(Mode.WAIT_END, "end the wait, not held", asks, call=call)
    if left > 0:
        return Turn(Mode.WAITING, "", call="The wait runs, also while this program is closed.", left_s=left)
    return Turn(
        Mode.WAIT_END, "end the wait", asks, call="TIME IS UP. Read again now:" if asks else "TIME IS UP."
    )


def may_end_early(proof: Wait) -> bool:
    """Whether a hold can be found not held before its time is over."""
    return bool(proof.channels and (proof.limits or proof.changes))


def settle_left(state: JobState, proof: Adjust, now: Stamp) -> float:
    """Seconds until the charging loop's readings count as settled."""
    wanted = float(proof.settle_s)
    if state.order.settle_time is not None:
        wanted = max(wanted, float(state.order.settle_time.si))
    since = state.last_change or state.running_since
    return max(0.0, wanted - elapsed(since, now).seconds) if since else 0.0


def changed_since_round(state: JobState, step_id: str) -> bool:
    """Whether refrigerant moved since the last round, or there is none."""
    rounds = state.step_rounds(step_id)
    return not rounds or any(move.seq > rounds[-1].seq for move in state.moves)


def _adjust(state: JobState, step: Step, proof: Adjust, now: Stamp, *, reading_again: bool) -> Turn:
    rounds = state.step_rounds(step.id)
    number = len(rounds) + 1
    left = settle_left(state, proof, now)
    if changed_since_round(state, step.id) or reading_again:
        if left > 0 and not reading_again:
            call = "WAIT for the system to settle."
            return Turn(Mode.SETTLE, "read before it has settled", call=call, left_s=left)
        asks = channel_asks(state, step.id, proof.channels)
        again = " The same as before: =" if rounds else ""
        call = f"Round {number}: read all of them within a minute.{again}"
        return Turn(Mode.ROUND, "what does it mean?", asks, call=call)
    last = rounds[-1].read.assessment
    action = Action(last.action)
    if action is Action.WAIT:
        return Turn(Mode.SETTLE, "read again", call="WAIT, then read again.", left_s=left)
    if action in {Action.ADD, Action.RECOVER}:
        into = action is Action.ADD
        verb, way = ("ADD", "in") if into else ("RECOVER", "out")
        call = f"{verb} {say.amount(last.amount_kg, state.order)}. First weigh the cylinder, its valve shut."
        return Turn(Mode.ADVISED_MOVE, "weighed, now open the valve", weigh_asks(state, way), call=call)
    call = {
        Action.DONE: "The charge is right. LEAVE it as it is.",
        Action.STOP: "STOP. Do not move refrigerant.",
    }[action]
    return Turn(Mode.LOOP_END, "end the charging", call=call)


def _choose(state: JobState, proof: Choose) -> Turn:
    first = offered(state, proof)
    choices = []
    position = None
    for number, option in enumerate(proof.options):
        is_first = first is not None and option.key == first.key
        if is_first:
            position = number
        choices.append(Choice(option.key, option.text, note="offered by the facts" if is_first else ""))
    return Turn(
        Mode.CHOOSE,
        "take this way",
        (pick("option", proof.ask, tuple(choices), picked=position),),
        call=proof.ask,
    )


def last_assessment(state: JobState) -> p.Assessment | None:
    """What the newest round said."""
    return state.rounds[-1].read.assessment if state.rounds else None
