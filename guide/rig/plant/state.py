"""A plant in steady running, as instruments and a diagram want it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp
from types import MappingProxyType
from typing import Final

from guide.charging.psychrometrics import DRY_AIR_J_PER_kg_K, VAPOR_J_PER_kg, VAPOR_J_PER_kg_K
from guide.rig.plant.air import saturated_K, saturated_ratio
from guide.rig.plant.cycle import Cycle, Given
from guide.rig.plant.design import Design, Vector

FROST_BELOW_K: Final = 273.15 - 1.0
"""A wet coil that boils below this frosts (PROPOSED)."""
HOT_DISCHARGE_K: Final = 273.15 + 125.0
"""Vapour hotter than this at the compressor's outlet harms its oil (PROPOSED)."""
_ZERO_C: Final = 273.15
_FLOODED_BELOW: Final = 0.9999


@dataclass(frozen=True, slots=True)
class Point:
    """A state on the way round: pressure [Pa absolute] and heat content [J/kg]."""

    pressure_Pa: float
    enthalpy: float


@dataclass(frozen=True, slots=True)
class SteadyState:
    """SI throughout: Pa absolute, K, kg, s, W; qualities are shares of vapour by mass.

    `superheat_K` and `subcooling_K` are those that gauges at the service valves show. Both are 0 where liquid
    and vapour are there together, save that foreign gas feigns subcooling. `capacity_W` is what the indoor
    coil takes from the air, `supply_db_K` is behind the indoor fan, whose heat is in it. `masses` by place;
    `points` round the cycle in order of flow; liquid stands under foreign gas too, vapour is given its own
    pressure.
    """

    suction_Pa: float
    suction_line_K: float
    suction_quality: float
    superheat_K: float
    liquid_Pa: float
    liquid_line_K: float
    subcooling_K: float
    liquid_quality: float
    discharge_Pa: float
    discharge_K: float
    evaporating_K: float
    condensing_K: float
    flow_kg_per_s: float
    capacity_W: float
    sensible_W: float
    supply_db_K: float
    supply_humidity_ratio: float
    compressor_W: float
    shell_W: float
    fans_W: float
    condenser_W: float
    line_gain_W: float
    outdoor_leaving_K: float
    coil_K: float
    opening: float
    masses: Mapping[str, float]
    points: Mapping[str, Point]
    notes: tuple[str, ...]
    unknowns: Vector
    jacobian: tuple[Vector, Vector, Vector] | None

    @property
    def charge_kg(self) -> float:
        """The sum of all masses."""
        return sum(self.masses.values())

    @property
    def cop(self) -> float:
        """Heat taken from the air over the power of compressor and both fans."""
        return self.capacity_W / (self.compressor_W + self.fans_W)


def state_of(
    design: Design,
    now: Given,
    round_: Cycle,
    unknowns: Vector,
    jacobian: tuple[Vector, Vector, Vector] | None,
) -> SteadyState:
    """The whole state of a solved round."""
    fluid, rated = design.fluid, design.rated
    compression, condensation, evaporation = round_.compression, round_.condensation, round_.evaporation
    flow = compression.flow_kg_per_s
    evaporating_K = fluid.dew_K(round_.suction_Pa)
    suction_line_K = fluid.temperature_K(round_.suction_Pa, round_.suction_enthalpy)
    suction_quality = fluid.quality(round_.suction_Pa, round_.suction_enthalpy)
    condensing_K = fluid.bubble_K(round_.liquid_Pa)
    liquid_line_K = fluid.temperature_K(round_.condensed_Pa, condensation.leaving_enthalpy)
    # Foreign gas lets mixture show subcooling at a gauge: the gauge sees the sum of both pressures.
    subcooling_K = max(condensing_K - liquid_line_K, 0.0)
    discharge_K = fluid.temperature_K(round_.condensing_Pa, compression.discharge_enthalpy)
    capacity_W = flow * (round_.evaporator_out_enthalpy - condensation.leaving_enthalpy)
    condenser_W = flow * (compression.discharge_enthalpy - condensation.leaving_enthalpy)
    coil_K, ratio, sensible_W = _indoor(now, round_, capacity_W)
    fan_W = rated.indoor_fan_W * now.conditions.indoor_air
    air = now.air
    supply_K = air.entering_K + (fan_W - sensible_W) / air.capacity_W_per_K
    notes = []
    if suction_quality < _FLOODED_BELOW:
        notes.append(f"liquid comes back to the compressor: {(1.0 - suction_quality) * 100:.0f} % by mass")
    if evaporation.boiling_K < FROST_BELOW_K and coil_K < _ZERO_C:
        notes.append("the indoor coil is below freezing and ices up")
    if discharge_K > HOT_DISCHARGE_K:
        notes.append("the discharge is too hot for the oil")
    if condensation.quality > 0.0:
        notes.append("vapour comes with the liquid from the condenser")
    return SteadyState(
        suction_Pa=round_.suction_Pa,
        suction_line_K=suction_line_K,
        suction_quality=suction_quality,
        superheat_K=max(suction_line_K - evaporating_K, 0.0) if suction_quality >= 1.0 else 0.0,
        liquid_Pa=round_.liquid_Pa,
        liquid_line_K=liquid_line_K,
        subcooling_K=subcooling_K,
        liquid_quality=condensation.quality,
        discharge_Pa=round_.discharge_Pa,
        discharge_K=discharge_K,
        evaporating_K=evaporating_K,
        condensing_K=condensing_K,
        flow_kg_per_s=flow,
        capacity_W=capacity_W,
        sensible_W=sensible_W,
        supply_db_K=supply_K,
        supply_humidity_ratio=ratio,
        compressor_W=compression.power_W,
        shell_W=compression.shell_W,
        fans_W=fan_W + rated.outdoor_fan_W,
        condenser_W=condenser_W,
        line_gain_W=round_.line_gain_W,
        outdoor_leaving_K=now.conditions.outdoor_K + condenser_W / now.outdoor_W_per_K,
        coil_K=coil_K,
        opening=round_.opening,
        masses=MappingProxyType(
            {
                "condenser": condensation.mass_kg,
                "liquid line": round_.liquid_kg,
                "evaporator": evaporation.mass_kg,
                "suction line and shell": round_.vapour_kg,
                "oil": round_.oil_kg,
            }
        ),
        points=MappingProxyType(_points(round_)),
        notes=tuple(notes),
        unknowns=unknowns,
        jacobian=jacobian,
    )


def _points(round_: Cycle) -> dict[str, Point]:
    liquid = round_.condensation.leaving_enthalpy
    return {
        "suction": Point(round_.suction_Pa, round_.suction_enthalpy),
        "discharge": Point(round_.condensing_Pa, round_.compression.discharge_enthalpy),
        "condenser outlet": Point(round_.liquid_Pa, liquid),
        "valve inlet": Point(round_.valve_Pa, liquid),
        "evaporator inlet": Point(round_.evaporator_in_Pa, liquid),
        "evaporator outlet": Point(round_.evaporator_out_Pa, round_.evaporator_out_enthalpy),
    }


def _indoor(now: Given, round_: Cycle, capacity_W: float) -> tuple[float, float, float]:
    """Mean surface of the coil [K], humidity ratio of the air behind it, sensible heat [W].

    Of the boiling face the air leaves along the straight line to the surface that would give it this heat
    (MEMORY: bypass factor); the face that superheats only cools. Where the line would pass through fog the
    air leaves saturated. Heat content is kept: what the air lost is the capacity, condensate being water at
    0 °C.
    """
    air, evaporation = now.air, round_.evaporation
    reached = 1.0 - exp(-now.evaporator_W_per_K / air.capacity_W_per_K)
    if evaporation.wet:
        surface = air.enthalpy - evaporation.whole_face_W / air.flow_kg_per_s / reached
        surface_K = saturated_K(surface, air.pressure_Pa, evaporation.boiling_K)
        surface_ratio = saturated_ratio(surface_K, air.pressure_Pa)
        dried = max(reached * (air.humidity_ratio - surface_ratio), 0.0) * evaporation.boiling_face
    else:
        surface_K = air.entering_K - evaporation.whole_face_W / air.capacity_W_per_K / reached
        dried = 0.0
    enthalpy, ratio = air.enthalpy - capacity_W / air.flow_kg_per_s, air.humidity_ratio - dried
    leaving_K = _ZERO_C + (enthalpy - ratio * VAPOR_J_PER_kg) / (
        DRY_AIR_J_PER_kg_K + ratio * VAPOR_J_PER_kg_K
    )
    if ratio > saturated_ratio(leaving_K, air.pressure_Pa):
        leaving_K = saturated_K(enthalpy, air.pressure_Pa, leaving_K)
        ratio = saturated_ratio(leaving_K, air.pressure_Pa)
    return surface_K, ratio, air.capacity_W_per_K * (air.entering_K - leaving_K)
