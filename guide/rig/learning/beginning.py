"""The simulated system that a run of a lesson begins with."""

from __future__ import annotations

from guide.job import payloads as p
from guide.rig.learning.drawing import draw
from guide.rig.learning.lesson import Help
from guide.rig.learning.lesson_reader import Ready
from guide.rig.scenario import Scenario, Weather, scenario_for


def beginning(ready: Ready, seed: int) -> Scenario:
    """The scenario a seed makes of a lesson: its order's unit, with the charge, faults and air drawn.

    Raises:
        BadScenario, BadFault, FigureError: the order's unit can't be simulated so.
    """
    drawn = draw(ready.lesson, seed)
    air = drawn.weather
    weather = None if air is None else Weather(air.indoor_db_K, air.indoor_wb_K, air.outdoor_K)
    return scenario_for(
        ready.order, seed=seed, start_fraction=drawn.start_fraction, faults=drawn.faults, weather=weather
    )


def stamp(ready: Ready, seed: int, level: Help) -> p.Lesson:
    """What the opening event of a run says about its lesson."""
    return p.Lesson(id=ready.lesson.id, sha256=ready.lesson.sha256, seed=seed, help=level.value)
