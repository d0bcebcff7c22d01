"""How the model is asked for the validation table: the units it is asked about, in °F and shares.

One unit a refrigerant and metering: the usual one of 11 kW (3 tons), no parameter set for this table.
"Power" and "COP" are those of compressor and fans together, as the published ones are.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Final

from guide.charging.wording import K_PER_F, from_F
from guide.rig.plant import (
    Conditions,
    Design,
    Metering,
    NoSteadyState,
    SteadyState,
    design,
    steady_state,
    usual,
)

ORIFICE, VALVE = Metering.ORIFICE, Metering.THERMOSTATIC
SIX: Final = ("R-410A", "R-32", "R-454B", "R-22", "R-407C", "R-134a")
SITE_Pa: Final = 101325.0
CAPACITY_W: Final = 11_000.0


@dataclass(frozen=True, slots=True)
class Asked:
    """What the unit is asked at: air in °F, charge and flows as shares of the right ones, the rest in SI."""

    charge: float = 1.0
    indoor_F: float = 80.0
    wet_F: float = 67.0
    outdoor_F: float = 95.0
    indoor_air: float = 1.0
    outdoor_air: float = 1.0
    fouling: float = 1.0
    restriction_Pa: float = 0.0
    gas_Pa: float = 0.0
    valve_leak: float = 0.0


RATING: Final = Asked()


@cache
def unit(refrigerant: str, metering: Metering) -> Design:
    """The unit of a refrigerant and a metering kind."""
    return design(usual(refrigerant, CAPACITY_W, metering))


@cache
def ask(refrigerant: str, metering: Metering, asked: Asked = RATING) -> SteadyState:
    """The steady state there.

    Raises:
        NoSteadyState: the model has none, and says why.
    """
    there = unit(refrigerant, metering)
    return steady_state(
        there,
        Conditions(
            charge_kg=asked.charge * there.right_charge_kg,
            indoor_db_K=from_F(asked.indoor_F),
            indoor_wb_K=from_F(asked.wet_F),
            outdoor_K=from_F(asked.outdoor_F),
            site_pressure_Pa=SITE_Pa,
            indoor_air=asked.indoor_air,
            outdoor_air=asked.outdoor_air,
            fouling=asked.fouling,
            restriction_Pa=asked.restriction_Pa,
            gas_Pa=asked.gas_Pa,
            valve_leak=asked.valve_leak,
        ),
    )


def power_W(state: SteadyState) -> float:
    """Compressor and fans."""
    return state.compressor_W + state.fans_W


def cop(state: SteadyState) -> float:
    """Capacity over the power of compressor and fans."""
    return state.capacity_W / power_W(state)


def ratios(state: SteadyState, sound: SteadyState) -> dict[str, float]:
    """Capacity, power and COP over those of a sound system."""
    return {
        "capacity": state.capacity_W / sound.capacity_W,
        "power": power_W(state) / power_W(sound),
        "COP": cop(state) / cop(sound),
    }


def ratios_at(refrigerant: str, metering: Metering, asked: Asked, sound: SteadyState) -> dict[str, float]:
    """The same at some conditions; NaN where the model has no steady state there."""
    try:
        return ratios(ask(refrigerant, metering, asked), sound)
    except NoSteadyState:
        return dict.fromkeys(("capacity", "power", "COP"), math.nan)


def superheat_F(state: SteadyState) -> float:
    """Superheat at the suction service valve; below zero the percent of liquid that comes with the vapour."""
    if state.suction_quality < 1.0:
        return -100.0 * (1.0 - state.suction_quality)
    return state.superheat_K / K_PER_F


def subcooling_F(state: SteadyState) -> float:
    """Subcooling as gauges show it; below zero the percent of vapour that comes with the liquid."""
    if state.subcooling_K > 0.0:
        return state.subcooling_K / K_PER_F
    return -100.0 * state.liquid_quality
