"""What a seed makes of a lesson: the charge at the start, the faults with their grades, the weather."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Final

from guide.job.seed import HIGHEST_SEED
from guide.rig.faults import Fault, Graded
from guide.rig.learning.lesson import (
    NOTHING_WRONG,
    OVERCHARGE,
    UNDERCHARGE,
    FaultSpan,
    Lesson,
)

OFF_CHARGE: Final = 0.03
"""From which distance of the right charge a run without a fault is about the charge (PROPOSED)."""
_AT_THE_SIDE: Final = frozenset({Fault.INTERRUPTION, Fault.PROBE_OFF, Fault.GAUGE_OFF, Fault.LIQUID_HOSE})
"""Faults of the work or of an instrument: the trouble of the unit only where nothing else is drawn."""


@dataclass(frozen=True, slots=True)
class Air:
    """The weather of a run [K]."""

    outdoor_K: float
    indoor_db_K: float
    indoor_wb_K: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """What one seed drew: the share of the right charge at the start, graded faults, the weather or none."""

    seed: int
    start_fraction: float
    faults: tuple[Graded, ...] = ()
    weather: Air | None = None

    def has(self, fault: Fault) -> bool:
        """Whether a fault is there."""
        return any(graded.fault is fault for graded in self.faults)


def draw(lesson: Lesson, seed: int) -> Drawn:
    """What a seed makes of a lesson; the same seed always draws the same.

    Raises:
        ValueError: the seed is below 0 or beyond `HIGHEST_SEED`.
    """
    if not 0 <= seed <= HIGHEST_SEED:
        raise ValueError(f"a seed lies between 0 and {HIGHEST_SEED}")
    # one stream each, so that a range added to one of them does not redraw the others
    start = _Stream(lesson, seed, "start")
    faults = _Stream(lesson, seed, "faults")
    air = _Stream(lesson, seed, "weather")
    fraction = round(lesson.start.at(start.share()), 4)
    picked = [*lesson.faults, *faults.some(lesson.draw_from, lesson.draw_count)]
    graded = tuple(Graded(each.fault, round(each.grade.at(faults.share()), 3), each.where) for each in picked)
    if lesson.weather is None:
        return Drawn(seed, fraction, graded)
    outdoor_K = round(lesson.weather.outdoor_K.at(air.share()), 2)
    indoor_K = round(lesson.weather.indoor_db_K.at(air.share()), 2)
    # air is never drawn more than saturated
    wet_K = min(round(lesson.weather.indoor_wb_K.at(air.share()), 2), indoor_K)
    return Drawn(seed, fraction, graded, Air(outdoor_K, indoor_K, wet_K))


def trouble_of(lesson: Lesson, drawn: Drawn) -> str:
    """What is truly the trouble: the lesson's answer, else the first fault of the unit, else the charge."""
    if lesson.conclusion is not None and lesson.conclusion.answer is not None:
        return lesson.conclusion.answer
    for graded in drawn.faults:
        if graded.fault not in _AT_THE_SIDE:
            return graded.fault.value
    if drawn.start_fraction < 1.0 - OFF_CHARGE:
        return UNDERCHARGE
    if drawn.start_fraction > 1.0 + OFF_CHARGE:
        return OVERCHARGE
    for graded in drawn.faults:
        if graded.fault is not Fault.INTERRUPTION:
            return graded.fault.value
    return NOTHING_WRONG


class _Stream:
    """Numbers that hang on the lesson, the seed and a purpose, and on nothing else."""

    def __init__(self, lesson: Lesson, seed: int, purpose: str) -> None:
        self._random = random.Random(f"{lesson.id}/{seed}/{purpose}")  # noqa: S311 - a drawn scenario, no secret

    def share(self) -> float:
        """From 0 to 1, told to a thousandth."""
        return math.floor(self._random.random() * 1001) / 1000

    def some(self, spans: tuple[FaultSpan, ...], count: int) -> list[FaultSpan]:
        """`count` of them, no one twice, in the order of the lesson."""
        taken = sorted(self._random.sample(range(len(spans)), min(count, len(spans))))
        return [spans[index] for index in taken]
