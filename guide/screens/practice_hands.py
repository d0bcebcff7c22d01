"""What careful hands do at a place of a run, for a learner who reads and enters. Every move is made when the
one before it is done, since what comes next hangs on what scale, gauge and hose show by then.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from guide.job.focus import Front
from guide.job.order import Order
from guide.job.state import JobState
from guide.job.weighing import progress
from guide.procedure.model import Adjust, Direction, OrderFigure, Step, Weigh
from guide.rig import tending
from guide.rig.acts import Act, Handling
from guide.rig.by_eye import NOTHING
from guide.rig.by_hand import Centre, Move, Piece, Until, undone
from guide.rig.by_weight import View, draw_down, feed_plan, recover_plan
from guide.rig.doing import TABLE, HOSE_VACUUM_Pa, plan
from guide.rig.hookup import MACHINE, PUMP
from guide.screens.weigh_turn import cylinders_for

Way = Literal["in", "out"]
WEIGH_SHARE = 0.05
"""What a weighing without a target moves, as a share of the nameplate charge (PROPOSED)."""


def known(step: Step) -> bool:
    """Whether it is written down what hands do at a step; a procedure of one's own may have others."""
    return step.do in TABLE or step.do in NOTHING


def due(step: Step, state: JobState, front: Front, view: View) -> Iterator[Move]:
    """What is to be done at this place before values are entered."""
    if front is Front.WEIGHING and state.weighing is not None:
        yield from _moved(step, state, view)
        return
    if front is not Front.STEP or not known(step):
        return
    yield from plan(step, state, view.hookup)
    way = _next_way(step, state)
    if way is not None:
        yield from _ready_to_weigh(step, state, way, view)


def _next_way(step: Step, state: JobState) -> Way | None:
    """Which way refrigerant is to move next at a step; None where none is."""
    if isinstance(step.proof, Weigh):
        return "out" if step.proof.direction is Direction.OUT else "in"
    if not isinstance(step.proof, Adjust):
        return None
    rounds = state.step_rounds(step.id)
    if not rounds or any(move.seq > rounds[-1].seq for move in state.moves):
        return None
    match rounds[-1].read.assessment.action:
        case "add":
            return "in"
        case "recover":
            return "out"
        case _:
            return None


def _ready_to_weigh(step: Step, state: JobState, way: Way, view: View) -> Iterator[Move]:
    """The cylinder on the scale, its hose on and free of air, its valve shut."""
    cylinder = _cylinder(state, way, view)
    yield from undone((Handling(Act.STAND, cylinder),), view.hookup)
    if isinstance(step.proof, Weigh) and way == "out":
        yield from undone((Centre(MACHINE),), view.hookup)
        return
    if view.hookup.centre.joined != cylinder:
        if view.hookup.runs and view.hookup.centre.liquid:
            yield from draw_down(view)
        yield from undone((Centre(cylinder),), view.hookup)
        yield from _free_of_air(state.order, way, view)
    if way == "in":
        yield from undone((Handling(Act.TURN_FOR_LIQUID),), view.hookup)


def _cylinder(state: JobState, way: Way, view: View) -> str:
    """The cylinder that stands on the scale where it can serve; else the first of the order that can."""
    fitting = [choice.value for choice in cylinders_for(state, way)]
    return view.hookup.on_scale if view.hookup.on_scale in fitting else fitting[0]


def _free_of_air(order: Order, way: Way, view: View) -> Iterator[Move]:
    if order.instrument_for("hose_vacuum") is None:
        if way == "in":
            yield Handling(Act.PURGE, "centre")
        return
    pieces: tuple[Piece, ...] = (
        Handling(Act.JOIN, PUMP), Handling(Act.START_PUMP),
        Until("hose_vacuum", 600, at_most_Pa=HOSE_VACUUM_Pa), Handling(Act.STOP_PUMP),
    )  # fmt: skip
    yield from undone(pieces, view.hookup)


def _moved(step: Step, state: JobState, view: View) -> Iterator[Move]:
    """The amount that was advised or is left, moved by the scale."""
    assert state.weighing is not None
    begun = state.weighing.begun
    if isinstance(step.proof, Weigh) and begun.direction == "out":
        level = state.order.figure(OrderFigure.RECOVERY_LEVEL)
        level_Pa = float(level.si if level is not None else state.order.site_pressure_Pa)
        yield from recover_plan(view, _left_kg(step, state), tending.WELL_BELOW * level_Pa)
        return
    yield from feed_plan(view, _left_kg(step, state), begun.direction)


def _left_kg(step: Step, state: JobState) -> float:
    rounds = state.step_rounds(step.id)
    if isinstance(step.proof, Adjust) and rounds:
        return float(rounds[-1].read.assessment.amount_kg)
    if isinstance(step.proof, Weigh):
        stands = progress(state, step)
        if stands.remaining_kg is not None:
            return float(stands.remaining_kg)
        if step.proof.direction is Direction.OUT:
            return float(state.order.nameplate_charge.si) * 2
    return float(state.order.nameplate_charge.si) * WEIGH_SHARE
