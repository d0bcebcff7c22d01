"""How a job went so far, as its events tell: what a fresh simulated system has to be brought to.

Nothing is remembered beside the journal. A simulated system and its player are rebuilt from the same
events that the job is rebuilt from, so that a killed job goes on where it stood.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from guide.job import payloads as p
from guide.job.elapsed import elapsed
from guide.job.state import JobState
from guide.journal.event import Event
from guide.procedure.model import Step
from guide.rig import cylinders, tending
from guide.rig.port import Plant


@dataclass(slots=True)
class Course:
    """What the player has to know of the way here."""

    failed: str | None = None
    """The hold that ended badly and was not begun again yet."""
    trouble: bool = False
    """Something has to be found and mended before the circuit is tended again."""

    def take(self, payload: p.Payload) -> None:
        """Take one more event of the job in."""
        match payload:
            case p.WaitEnded(accepted=False):
                self.failed, self.trouble = payload.step, True
            case p.WaitBegun() | p.Redone():
                self.failed = None
            case _:
                pass


def mend_then_tend(plant: Plant, course: Course, step: Step, state: JobState) -> bool:
    """Mend what a bad hold showed, then connect what the step's pressure needs; whether there was trouble.

    Raises:
        NoCylinder: it takes a cylinder that the order does not have.
    """
    if tending.tended(step) is None:
        return False
    mended, course.trouble = course.trouble, False
    if mended:
        plant.circuit.mend()
    tending.tend(plant, step, state.order)
    return mended


def retrace(plant: Plant, state: JobState, events: Iterable[Event]) -> Course:
    """Bring a fresh simulated system to where the job's events left it; how the job went so far."""
    course = Course()
    moves = {move.seq: move for move in state.moves}
    last = state.opened_at
    for event in events:
        payload = p.read_payload(event.kind, event.body)
        step = _step(state, getattr(payload, "step", None))
        made = step if isinstance(payload, p.Read | p.WaitBegun) else None
        if made is not None:
            # what the step needed was connected when the work came to it, and worked until it was read
            mend_then_tend(plant, course, made, state)
        if last is not None:
            plant.pass_time(elapsed(last, event.stamp).seconds)
        last = event.stamp
        if made is not None:
            tending.let_stand(plant, made)
        if isinstance(payload, p.WeighBegun):
            cylinders.stand(plant, state.order, payload.cylinder)
        move = moves.get(event.seq)
        if move is not None:
            cylinders.stand(plant, state.order, move.cylinder)
            plant.move(float(move.into_system_kg))
        course.take(payload)
    return course


def _step(state: JobState, step_id: str | None) -> Step | None:
    try:
        return state.procedure.step(step_id) if step_id is not None else None
    except KeyError:
        return None
