"""What a careful technician does with machines and valves before a pressure of a circuit at rest is read.

A step names the pressure it wants by its channel, its limits and its words ("to 45 psig"); from these it
follows what has to be connected: nitrogen, the recovery machine, the vacuum pump, a cylinder that breaks the
vacuum. Nothing but the step, the order and the simulated system counts, so that a job taken up again is
tended the same way.
"""

from __future__ import annotations

import re
from typing import Final

from guide.charging.uncertainty import PA_PER_PSI
from guide.charging.verdict import Bound
from guide.job.limits import limit_value
from guide.job.order import Order
from guide.procedure.model import Reading, Step, Wait
from guide.rig import cylinders
from guide.rig.circuit import Inside
from guide.rig.port import Plant
from guide.units import Kind, parse

TENDED: Final = frozenset({"test_pressure", "system_vacuum", "system_pressure"})
"""The channels whose pressure a technician makes."""
PUMPING: Final = frozenset({"EVACUATE", "PUMP", "RUN", "DRAW", "PULL"})
"""Verbs of a hold during which the pump stays on; in any other hold of a vacuum it is shut off."""

_SAID: Final = re.compile(r"\b\d{1,4}(\.\d{1,2})? ?(psig|barg|kPag)\b")

# How a careful technician keeps clear of a limit; all PROPOSED.
CLEAR_OF_LIMIT_Pa: Final = 5.0 * PA_PER_PSI
NEARLY_NOTHING_Pa: Final = 20.0 * PA_PER_PSI
USUAL_TEST_Pa: Final = 150.0 * PA_PER_PSI
ENOUGH_ABOVE_Pa: Final = 50.0 * PA_PER_PSI
WELL_BELOW: Final = 0.6
NEAR_ENOUGH: Final = 0.8


def tended(step: Step) -> str | None:
    """Which pressure the step wants made, or None."""
    proof = step.proof
    if not isinstance(proof, Reading | Wait):
        return None
    return next((ask.channel for ask in proof.channels if ask.channel in TENDED), None)


def stands_alone(step: Step) -> bool:
    """Whether the step is a hold in which nothing is connected, so that a bad value can only get worse."""
    if not isinstance(step.proof, Wait) or tended(step) is None:
        return False
    return bool(step.proof.changes) or step.do.partition(" ")[0] not in PUMPING


def tend(plant: Plant, step: Step, order: Order) -> None:
    """Connect what makes the pressure that the step wants.

    Raises:
        NoCylinder: it takes a cylinder that the order does not have.
    """
    match tended(step):
        case "test_pressure":
            _nitrogen(plant, step, order)
        case "system_vacuum":
            plant.circuit.pump_on()
        case "system_pressure":
            _at_rest(plant, step, order)
        case _:
            pass


def let_stand(plant: Plant, step: Step) -> None:
    """Shut off what was connected where the step wants to see the circuit by itself."""
    if stands_alone(step):
        plant.circuit.shut_off()


def wanted_Pa(step: Step, channel: str, order: Order) -> tuple[float | None, float | None]:
    """The highest "at least" and the lowest "at most" of a step's limits on a channel [Pa absolute]."""
    proof = step.proof
    low = high = None
    for limit in proof.limits if isinstance(proof, Reading | Wait) else ():
        value = limit_value(limit, order) if limit.channel == channel else None
        if value is None:
            continue
        if limit.bound is Bound.AT_LEAST:
            low = float(value.si) if low is None else max(low, float(value.si))
        else:
            high = float(value.si) if high is None else min(high, float(value.si))
    return low, high


def told_Pa(step: Step, order: Order) -> float | None:
    """The pressure that the step's own words name [Pa absolute], or None."""
    said = _SAID.search(step.do)
    if said is None:
        return None
    return float(parse(said.group(0), Kind.PRESSURE, site_pressure_Pa=order.site_pressure_Pa).si)


def _nitrogen(plant: Plant, step: Step, order: Order) -> None:
    circuit = plant.circuit
    site_Pa = float(order.site_pressure_Pa)
    low, high = wanted_Pa(step, "test_pressure", order)
    told = told_Pa(step, order)
    if circuit.inside is Inside.NITROGEN and told is None:
        now = circuit.pressure_Pa
        if low is None and high is None and now > site_Pa + NEARLY_NOTHING_Pa:
            return
        bound = low is not None or high is not None
        if bound and isinstance(step.proof, Wait) and (low or 0.0) <= now <= (high or now):
            return
    design = order.low_side_design_pressure
    ceiling = float(design.si) if design is not None else float("inf")
    if told is not None and told <= ceiling:
        circuit.fill_with_nitrogen(told)
    elif low is not None:
        most = max(low, ceiling if high is None else min(high, ceiling))
        circuit.fill_with_nitrogen(min(low + ENOUGH_ABOVE_Pa, (low + most) / 2.0))
    elif high is None:
        circuit.fill_with_nitrogen(min(site_Pa + USUAL_TEST_Pa, ceiling - CLEAR_OF_LIMIT_Pa))
    elif high < site_Pa + NEARLY_NOTHING_Pa:
        circuit.open_to_air()
    else:
        circuit.fill_with_nitrogen(min(high, ceiling) - CLEAR_OF_LIMIT_Pa)


def _at_rest(plant: Plant, step: Step, order: Order) -> None:
    circuit = plant.circuit
    low, high = wanted_Pa(step, "system_pressure", order)
    now = plant.rest_pressure_Pa
    if "nitrogen" in step.do and circuit.inside is not Inside.REFRIGERANT:
        told = told_Pa(step, order)
        circuit.fill_with_nitrogen(float(order.site_pressure_Pa) if told is None else told)
    elif low is not None and now < low + CLEAR_OF_LIMIT_Pa / 2.0 and circuit.inside is not Inside.NITROGEN:
        cylinders.fitting(plant, order, "in")
        plant.break_vacuum(low + CLEAR_OF_LIMIT_Pa if high is None else (low + high) / 2.0)
    elif high is None or now <= NEAR_ENOUGH * high:
        return
    elif circuit.inside is Inside.REFRIGERANT:
        cylinders.fitting(plant, order, "out")
        plant.draw_down(WELL_BELOW * high)
    elif high >= 0.99 * float(order.site_pressure_Pa):
        circuit.open_to_air()
    else:
        circuit.pump_on()
