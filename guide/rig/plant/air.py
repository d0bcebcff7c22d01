"""The air over the coils, quick enough to be reckoned many times in one solution.

Saturated air over water by Buck's formula (MEMORY: Buck 1981, coefficients of 1996; within 0.1 % of the
IAPWS equation from 0 to 45 °C, tests); heat content as in `guide.charging.psychrometrics`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import Final

from guide.charging.psychrometrics import (
    DRY_AIR_J_PER_kg_K,
    VAPOR_J_PER_kg,
    VAPOR_J_PER_kg_K,
    air_by_wet_bulb,
)
from guide.charging.refusal import FigureError
from guide.rig.plant.conditions import BadConditions, Conditions

_ZERO_C: Final = 273.15
_RATIO: Final = 0.621945
_GAS: Final = 287.042
_A_Pa: Final = 611.21
_B: Final = 18.678
_C: Final = 257.14
_D: Final = 234.5
_OUTDOOR_HUMIDITY: Final = 0.010  # kg/kg: only the density of outdoor air hangs on it, a little


@dataclass(frozen=True, slots=True)
class IndoorAir:
    """Return air, per kg of dry air: humidity ratio, heat content [J/kg], flow [kg/s], its W/K."""

    entering_K: float
    humidity_ratio: float
    enthalpy: float
    flow_kg_per_s: float
    capacity_W_per_K: float
    pressure_Pa: float


def indoor_air(conditions: Conditions, rated_m3_per_s: float) -> IndoorAir:
    """The return air of conditions, for a fan of a rated volume flow.

    Raises:
        BadConditions: no air has this dry and wet bulb.
    """
    try:
        air = air_by_wet_bulb(conditions.indoor_db_K, conditions.indoor_wb_K, conditions.site_pressure_Pa)
    except FigureError as error:
        raise BadConditions(str(error)) from error
    flow = rated_m3_per_s * conditions.indoor_air / air.volume_m3_per_kg
    moist = DRY_AIR_J_PER_kg_K + air.humidity_ratio * VAPOR_J_PER_kg_K
    return IndoorAir(
        air.dry_bulb_K, air.humidity_ratio, air.enthalpy_J_per_kg, flow, flow * moist, air.pressure_Pa
    )


def outdoor_capacity_W_per_K(conditions: Conditions, rated_m3_per_s: float) -> float:
    """Heat flow [W/K] that the outdoor fan's air takes up per kelvin."""
    density = conditions.site_pressure_Pa / (_GAS * conditions.outdoor_K) / (1.0 + 1.6 * _OUTDOOR_HUMIDITY)
    moist = DRY_AIR_J_PER_kg_K + _OUTDOOR_HUMIDITY * VAPOR_J_PER_kg_K
    return rated_m3_per_s * conditions.outdoor_air * density * moist


def saturated_enthalpy(temperature_K: float, pressure_Pa: float) -> tuple[float, float]:
    """Heat content [J/kg dry air] of saturated air, and its slope [J/(kg K)]."""
    celsius = temperature_K - _ZERO_C
    beyond = _C + celsius
    part = _B - celsius / _D
    vapour_Pa = _A_Pa * exp(part * celsius / beyond)
    dry_Pa = pressure_Pa - vapour_Pa
    ratio = _RATIO * vapour_Pa / dry_Pa
    ratio_slope = (
        ratio * (pressure_Pa / dry_Pa) * ((part - celsius / _D) * beyond - part * celsius) / (beyond * beyond)
    )
    wet = VAPOR_J_PER_kg + VAPOR_J_PER_kg_K * celsius
    return (
        DRY_AIR_J_PER_kg_K * celsius + ratio * wet,
        DRY_AIR_J_PER_kg_K + ratio * VAPOR_J_PER_kg_K + ratio_slope * wet,
    )


def saturated_ratio(temperature_K: float, pressure_Pa: float) -> float:
    """Humidity ratio [kg/kg dry air] of saturated air."""
    celsius = temperature_K - _ZERO_C
    vapour_Pa = _A_Pa * exp((_B - celsius / _D) * celsius / (_C + celsius))
    return _RATIO * vapour_Pa / (pressure_Pa - vapour_Pa)


def saturated_K(enthalpy: float, pressure_Pa: float, near_K: float) -> float:
    """Temperature [K] at which saturated air has a heat content [J/kg dry air], by Newton's method."""
    temperature_K = near_K
    for _ in range(30):
        value, slope = saturated_enthalpy(temperature_K, pressure_Pa)
        step = (enthalpy - value) / slope
        temperature_K += min(max(step, -20.0), 20.0)
        if abs(step) < 1e-9:
            break
    return temperature_K
