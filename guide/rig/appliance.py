"""The simulated unit that stands for the appliance of an order, worked on without hands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from guide.job.order import Order
from guide.rig.circuit import SOUND, Trouble
from guide.rig.faults import Graded
from guide.rig.rig import Rig
from guide.rig.scenario import Weather, scenario_for

START_FRACTION: Final = 0.90
SEED: Final = 1


def plant_for(
    order: Order, *, seed: int = SEED, start_fraction: float = START_FRACTION, trouble: Trouble = SOUND,
    faults: Iterable[Graded] = (), weather: Weather | None = None,
) -> Rig:  # fmt: skip
    """The simulated unit that an order's appliance stands for, at `start_fraction` of its right charge.

    Its right charge is the nameplate's with what the line set adds; `trouble` shows once it is opened.

    Raises:
        BadScenario, BadFault: the order's refrigerant has no tables, or a figure can't be.
    """
    scenario = scenario_for(order, seed=seed, start_fraction=start_fraction, faults=faults, weather=weather)
    if trouble is not SOUND:
        scenario = replace(scenario, troubles=replace(scenario.troubles, circuit=trouble))
    return Rig(scenario, by_hand=False)
