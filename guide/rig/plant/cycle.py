"""Once round the cycle for given unknowns: all follows without inner searching, and three misfits remain.

Unknowns: logarithms of the pressures at the suction service valve and at the condenser's inlet (without
foreign gas), and the heat content at the suction service valve in 100 kJ/kg. Misfits: flow of the expansion
device against the compressor's, heat content the indoor coil gives against the one supposed, and mass in all
parts against the charge. Lines are reckoned backwards from the service valve.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import Final, NamedTuple

from guide.refrigerant.thermal import Saturated
from guide.rig.plant import condenser as condenser_module
from guide.rig.plant import evaporator as evaporator_module
from guide.rig.plant.air import IndoorAir, indoor_air, outdoor_capacity_W_per_K
from guide.rig.plant.compressor import Compression, compress
from guide.rig.plant.condenser import Condensation, condense
from guide.rig.plant.conditions import Conditions
from guide.rig.plant.design import Design, Vector
from guide.rig.plant.evaporator import Evaporation, evaporate
from guide.rig.plant.expansion_valve import opening
from guide.rig.plant.inventory import in_oil_kg
from guide.rig.plant.lines import liquid_or_mixture
from guide.rig.plant.orifice import flow_per_area
from guide.rig.plant.rated import Metering

ENTHALPY_UNIT: Final = 1e5
# PROPOSED: bounds that keep a round possible while a state is sought.
_LEAST_PRESSURE_SHARE: Final = 1.06
_SOFT_SHARE: Final = 0.10
_LEAST_LEFT: Final = 0.5
_LEAST_FLOW_SHARE: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Given:
    """What conditions come to for one design, worked out once for a solution."""

    conditions: Conditions
    air: IndoorAir
    outdoor_W_per_K: float
    condenser_W_per_K: float
    evaporator_W_per_K: float
    restriction_Pa: float


def given(design: Design, conditions: Conditions) -> Given:
    """Work out what doesn't change while a state is sought.

    Raises:
        BadConditions: no air has this dry and wet bulb.
    """
    rated = design.rated
    air, sound = indoor_air(conditions, rated.indoor_m3_per_s), design.rated_conditions
    outdoor_W_per_K = outdoor_capacity_W_per_K(conditions, rated.outdoor_m3_per_s)
    # By mass, not by volume: thin air passes less heat to a fin as well.
    indoor = air.capacity_W_per_K / indoor_air(sound, rated.indoor_m3_per_s).capacity_W_per_K
    outdoor = outdoor_W_per_K / outdoor_capacity_W_per_K(sound, rated.outdoor_m3_per_s)
    return Given(
        conditions,
        air,
        outdoor_W_per_K,
        design.condenser_W_per_K * conditions.fouling * outdoor**condenser_module.AIR_POWER,
        design.evaporator_W_per_K * indoor**evaporator_module.AIR_POWER,
        conditions.restriction_Pa,
    )


class Cycle(NamedTuple):
    """One round. Of the pressures [Pa] `liquid_Pa`, `valve_Pa` and `discharge_Pa` count foreign gas too."""

    misfit: Vector
    suction_Pa: float
    suction_enthalpy: float
    suction_superheat_K: float
    compression: Compression
    discharge_Pa: float
    condensing_Pa: float
    condensed_Pa: float
    condensation: Condensation
    liquid_Pa: float
    valve_Pa: float
    starved: bool
    opening: float
    evaporator_in_Pa: float
    evaporator_out_Pa: float
    evaporation: Evaporation
    evaporator_out_enthalpy: float
    line_gain_W: float
    liquid_kg: float
    vapour_kg: float
    oil_kg: float


def cycle(design: Design, now: Given, unknowns: Vector) -> Cycle:
    """Go round once."""
    rated, fluid, conditions = design.rated, design.fluid, now.conditions
    suction_Pa, condensing_Pa = exp(unknowns[0]), exp(unknowns[1])
    suction_enthalpy = unknowns[2] * ENTHALPY_UNIT
    at_suction = fluid.saturated(suction_Pa)
    discharge_Pa = condensing_Pa + conditions.gas_Pa
    compression = compress(
        fluid, swept_m3_per_s=design.swept_m3_per_s, suction_Pa=suction_Pa, suction_enthalpy=suction_enthalpy,
        at_suction=at_suction, discharge_Pa=discharge_Pa, leak=conditions.valve_leak,
    )  # fmt: skip
    flow = compression.flow_kg_per_s
    share = flow / design.flow_kg_per_s
    share = max(share, _LEAST_FLOW_SHARE)
    squared = share * share
    inner = share**condenser_module.FLOW_POWER

    condensed_Pa = max(condensing_Pa - rated.condenser_drop_Pa * squared, _LEAST_LEFT * condensing_Pa)
    at_condensed = fluid.saturated(condensed_Pa)
    condensation = condense(
        fluid,
        outer_W_per_K=now.condenser_W_per_K,
        inner_W_per_K=design.condenser_inner_W_per_K * inner,
        air_W_per_K=now.outdoor_W_per_K,
        air_K=conditions.outdoor_K,
        volume_m3=design.condenser_m3,
        flow=flow,
        entering_Pa=condensing_Pa,
        entering_enthalpy=compression.discharge_enthalpy,
        at_entering=fluid.saturated(condensing_Pa),
        leaving_Pa=condensed_Pa,
        at_leaving=at_condensed,
    )
    liquid_enthalpy = condensation.leaving_enthalpy

    leaving_Pa = suction_Pa + rated.suction_drop_Pa * squared
    entering_Pa = leaving_Pa + rated.evaporator_drop_Pa * squared
    liquid_Pa = condensed_Pa + conditions.gas_Pa
    before = condensation.leaving_density
    lost_Pa = (rated.liquid_drop_Pa + now.restriction_Pa) * squared * design.liquid_kg_per_m3 / before
    valve_Pa = liquid_Pa - lost_Pa
    least_Pa = _LEAST_PRESSURE_SHARE * entering_Pa
    starved = valve_Pa < least_Pa
    soft_Pa = _SOFT_SHARE * least_Pa
    if valve_Pa < least_Pa + soft_Pa:  # the line can't take more pressure than there is
        valve_Pa = least_Pa + soft_Pa * exp((valve_Pa - least_Pa - soft_Pa) / soft_Pa)
    at_valve = fluid.saturated(valve_Pa)
    density, subcooling_K, _ = liquid_or_mixture(fluid, valve_Pa, liquid_enthalpy, at_valve)

    suction_superheat_K = 0.0
    if suction_enthalpy > at_suction.vapour_enthalpy:
        suction_superheat_K = fluid.vapour_K(suction_Pa, suction_enthalpy) - at_suction.dew_K
    line_gain_W = rated.suction_line_W_per_K * (conditions.outdoor_K - at_suction.dew_K - suction_superheat_K)
    supposed = suction_enthalpy - line_gain_W / flow
    at_leaving = fluid.saturated(leaving_Pa)
    evaporation = evaporate(
        fluid,
        outer_W_per_K=now.evaporator_W_per_K,
        inner_W_per_K=design.evaporator_inner_W_per_K * inner,
        air=now.air,
        volume_m3=design.evaporator_m3,
        flow=flow,
        entering_enthalpy=liquid_enthalpy,
        at_entering=fluid.saturated(entering_Pa),
        leaving_Pa=leaving_Pa,
        at_leaving=at_leaving,
    )

    if rated.metering is Metering.ORIFICE:
        stands = 1.0 if conditions.valve_stuck is None else conditions.valve_stuck
    else:
        stands = _stands(design, conditions.valve_stuck, leaving_Pa, supposed, at_leaving)
    metered = stands * design.meter * flow_per_area(
        before_Pa=valve_Pa, subcooling_K=subcooling_K, bubble_K=at_valve.bubble_K,
        bubble_K_per_ln=at_valve.bubble_K_per_ln, density=density, after_Pa=entering_Pa,
        critical_Pa=fluid.critical_Pa, critical_K=fluid.critical_K,
    )  # fmt: skip

    liquid_kg = 0.5 * rated.liquid_line_m3 * (before + density)
    vapour_kg = rated.vapour_m3 / compression.suction_volume
    oil_kg = in_oil_kg(rated.oil_kg, suction_superheat_K)
    held_kg = condensation.mass_kg + evaporation.mass_kg + liquid_kg + vapour_kg + oil_kg
    return Cycle(
        (
            (metered - flow) / design.flow_kg_per_s,
            (evaporation.leaving_enthalpy - supposed) / ENTHALPY_UNIT,
            (held_kg - conditions.charge_kg) / design.right_charge_kg,
        ),
        suction_Pa,
        suction_enthalpy,
        suction_superheat_K,
        compression,
        discharge_Pa,
        condensing_Pa,
        condensed_Pa,
        condensation,
        liquid_Pa,
        valve_Pa,
        starved,
        stands,
        entering_Pa,
        leaving_Pa,
        evaporation,
        supposed,
        line_gain_W,
        liquid_kg,
        vapour_kg,
        oil_kg,
    )


def _stands(
    design: Design, stuck: float | None, leaving_Pa: float, enthalpy: float, at_leaving: Saturated
) -> float:
    """How far the valve is open for what leaves the indoor coil; wet vapour counts as so much below dew."""
    if stuck is not None:
        return max(stuck, design.least_opening)
    over = enthalpy - at_leaving.vapour_enthalpy
    if over >= 0.0:
        bulb_K = design.fluid.vapour_K(leaving_Pa, enthalpy) - at_leaving.dew_K
    else:
        bulb_K = over * design.fluid.first_kelvin_per_heat(leaving_Pa)[2]
    return opening(bulb_K, design.closed_K, design.band_K, design.least_opening)
