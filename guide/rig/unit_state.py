"""All that changes at a simulated unit: stores of refrigerant, hoses, machines, lags, what happened.

Refrigerant only ever goes from one store to another (`carry`), so that none appears and none vanishes. SI.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from guide.charging.round import Metering
from guide.refrigerant.thermal import COVERED
from guide.rig import lags
from guide.rig.circuit import Circuit, Inside
from guide.rig.cylinder_contents import Contents, DEFAULT_m3, DEFAULT_TARE_kg, Stock
from guide.rig.fluid import Fluid, air_kg, air_Pa, fluid
from guide.rig.happenings import Happening, Kind
from guide.rig.hookup import CENTRE, SIDES, HOSE_m3
from guide.rig.hoses import GaugeSet, fill_with_air
from guide.rig.lags import Lagged
from guide.rig.running import Aim, CannotRun, Running
from guide.rig.scenario import Scenario

CIRCUIT: Final = "circuit"
AIR: Final = "the open air"
ELSEWHERE: Final = "elsewhere"
"""Where refrigerant comes from or goes to that no cylinder on the scale accounts for."""
AMBIENT_SWING_K: Final = 4.0 / 1.8
"""Half the swing of the circuit's temperature at rest over a day (PROPOSED)."""
HOSE_LIQUID_AT_REST: Final = 0.5
"""Share of a high-side hose that liquid fills with the unit at rest (PROPOSED)."""
HIGH_ABOVE_OUTDOOR_K: Final = 12.0
"""How warm the gas in the running condenser is above the outdoor air (PROPOSED)."""
TRACE_kg: Final = 1e-6
"""Less than this is nothing (PROPOSED)."""
METAL_J_per_K_kg: Final = 6000.0
"""Heat capacity of coils and compressor for each kg of charge: about 12 kg of metal (PROPOSED)."""
MOST_CHILL_K: Final = 25.0
"""How far boiling cools a resting circuit at most (PROPOSED)."""
CHILL_S: Final = 1200.0
"""How fast the air warms a chilled circuit (PROPOSED)."""
OIL_HOLDS: Final = 500.0
"""Water in the oil against what stands above it as vapour (PROPOSED)."""
DRY_Pa: Final = 65.0
"""Below about 500 micron of its own, water is called gone (PROPOSED)."""


class UnitState:
    """The state of one unit; `now_s` is the whole second it is brought up to."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.fluid = fluid(scenario.designation)
        self.plant = Running(scenario)
        self.troubles = scenario.troubles
        self.now_s = 0
        self.circuit = Circuit(
            site_pressure_Pa=scenario.site_pressure_Pa,
            ambient_K=self.ambient_K,
            trouble=self.troubles.circuit,
        )
        self.set = GaugeSet()
        self.contents: dict[str, Contents] = {}
        self.stores: dict[str, float] = {CIRCUIT: scenario.start_kg, AIR: 0.0, ELSEWHERE: 0.0}
        self.on_scale = ""
        self.pump_joined = self.pump_runs = self.pump_path = self.machine_runs = False
        self.regulator_Pa = 0.0
        self.runs = False
        self.locked = self.opened = False
        self.clamped: set[str] = set()
        self.cleaned: set[str] = set()
        self.found: list[str] = []
        self.stood: set[str] = set()
        self.set_for = self.troubles.set_for or scenario.designation
        self.happened: list[Happening] = []
        self.said: set[Kind] = set()
        """What is told once only."""
        self.changed_s = 0
        """When something last changed that the unit answers to."""
        self.drawn_s: int | None = None
        self.draws = 0
        self.flooded_s = self.iced_s = self.tripping_s = 0.0
        self.loose_kg = self.blown_kg = 0.0
        """What went through the pump, and out of an open circuit, since it was last told."""
        self.liquid_low_kg = 0.0
        """Liquid that stands on the low side of the resting unit."""
        self.opened_s = 0
        self.chill_K = 0.0
        """How far boiling has cooled the resting circuit below the outdoor air."""
        self.air_kg = air_kg(
            self.troubles.gas_Pa, self.plant.high_m3, scenario.weather.outdoor_K + HIGH_ABOVE_OUTDOOR_K
        )
        self.start_air_kg = self.air_kg
        self.water_in_kg = 0.0
        for stock in scenario.cylinders:
            self.contents[stock.id] = Contents(stock, self._fluid_of(stock), scenario.weather.outdoor_K)
        self._lay_hoses()
        for side, off_Pa in self.troubles.gauges_Pa.items():
            self.set.zero_Pa[side] = off_Pa
        if scenario.start_fraction <= 0.0:
            self.circuit.open_to_air()
        self.felt_kg = self.charge_kg
        self.aim: Aim | None = None
        self.why_none = ""
        self.why_high = False
        self.lagged = self._at_rest_now()
        self.start_kg = self.total_kg()

    # -- refrigerant --------------------------------------------------------------------------

    @property
    def charge_kg(self) -> float:
        """Refrigerant in the circuit."""
        return self.stores[CIRCUIT]

    def held_kg(self, store: str) -> float:
        """What a store holds: the circuit, the open air, a hose by its name, a cylinder by its id."""
        if store in self.stores:
            return self.stores[store]
        if store in self.set.lines:
            return self.set.lines[store].refrigerant_kg
        return self.contents[store].net_kg

    def carry(self, source: str, sink: str, mass_kg: float) -> float:
        """Bring refrigerant from one store to another, no more than there is; how much [kg]."""
        moved = mass_kg if source == ELSEWHERE else min(max(0.0, mass_kg), self.held_kg(source))
        if moved <= 0.0:
            return 0.0
        if source in self.stores:
            self.stores[source] -= moved
        elif source in self.set.lines:
            self.set.lines[source].refrigerant_kg -= moved
        else:
            moved = self.contents[source].give(moved)
        if sink in self.stores:
            self.stores[sink] += moved
        elif sink in self.set.lines:
            self.set.lines[sink].refrigerant_kg += moved
        else:
            self.contents[sink].net_kg += moved
        return moved

    def total_kg(self) -> float:
        """All refrigerant there is; it never changes."""
        hoses = sum(line.refrigerant_kg for line in self.set.lines.values())
        return math.fsum((*self.stores.values(), hoses, *(each.net_kg for each in self.contents.values())))

    def cylinder(self, cylinder: str) -> Contents:
        """A cylinder by its id; one nobody named is a new one of the unit's refrigerant."""
        known = self.contents.get(cylinder)
        if known is None:
            most = 0.8 * DEFAULT_m3 * self.fluid.liquid_kg_per_m3(298.15)
            stock = Stock(
                cylinder, self.scenario.designation, DEFAULT_TARE_kg, DEFAULT_m3, 0.0, DEFAULT_TARE_kg + most,
                recovers=False,
            )  # fmt: skip
            known = self.contents[cylinder] = Contents(stock, self.fluid, self.scenario.weather.outdoor_K)
        return known

    # -- pressures and temperatures -----------------------------------------------------------

    def ambient_K(self, at_s: float) -> float:
        """The temperature of the circuit at rest: the outdoor air's, swinging slowly over the day."""
        return self.scenario.weather.outdoor_K + AMBIENT_SWING_K * math.sin(2.0 * math.pi * at_s / 86_400.0)

    def full_of_vapour_kg(self) -> float:
        """How much saturated vapour fills the resting circuit."""
        return self.plant.circuit_m3 * self.fluid.vapour_kg_per_m3(self.outdoor_K)

    def boiled(self, mass_kg: float) -> None:
        """Refrigerant boils in the resting circuit and cools its metal."""
        heat_J = mass_kg * self.fluid.latent_J_per_kg(self.outdoor_K - self.chill_K)
        self.chill_K = min(MOST_CHILL_K, self.chill_K + heat_J / self.metal_J_per_K())

    def metal_J_per_K(self) -> float:
        """Heat capacity of the circuit's metal that follows the refrigerant."""
        return METAL_J_per_K_kg * self.scenario.right_charge_kg

    @property
    def outdoor_K(self) -> float:
        """The outdoor air's temperature, which hoses and cylinders have too."""
        return self.scenario.weather.outdoor_K

    def holds_refrigerant(self) -> bool:
        """Whether refrigerant, and no vacuum or nitrogen, says the circuit's pressure."""
        return self.circuit.inside is Inside.REFRIGERANT

    def rest_Pa(self, at_s: float) -> float:
        """What the circuit comes to at rest, all even."""
        if not self.holds_refrigerant():
            return self.circuit.pressure_Pa
        volume = self.plant.circuit_m3
        vapour_Pa = self.fluid.pressure_Pa(self.charge_kg, volume, self.outdoor_K - self.chill_K)
        liquid_m3 = self.charge_kg / self.fluid.liquid_kg_per_m3(self.outdoor_K)
        free_m3 = max(0.2 * volume, volume - liquid_m3)
        return vapour_Pa + air_Pa(self.air_kg, free_m3, self.outdoor_K) + self.oil_Pa(at_s)

    def oil_Pa(self, at_s: float) -> float:
        """What refrigerant out of the oil adds after a recovery; less each time (PROPOSED)."""
        if self.drawn_s is None:
            return 0.0
        left = 4000.0 * 0.4 ** (self.draws - 1)
        return left * (1.0 - math.exp(-max(0.0, at_s - self.drawn_s) / 300.0))

    def side_Pa(self, side: str, at_s: float) -> float:
        """What presses at a port of the circuit."""
        if not self.holds_refrigerant():
            return self.circuit.pressure_Pa
        name = "suction_Pa" if side == "low" else "liquid_Pa"
        return self.lagged[name].value_after(at_s - self.now_s)

    def gas_Pa(self) -> float:
        """Partial pressure of air on the running high side."""
        return air_Pa(self.air_kg, self.plant.high_m3, self.outdoor_K + HIGH_ABOVE_OUTDOOR_K)

    def has_liquid(self) -> bool:
        """Whether liquid stands at the high-side port."""
        if not self.holds_refrigerant():
            return False
        if self.runs:
            return self.aim is not None and self.aim.liquid_quality <= 0.0
        return self.charge_kg > 1.1 * self.full_of_vapour_kg()

    def hose_Pa(self, name: str, at_s: float) -> float:
        """What presses in a hose: what it is open to, else what it holds."""
        if name != CENTRE and self.set.live(name):
            return self.side_Pa(name, at_s)
        if name == CENTRE:
            for side in SIDES:
                if self.set.reaches(side):
                    return self.side_Pa(side, at_s)
        return self.set.lines[name].pressure_Pa(self.fluid, self.outdoor_K)

    # -- time ---------------------------------------------------------------------------------

    def retarget(self) -> None:
        """Set what everything tends to from here on."""
        if self.runs and self.holds_refrigerant():
            try:
                aim = self.plant.aim(self.felt_kg, self.gas_Pa(), self.troubles)
            except CannotRun as error:
                self.aim, self.why_none, self.why_high = None, str(error), error.high
            else:
                self.aim, self.why_none = aim, ""
                for name in lags.NAMES:
                    self.lagged[name].aim = getattr(aim, name)
                    self.lagged[name].process_s = lags.PROCESS_S[name]
                return
        self.aim = None
        self._aim_at_rest()

    def _aim_at_rest(self) -> None:
        rest_Pa = self.rest_Pa(self.now_s)
        evening = (
            lags.EVENING_ORIFICE_S
            if self.scenario.metering is Metering.FIXED_ORIFICE
            else lags.EVENING_VALVE_S
        )
        low, high = self.lagged["suction_Pa"], self.lagged["liquid_Pa"]
        apart = abs(low.value - high.value) > 0.02 * rest_Pa
        for name in lags.NAMES:
            each = self.lagged[name]
            if name.endswith("_Pa"):
                each.aim, each.process_s = rest_Pa, evening if apart else lags.EVEN_S
            else:
                indoor = name == "supply_db_K"
                each.aim = self.scenario.weather.indoor_db_K if indoor else self.outdoor_K
                each.process_s = lags.COOLING_OFF_S

    def _at_rest_now(self) -> dict[str, Lagged]:
        made = {}
        for name in lags.NAMES:
            if name.endswith("_Pa"):
                value = self.rest_Pa(0.0)
            else:
                value = self.scenario.weather.indoor_db_K if name == "supply_db_K" else self.outdoor_K
            made[name] = Lagged(value, value, value, lags.PROCESS_S[name], lags.SENSOR_S.get(name, 0.0))
        return made

    def settle_at_once(self) -> None:
        """Bring everything to where it tends, as after a long time."""
        self.felt_kg = self.charge_kg
        self.retarget()
        for each in self.lagged.values():
            each.value = each.sensed = each.aim

    def live_hoses(self, seconds: float) -> None:
        """Let hoses that are open to the circuit fill or empty to what stands at their port."""
        for side in SIDES:
            if not self.set.live(side):
                continue
            line = self.set.lines[side]
            if not self.holds_refrigerant():
                self.carry(side, AIR, line.refrigerant_kg)
                line.air_kg = air_kg(self.circuit.pressure_Pa, HOSE_m3, self.outdoor_K)
                continue
            wanted = self.wanted_in_hose_kg(side) - line.refrigerant_kg
            part = wanted * (1.0 - math.exp(-seconds / 15.0))
            if part > 0.0:
                self.carry(CIRCUIT, side, part)
            else:
                self.carry(side, CIRCUIT, -part)

    def wanted_in_hose_kg(self, side: str) -> float:
        """What a hose holds that has been open to its port for a while."""
        pressure = self.side_Pa(side, self.now_s)
        vapour_kg = self.fluid.vapour_mass_kg(HOSE_m3, self.outdoor_K, pressure)
        if side == "low" or not self.has_liquid():
            return vapour_kg
        share = 1.0 if self.runs else HOSE_LIQUID_AT_REST
        return share * HOSE_m3 * self.fluid.liquid_kg_per_m3(self.outdoor_K)

    # -- what happens -------------------------------------------------------------------------

    def happen(self, kind: Kind, amount: float | None = None, where: str = "", *, once: bool = False) -> None:
        """Note that something happened; `once`: however often it goes on."""
        if once and kind in self.said:
            return
        if once:
            self.said.add(kind)
        self.happened.append(Happening(kind, float(self.now_s), amount, where))

    def lose(self, source: str, mass_kg: float, where: str = "") -> float:
        """Let refrigerant into the open air, and say so."""
        lost = self.carry(source, AIR, mass_kg)
        if lost > TRACE_kg:
            self.happen(Kind.REFRIGERANT_LOST, lost, where)
        return lost

    def let_air_in(self, mass_kg: float, where: str = "") -> None:
        """Air gets into the circuit, with the water in it."""
        if mass_kg <= TRACE_kg:
            return
        self.air_kg += mass_kg
        self.happen(Kind.AIR_IN, mass_kg, where)
        water = (
            0.012 * mass_kg
        )  # air of 85 °F and half its humidity holds 12 g/kg (psychrometrics, CALCULATED)
        self.water_in_kg += water
        if water > 1e-5:
            self.happen(Kind.MOISTURE_IN, water, where)

    def mended(self, **figures: object) -> None:
        """Faults that are gone, by their figures."""
        self.troubles = replace(self.troubles, **figures)  # type: ignore[arg-type]
        self.changed_s = self.now_s

    def stand(self, cylinder: str, gross_kg: float) -> None:
        """Put a cylinder on the scale; `gross_kg` counts the first time only."""
        contents = self.cylinder(cylinder)
        if cylinder not in self.stood:
            self.stood.add(cylinder)
            brought = max(0.0, gross_kg - contents.stock.tare_kg) - contents.net_kg
            contents.net_kg += brought
            contents.stock = replace(contents.stock, net_kg=contents.net_kg)
            self.start_kg += brought
        self.on_scale = cylinder

    def water_kg(self) -> float:
        """Water in the circuit: what came in with air, and what the oil holds of it."""
        vapour = air_kg(self.circuit.wet_Pa, self.plant.circuit_m3, self.outdoor_K) * 0.62
        return self.water_in_kg + OIL_HOLDS * vapour

    # -- views --------------------------------------------------------------------------------

    def moved_kg(self) -> Mapping[str, float]:
        """By cylinder: what it gave (or, negative, took) since the start."""
        return {
            name: each.stock.net_kg - each.net_kg
            for name, each in self.contents.items()
            if each.net_kg != each.stock.net_kg
        }

    def _fluid_of(self, stock: Stock) -> Fluid:
        return fluid(stock.designation) if stock.designation in COVERED else self.fluid

    def _lay_hoses(self) -> None:
        for line in self.set.lines.values():
            fill_with_air(line, self.scenario.site_pressure_Pa, self.outdoor_K)
        if self.troubles.liquid_hose:
            line = self.set.lines[CENTRE]
            line.air_kg = 0.0
            line.refrigerant_kg = 0.9 * HOSE_m3 * self.fluid.liquid_kg_per_m3(self.outdoor_K)
