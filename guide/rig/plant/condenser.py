"""The outdoor coil in cross flow: desuperheating, condensing and subcooling share its face.

Every strip of face sees air as it enters, so how much of the possible a strip does doesn't hang on how wide
it is, and each zone has a closed form (CALCULATED: effectiveness of a stream against an unmixed one). Heat
passes an air side, which grows with the air to the power 0.55, and a refrigerant side, which grows with its
flow to the power 0.6 (MEMORY: usual exponents of plate fins and of flow in tubes); the refrigerant sides of
the three zones stand in fixed ratios. The ratios were tuned once, see `void_fraction.py`.
"""

from __future__ import annotations

from math import exp, log
from typing import Final, NamedTuple

from guide.refrigerant.thermal import Saturated, Thermal
from guide.rig.plant.void_fraction import mean_density

INNER_TO_OUTER: Final = 2.2
VAPOUR_SIDE: Final = 0.25
LIQUID_SIDE: Final = 0.11
AIR_POWER: Final = 0.55
FLOW_POWER: Final = 0.6
_LEAST_APPROACH_K: Final = 0.3
_LEAST_FACE: Final = 1e-9


class Condensation(NamedTuple):
    """Behind the coil: heat content [J/kg], quality, density [kg/m3]; mass in it [kg], faces of its zones."""

    leaving_enthalpy: float
    quality: float
    leaving_density: float
    mass_kg: float
    vapour_face: float
    condensing_face: float


def _shares(inner: float, outer: float, air: float) -> tuple[float, float, float]:
    """What each zone does of the possible: vapour, two-phase, liquid."""
    return (
        1.0 - exp(-1.0 / (1.0 / outer + 1.0 / (inner * VAPOUR_SIDE)) / air),
        1.0 - exp(-1.0 / (1.0 / outer + 1.0 / inner) / air),
        1.0 - exp(-1.0 / (1.0 / outer + 1.0 / (inner * LIQUID_SIDE)) / air),
    )


def condense(
    fluid: Thermal,
    *,
    outer_W_per_K: float,
    inner_W_per_K: float,
    air_W_per_K: float,
    air_K: float,
    volume_m3: float,
    flow: float,
    entering_Pa: float,
    entering_enthalpy: float,
    at_entering: Saturated,
    leaving_Pa: float,
    at_leaving: Saturated,
) -> Condensation:
    """What leaves the coil and what it holds; conductances are those of now."""
    vapour_share, wet_share, liquid_share = _shares(inner_W_per_K, outer_W_per_K, air_W_per_K)
    dew_enthalpy, bubble_enthalpy = at_entering.vapour_enthalpy, at_leaving.liquid_enthalpy
    dew_over_K = at_entering.dew_K - air_K
    dew_over_K = max(dew_over_K, _LEAST_APPROACH_K)
    superheat = entering_enthalpy - dew_enthalpy
    if superheat > 0.0:
        hot_K = fluid.vapour_K(entering_Pa, entering_enthalpy) - at_entering.dew_K
        vapour_face = flow * superheat / (hot_K * vapour_share * air_W_per_K) * log(1.0 + hot_K / dew_over_K)
        wet_enthalpy, wet_quality = dew_enthalpy, 1.0
        hot_density = 0.5 * (
            at_entering.vapour_density + 1.0 / fluid.vapour_volume(entering_Pa, entering_enthalpy)
        )
    else:
        vapour_face, hot_density = 0.0, at_entering.vapour_density
        wet_enthalpy = entering_enthalpy
        wet_quality = max((wet_enthalpy - bubble_enthalpy) / (dew_enthalpy - bubble_enthalpy), 0.0)
    bubble_over_K = at_leaving.bubble_K - air_K
    bubble_over_K = max(bubble_over_K, _LEAST_APPROACH_K)
    first_over_K = bubble_over_K + wet_quality * (dew_over_K - bubble_over_K)
    ratio = first_over_K / bubble_over_K
    if -1e-3 < ratio - 1.0 < 1e-3:
        mean_over_K = 0.5 * (first_over_K + bubble_over_K)
    else:
        mean_over_K = (first_over_K - bubble_over_K) / log(ratio)
    wet_face = flow * (wet_enthalpy - bubble_enthalpy) / (wet_share * air_W_per_K * mean_over_K)
    liquid, vapour = at_leaving.liquid_density, at_entering.vapour_density
    if vapour_face >= 1.0 - _LEAST_FACE:  # the vapour isn't even cooled to its dew point
        left = exp(-vapour_share * air_W_per_K * hot_K / (flow * superheat))
        leaving = dew_enthalpy + superheat * (left * (1.0 + dew_over_K / hot_K) - dew_over_K / hot_K)
        return Condensation(leaving, 1.0, at_leaving.vapour_density, volume_m3 * hot_density, 1.0, 0.0)
    rest = 1.0 - vapour_face
    if wet_face >= rest:
        quality = wet_quality * (1.0 - rest / wet_face)
        leaving = bubble_enthalpy + (wet_enthalpy - bubble_enthalpy) * (1.0 - rest / wet_face)
        mass = volume_m3 * (
            vapour_face * hot_density + rest * mean_density(quality, wet_quality, liquid, vapour)
        )
        density = 1.0 / ((1.0 - quality) / liquid + quality / at_leaving.vapour_density)
        return Condensation(leaving, quality, density, mass, vapour_face, rest)
    liquid_face = rest - wet_face
    # Liquid cools toward the air; kelvins per heat grow a little as it cools; taken so that it
    # never comes out colder than the air.
    per_heat, growth, _, _ = fluid.first_kelvin_per_heat(leaving_Pa)
    times = liquid_share * air_W_per_K * liquid_face / flow
    heat = bubble_over_K / per_heat * (1.0 - exp(-times * per_heat))
    per_heat -= growth * heat
    heat = bubble_over_K / per_heat * (1.0 - exp(-times * per_heat))
    leaving = bubble_enthalpy - heat
    density = fluid.subcooled_density(leaving_Pa, leaving)
    mass = volume_m3 * (
        vapour_face * hot_density
        + wet_face * mean_density(0.0, wet_quality, liquid, vapour)
        + liquid_face * 0.5 * (liquid + density)
    )
    return Condensation(leaving, 0.0, density, mass, vapour_face, wet_face)
