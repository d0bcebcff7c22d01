"""The outdoor coil: desuperheating, condensing and subcooling share its tubes, one zone behind the other.

A coil of rows in depth with its last pass at the air's entry: liquid meets the air first, and what condenses
meets all of that air again, warmed by the liquid. So each of these two zones takes 1 - exp(-conductance
of its tubes / air's heat capacity rate) of the possible (CALCULATED: the effectiveness of a stream that
keeps its temperature; PROPOSED arrangement: many outdoor coils are so, single-row ones are not). Were the
zones side by side, liquid that backs up would take its air from the condensing, and power at 130 % of the
charge would rise by three times what the published correlation says. Hot vapour stands so far above the air
that it is taken to meet it as it enters.

Heat passes an air side, which grows with the mass of air to the power 0.7 (MEMORY: wavy and louvred fins,
0.5 to 0.7), and a refrigerant side, which grows with its flow to the power 0.6 (MEMORY: usual for flow in
tubes). In smooth tube a liquid takes 0.32 and vapour 0.28 of what condensing passes at 45 °C (CALCULATED for
R-410A from the correlations of Shah and of Dittus and Boelter, themselves from MEMORY); grooves inside help
condensing two to three times and a liquid little (MEMORY), so `LIQUID_SIDE` and `VAPOUR_SIDE` are smaller
(PROPOSED). How air and refrigerant side divide was tuned once, see `void_fraction.py`.
"""

from __future__ import annotations

from math import exp, log
from typing import Final, NamedTuple

from guide.refrigerant.thermal import Saturated, Thermal
from guide.rig.plant.void_fraction import mean_density

INNER_TO_OUTER: Final = 3.0
VAPOUR_SIDE: Final = 0.20
LIQUID_SIDE: Final = 0.12
AIR_POWER: Final = 0.7
FLOW_POWER: Final = 0.6
_LEAST_APPROACH_K: Final = 0.3
_LEAST_FACE: Final = 1e-9
_MOST_PART: Final = 0.999
_CLOSE: Final = 1e-9
_STEPS: Final = 12
_CHORDS: Final = 4


class Condensation(NamedTuple):
    """Behind the coil: heat content [J/kg], quality, density [kg/m3]; mass in it [kg], faces of its zones."""

    leaving_enthalpy: float
    quality: float
    leaving_density: float
    mass_kg: float
    vapour_face: float
    condensing_face: float


def _times(inner: float, outer: float, air: float) -> tuple[float, float, float]:
    """Conductance over the air's heat capacity rate, were it all one zone: vapour, two-phase, liquid."""
    return (
        1.0 / (1.0 / outer + 1.0 / (inner * VAPOUR_SIDE)) / air,
        1.0 / (1.0 / outer + 1.0 / inner) / air,
        1.0 / (1.0 / outer + 1.0 / (inner * LIQUID_SIDE)) / air,
    )


def _flooded(
    *,
    rest: float,
    wet_times: float,
    liquid_times: float,
    part_K: float,
    mean_over_K: float,
    bubble_over_K: float,
    per_heat: float,
    air_per_flow: float,
) -> tuple[float, float, float]:
    """How liquid and two-phase share the rest of the coil; last, the air that cools the liquid, per its flow.

    The more liquid there is, the warmer is the air behind it and the more tube condensing needs; sought is
    where both just fill the coil. `part_K`: what condensing warms the air by; `mean_over_K`, `bubble_over_K`:
    how far condensing and its end stand above the entering air; `per_heat`: kelvins per heat of the liquid.
    """
    low, high = 0.0, rest
    liquid_face = min(rest + log(1.0 - part_K / mean_over_K) / wet_times, rest)
    wet_face = cooled = 0.0
    for _ in range(_STEPS):
        unused = exp(-liquid_times * liquid_face)
        cooled = (1.0 - unused) * air_per_flow
        kept = exp(-cooled * per_heat)
        left_K = mean_over_K - bubble_over_K * (1.0 - kept) / (per_heat * air_per_flow)
        part = min(part_K / left_K, _MOST_PART) if left_K > part_K else _MOST_PART
        wet_face = -log(1.0 - part) / wet_times
        off = liquid_face + wet_face - rest
        if -_CLOSE < off < _CLOSE:
            break
        if off > 0.0:
            high = liquid_face
        else:
            low = liquid_face
        warming_K = bubble_over_K * kept * liquid_times * unused  # of the air, for a face of liquid
        liquid_face -= off / (1.0 + part / (left_K * (1.0 - part) * wet_times) * warming_K)
        if not low < liquid_face < high:
            liquid_face = 0.5 * (low + high)
    return liquid_face, wet_face, cooled


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
    vapour_times, wet_times, liquid_times = _times(inner_W_per_K, outer_W_per_K, air_W_per_K)
    vapour_share = 1.0 - exp(-vapour_times)
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
    part_K = flow * (wet_enthalpy - bubble_enthalpy) / air_W_per_K
    liquid, vapour = at_leaving.liquid_density, at_entering.vapour_density
    if vapour_face >= 1.0 - _LEAST_FACE:  # the vapour isn't even cooled to its dew point
        left = exp(-vapour_share * air_W_per_K * hot_K / (flow * superheat))
        leaving = dew_enthalpy + superheat * (left * (1.0 + dew_over_K / hot_K) - dew_over_K / hot_K)
        return Condensation(leaving, 1.0, at_leaving.vapour_density, volume_m3 * hot_density, 1.0, 0.0)
    rest = 1.0 - vapour_face
    reached_K = mean_over_K * (1.0 - exp(-wet_times * rest))
    if part_K >= reached_K:
        left = 1.0 - reached_K / part_K
        quality = wet_quality * left
        leaving = bubble_enthalpy + (wet_enthalpy - bubble_enthalpy) * left
        mass = volume_m3 * (
            vapour_face * hot_density + rest * mean_density(quality, wet_quality, liquid, vapour)
        )
        density = 1.0 / ((1.0 - quality) / liquid + quality / at_leaving.vapour_density)
        return Condensation(leaving, quality, density, mass, vapour_face, rest)
    per_heat, growth, _, _ = fluid.first_kelvin_per_heat(leaving_Pa)
    liquid_face, wet_face, cooled = _flooded(
        rest=rest, wet_times=wet_times, liquid_times=liquid_times, part_K=part_K, mean_over_K=mean_over_K,
        bubble_over_K=bubble_over_K, per_heat=per_heat, air_per_flow=air_W_per_K / flow,
    )  # fmt: skip
    # Kelvins per heat grow a little as liquid cools; taken so that it never comes out colder than the air.
    heat, first_per_heat = 0.0, per_heat
    for _ in range(_CHORDS):
        per_heat = first_per_heat - growth * heat
        heat = bubble_over_K / per_heat * (1.0 - exp(-cooled * per_heat))
    leaving = bubble_enthalpy - heat
    density = fluid.subcooled_density(leaving_Pa, leaving)
    mass = volume_m3 * (
        vapour_face * hot_density
        + wet_face * mean_density(0.0, wet_quality, liquid, vapour)
        + liquid_face * 0.5 * (liquid + density)
    )
    return Condensation(leaving, 0.0, density, mass, vapour_face, wet_face)
