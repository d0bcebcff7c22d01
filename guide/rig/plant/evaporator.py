"""The indoor coil in cross flow: boiling on a dry or wet face first, then superheating on the rest.

As in `condenser.py` every strip of face sees return air. A wet face is driven by the difference of heat
content between the air and saturated air at the refrigerant's temperature, and takes whichever of dry and
wet gives more (MEMORY: ASHRAE Handbook, HVAC Systems and Equipment, chapter on cooling coils: the enthalpy
method with the larger of both). Ratios were tuned once, see `void_fraction.py`.
"""

from __future__ import annotations

from math import exp
from typing import Final, NamedTuple

from guide.refrigerant.thermal import Saturated, Thermal
from guide.rig.plant.air import IndoorAir, saturated_enthalpy
from guide.rig.plant.void_fraction import mean_density

INNER_TO_OUTER: Final = 4.64
VAPOUR_SIDE: Final = 0.50
AIR_POWER: Final = 0.55
FLOW_POWER: Final = 0.6
_LEAST_APPROACH_K: Final = 0.3
_MOST_HEAT: Final = 2.0e5


class Evaporation(NamedTuple):
    """What leaves the coil.

    Heat content [J/kg] and quality behind it, face that boils, heat of a whole boiling face [W], whether it
    is wet, mean boiling temperature [K], mass in the coil [kg].
    """

    leaving_enthalpy: float
    quality: float
    boiling_face: float
    whole_face_W: float
    wet: bool
    boiling_K: float
    mass_kg: float


def evaporate(
    fluid: Thermal,
    *,
    outer_W_per_K: float,
    inner_W_per_K: float,
    air: IndoorAir,
    volume_m3: float,
    flow: float,
    entering_enthalpy: float,
    at_entering: Saturated,
    leaving_Pa: float,
    at_leaving: Saturated,
) -> Evaporation:
    """What leaves the coil and what it holds; conductances are those of now."""
    latent = at_entering.vapour_enthalpy - at_entering.liquid_enthalpy
    quality_in = (entering_enthalpy - at_entering.liquid_enthalpy) / latent
    if quality_in < 0.0:
        quality_in = 0.0
    elif quality_in > 0.98:
        quality_in = 0.98
    boiling_K = 0.5 * (
        at_entering.bubble_K + quality_in * (at_entering.dew_K - at_entering.bubble_K) + at_leaving.dew_K
    )
    over_K = air.entering_K - boiling_K
    over_K = max(over_K, _LEAST_APPROACH_K)
    conductance = 1.0 / (1.0 / outer_W_per_K + 1.0 / inner_W_per_K)
    dry_W = air.capacity_W_per_K * (1.0 - exp(-conductance / air.capacity_W_per_K)) * over_K
    saturated, slope = saturated_enthalpy(boiling_K, air.pressure_Pa)
    specific = air.capacity_W_per_K / air.flow_kg_per_s
    passing = 1.0 / (specific / outer_W_per_K + slope / inner_W_per_K)
    wet_W = air.flow_kg_per_s * (1.0 - exp(-passing / air.flow_kg_per_s)) * (air.enthalpy - saturated)
    wet = wet_W > dry_W
    whole_W = wet_W if wet else dry_W
    dew = at_leaving.vapour_enthalpy
    needed_W = flow * (dew - entering_enthalpy)
    boiling_face = needed_W / whole_W
    liquid, vapour = at_entering.liquid_density, at_leaving.vapour_density
    if boiling_face >= 1.0:
        leaving = entering_enthalpy + whole_W / flow
        quality = 1.0 - (dew - leaving) / latent
        mass = volume_m3 * mean_density(quality_in, max(quality, quality_in), liquid, vapour)
        return Evaporation(leaving, quality, 1.0, whole_W, wet, boiling_K, mass)
    rest = 1.0 - boiling_face
    dew_under_K = air.entering_K - at_leaving.dew_K
    dew_under_K = max(dew_under_K, _LEAST_APPROACH_K)
    conductance = 1.0 / (1.0 / outer_W_per_K + 1.0 / (inner_W_per_K * VAPOUR_SIDE))
    share = 1.0 - exp(-conductance / air.capacity_W_per_K)
    _, _, per_heat, growth = fluid.first_kelvin_per_heat(leaving_Pa)
    times = share * air.capacity_W_per_K * rest / flow
    heat = dew_under_K / per_heat * (1.0 - exp(-times * per_heat))
    per_heat += growth * min(heat, _MOST_HEAT)
    heat = dew_under_K / per_heat * (1.0 - exp(-times * per_heat))
    leaving = dew + heat
    mass = volume_m3 * (
        boiling_face * mean_density(quality_in, 1.0, liquid, vapour)
        + rest * 0.5 * (vapour + 1.0 / fluid.vapour_volume(leaving_Pa, leaving))
    )
    return Evaporation(leaving, 1.0, boiling_face, whole_W, wet, boiling_K, mass)
