"""What counts and what loses points, in words that can stand on a screen before the start."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from guide.rig.learning.hint_costs import HINT_COSTS
from guide.rig.learning.lesson import ChargeBy, Item, Lesson
from guide.units import show

# How much one slip costs; all PROPOSED. A slip never costs more than its item has left.
SKIP_POINTS: Final = 3
"""A step left out, or said to be done and not done by hand, or done after what it had to come before."""
MOST_LEFT_OUT: Final = 3
"""So many steps may be left out or only claimed before what went well shows nothing (PROPOSED)."""
WRONG_STEP_POINTS: Final = 1
"""Another step picked than the one that comes next."""
BAD_READING_POINTS: Final = 2
TOO_SOON_POINTS: Final = 3
BIG_MOVE_POINTS: Final = 3
OVERSHOOT_POINTS: Final = 4
UNCLEAN_POINTS: Final = 3
PUMP_POINTS: Final = 5
"""The vacuum pump opened to pressure, or refrigerant through it."""

FREE_AIR_kg: Final = 0.0001
"""Air nobody can keep out with good work (PROPOSED)."""
ALL_AIR_kg: Final = 0.0015
"""From here on every point for air is gone (PROPOSED): about an unpurged hose set of 1/4 in and 1.5 m."""
FREE_WATER_kg: Final = 0.00005
ALL_WATER_kg: Final = 0.001
ALL_LOST_FACTOR: Final = 6.0
"""From so many times the unavoidable loss on every point for refrigerant is gone (PROPOSED)."""
MOVE_SHARE: Final = 0.05
"""The largest move of a charging loop, as a share of the nameplate charge: what the procedure says."""
ANSWER_INTERRUPTION_S: Final = 300.0
"""Within this simulated time of being called away the work is put to rest (PROPOSED)."""
LATE_SHARE_A_POINT: Final = 0.05
"""Every such share of the time limit beyond it costs a point (PROPOSED)."""

_LOSES: Final[Mapping[Item, str]] = MappingProxyType(
    {
        Item.SAFETY: (
            "anything that would hurt somebody or ruin a machine ends the run and takes all of it; so does a "
            "lock, a voltage test or a warning left out; with less than all of it no run is passed"
        ),
        Item.ORDER: (
            f"{SKIP_POINTS} for a step left out, said to be done and not done by hand, or done too late; "
            f"{WRONG_STEP_POINTS} for picking another step than the next; with more than {MOST_LEFT_OUT} "
            "steps left out or not done, all of it and whatever else the work was to show"
        ),
        Item.AIR: (
            f"air in the circuit, from {FREE_AIR_kg * 1000:g} g on; all of it at {ALL_AIR_kg * 1000:g} g; "
            f"water from {FREE_WATER_kg * 1000:g} g, all of it at {ALL_WATER_kg * 1000:g} g"
        ),
        Item.READINGS: (
            f"{BAD_READING_POINTS} for each value further from the true one than its instrument may be off "
            "(one that lies is found out before it is read), each that could not be read as things stood, "
            "and each sight told otherwise than it was"
        ),
        Item.WAITING: (
            f"{TOO_SOON_POINTS} for each round read before the system has settled, and each hold left out"
        ),
        Item.CHARGE: "",
        Item.INCREMENTS: (
            f"{BIG_MOVE_POINTS} for a move over {MOVE_SHARE:.0%} of the nameplate charge or beyond what was "
            f"advised; {OVERSHOOT_POINTS} for charge put in and taken out again"
        ),
        Item.CONCLUSION: "all of it for naming another trouble, or none",
        Item.INTERRUPTION: (
            f"work not put to rest within {ANSWER_INTERRUPTION_S / 60:.0f} min of the call, or left with a "
            "cylinder open"
        ),
        Item.TIME: f"1 for each {LATE_SHARE_A_POINT:.0%} over the time",
        Item.CLEANLINESS: (
            f"{UNCLEAN_POINTS} for a leak test, cap, label or cleaning left out or not done by hand"
        ),
        Item.HINTS: (
            f"a pointer costs {HINT_COSTS[0]}, a rule {HINT_COSTS[1]}, an answer {HINT_COSTS[2]}; "
            "never more than this item has"
        ),
    }
)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the rubric as it is shown: the item, its points, what loses them."""

    item: Item
    points: int
    loses: str


def lines(lesson: Lesson) -> tuple[Line, ...]:
    """The rubric of a lesson, line by line, in the order in which it is scored."""
    return tuple(Line(each.item, each.points, _loses(lesson, each.item)) for each in lesson.rubric.items)


def _loses(lesson: Lesson, item: Item) -> str:
    if item is Item.REFRIGERANT:
        free = lesson.unavoidable_loss_kg
        return (
            f"refrigerant let out, from {free * 1000:g} g on (good work loses that, too); all of it at "
            f"{free * ALL_LOST_FACTOR * 1000:g} g; {PUMP_POINTS} for what goes through the vacuum pump"
        )
    if item is Item.CHARGE and lesson.aim is not None:
        within = lesson.aim.within
        match lesson.aim.by:
            case ChargeBy.SUPERHEAT | ChargeBy.SUBCOOLING:
                limit = f"{lesson.aim.by.value} within {show(within, 'dF', digits=1)} of its target"
            case ChargeBy.WEIGHT:
                limit = f"charge within {within:.1%} of the right one"
            case ChargeBy.UNTOUCHED:
                return f"any charge moved, over {within:.1%} of the nameplate; all of it at twice that"
        return f"what is truly there at the end: {limit}; half at once beyond it, all of it at twice that"
    if item is Item.TIME and lesson.time_limit_s is not None:
        return f"{_LOSES[item]}, which is {lesson.time_limit_s / 60:.0f} min of simulated time"
    return _LOSES[item]
