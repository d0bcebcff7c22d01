"""How help fades: what each level gives, from which end of a run it fades first, which level comes next.

Worked examples help who is new and stand in the way of who is not; from which end of a run to fade first is
not settled, so it can be chosen (the reference on procedures, section 4: in one study of engineering
students forward fading, and feedback right after each step, did better). The rules of `suggest` are PROPOSED.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final, Protocol

from guide.job.state import JobState
from guide.rig.learning.lesson import HELP_ORDER, Help, Lesson


class Direction(StrEnum):
    """From which end of a run help fades first."""

    FORWARD = "forward"
    """The first half has less help, the rest is still shown."""
    BACKWARD = "backward"
    """The first half is still shown, the rest has less help."""


@dataclass(frozen=True, slots=True)
class Given:
    """What a level gives."""

    plays: bool
    """The run plays by itself, with reasons."""
    hands: bool
    """Hands are done for the trainee."""
    picks: bool
    """The trainee picks the next step before it is shown."""
    at_once: bool
    """A slip is told when it is made, not at the end."""
    words: str


GIVEN: Final[Mapping[Help, Given]] = MappingProxyType(
    {
        Help.WORKED: Given(
            plays=True, hands=True, picks=False, at_once=True,
            words="the run is played for you, each step with its reason",
        ),
        Help.FILL: Given(
            plays=False, hands=True, picks=False, at_once=True,
            words="hands are done for you; you read, answer and enter; slips are told at once",
        ),
        Help.CHOOSE: Given(
            plays=False, hands=False, picks=True, at_once=True,
            words="you pick the next step and do everything; slips are told at once",
        ),
        Help.NONE: Given(
            plays=False, hands=False, picks=False, at_once=False,
            words="you do everything; how it went is told at the end",
        ),
    }
)  # fmt: skip


def more(level: Help) -> Help:
    """The level with one step more help."""
    return HELP_ORDER[max(0, HELP_ORDER.index(level) - 1)]


def help_at(level: Help, direction: Direction, place: int, places: int) -> Help:
    """The help at one place of a run, `place` of `places` counted from 0.

    At 'worked' and 'none' it is the same everywhere. Between them, half of the run has the level itself and
    the other half still one step more help.
    """
    if level in {Help.WORKED, Help.NONE} or places <= 0:
        return level
    in_first_half = 2 * place < places
    return level if in_first_half == (direction is Direction.FORWARD) else more(level)


def help_at_step(
    lesson: Lesson, state: JobState, step_id: str, level: Help, direction: Direction = Direction.FORWARD
) -> Help:
    """The help at one step of a run; steps before the parts that count are worked for the trainee."""
    counting = counting_steps(lesson, state)
    if step_id not in counting:
        return Help.WORKED if lesson.parts is not None else level
    return help_at(level, direction, counting.index(step_id), len(counting))


def counting_steps(lesson: Lesson, state: JobState) -> tuple[str, ...]:
    """The steps that count, in order: those of the lesson's parts."""
    parts = state.procedure.parts
    first, last = 0, len(parts) - 1
    if lesson.parts is not None:
        ids = [part.id for part in parts]
        first, last = ids.index(lesson.parts.first), ids.index(lesson.parts.last)
    return tuple(step.id for part in parts[first : last + 1] for step in part.steps)


class Past(Protocol):
    """An earlier run of a lesson, as much as the next level hangs on."""

    @property
    def help(self) -> str:
        """The level of help."""

    @property
    def passed(self) -> bool:
        """Whether it was passed."""


def suggest(lesson: Lesson, history: Sequence[Past]) -> Help:
    """The level for the next run, given earlier ones in order.

    New: the most help there is. A worked run or a passed one: one step less help. Failed twice in a row at a
    level: one step more. Else the same again.
    """
    if not history:
        return lesson.helps[0]
    last = history[-1]
    level = Help(last.help)
    if level is Help.WORKED or last.passed:
        return _nearest(lesson, level, +1)
    before = history[-2] if len(history) > 1 else None
    if before is not None and not before.passed and before.help == last.help:
        return _nearest(lesson, level, -1)
    return level if level in lesson.helps else lesson.helps[-1]


def _nearest(lesson: Lesson, level: Help, way: int) -> Help:
    at = HELP_ORDER.index(level) + way
    while 0 <= at < len(HELP_ORDER):
        if HELP_ORDER[at] in lesson.helps:
            return HELP_ORDER[at]
        at += way
    return lesson.helps[-1] if way > 0 else lesson.helps[0]
