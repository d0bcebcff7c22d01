"""What is asked of the person now: the state of a job turned into words and fields. Pure.

This is the whole of what the screens know about the sequence: which fields stand at which place of
the walk. What may follow what is decided in `guide.job.walk`, which refuses whatever is wrong here.
"""

from __future__ import annotations

from dataclasses import replace

from guide.charging.round import Action
from guide.job.elapsed import elapsed, in_words
from guide.job.focus import Focus, Front
from guide.job.limits import likely
from guide.job.state import JobState, refrigerant_may_move
from guide.job.walk import offered
from guide.journal.event import Stamp
from guide.procedure.channels import CHANNELS
from guide.procedure.model import (
    Adjust,
    ChannelAsk,
    Choose,
    Confirm,
    Reading,
    Step,
    Wait,
    Weigh,
)
from guide.screens import say
from guide.screens.ask import Ask, Choice, Sort, pick, quantity, secret, text
from guide.screens.filling import Filling
from guide.screens.mode import FINISHED, Mode, Turn
from guide.screens.settings import System
from guide.screens.unit_system import in_unit
from guide.screens.weigh_turn import cylinders_for, named_cylinder, weigh_asks, weigh_turn, weighing_turn

CUSTOMER_ANSWERS = (
    Choice("acknowledged", "was shown it, types a name"),
    Choice("not present", "is not present"),
    Choice("refused", "was shown it, refuses"),
)

OFFERED = "fits what is known"
RULED_OUT = "does not apply here"
"""Beside a way that what is known rules out: it is refused, so nobody is asked why they want it."""


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
            return weighing_turn(state)
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
        case Front.STOPPED:
            return Turn(Mode.CLOSED, "leave", call="This run is over.")
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
            return weigh_turn(state, step, proof)
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
    cylinders = cylinders_for(state, directed)
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


def whole(asked: Turn, filling: Filling) -> bool:
    """Whether the first answer says all there is to say, so that the fields behind it stay empty."""
    if filling.at == 0:
        return False
    if asked.mode is Mode.CUSTOMER:
        return filling.text("how") in {"refused", "not present"}
    return asked.mode is Mode.WEIGH_NEXT and filling.text("next") == FINISHED


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
        cylinder = named_cylinder(state, way)
        call = f"{verb} {say.amount(last.amount_kg, state.order)}. First weigh {cylinder}, its valve shut."
        return Turn(Mode.ADVISED_MOVE, "weighed, now open the valve", weigh_asks(state, way), call=call)
    sure = "The charge is right." if last.verdict == "pass" else "Nothing finer can be told or placed here."
    call = {
        Action.DONE: f"{sure} LEAVE it as it is.",
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
        holds = offered(state, replace(proof, options=(option,))) is not None
        note = OFFERED if is_first else "" if holds else RULED_OUT
        choices.append(Choice(option.key, option.text, note=note))
    return Turn(
        Mode.CHOOSE,
        "take this way",
        (pick("option", proof.ask, tuple(choices), picked=position),),
        call=proof.ask,
    )
