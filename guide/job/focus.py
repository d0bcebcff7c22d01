"""What stands in front of the person: the next thing the work asks for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from guide.errors import ChargewrightError
from guide.job.state import JobState, current_step
from guide.procedure.model import Part, Sign, Step


class Refused(ChargewrightError):
    """The command can't be followed here: why, and what would do."""


class Front(StrEnum):
    """What stands in front of the person now."""

    OPEN = "open"
    RESUME = "resume"
    WEIGHING = "weighing"
    HAZARD = "hazard"
    STEP = "step"
    PART_END = "part end"
    CUSTOMER = "customer"
    SIGN = "sign"
    AMEND = "amend"
    CLOSED = "closed"
    STOPPED = "stopped"
    """The run of a lesson ended before its time."""


@dataclass(frozen=True, slots=True)
class Focus:
    """Where the work stands: what comes next, at which part and step, which hazard is unread."""

    front: Front
    part: Part | None = None
    step: Step | None = None
    hazard: int | None = None


def focus(state: JobState, run: str) -> Focus:  # noqa: PLR0911 - one return a front, in the order they come
    """What stands in front of the person in this run of the program."""
    if state.opened is None:
        return Focus(Front.OPEN)
    if state.closed is not None:
        return Focus(Front.CLOSED)
    if state.stopped is not None:
        return Focus(Front.STOPPED)
    if state.paused or state.run != run:
        return Focus(Front.RESUME)
    if state.amending:
        return Focus(Front.AMEND)
    if state.weighing is not None:
        return Focus(Front.WEIGHING, step=state.procedure.step(state.weighing.begun.step))
    step = current_step(state)
    if step is None:
        part = next((part for part in state.path() if part.id not in state.ended_parts), None)
        if part is not None:
            return Focus(Front.PART_END, part=part)
        return Focus(Front.SIGN if state.customer else Front.CUSTOMER)
    part = next(part for part in state.path() if step in part.steps)
    for index in range(len(step.hazards)):
        if (step.id, index) not in state.acknowledged:
            return Focus(Front.HAZARD, part, step, index)
    if isinstance(step.proof, Sign):
        return Focus(Front.SIGN if state.customer else Front.CUSTOMER, part, step)
    return Focus(Front.STEP, part, step)


def at_step(state: JobState, step_id: str) -> Step:
    """The current step, if the command is for it and its hazards are read."""
    if state.weighing is not None:
        raise Refused("a weighing is under way: close the cylinder valve and enter its weight")
    step = current_step(state)
    if step is None or step.id != step_id:
        where = f"step {step.id}" if step else "the end of this part"
        raise Refused(f"the work stands at {where}, not at step {step_id}")
    if any((step.id, index) not in state.acknowledged for index in range(len(step.hazards))):
        raise Refused("read and acknowledge the warning first")
    return step
