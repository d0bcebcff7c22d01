"""How help fades from run to run: which level comes next.

Worked examples help who is new and stand in the way of who is not (the reference on procedures, section 4).
Within one run help stays as it is: from which end of a run it would fade first is not settled. The rules of
`suggest` are PROPOSED.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from guide.rig.learning.lesson import HELP_ORDER, Help, Lesson


class Past(Protocol):
    """An earlier run of a lesson, as much as the next level hangs on."""

    @property
    def help(self) -> str:
        """The level of help."""

    @property
    def passed(self) -> bool:
        """Whether it was passed."""

    @property
    def safety(self) -> bool:
        """Whether nothing at all was lost for safety."""


def suggest(lesson: Lesson, history: Sequence[Past]) -> Help:
    """The level for the next run, given earlier ones in order.

    New: the most help there is. A worked run or a passed one: one step less help. Not safe, or failed twice
    in a row at a level: one step more. Else the same again.
    """
    if not history:
        return lesson.helps[0]
    last = history[-1]
    level = Help(last.help)
    if level is Help.WORKED or last.passed:
        return _nearest(lesson, level, +1)
    before = history[-2] if len(history) > 1 else None
    if not last.safety:
        return _nearest(lesson, level, -1)
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
