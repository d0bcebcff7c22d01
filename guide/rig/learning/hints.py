"""Three hints a step: where to look, the rule behind it, the answer. From the lesson, else from the step."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from guide.job import payloads as p
from guide.procedure.channels import CHANNELS
from guide.procedure.model import (
    Adjust,
    ChannelAsk,
    Choose,
    Confirm,
    Limit,
    OrderFigure,
    Reading,
    Step,
    Wait,
    Weigh,
)
from guide.rig.acts import Handling
from guide.rig.learning.hint_costs import HINT_COSTS, HINT_NAMES
from guide.rig.learning.lesson import Hint, Lesson
from guide.rig.learning.run import Told
from guide.rig.spoken import spoken


def hint(lesson: Lesson, step: Step, by_hand: Sequence[Handling] = ()) -> Hint:
    """The hints of a step; `by_hand` is what a careful technician's hands do there, for the answer."""
    written = lesson.hints.get(step.id)
    return written if written is not None else Hint(_pointer(step), _rule(step), _answer(step, by_hand))


def taken(events: Iterable[Told], step_id: str) -> int:
    """How many hints of a step were taken so far; they are given in order."""
    practised = [each.payload for each in events if isinstance(each.payload, p.Practised)]
    names = {each.act for each in practised if each.what == "hint" and each.step == step_id}
    return sum(name in names for name in HINT_NAMES)


def offer(taken_already: int) -> str:
    """What stands on the key before a hint is taken: which one it is and what it costs."""
    if taken_already >= len(HINT_NAMES):
        return "no more hints here"
    cost = HINT_COSTS[taken_already]
    return f"hint: the {HINT_NAMES[taken_already]}, costs {cost} point{'s' if cost > 1 else ''}"


def _pointer(step: Step) -> str:
    match step.proof:
        case Confirm(ask=ask):
            return f"Go and look: {ask}"
        case Reading(channels=channels) | Adjust(channels=channels):
            return f"Look at: {_listed(channels)}."
        case Wait(channels=channels) if channels:
            return f"Look at the time, and at its start and end at: {_listed(channels)}."
        case Weigh():
            return "Look at the scale, before the cylinder is opened and after it is shut."
        case Choose(ask=ask):
            return f"Ask yourself: {ask}"
        case proof:
            return "Look at the time." if isinstance(proof, Wait) else "Look back over the whole job."


def _rule(step: Step) -> str:
    said = [f"{hazard.word}: {hazard.text}" for hazard in step.hazards]
    if step.why:
        said.append(step.why)
    said += [_bound(limit) for limit in getattr(step.proof, "limits", ())]
    if step.hold and not said:
        said.append("The work can't go on around this step.")
    return " ".join(said) or "It comes before what follows because that leans on it."


def _bound(limit: Limit) -> str:
    value = limit.value
    words = f"the {value.replace('_', ' ')} of the order" if isinstance(value, OrderFigure) else value.typed
    return f"{limit.channel.replace('_', ' ').capitalize()} {limit.bound.value} {words}."


def _answer(step: Step, by_hand: Sequence[Handling]) -> str:
    said = [step.do]
    if by_hand:
        said.append(f"By hand: {'; '.join(spoken(each) for each in by_hand)}.")
    match step.proof:
        case Confirm(accept=accept, refuse=refuse):
            said.append(f"The work goes on with: {', or '.join(accept)}.")
            if refuse:
                said.append(f"It stops with: {', or '.join(refuse)}.")
        case Wait(at_least_s=seconds):
            said.append(f"Wait {seconds / 60:.0f} min, then read.")
        case Adjust(settle_s=seconds):
            said.append(f"Read, move what is advised, wait {seconds / 60:.0f} min, read again.")
        case Choose(options=options):
            said.append(f"There are: {', or '.join(option.text for option in options)}.")
        case _:
            pass
    return " ".join(said)


def _listed(channels: Sequence[ChannelAsk]) -> str:
    return ", ".join(CHANNELS[each.channel].label.lower() for each in channels)
