"""Where the weights of a step come from: parts of a charge, its room, how full cylinders get. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from guide.charging import cylinder_limit
from guide.charging.refusal import FigureError
from guide.job.order import Cylinder
from guide.job.state import JobState
from guide.procedure.model import Direction, OrderFigure, Step, Weigh
from guide.screens import say
from guide.screens.paint import clean


def weight_paragraphs(state: JobState, step: Step) -> tuple[str, ...]:
    """What stands behind the weights of a step; nothing where it neither weighs nor prepares for recovering.

    The steps before a recovery, in its part of the work, tell the fill limits already.
    """
    proof = step.proof
    if (isinstance(proof, Weigh) and proof.direction is Direction.OUT) or _before_recovery(state, step):
        return tuple(
            words
            for cylinder in state.order.cylinders
            if cylinder.contents in {"empty", "recovered"}
            for words in _full(state, cylinder)
        )
    words: list[str] = []
    if not isinstance(proof, Weigh):
        return ()
    if proof.target is OrderFigure.WEIGH_IN_CHARGE:
        words += [f"Charge: {clean(part)}." for part in state.order.weigh_in().words()]
    check = state.order.room_check()
    if check is not None:
        words.append(f"Room, as information: {check.words}")
    return tuple(words)


def _before_recovery(state: JobState, step: Step) -> bool:
    part = next((part for part in state.path() if step in part.steps), None)
    later = part.steps[part.steps.index(step) + 1 :] if part is not None else ()
    return any(isinstance(each.proof, Weigh) and each.proof.direction is Direction.OUT for each in later)


def _full(state: JobState, cylinder: Cylinder) -> Iterator[str]:
    name = f"Cylinder {clean(cylinder.id)}"
    try:
        limit = cylinder.fill_limit(state.order.refrigerant.designation)
    except FigureError as error:
        yield f"{name}: {error}."
        return
    if limit is None:
        yield f"{name}: no fill limit on the order. Read water capacity and tare on its collar."
    else:
        yield f"{name}: {clean(cylinder.stamped)}. {_reckoned(state, cylinder, limit)}"
    due = cylinder.retest_due
    if due is not None:
        yield f"{name}: retest due on {due.isoformat()}; it is not filled after that day.{_soon(state, due)}"


def _soon(state: JobState, due: date) -> str:
    """A word where the retest falls due soon, seen from the job's last entry."""
    if state.last_at is None:
        return ""
    near = cylinder_limit.retest_near(due, date.fromisoformat(state.last_at.utc[:10]))
    return " SOON: plan it." if near else ""


def _reckoned(state: JobState, cylinder: Cylinder, limit: cylinder_limit.FillLimit) -> str:
    stop_at = cylinder.stop_at_kg(state.order.refrigerant.designation, state.order.scale_division.si)
    assert stop_at is not None
    words = f"FULL at {say.weight(stop_at, state.order)}, by {limit.rule}"
    if limit.density_kg_per_m3 is None or limit.share_when_hot is None:
        return f"{words}."
    gravity = limit.density_kg_per_m3 / cylinder_limit.WATER_kg_per_m3
    sure = ", estimated" if limit.estimated else ""
    return (
        f"{words}; liquid {limit.reckoned_for} is {gravity:.3f} times as heavy as water{sure}. "
        f"At 131 °F it then fills {limit.share_when_hot:.0%} of the volume."
    )
