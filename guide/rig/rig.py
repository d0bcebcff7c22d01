"""A simulated unit under somebody's hands: time, acts, readings, and what is really so. SI.

Time runs on a grid of whole seconds (every second while something flows, ten while it runs or settles, sixty
otherwise) that only the acts and the time since the start decide, so that the same acts at the same times
give the same readings to the last digit, in however many pieces time passes.

`Rig` also is the `Plant` that a player without hands works on (`by_hand=False`): refrigerant then moves by
`move` and what is asked of the circuit, and every reading is as a careful technician would have connected it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from guide.rig import feeding, handling, lags, seen, showing
from guide.rig.acts import Handling
from guide.rig.by_itself import leak, watch
from guide.rig.circuit import Circuit
from guide.rig.cycles import SOUND, Cycles, corners
from guide.rig.drawing_out import pump_hoses
from guide.rig.faults import Graded
from guide.rig.happenings import Happening
from guide.rig.hookup import Hookup
from guide.rig.moving import into_circuit, out_of_circuit
from guide.rig.offers import Offer, offers
from guide.rig.plant import NoSteadyState, SteadyState
from guide.rig.running import CannotRun
from guide.rig.scenario import Scenario
from guide.rig.troubles import Interruption
from guide.rig.unit_state import AIR, CHILL_S, ELSEWHERE, UnitState

FLOWING_S: Final = 1
RUNNING_S: Final = 10
RESTING_S: Final = 60
"""The grid while something flows, while the unit runs or settles, and otherwise (PROPOSED)."""
SETTLES_S: Final = 1200
"""How long after a change a unit at rest is looked at as often as a running one (PROPOSED)."""
LIQUID_SPREADS_S: Final = 900.0
"""How fast liquid on the low side of a resting unit boils away or spreads (PROPOSED)."""
RUNS_FROM: Final = 0.5
"""The share of its right charge from which a unit runs that nobody's hands switch (PROPOSED)."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What is really so, which nobody at the unit can see. SI; None where it has no meaning now."""

    charge_kg: float
    right_charge_kg: float
    superheat_K: float | None
    subcooling_K: float | None
    target_superheat_K: float | None
    target_subcooling_K: float | None
    air_kg: float
    water_kg: float
    lost_kg: float
    in_hoses_kg: float
    moved_kg: Mapping[str, float]
    """By cylinder: what it gave since the start; negative what it took."""
    faults: tuple[Graded, ...]
    """As they were at the start."""
    mended: frozenset[str]
    """Names of the faults that are gone by now."""
    found: tuple[str, ...]
    """What the last search for leaks showed."""
    why_none: str
    """Why the unit could not go on running; empty where it can."""


class Rig:
    """One simulated unit. `elapsed_s` counts from the job's opening."""

    def __init__(self, scenario: Scenario, *, by_hand: bool = True) -> None:
        self.scenario = scenario
        self._by_hand = by_hand
        self._state = UnitState(scenario)
        self._us = 0
        if not by_hand and self._state.holds_refrigerant() and scenario.start_fraction > RUNS_FROM:
            self._state.runs = True
            self._state.settle_at_once()
            self._forgive_trip()

    # -- time ---------------------------------------------------------------------------------

    @property
    def elapsed_s(self) -> float:
        """Simulated time since the start, in whole microseconds."""
        return self._us / 1e6

    def pass_time(self, seconds: float) -> None:
        """Let time pass."""
        self._us = max(self._us, round(self._us + seconds * 1e6))
        # a thousandth of slack, so that sums of pieces that miss a whole second by rounding reach it
        self._run_to((self._us + 1000) // 1_000_000)
        self._state.circuit.now_s = self.elapsed_s

    def _run_to(self, second: int) -> None:
        """Bring the state to the last moment of the grid that is not after a second."""
        state = self._state
        while True:
            grid = self._grid_s()
            moment = (state.now_s // grid + 1) * grid
            if moment > second:
                return
            self._step(moment)

    def _grid_s(self) -> int:
        state = self._state
        if feeding.flows(state):
            return FLOWING_S
        lively = state.runs or state.now_s - state.changed_s < SETTLES_S
        return RUNNING_S if lively else RESTING_S

    def _step(self, moment: int) -> None:
        state = self._state
        seconds = moment - state.now_s
        flowing = feeding.flows(state)
        for each in state.lagged.values():
            each.advance(seconds)
        spread_s = lags.CHARGE_S if state.runs else lags.CHARGE_AT_REST_S
        state.felt_kg += (state.charge_kg - state.felt_kg) * (1.0 - math.exp(-seconds / spread_s))
        state.now_s = moment
        state.circuit.now_s = float(moment)
        if flowing:
            feeding.pass_second(state)
        pump_hoses(state, seconds)
        state.live_hoses(seconds)
        leak(state, seconds)
        for contents in state.contents.values():
            if contents.temperature_K != contents.ambient_K:
                contents.warm(seconds)
        state.chill_K *= 0.0 if state.runs else math.exp(-seconds / CHILL_S)
        state.liquid_low_kg *= math.exp(-seconds / LIQUID_SPREADS_S)
        state.retarget()
        watch(state, seconds)

    def _bring_up(self) -> None:
        """Bring the state to the present second, before hands change something."""
        second = (self._us + 1000) // 1_000_000
        self._run_to(second)
        if second > self._state.now_s:
            self._step(second)
        self._state.circuit.now_s = self.elapsed_s

    def _forgive_trip(self) -> None:
        if self._state.aim is None:
            self._state.runs = False
            self._state.settle_at_once()

    # -- hands --------------------------------------------------------------------------------

    def do(self, handled: Handling) -> tuple[Happening, ...]:
        """Do one act now; what happened by it at once.

        Raises:
            CannotBeDone: it can't be done as things stand; nothing has changed.
        """
        self._bring_up()
        before = len(self._state.happened)
        handling.act(self._state, handled)
        self._state.retarget()
        return tuple(self._state.happened[before:])

    @property
    def happenings(self) -> tuple[Happening, ...]:
        """All that happened so far, oldest first."""
        return tuple(self._state.happened)

    @property
    def hookup(self) -> Hookup:
        """How everything stands that can be seen."""
        return seen.hookup(self._state)

    def possible(self) -> tuple[Offer, ...]:
        """What hands can do now."""
        names = tuple(self._state.contents)
        return offers(self.hookup, cylinders=names, site_pressure_Pa=self.scenario.site_pressure_Pa)

    @property
    def interruption(self) -> Interruption | None:
        """What takes the person away, and when; None where nothing does."""
        return self._state.troubles.interruption

    # -- what is so ---------------------------------------------------------------------------

    def read(self, channel: str) -> float:
        """What an instrument on this channel shows now [K, Pa absolute, kg].

        Raises:
            NoSuchChannel: there is no such reading, or no cylinder stands on the scale.
        """
        return showing.reading(self._state, channel, self.elapsed_s, by_hand=self._by_hand)

    def unread(self, channel: str) -> str:
        """Why what `read` gives is no value of the unit now: what is not in its place; empty where it is."""
        return showing.unread(self._state, channel)

    def off(self, channel: str) -> float:
        """By how much what `read` shows is off through a fault of the instrument or of its seat [K, Pa].

        Raises:
            NoSuchChannel: there is no such reading.
        """
        return showing.off(self._state, channel, self.elapsed_s)

    def shown_saturation_K(self, side: str) -> float | None:
        """What the gauge of a side shows as saturation for the refrigerant it is set to."""
        return showing.shown_saturation_K(self._state, side, self.elapsed_s)

    def truth(self) -> Truth:
        """What is really so; superheat and subcooling where the unit would settle with this charge."""
        state = self._state
        superheat = subcooling = None
        why_none = ""
        if state.holds_refrigerant():
            try:
                aim = state.plant.aim(state.charge_kg, state.gas_Pa(), state.troubles)
            except CannotRun as error:
                why_none = str(error)
            else:
                superheat, subcooling = aim.superheat_K, aim.subcooling_K
        return Truth(
            charge_kg=state.charge_kg,
            right_charge_kg=self.scenario.right_charge_kg,
            superheat_K=superheat,
            subcooling_K=subcooling,
            target_superheat_K=self.scenario.target_superheat_K,
            target_subcooling_K=self.scenario.target_subcooling_K,
            air_kg=state.air_kg,
            water_kg=state.water_kg(),
            lost_kg=state.stores[AIR],
            in_hoses_kg=math.fsum(line.refrigerant_kg for line in state.set.lines.values()),
            moved_kg=MappingProxyType(dict(state.moved_kg())),
            faults=self.scenario.faults,
            mended=seen.gone(state),
            found=tuple(state.found),
            why_none=why_none,
        )

    def steady(self) -> SteadyState | None:
        """The whole steady state the unit would settle in with this charge; None where it would not run."""
        state = self._state
        if not state.holds_refrigerant():
            return None
        try:
            return state.plant.steady(state.charge_kg, state.gas_Pa(), state.troubles)
        except NoSteadyState:
            return None

    def cycles(self) -> Cycles:
        """How it settles with what is in it, beside a sound one with its right charge in the same air."""
        is_now = self.steady()
        try:
            right = self._state.plant.steady(self.scenario.right_charge_kg, 0.0, SOUND)
        except NoSteadyState:
            right = None
        name = self.scenario.designation
        return Cycles(
            name, None if is_now is None else corners(is_now), None if right is None else corners(right)
        )

    # -- a plant for a player without hands ----------------------------------------------------

    @property
    def charge_kg(self) -> float:
        """Refrigerant in the circuit."""
        return self._state.charge_kg

    @property
    def circuit(self) -> Circuit:
        """What is in the circuit while that is not its refrigerant; looking at it changes nothing."""
        return self._state.circuit

    @property
    def rest_pressure_Pa(self) -> float:
        """The pressure in the circuit at rest, whatever is in it."""
        return self._state.rest_Pa(self.elapsed_s)

    def vapour_kg(self, pressure_Pa: float) -> float:
        """How much refrigerant is left in the circuit when it is vapour at this pressure."""
        state = self._state
        return state.fluid.vapour_mass_kg(state.plant.circuit_m3, state.outdoor_K, pressure_Pa)

    def move(self, into_system_kg: float) -> None:
        """Move refrigerant between the cylinder on the scale and the circuit (negative: out of it)."""
        self._bring_up()
        state = self._state
        cylinder = state.on_scale or ELSEWHERE
        if into_system_kg > 0.0:
            into_circuit(state, cylinder, into_system_kg)
        elif into_system_kg < 0.0:
            out_of_circuit(state, cylinder, -into_system_kg)
            if not state.has_liquid():
                state.drawn_s, state.draws = state.now_s, state.draws + 1
        self._switch_by_charge()
        state.retarget()

    def _switch_by_charge(self) -> None:
        """Without hands the unit runs as soon as most of its charge is in it, and is off for a recovery."""
        state = self._state
        if self._by_hand:
            return
        runs = state.holds_refrigerant() and state.charge_kg > RUNS_FROM * self.scenario.right_charge_kg
        if runs != state.runs:
            state.runs, state.changed_s = runs, state.now_s
            state.felt_kg = state.charge_kg  # it is switched on once the charge has spread

    def draw_down(self, to_Pa: float) -> None:
        """Let the recovery machine draw vapour into the cylinder on the scale, down to a pressure."""
        self.move(min(0.0, self.vapour_kg(to_Pa) - self.charge_kg))

    def break_vacuum(self, to_Pa: float) -> None:
        """Let refrigerant out of the cylinder on the scale into a vacuum, up to a pressure."""
        self.move(max(0.0, self.vapour_kg(to_Pa) - self.charge_kg))

    def put_on_scale(self, cylinder: str, gross_kg: float) -> None:
        """Stand a cylinder on the scale; `gross_kg` counts only the first time it stands there."""
        self._bring_up()
        self._state.stand(cylinder, gross_kg)
