"""What the player does with its hands: reads instruments, weighs cylinders, connects machines, waits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Protocol

from guide.charging.water_vapor import MICRON_Pa
from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.job.work import Work
from guide.procedure.model import ChannelAsk, Confirm, Step, Weigh
from guide.rig import cylinders, tending
from guide.rig.course import Course, mend_then_tend, retrace
from guide.rig.cylinders import NoCylinder, Way
from guide.rig.instrument import shown, weight
from guide.rig.port import Plant

USUAL_VACUUM_Pa: Final = 500.0 * MICRON_Pa
"""What is pumped down to where the step names no limit: a common target, not a rule."""
MOST_PUMPING_MIN: Final = 180
MOVE_S: Final = 120.0
"""Simulated time to let refrigerant in or out, throttled, and to draw the hose down [s] (PROPOSED)."""
FLOW_kg_per_s: Final = 0.005
"""How fast a large amount crosses the scale (PROPOSED)."""
DRYING_S: Final = 7200.0
"""How much longer the pump runs after a vacuum that did not hold [s] (PROPOSED)."""


class PlayerStuck(ChargewrightError):
    """The player doesn't know how to go on here: where, and why."""


class MovableClock(Protocol):
    """A clock that can be told to run on."""

    def advance(self, seconds: float) -> None:
        """Let time pass."""


class Hands:
    """One player's hands on one simulated system, which is brought to where the job's events left it."""

    def __init__(self, work: Work, plant: Plant, clock: MovableClock) -> None:
        self._work = work
        self._plant = plant
        self._clock = clock
        self.course = self._brought_here()

    def _brought_here(self) -> Course:
        """Bring the system to where the job's events left it; how the job went so far."""
        return retrace(self._plant, self._work.state, self._work.events())

    def pass_time(self, seconds: float) -> None:
        """Let time pass, for the system and for the clock."""
        if seconds > 0:
            self._clock.advance(seconds)
            self._plant.pass_time(seconds)

    def stand(self, cylinder: str) -> None:
        """Put a cylinder on the scale."""
        cylinders.stand(self._plant, self._work.state.order, cylinder)

    def cylinder(self, way: Way) -> str:
        """The cylinder to charge from (in) or to recover into (out), put on the scale.

        Raises:
            PlayerStuck: the order has none, or none that would still do.
        """
        try:
            return cylinders.fitting(self._plant, self._work.state.order, way)
        except NoCylinder as error:
            raise PlayerStuck(str(error)) from error

    def cylinder_in_use(self, step: Step | None = None) -> str:
        """The cylinder at hand: the one that the step's part weighs, else the last used, else a full one."""
        state = self._work.state
        part = next((part for part in state.path() if step in part.steps), None)
        for each in part.steps if part is not None else ():
            if isinstance(each.proof, Weigh):
                return self.cylinder(each.proof.direction.value)
        return state.moves[-1].cylinder if state.moves else self.cylinder("in")

    def cylinder_for(self, step: Step, way: Way) -> str:
        """The cylinder to move refrigerant from or to at a step, put on the scale.

        Raises:
            PlayerStuck: as `cylinder`.
        """
        del step  # whoever has no hose in hand needs to know no more than the way
        return self.cylinder(way)

    def look(self, step: Step, proof: Confirm) -> str:
        """What is seen at a step: the first answer that lets the work go on."""
        del step
        return proof.accept[0]

    def move(self, step: Step, kg: float, way: Way) -> None:
        """Let refrigerant [kg] in or out at a step, throttled, and draw the hose down."""
        del step
        self._plant.move(kg if way == "in" else -kg)
        self.pass_time(max(MOVE_S, kg / FLOW_kg_per_s))

    def left_in_it_kg(self, level_Pa: float) -> float:
        """How much has still to come out until no more than vapour at a pressure is in it [kg]."""
        return self._plant.charge_kg - self._plant.vapour_kg(level_Pa)

    def weight(self, cylinder: str) -> p.ReadingValue:
        """What the scale shows with a cylinder on it."""
        self.stand(cylinder)
        return weight(self._work.state.order, self._plant.read("cylinder_weight"))

    def readings(self, step: Step, asked: Sequence[ChannelAsk]) -> tuple[p.ReadingValue, ...]:
        """Let everything settle for as long as a step wants, then read it."""
        order = self._work.state.order
        self.pass_time(float(max((ask.settled_s for ask in asked), default=0)))
        values = []
        for ask in asked:
            if ask.channel == "cylinder_weight":
                values.append(self.weight(self.cylinder_in_use(step)))
            else:
                values.append(shown(order, ask.channel, self._plant.read(ask.channel), ask.unit))
        return tuple(values)

    def make_pressure(self, step: Step) -> None:
        """Have what the step reads made ready: connected, pumped down, shut off.

        Raises:
            PlayerStuck: it takes a cylinder that the order does not have.
        """
        try:
            mended = mend_then_tend(self._plant, self.course, step, self._work.state)
        except NoCylinder as error:
            raise PlayerStuck(f"step {step.id}: {error}") from error
        if tending.tended(step) == "system_vacuum":
            self.pass_time(DRYING_S if mended else 0.0)
            _, high = tending.wanted_Pa(step, "system_vacuum", self._work.state.order)
            if high is not None or tending.stands_alone(step):
                self._pump_down(tending.WELL_BELOW * (USUAL_VACUUM_Pa if high is None else high))
        tending.let_stand(self._plant, step)

    def _pump_down(self, enough_Pa: float) -> None:
        for _ in range(MOST_PUMPING_MIN):
            if self._plant.circuit.pressure_Pa <= enough_Pa:
                break
            self.pass_time(60.0)
