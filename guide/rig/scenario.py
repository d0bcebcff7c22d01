"""What a simulated system is at the start: unit, charge, weather, what is wrong, the cylinders. SI."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from guide.charging.refusal import FigureError
from guide.charging.round import Appliance, Metering
from guide.charging.target import target_by_table
from guide.charging.target_maker import MakerTable
from guide.errors import ChargewrightError
from guide.job.cylinder import Cylinder
from guide.job.order import Order
from guide.procedure.model import OrderFigure
from guide.refrigerant.thermal import COVERED, NoThermal
from guide.rig.cylinder_contents import DEFAULT_m3, DEFAULT_TARE_kg, Stock
from guide.rig.faults import Graded
from guide.rig.fluid import fluid
from guide.rig.troubles import Troubles, troubles

K_PER_F: Final = 1 / 1.8
USUAL_SUPERHEAT_K: Final = 12.0 * K_PER_F
"""At the rated point of a valve, and of an orifice where the target table has no value (PROPOSED)."""
USUAL_SUBCOOLING_K: Final = 10.0 * K_PER_F
FULL_GROSS_kg: Final = 14.5
"""A new cylinder as it comes: itself and 25 lb of refrigerant (PROPOSED)."""
EMPTY_TARE_kg: Final = 7.0
"""An empty recovery cylinder of the usual size (PROPOSED)."""
FILL_SHARE: Final = 0.8
"""How much of a cylinder liquid may fill where its collar is not known (common practice, no source)."""
FILLED_AT_K: Final = 298.15
"""The temperature of the liquid that share is reckoned at: 77 °F (PROPOSED)."""
START_FRACTIONS: Final = (0.82, 0.94)
"""Between which the charge starts where nobody says otherwise (PROPOSED)."""
MOST_FRACTION: Final = 1.6
CLEAR_OF_LIMIT_K: Final = 0.6
"""How far drawn air stays inside a limit, so that a sensor's error does not cross it (PROPOSED)."""


class BadScenario(ChargewrightError):
    """A simulated system that can't be: which figure, and what would do."""


@dataclass(frozen=True, slots=True)
class Weather:
    """The air at the unit [K]: return air dry and wet bulb, outdoor air."""

    indoor_db_K: float
    indoor_wb_K: float
    outdoor_K: float


@dataclass(frozen=True, slots=True)
class Scenario:
    """A simulated system at its start. Masses [kg], pressures absolute [Pa]."""

    designation: str
    safety_group: str
    metering: Metering
    right_charge_kg: float
    start_fraction: float
    """The charge at the start as a fraction of the right one; 0 is an empty circuit."""
    target_superheat_K: float | None
    """None where no superheat can be asked for in this weather."""
    target_subcooling_K: float | None
    rated_superheat_K: float
    rated_subcooling_K: float
    weather: Weather
    site_pressure_Pa: float
    seed: int
    faults: tuple[Graded, ...]
    troubles: Troubles
    cylinders: tuple[Stock, ...]
    low_side_design_Pa: float | None = None
    high_side_design_Pa: float | None = None
    relief_Pa: float | None = None
    """Where the relief of the nitrogen regulator opens."""

    @property
    def start_kg(self) -> float:
        """The charge at the start."""
        return self.right_charge_kg * self.start_fraction

    def stock(self, cylinder: str) -> Stock | None:
        """A cylinder at hand, by its id."""
        return next((each for each in self.cylinders if each.id == cylinder), None)


def scenario_for(
    order: Order, *, seed: int = 1, start_fraction: float | None = None, faults: Iterable[Graded] = (),
    weather: Weather | None = None,
) -> Scenario:  # fmt: skip
    """The simulated system that an order's appliance stands for.

    Its right charge is the nameplate's with what the line set adds. Without `start_fraction` and `weather`
    they follow the seed; at that weather and the right charge the unit has exactly its target.

    Raises:
        BadScenario: the refrigerant has no tables, or a figure can't be.
        BadFault: one of the faults can't be.
        FigureError: nothing would be left to weigh in.
    """
    appliance = order.appliance()
    designation = order.refrigerant.designation
    charge = order.figure(OrderFigure.WEIGH_IN_CHARGE) or order.nameplate_charge
    chance = random.Random(f"{seed}/scenario")  # noqa: S311 - practice, no secret
    drawn_weather = _drawn_weather(chance, appliance)
    fraction = chance.uniform(*START_FRACTIONS) if start_fraction is None else start_fraction
    if not 0.0 <= fraction <= MOST_FRACTION:
        raise BadScenario(f"a start at {fraction:g} of the right charge can't be; 0 to {MOST_FRACTION:g}")
    air = weather or drawn_weather
    _check_air(air)
    given = tuple(faults)
    valve = appliance.metering is not Metering.FIXED_ORIFICE
    subcooling = appliance.target_subcooling_K if valve else None
    superheat = (
        None if valve else _target_superheat_K(appliance.target_superheat_K, appliance.target_table, air)
    )
    try:
        fluid(designation)
    except NoThermal as error:
        raise BadScenario(
            f"{designation} can't be practised: there are tables of {', '.join(COVERED)} only"
        ) from error
    relief = order.gear.nitrogen_regulator.relief if order.gear.nitrogen_regulator else None
    low, high = order.low_side_design_pressure, order.high_side_design_pressure
    return Scenario(
        designation=designation,
        safety_group=order.refrigerant.safety_group,
        metering=appliance.metering,
        right_charge_kg=float(charge.si),
        start_fraction=fraction,
        target_superheat_K=superheat,
        target_subcooling_K=subcooling,
        rated_superheat_K=USUAL_SUPERHEAT_K if superheat is None else superheat,
        rated_subcooling_K=USUAL_SUBCOOLING_K if subcooling is None else subcooling,
        weather=air,
        site_pressure_Pa=appliance.site_pressure_Pa,
        seed=seed,
        faults=given,
        troubles=troubles(given, designation=designation, seed=seed, valve=valve),
        cylinders=tuple(_stock(each, designation) for each in order.cylinders),
        low_side_design_Pa=None if low is None else float(low.si),
        high_side_design_Pa=None if high is None else float(high.si),
        relief_Pa=None if relief is None else float(relief.si),
    )


def _drawn_weather(chance: random.Random, appliance: Appliance) -> Weather:
    """Air of a summer's working day in which the unit's charge can be judged (PROPOSED).

    It has a target superheat and lies within what the unit's maker allows; the return air's dry bulb goes
    with its wet bulb as near 50 % relative humidity as the usual 80 °F indoors let it.
    """
    wet_K, outdoor_K = _from_F(chance.uniform(65.5, 67.5)), _from_F(chance.uniform(84.0, 94.0))
    table, indoor_K = appliance.target_table, appliance.indoor_range_K or (_from_F(70.0), _from_F(80.0))
    if table is not None:
        wet_K = min(max(wet_K, table.indoor_wb_K[0]), table.indoor_wb_K[-1])
        outdoor_K = min(max(outdoor_K, table.outdoor_db_K[0]), table.outdoor_db_K[-1])
    if appliance.outdoor_minimum_K is not None:
        outdoor_K = max(outdoor_K, appliance.outdoor_minimum_K + CLEAR_OF_LIMIT_K)
    dry_K = max(_from_F(75.0), _from_F(80.0) + 1.2 * (wet_K - _from_F(67.0)))
    dry_K = min(max(dry_K, indoor_K[0] + CLEAR_OF_LIMIT_K), indoor_K[1] - CLEAR_OF_LIMIT_K)
    return Weather(max(dry_K, wet_K), wet_K, outdoor_K)


def _target_superheat_K(fixed: float | None, table: MakerTable | None, air: Weather) -> float | None:
    if fixed is not None:
        return fixed
    look_up = target_by_table if table is None else table.target
    return look_up(air.indoor_wb_K, air.outdoor_K).value_K


def _check_air(air: Weather) -> None:
    if not 283.0 <= air.indoor_wb_K <= air.indoor_db_K <= 313.0:
        raise BadScenario("return air must lie between 50 and 104 °F, its wet bulb not above its dry bulb")
    if not 278.0 <= air.outdoor_K <= 325.0:
        raise BadScenario("outdoor air must lie between 41 and 125 °F for cooling")


def _stock(cylinder: Cylinder, designation: str) -> Stock:
    recovers = cylinder.contents in {"empty", "recovered"}
    collar = cylinder.collar
    tare = collar.tare_kg if collar else EMPTY_TARE_kg if recovers else DEFAULT_TARE_kg
    volume = collar.water_capacity_kg / 998.0 if collar else DEFAULT_m3
    holds = cylinder.refrigerant if cylinder.refrigerant in COVERED else designation
    most = FILL_SHARE * volume * fluid(holds).liquid_kg_per_m3(FILLED_AT_K) if holds in COVERED else 9.0
    try:
        limit = cylinder.fill_limit(designation)
    except FigureError:
        limit = None
    if recovers:
        net = collar.heel_kg if collar else 0.0
    else:
        net = min(FULL_GROSS_kg - tare, most) if FULL_GROSS_kg > tare else most
    gross = tare + most if limit is None else limit.gross_kg
    return Stock(cylinder.id, cylinder.refrigerant, tare, volume, net, gross, recovers)


def _from_F(value: float) -> float:
    return (value + 459.67) / 1.8
