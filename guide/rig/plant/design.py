"""A plant made from its rated numbers by working backwards: at the rated point it does exactly what they say.

From evaporating and condensing, superheat and subcooling come all states round the cycle; from capacity the
flow; from these the compressor's size, both coils' conductances (by halving), the orifice or valve, and the
right charge as the sum of what every part holds.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from guide.errors import ChargewrightError
from guide.refrigerant.thermal import Thermal, thermal
from guide.rig.plant import condenser, evaporator
from guide.rig.plant.air import indoor_air, outdoor_capacity_W_per_K
from guide.rig.plant.compressor import compress
from guide.rig.plant.condenser import condense
from guide.rig.plant.conditions import Conditions
from guide.rig.plant.evaporator import evaporate
from guide.rig.plant.expansion_valve import (
    ELECTRONIC_BAND_K,
    ELECTRONIC_LEAST,
    RESERVE,
    THERMOSTATIC_BAND_K,
    THERMOSTATIC_LEAST,
    closed_superheat_K,
)
from guide.rig.plant.inventory import in_oil_kg
from guide.rig.plant.lines import liquid_or_mixture
from guide.rig.plant.orifice import flow_per_area
from guide.rig.plant.rated import Metering, Rated

Vector = tuple[float, float, float]

LEAST_W: Final = 1_000.0
MOST_W: Final = 150_000.0
"""The sizes this kind of plant is built in (PROPOSED)."""
_LEAST_STRETCH: Final = 0.2
_MOST_STRETCH: Final = 5.0
_HALVINGS: Final = 80


class BadRating(ChargewrightError):
    """Rated numbers that no plant has."""


@dataclass(frozen=True, slots=True)
class Design:
    """A plant. Conductances [W/K] are those at rated flow and air; volumes [m3] as the charge needs them.

    `meter` is the area [m2] of the orifice or of the fully open valve's port. `rated_unknowns` is where the
    search for other states begins.
    """

    rated: Rated
    fluid: Thermal
    right_charge_kg: float
    flow_kg_per_s: float
    swept_m3_per_s: float
    condenser_W_per_K: float
    condenser_inner_W_per_K: float
    evaporator_W_per_K: float
    evaporator_inner_W_per_K: float
    condenser_m3: float
    evaporator_m3: float
    meter: float
    closed_K: float
    band_K: float
    least_opening: float
    liquid_kg_per_m3: float
    suction_m3_per_kg: float
    rated_conditions: Conditions
    rated_unknowns: Vector


def design(rated: Rated) -> Design:
    """The plant of rated numbers.

    Raises:
        BadRating: there is no such plant; the message says which number won't do.
        NoThermal: heat and density of the refrigerant are not known.
    """
    _check(rated)
    fluid = thermal(rated.refrigerant)
    suction_Pa = fluid.dew_Pa(rated.evaporating_K)
    at_suction = fluid.saturated(suction_Pa)
    suction_K = rated.evaporating_K + rated.superheat_K
    suction_enthalpy = fluid.vapour_enthalpy_at(suction_Pa, suction_K)
    liquid_Pa = fluid.bubble_Pa(rated.condensing_K)
    condensing_Pa = liquid_Pa + rated.condenser_drop_Pa
    at_condensing, at_liquid = fluid.saturated(condensing_Pa), fluid.saturated(liquid_Pa)
    liquid_enthalpy = fluid.subcooled_enthalpy_at(liquid_Pa, rated.condensing_K - rated.subcooling_K)
    conditions = Conditions(1.0, rated.indoor_db_K, rated.indoor_wb_K, rated.outdoor_K)

    gain_W = rated.suction_line_W_per_K * (rated.outdoor_K - suction_K)
    flow = (rated.capacity_W + gain_W) / (suction_enthalpy - liquid_enthalpy)
    unit = compress(
        fluid, swept_m3_per_s=1.0, suction_Pa=suction_Pa, suction_enthalpy=suction_enthalpy,
        at_suction=at_suction, discharge_Pa=condensing_Pa, leak=0.0,
    )  # fmt: skip
    swept = flow / unit.flow_kg_per_s

    outdoor_W_per_K = outdoor_capacity_W_per_K(conditions, rated.outdoor_m3_per_s)

    def condensed(outer_W_per_K: float) -> condenser.Condensation:
        return condense(
            fluid,
            outer_W_per_K=outer_W_per_K,
            inner_W_per_K=outer_W_per_K * condenser.INNER_TO_OUTER,
            air_W_per_K=outdoor_W_per_K,
            air_K=rated.outdoor_K,
            volume_m3=rated.condenser_m3,
            flow=flow,
            entering_Pa=condensing_Pa,
            entering_enthalpy=unit.discharge_enthalpy,
            at_entering=at_condensing,
            leaving_Pa=liquid_Pa,
            at_leaving=at_liquid,
        )

    outer_c = _halved(
        lambda x: condensed(x).leaving_enthalpy - liquid_enthalpy, outdoor_W_per_K,
        "the outdoor coil can't reach this subcooling: more outdoor air, or condense hotter",
    )  # fmt: skip

    air = indoor_air(conditions, rated.indoor_m3_per_s)
    leaving_Pa = suction_Pa + rated.suction_drop_Pa
    entering_Pa = leaving_Pa + rated.evaporator_drop_Pa
    at_leaving, at_entering = fluid.saturated(leaving_Pa), fluid.saturated(entering_Pa)
    leaving_enthalpy = suction_enthalpy - gain_W / flow

    def evaporated(outer_W_per_K: float) -> evaporator.Evaporation:
        return evaporate(
            fluid,
            outer_W_per_K=outer_W_per_K,
            inner_W_per_K=outer_W_per_K * evaporator.INNER_TO_OUTER,
            air=air,
            volume_m3=rated.evaporator_m3,
            flow=flow,
            entering_enthalpy=liquid_enthalpy,
            at_entering=at_entering,
            leaving_Pa=leaving_Pa,
            at_leaving=at_leaving,
        )

    outer_e = _halved(
        lambda x: leaving_enthalpy - evaporated(x).leaving_enthalpy, air.capacity_W_per_K,
        "the indoor coil can't reach this superheat: more indoor air, or evaporate colder",
    )  # fmt: skip

    valve_Pa = liquid_Pa - rated.liquid_drop_Pa
    at_valve = fluid.saturated(valve_Pa)
    density, subcooling_K, _ = liquid_or_mixture(fluid, valve_Pa, liquid_enthalpy, at_valve)
    closed_K, band_K, least = 0.0, THERMOSTATIC_BAND_K, THERMOSTATIC_LEAST
    meter = flow / flow_per_area(
        before_Pa=valve_Pa, subcooling_K=subcooling_K, bubble_K=at_valve.bubble_K,
        bubble_K_per_ln=at_valve.bubble_K_per_ln, density=density, after_Pa=entering_Pa,
        critical_Pa=fluid.critical_Pa, critical_K=fluid.critical_K,
    )  # fmt: skip
    if rated.metering is not Metering.ORIFICE:
        if rated.metering is Metering.ELECTRONIC:
            band_K, least = ELECTRONIC_BAND_K, ELECTRONIC_LEAST
        meter *= RESERVE
        bulb_K = fluid.vapour_K(leaving_Pa, leaving_enthalpy) - at_leaving.dew_K
        closed_K = closed_superheat_K(bulb_K, 1.0 / RESERVE, band_K, least)

    line_density = fluid.subcooled_density(liquid_Pa, liquid_enthalpy)
    coils_kg = condensed(outer_c).mass_kg + evaporated(outer_e).mass_kg
    rest_kg = (
        0.5 * rated.liquid_line_m3 * (line_density + density)
        + rated.vapour_m3 / unit.suction_volume
        + in_oil_kg(rated.oil_kg, rated.superheat_K)
    )
    stretch = 1.0
    if rated.right_charge_kg is not None:
        stretch = (rated.right_charge_kg - rest_kg) / coils_kg
        if not _LEAST_STRETCH <= stretch <= _MOST_STRETCH:
            raise BadRating(
                f"a charge of {rated.right_charge_kg:g} kg does not fit a plant of {rated.capacity_W:g} W "
                f"with these lines (usual is about {rest_kg + coils_kg:.2g} kg): mend one of them"
            )
    charge = rest_kg + stretch * coils_kg
    return Design(
        rated=rated,
        fluid=fluid,
        right_charge_kg=charge,
        flow_kg_per_s=flow,
        swept_m3_per_s=swept,
        condenser_W_per_K=outer_c,
        condenser_inner_W_per_K=outer_c * condenser.INNER_TO_OUTER,
        evaporator_W_per_K=outer_e,
        evaporator_inner_W_per_K=outer_e * evaporator.INNER_TO_OUTER,
        condenser_m3=rated.condenser_m3 * stretch,
        evaporator_m3=rated.evaporator_m3 * stretch,
        meter=meter,
        closed_K=closed_K,
        band_K=band_K,
        least_opening=least,
        liquid_kg_per_m3=line_density,
        suction_m3_per_kg=unit.suction_volume,
        rated_conditions=Conditions(charge, rated.indoor_db_K, rated.indoor_wb_K, rated.outdoor_K),
        rated_unknowns=(math.log(suction_Pa), math.log(condensing_Pa), suction_enthalpy * 1e-5),
    )


def _check(rated: Rated) -> None:
    if not LEAST_W <= rated.capacity_W <= MOST_W:
        raise BadRating(
            f"the capacity must lie between {LEAST_W:g} and {MOST_W:g} W, not {rated.capacity_W!r}: mend it"
        )
    if not rated.evaporating_K + rated.superheat_K < rated.indoor_db_K:
        raise BadRating("evaporating and superheat together reach the return air: take less of either")
    if not rated.condensing_K - rated.subcooling_K > rated.outdoor_K:
        raise BadRating("subcooling reaches below the outdoor air: take less, or condense hotter")
    if not (rated.superheat_K > 0.0 and rated.subcooling_K > 0.0):
        raise BadRating("superheat and subcooling at the rated point must be above nothing: mend them")


def _halved(off: Callable[[float], float], start: float, words: str) -> float:
    """The conductance at which something that falls with it crosses nothing."""
    low, high = start * 1e-2, start * 1e3
    if not (off(low) > 0.0 > off(high)):
        raise BadRating(words)
    for _ in range(_HALVINGS):
        middle = math.sqrt(low * high)
        if off(middle) > 0.0:
            low = middle
        else:
            high = middle
    return math.sqrt(low * high)
