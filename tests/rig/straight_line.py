"""A simple simulated air conditioner in cooling: straight lines around its right charge, no physics.

Superheat and subcooling follow the charge by constant slopes, evaporating and condensing follow it a
little, and everything settles like a first-order lag after a change. Pressures come from the same
saturation curves that the readings are judged with, so a correctly charged system reads as correct.

At rest the pressure is that of saturation while there is liquid, and falls with the charge once there is
only vapour. What else may be in an opened circuit is `guide.rig.circuit`.

It is the simplest thing a player can work on (`guide.rig.port.Plant`): tests of the walk, the record and the
player need a system whose answers can be told by hand.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Final

from guide.charging.round import Metering
from guide.charging.signature import target_split_K
from guide.charging.target import target_by_table
from guide.charging.target_maker import MakerTable
from guide.charging.water_vapor import MICRON_Pa
from guide.job.order import Order
from guide.procedure.model import OrderFigure
from guide.refrigerant.saturation import Curve
from guide.rig.circuit import SOUND, Circuit, Inside, Trouble
from guide.rig.port import NoSuchChannel
from guide.rig.showing import SCATTER, VACUUM_GAUGE_END_Pa

K_PER_F: Final = 1 / 1.8

# Slopes per 1 % of the right charge, inside the PROPOSED bands of the charging reference, section 6.4:
# fixed orifice superheat -0.5 to -1.5 °F, subcooling +0.1 to +0.5 °F; valve subcooling +0.4 to +0.8 °F,
# superheat flat until the valve is fully open at about 80 % of the charge, then steep.
ORIFICE_SUPERHEAT_SLOPE_K: Final = -1.1 * K_PER_F
ORIFICE_SUBCOOLING_SLOPE_K: Final = 0.35 * K_PER_F
VALVE_SUBCOOLING_SLOPE_K: Final = 0.6 * K_PER_F
VALVE_OPEN_AT: Final = 0.80
# The rest is PROPOSED, near the prototype's figures for a 3-ton split at 80/67/95 °F.
EVAPORATING_SLOPE_K: Final = 0.25 * K_PER_F
CONDENSING_SLOPE_K: Final = 0.30 * K_PER_F
RIGHT_SUBCOOLING_K: Final = 10.0 * K_PER_F
RIGHT_VALVE_SUPERHEAT_K: Final = 12.0 * K_PER_F
FALLBACK_SUPERHEAT_K: Final = 12.0 * K_PER_F
EVAPORATING_BELOW_RETURN_K: Final = 36.0 * K_PER_F
CONDENSING_ABOVE_OUTDOOR_K: Final = 17.0 * K_PER_F
LAG_S: Final = 180.0
ALL_VAPOUR_BELOW: Final = 0.05
"""The share of the right charge that fills the circuit with saturated vapour and no liquid (PROPOSED)."""
OIL_RISE_Pa: Final = 4000.0
"""How far the pressure comes back after a recovery, from refrigerant in the oil (PROPOSED)."""
OIL_LEFT_AFTER_A_DRAW: Final = 0.4
OIL_TAU_S: Final = 300.0
AMBIENT_SWING_K: Final = 4.0 * K_PER_F
"""Half the swing of the circuit's temperature at rest over a day (PROPOSED)."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What the simulated system is and where it stands. SI; fractions of the right charge."""

    curve: Curve
    right_charge_kg: float
    site_pressure_Pa: float
    start_fraction: float = 0.90
    valve: bool = False
    target_superheat_K: float | None = None
    target_subcooling_K: float | None = None
    indoor_db_K: float = (77.0 + 459.67) / 1.8
    indoor_wb_K: float = (66.0 + 459.67) / 1.8
    outdoor_db_K: float = (92.0 + 459.67) / 1.8
    seed: int = 1
    trouble: Trouble = SOUND
    target_table: MakerTable | None = None


class SimplePlant:
    """The simulated system of a `Setting`; deterministic for its seed."""

    def __init__(self, setting: Setting) -> None:
        self.setting = setting
        self.charge_kg = setting.right_charge_kg * setting.start_fraction
        self.elapsed_s = 0.0
        self._felt = setting.start_fraction  # the fraction the readings have followed to so far
        self._gross_kg: dict[str, float] = {}
        self._on_scale: str | None = None
        self._right_superheat_K = _right_superheat_K(setting)
        self.circuit = Circuit(
            site_pressure_Pa=setting.site_pressure_Pa, ambient_K=self._ambient_K, trouble=setting.trouble
        )
        self._drawn_s: float | None = None  # when a recovery last left only vapour
        self._draws = 0

    @property
    def fraction(self) -> float:
        """The charge as a fraction of the right one."""
        return self.charge_kg / self.setting.right_charge_kg

    def move(self, into_system_kg: float) -> None:
        """Move refrigerant from the cylinder on the scale into the system (negative: back out)."""
        if into_system_kg > 0 and self.circuit.inside is not Inside.REFRIGERANT:
            self._nothing_left()
            self.circuit.fill_with_refrigerant()
        moved = max(into_system_kg, -self.charge_kg)
        self.charge_kg += moved
        if self._on_scale is not None:
            self._gross_kg[self._on_scale] -= moved
        if moved > 0:
            self._drawn_s, self._draws = None, 0
        elif moved < 0 and self.fraction < ALL_VAPOUR_BELOW:
            self._drawn_s, self._draws = self.elapsed_s, self._draws + 1

    def pass_time(self, seconds: float) -> None:
        """Let time pass; readings follow the charge with a lag."""
        spent = max(0.0, seconds)
        self.elapsed_s += spent
        self.circuit.pass_time(spent)
        if self.circuit.inside is not Inside.REFRIGERANT:
            self._nothing_left()
        self._felt += (self.fraction - self._felt) * (1.0 - math.exp(-spent / LAG_S))

    def put_on_scale(self, cylinder: str, gross_kg: float) -> None:
        """Stand a cylinder on the scale; `gross_kg` counts only the first time it stands there."""
        self._gross_kg.setdefault(cylinder, gross_kg)
        self._on_scale = cylinder

    @property
    def rest_pressure_Pa(self) -> float:
        """The pressure in the circuit at rest [Pa], whatever is in it."""
        if self.circuit.inside is not Inside.REFRIGERANT:
            return self.circuit.pressure_Pa
        vapour = self._saturated_Pa() * min(1.0, self.fraction / ALL_VAPOUR_BELOW)
        if self._drawn_s is None:
            return vapour
        left = OIL_RISE_Pa * OIL_LEFT_AFTER_A_DRAW ** (self._draws - 1)
        return vapour + left * (1.0 - math.exp(-(self.elapsed_s - self._drawn_s) / OIL_TAU_S))

    def vapour_kg(self, pressure_Pa: float) -> float:
        """How much refrigerant is left in the circuit when it is vapour at this pressure [kg]."""
        share = min(1.0, pressure_Pa / self._saturated_Pa())
        return ALL_VAPOUR_BELOW * self.setting.right_charge_kg * share

    def draw_down(self, to_Pa: float) -> None:
        """Let the recovery machine draw vapour into the cylinder on the scale, down to a pressure [Pa]."""
        self.move(min(0.0, self.vapour_kg(to_Pa) - self.charge_kg))

    def break_vacuum(self, to_Pa: float) -> None:
        """Let refrigerant out of the cylinder on the scale into a vacuum, up to a pressure [Pa]."""
        if self.circuit.inside is not Inside.REFRIGERANT:
            self._nothing_left()
        self.move(max(0.0, self.vapour_kg(to_Pa) - self.charge_kg))

    def _nothing_left(self) -> None:
        """What refrigerant was still in the circuit when something else came in is gone."""
        self.charge_kg = 0.0

    def _saturated_Pa(self) -> float:
        return self.setting.curve.bubble_pressure_Pa(self.setting.outdoor_db_K)

    def _ambient_K(self, at_s: float) -> float:
        """The temperature of the circuit at rest: the outdoor air's, swinging slowly over the day."""
        return self.setting.outdoor_db_K + AMBIENT_SWING_K * math.sin(2.0 * math.pi * at_s / 86_400.0)

    def read(self, channel: str) -> float:
        """What an instrument on this channel would see now [K, Pa absolute, kg].

        Raises:
            NoSuchChannel: the simulated system has no such reading, or no cylinder on the scale.
        """
        if channel == "cylinder_weight":
            if self._on_scale is None:
                raise NoSuchChannel("no cylinder stands on the simulated scale; put one there first")
            return self._gross_kg[self._on_scale]
        reading = self._true(channel)
        # keyed by channel and moment: asking twice gives the same answer, and a job taken up again too
        scatter = random.Random(f"{self.setting.seed}/{channel}/{self.elapsed_s:.0f}").gauss(0.0, 1.0)
        scatter = max(-2.5, min(2.5, scatter))
        if channel in _PRESSURES:
            share = SCATTER["still_pressure_share" if channel in _STILL else "pressure_share"]
            return max(0.0, reading * (1.0 + share * scatter))
        return reading + SCATTER["temperature_K"] * scatter

    def superheat_K(self) -> float:
        """Superheat at the service valve, without scatter [K]."""
        off = (self._felt - 1.0) * 100.0
        if self.setting.valve:
            starved = max(0.0, VALVE_OPEN_AT - self._felt) * 100.0
            raw = self._right_superheat_K + 1.5 * K_PER_F * starved
        else:
            raw = self._right_superheat_K + ORIFICE_SUPERHEAT_SLOPE_K * off
        most = self.setting.indoor_db_K - self._evaporating_K() - 1.0
        return min(max(raw, 0.0), most)

    def subcooling_K(self) -> float:
        """Subcooling at the service valve, without scatter [K]."""
        off = (self._felt - 1.0) * 100.0
        slope = VALVE_SUBCOOLING_SLOPE_K if self.setting.valve else ORIFICE_SUBCOOLING_SLOPE_K
        right = self.setting.target_subcooling_K if self.setting.valve else None
        raw = (RIGHT_SUBCOOLING_K if right is None else right) + slope * off
        most = self._condensing_K() - self.setting.outdoor_db_K - 1.0
        return min(max(raw, 0.0), most)

    def _evaporating_K(self) -> float:
        off = (self._felt - 1.0) * 100.0
        return self.setting.indoor_db_K - EVAPORATING_BELOW_RETURN_K + EVAPORATING_SLOPE_K * off

    def _condensing_K(self) -> float:
        off = (self._felt - 1.0) * 100.0
        return self.setting.outdoor_db_K + CONDENSING_ABOVE_OUTDOOR_K + CONDENSING_SLOPE_K * off

    def _true(self, channel: str) -> float:
        setting, curve = self.setting, self.setting.curve
        match channel:
            case "suction_pressure" | "hose_pressure":  # the high-side hose is drawn down to suction
                return curve.dew_pressure_Pa(self._evaporating_K())
            case "suction_line":
                return self._evaporating_K() + self.superheat_K()
            case "liquid_pressure":
                return curve.bubble_pressure_Pa(self._condensing_K())
            case "liquid_line":
                return self._condensing_K() - self.subcooling_K()
            case "compressor_discharge_line":
                return self._condensing_K() + 45.0 * K_PER_F + self.superheat_K()
            case "indoor_db":
                return setting.indoor_db_K
            case "indoor_wb":
                return setting.indoor_wb_K
            case "supply_db":
                cooling = 1.0 - 0.4 * max(0.0, 1.0 - self._felt)
                return setting.indoor_db_K - cooling * target_split_K(
                    setting.indoor_db_K, setting.indoor_wb_K
                )
            case "outdoor_db":
                return setting.outdoor_db_K
            case (
                "low_side_standing_pressure" | "high_side_standing_pressure" | "system_pressure"
                | "test_pressure"
            ):  # fmt: skip
                return self.rest_pressure_Pa
            case "gas_temperature":
                return self.circuit.gas_temperature_K
            case "low_gauge_open" | "high_gauge_open":
                return setting.site_pressure_Pa
            case "hose_vacuum":
                return 180.0 * MICRON_Pa
            case "system_vacuum":
                return min(self.rest_pressure_Pa, VACUUM_GAUGE_END_Pa)
            case _:
                raise NoSuchChannel(f"the simulated system has no reading {channel[:40]!r}")


_PRESSURES: Final = frozenset(
    {
        "suction_pressure", "liquid_pressure", "hose_pressure", "low_side_standing_pressure",
        "high_side_standing_pressure", "hose_vacuum", "system_vacuum", "system_pressure", "test_pressure",
    }
)  # fmt: skip
_STILL: Final = frozenset({"system_pressure", "test_pressure"})
"""Pressures read with the unit at rest, by a gauge that shows changes much smaller than its accuracy."""


def _right_superheat_K(setting: Setting) -> float:
    if setting.valve:
        return RIGHT_VALVE_SUPERHEAT_K
    if setting.target_superheat_K is not None:
        return setting.target_superheat_K
    own = setting.target_table
    target = (target_by_table if own is None else own.target)(setting.indoor_wb_K, setting.outdoor_db_K)
    return FALLBACK_SUPERHEAT_K if target.value_K is None else target.value_K


def straight_line(
    order: Order, *, seed: int = 1, start_fraction: float = 0.90, trouble: Trouble = SOUND
) -> SimplePlant:
    """The system that an order's appliance stands for, at `start_fraction` of its right charge.

    Its right charge is the nameplate's with what the line set adds; `trouble` shows once it is opened.
    """
    appliance = order.appliance()
    charge = order.figure(OrderFigure.WEIGH_IN_CHARGE) or order.nameplate_charge
    return SimplePlant(
        Setting(
            curve=appliance.curve,
            right_charge_kg=float(charge.si),
            site_pressure_Pa=appliance.site_pressure_Pa,
            start_fraction=start_fraction,
            valve=appliance.metering is not Metering.FIXED_ORIFICE,
            target_superheat_K=appliance.target_superheat_K,
            target_subcooling_K=appliance.target_subcooling_K,
            seed=seed,
            trouble=trouble,
            target_table=appliance.target_table,
        )
    )
