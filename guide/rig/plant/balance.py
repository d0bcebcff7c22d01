"""Heat, entropy and mass of a steady state: what comes must go, and entropy only grows.

For people who doubt the model, and for its tests: nothing here takes part in finding the state.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import log
from types import MappingProxyType
from typing import Final

from guide.charging.psychrometrics import DRY_AIR_J_PER_kg_K, VAPOR_J_PER_kg, VAPOR_J_PER_kg_K
from guide.rig.plant.conditions import Conditions
from guide.rig.plant.cycle import cycle, given
from guide.rig.plant.design import Design
from guide.rig.plant.state import SteadyState

# Of moist air as ASHRAE has them (MEMORY: Handbook, Fundamentals, chapter on psychrometrics).
_ZERO_C: Final = 273.15
_VAPOUR_GAS: Final = 461.5  # J/(kg K), of water vapour
_AIR_GAS: Final = 287.042
_RATIO: Final = 0.621945
_TRIPLE_Pa: Final = 611.2


@dataclass(frozen=True, slots=True)
class Balance:
    """`energy_W` came in more than went out, `energy_share` of the capacity.

    `entropy` [W/K] made by each part; `mass_kg`: charge less what all places hold.
    """

    energy_W: float
    energy_share: float
    entropy: Mapping[str, float]
    mass_kg: float


def balance(design: Design, conditions: Conditions, state: SteadyState) -> Balance:
    """Draw up the balance of a state that `steady_state` gave for these conditions.

    Energy compares the air's side with electricity: what the indoor air gave (reckoned from the coil's
    faces, not from the refrigerant), the compressor's power and the suction line's gain against what the
    outdoor air and the shell's surroundings got. Entropy of wet air counts its condensate as liquid at 0 °C.
    """
    fluid, now = design.fluid, given(design, conditions)
    evaporation = cycle(design, now, state.unknowns).evaporation
    flow, points = state.flow_kg_per_s, state.points
    liquid = points["evaporator inlet"].enthalpy
    air_W = flow * (evaporation.leaving_enthalpy - liquid)
    energy_W = air_W + state.line_gain_W + state.compressor_W - state.condenser_W - state.shell_W
    entropy = {name: fluid.entropy(point.pressure_Pa, point.enthalpy) for name, point in points.items()}
    outdoor_K = conditions.outdoor_K
    taken = _air_entropy(now.air.entering_K, now.air.humidity_ratio, now.air.pressure_Pa)
    coil_air_K = (
        state.supply_db_K - design.rated.indoor_fan_W * conditions.indoor_air / now.air.capacity_W_per_K
    )
    given_back = _air_entropy(coil_air_K, state.supply_humidity_ratio, now.air.pressure_Pa)
    made = {
        "compressor": flow * (entropy["discharge"] - entropy["suction"]) + state.shell_W / outdoor_K,
        "condenser": flow * (entropy["condenser outlet"] - entropy["discharge"])
        + now.outdoor_W_per_K * log(state.outdoor_leaving_K / outdoor_K),
        "liquid line": flow * (entropy["valve inlet"] - entropy["condenser outlet"]),
        "expansion": flow * (entropy["evaporator inlet"] - entropy["valve inlet"]),
        "evaporator": flow * (entropy["evaporator outlet"] - entropy["evaporator inlet"])
        + now.air.flow_kg_per_s * (given_back - taken),
        "suction line": flow * (entropy["suction"] - entropy["evaporator outlet"])
        - state.line_gain_W / outdoor_K,
    }
    return Balance(
        energy_W, energy_W / state.capacity_W, MappingProxyType(made), conditions.charge_kg - state.charge_kg
    )


def _air_entropy(temperature_K: float, humidity_ratio: float, pressure_Pa: float) -> float:
    """Entropy [J/(kg K)] of moist air per kg of dry air (MEMORY: ideal gases; none in water at 0 °C)."""
    vapour_Pa = pressure_Pa * humidity_ratio / (_RATIO + humidity_ratio)
    warm = log(temperature_K / _ZERO_C)
    dry = DRY_AIR_J_PER_kg_K * warm - _AIR_GAS * log((pressure_Pa - vapour_Pa) / 101_325.0)
    if humidity_ratio <= 0.0:
        return dry
    vapour = VAPOR_J_PER_kg / _ZERO_C + VAPOR_J_PER_kg_K * warm - _VAPOUR_GAS * log(vapour_Pa / _TRIPLE_Pa)
    return dry + humidity_ratio * vapour
