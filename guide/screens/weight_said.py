"""Where the weights of a step come from: parts of a charge, its room, how full cylinders get. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from guide.charging import cylinder_limit
from guide.charging.refusal import FigureError
from guide.job.order import Cylinder
from guide.job.state import JobState
from guide.procedure.model import Direction, OrderFigure, Weigh
from guide.screens import say
from guide.screens.paint import clean


def weight_paragraphs(state: JobState, proof: Weigh) -> tuple[str, ...]:
    """What stands behind the weights of a weigh step; nothing where the order says nothing of it."""
    if proof.direction is Direction.OUT:
        return tuple(
            words
            for cylinder in state.order.cylinders
            if cylinder.contents in {"empty", "recovered"}
            for words in _full(state, cylinder)
        )
    words: list[str] = []
    if proof.target is OrderFigure.WEIGH_IN_CHARGE:
        words += [f"Charge: {clean(part)}." for part in state.order.weigh_in().words()]
    check = state.order.room_check()
    if check is not None:
        words.append(f"Room, as information: {check.words}")
    return tuple(words)


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
