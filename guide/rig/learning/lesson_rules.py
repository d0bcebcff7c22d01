"""Rules for a lesson: it can be worked on its order, and everything it names exists and counts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from guide.bench.fitting import why_not
from guide.job.fit import lacking, room_against, unsafe_machine
from guide.job.order import Order
from guide.procedure.model import Procedure
from guide.rig.faults import Fault
from guide.rig.learning.drawing import draw, trouble_of
from guide.rig.learning.hint_costs import HINT_COSTS
from guide.rig.learning.lesson import HELP_ORDER, ChargeBy, Help, Item, Lesson
from guide.rig.learning.lesson_build import Complaint

LEAST_SAFETY_POINTS: Final = 10
"""Of a hundred, so that safety always weighs (PROPOSED)."""
SEEDS_TRIED: Final = 40
"""How many draws are looked at to see whether the trainee could name each trouble (PROPOSED)."""


def judge(lesson: Lesson, order: Order, procedure: Procedure) -> Iterator[Complaint]:
    """Everything in a lesson that can't be worked or can't be scored, on its order and procedure."""
    yield from _order_fits(order, procedure)
    yield from _names_exist(lesson, procedure)
    yield from _objectives_read_well(lesson)
    yield from _points_can_be_kept(lesson)
    yield from _trouble_can_be_named(lesson)
    yield from _helps_in_order(lesson)
    yield from _faults_fit(lesson, order)


def _order_fits(order: Order, procedure: Procedure) -> Iterator[Complaint]:
    if order.nature != "practice":
        yield Complaint(("order",), "practice-order", f"order {order.number} is not of nature practice")
    fault = why_not(order, procedure) or lacking(order, procedure) or unsafe_machine(order)
    fault = fault or room_against(order, procedure)
    if fault:
        yield Complaint(("order",), "order-fits", fault)


def _names_exist(lesson: Lesson, procedure: Procedure) -> Iterator[Complaint]:
    steps = {step.id for _, step in procedure.steps()}
    for at, objective in enumerate(lesson.objectives):
        for index, step in enumerate(objective.steps):
            if step not in steps:
                yield Complaint(
                    ("objectives", at, "steps", index), "step-exists",
                    f"procedure {procedure.id} has no step {step}",
                )  # fmt: skip
    for step in lesson.hints:
        if step not in steps:
            yield Complaint(("hints", step), "step-exists", f"procedure {procedure.id} has no step {step}")
    if lesson.parts is None:
        return
    ids = [part.id for part in procedure.parts]
    for key in ("first", "last"):
        name = getattr(lesson.parts, key)
        if name not in ids:
            yield Complaint(
                ("parts", key), "part-exists",
                f"procedure {procedure.id} has no part '{name}'; it has: {', '.join(ids)}",
            )  # fmt: skip
            return
    first, last = ids.index(lesson.parts.first), ids.index(lesson.parts.last)
    if first > last:
        yield Complaint(("parts", "last"), "part-exists", "the last part stands before the first")
        return
    counting = {step.id for part in procedure.parts[first : last + 1] for step in part.steps}
    for at, objective in enumerate(lesson.objectives):
        if not counting.intersection(objective.steps):
            yield Complaint(
                ("objectives", at, "steps"), "step-counts", "none of these steps is in the parts that count"
            )


def _objectives_read_well(lesson: Lesson) -> Iterator[Complaint]:
    for at, objective in enumerate(lesson.objectives):
        if not objective.text.startswith("you can "):
            yield Complaint(("objectives", at, "text"), "objective", "an objective begins with 'you can'")


def _points_can_be_kept(lesson: Lesson) -> Iterator[Complaint]:
    points = lesson.rubric.points
    if points(Item.SAFETY) < LEAST_SAFETY_POINTS:
        yield Complaint(("points",), "safety-counts", f"safety carries at least {LEAST_SAFETY_POINTS} points")
    if 0 < points(Item.HINTS) < sum(HINT_COSTS):
        yield Complaint(
            ("points",),
            "hints-count",
            f"the three hints of one step cost {sum(HINT_COSTS)} points; give them that",
        )
    if bool(points(Item.CHARGE)) != (lesson.aim is not None):
        yield Complaint(("points",), "charge-counts", "points for 'charge' go with the entry 'charge'")
    if bool(points(Item.CONCLUSION)) != (lesson.conclusion is not None):
        yield Complaint(("points",), "conclusion-counts", "points for 'conclusion' go with 'conclusion'")
    if bool(points(Item.TIME)) != (lesson.time_limit_s is not None):
        yield Complaint(("points",), "time-counts", "points for 'time' go with 'time_limit'")
    for item in (Item.CHARGE, Item.CONCLUSION):
        if 0 < points(item) <= 100 - lesson.minimum:
            yield Complaint(
                ("minimum",), "aim-counts", f"a run that misses the {item.value} altogether could be passed; "
                f"give it more than {100 - lesson.minimum} points, or raise the minimum",
            )  # fmt: skip
    called = any(each.fault is Fault.INTERRUPTION for each in lesson.faults)
    if bool(points(Item.INTERRUPTION)) != called:
        yield Complaint(
            ("points",), "interruption-counts", "points for 'interruption' go with that fault under 'faults'"
        )


def _trouble_can_be_named(lesson: Lesson) -> Iterator[Complaint]:
    if lesson.conclusion is None:
        return
    drawn = {trouble_of(lesson, draw(lesson, seed)) for seed in range(SEEDS_TRIED)}
    for name in sorted(drawn - set(lesson.conclusion.choices)):
        yield Complaint(
            ("conclusion", "choices"), "trouble-offered", f"a seed may draw '{name}', which is no choice"
        )


def _helps_in_order(lesson: Lesson) -> Iterator[Complaint]:
    if list(lesson.helps) != [each for each in HELP_ORDER if each in lesson.helps]:
        yield Complaint(("help",), "help-order", "levels of help stand in order, each once, most help first")
    if Help.NONE not in lesson.helps:
        yield Complaint(("help",), "help-order", "without the level 'none' the lesson can't be mastered")


def _faults_fit(lesson: Lesson, order: Order) -> Iterator[Complaint]:
    if lesson.draw_count > len(lesson.draw_from):
        yield Complaint(("draw", "count"), "draw", "more are drawn than there are to draw from")
    every = (*lesson.faults, *lesson.draw_from)
    if order.metering == "fixed orifice" and any(each.fault is Fault.STUCK_VALVE for each in every):
        yield Complaint(("faults",), "fault-fits", "a unit with a fixed orifice has no valve to be stuck")
    if lesson.aim is not None and lesson.aim.by is ChargeBy.SUBCOOLING and order.target_subcooling is None:
        yield Complaint(("charge", "by"), "charge-fits", "the order names no target subcooling")
