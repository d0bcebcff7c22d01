"""Where a running unit tends to: steady states of its plant at a grid of charges, straight lines between. SI.

The plant is rated at the scenario's own weather, so that at the right charge it has exactly its target there.
A steady state is solved only where the charge comes near a node, half a per cent of the right charge apart:
over such a stretch superheat and subcooling bend by less than an instrument shows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Final

from guide.charging.round import Metering
from guide.errors import ChargewrightError
from guide.rig import plant
from guide.rig.scenario import Scenario, Weather
from guide.rig.troubles import Troubles

NODE: Final = 0.005
"""Distance of the grid's charges, in parts of the right one (PROPOSED)."""
GAS_NODE_Pa: Final = 2000.0
"""Distance of the partial pressures of air at which states are solved (PROPOSED)."""
SIZE_W: Final = 11_000.0
"""Where a size is scaled from, to hold an order's charge."""
SMALLEST_W: Final = 5_000.0
LARGEST_W: Final = 70_000.0
"""Of whatever charge, a unit is no smaller and no larger than this (PROPOSED)."""
CLEAR_K: Final = 5.0
"""How far evaporating and superheat together stay below the return air, condensing above the outdoor air
(PROPOSED)."""
_METERING: Final = {
    Metering.FIXED_ORIFICE: plant.Metering.ORIFICE,
    Metering.THERMOSTATIC_VALVE: plant.Metering.THERMOSTATIC,
    Metering.ELECTRONIC_VALVE: plant.Metering.ELECTRONIC,
}


class CannotRun(ChargewrightError):
    """There is no state in which the unit would go on running; `high` when it is the high pressure."""

    def __init__(self, reason: str, *, high: bool) -> None:
        super().__init__(reason)
        self.high: Final = high


@dataclass(frozen=True, slots=True)
class Aim:
    """What a running unit comes to with its present charge. SI; `quality` 1 is dry suction vapour."""

    suction_Pa: float
    liquid_Pa: float
    suction_line_K: float
    liquid_line_K: float
    discharge_K: float
    supply_db_K: float
    superheat_K: float
    subcooling_K: float
    quality: float
    liquid_quality: float
    evaporating_K: float
    flow_kg_per_s: float


_FIELDS: Final = tuple(each.name for each in fields(Aim))
_Node = plant.SteadyState | plant.NoSteadyState


class Running:
    """The plant of a scenario while it runs.

    Raises:
        BadRating: the order's charge fits no plant.
    """

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.design = _design(
            scenario.designation, _METERING[scenario.metering], charge_kg=scenario.right_charge_kg,
            air=scenario.weather, superheat_K=scenario.rated_superheat_K,
            subcooling_K=scenario.rated_subcooling_K,
        )  # fmt: skip
        made = self.design
        self.circuit_m3 = (
            made.condenser_m3 + made.evaporator_m3 + made.rated.liquid_line_m3 + made.rated.vapour_m3
        )
        self.high_m3 = made.condenser_m3
        """Where gas that does not condense gathers in the running unit."""
        self.solved = 0
        """How many steady states were solved so far."""
        self._nodes: dict[tuple[int, int], _Node] = {}
        self._troubles: Troubles | None = None

    def aim(self, charge_kg: float, gas_Pa: float, troubles: Troubles) -> Aim:
        """Where it tends to with this charge and so much air in it.

        Raises:
            CannotRun: a safety switch would stop it, or nothing reaches the expansion device.
        """
        if troubles != self._troubles:
            self._nodes.clear()
            self._troubles = troubles
        at = max(0.0, charge_kg) / (NODE * self.scenario.right_charge_kg)
        first = math.floor(at)
        gas = round(gas_Pa / GAS_NODE_Pa)
        low, high = self._node(first, gas), self._node(first + 1, gas)
        share = at - first
        if isinstance(low, plant.NoSteadyState) or isinstance(high, plant.NoSteadyState):
            near = low if share < 0.5 else high
            if isinstance(near, plant.NoSteadyState):
                raise CannotRun(near.reason, high=near.cause is plant.Cause.HIGH_PRESSURE)
            return _aim(near)
        one, two = _aim(low), _aim(high)
        return Aim(*((1.0 - share) * getattr(one, name) + share * getattr(two, name) for name in _FIELDS))

    def steady(self, charge_kg: float, gas_Pa: float, troubles: Troubles) -> plant.SteadyState:
        """The whole steady state with just this charge.

        Raises:
            NoSteadyState: the unit would not go on running.
        """
        return plant.steady_state(self.design, self.conditions(charge_kg, gas_Pa, troubles))

    def conditions(self, charge_kg: float, gas_Pa: float, troubles: Troubles) -> plant.Conditions:
        """What the plant runs in. The air is that of the rating, at whatever altitude."""
        weather = self.scenario.weather
        return plant.Conditions(
            charge_kg=charge_kg,
            indoor_db_K=weather.indoor_db_K,
            indoor_wb_K=weather.indoor_wb_K,
            outdoor_K=weather.outdoor_K,
            indoor_air=troubles.indoor_air,
            fouling=troubles.fouling,
            restriction_Pa=troubles.restriction_Pa,
            gas_Pa=min(gas_Pa, 2e6),
            valve_leak=troubles.valve_leak,
            valve_stuck=troubles.valve_stuck,
        )

    def _node(self, at: int, gas: int) -> _Node:
        known = self._nodes.get((at, gas))
        if known is None:
            known = self._nodes[at, gas] = self._solve(at, gas)
        return known

    def _solve(self, at: int, gas: int) -> _Node:
        assert self._troubles is not None
        self.solved += 1
        charge_kg = at * NODE * self.scenario.right_charge_kg
        conditions = self.conditions(charge_kg, gas * GAS_NODE_Pa, self._troubles)
        try:  # begun from nothing: from a neighbour, the last digits would hang on what was asked before
            return plant.steady_state(self.design, conditions)
        except plant.NoSteadyState as error:
            return error


@lru_cache(maxsize=64)
def _design(
    designation: str, metering: plant.Metering, *, charge_kg: float, air: Weather, superheat_K: float,
    subcooling_K: float,
) -> plant.Design:  # fmt: skip
    """A plant that at this air and its right charge has this superheat and subcooling.

    Evaporating and condensing follow the air by 0.6 K/K of the wet bulb, 0.15 and 0.9 K/K of the outdoor air
    (PROPOSED; near what the plant itself does from its usual rating).

    Raises:
        BadRating: no such plant.
    """
    usual = plant.usual(designation, SIZE_W, metering)
    size_W = SIZE_W * charge_kg / plant.design(usual).right_charge_kg
    warmer = air.outdoor_K - usual.outdoor_K
    evaporating_K = usual.evaporating_K + 0.6 * (air.indoor_wb_K - usual.indoor_wb_K) + 0.15 * warmer
    condensing_K = usual.condensing_K + 0.9 * warmer
    return plant.design(
        plant.usual(
            designation, min(max(size_W, SMALLEST_W), LARGEST_W), metering,
            right_charge_kg=charge_kg,
            evaporating_K=min(evaporating_K, air.indoor_db_K - superheat_K - CLEAR_K),
            condensing_K=max(condensing_K, air.outdoor_K + subcooling_K + CLEAR_K),
            superheat_K=superheat_K,
            subcooling_K=subcooling_K,
            indoor_db_K=air.indoor_db_K,
            indoor_wb_K=air.indoor_wb_K,
            outdoor_K=air.outdoor_K,
        )
    )  # fmt: skip


def _aim(state: plant.SteadyState) -> Aim:
    return Aim(
        suction_Pa=state.suction_Pa,
        liquid_Pa=state.liquid_Pa,
        suction_line_K=state.suction_line_K,
        liquid_line_K=state.liquid_line_K,
        discharge_K=state.discharge_K,
        supply_db_K=state.supply_db_K,
        superheat_K=state.superheat_K,
        subcooling_K=state.subcooling_K,
        quality=state.suction_quality,
        liquid_quality=state.liquid_quality,
        evaporating_K=state.evaporating_K,
        flow_kg_per_s=state.flow_kg_per_s,
    )
