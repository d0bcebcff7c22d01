"""The numbers that describe a plant, as on a nameplate or in a data sheet, and usual ones for a size.

The usual numbers are those of a split system of 3 tons (11 kW), scaled with capacity.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, Final

from guide.refrigerant.thermal import thermal

K_PER_F: Final = 1.0 / 1.8


def from_F(fahrenheit: float) -> float:
    """Kelvin of a temperature in degrees Fahrenheit."""
    return (fahrenheit + 459.67) / 1.8


class Metering(StrEnum):
    """What lets the liquid down into the evaporator."""

    ORIFICE = "fixed orifice"
    THERMOSTATIC = "thermostatic valve"
    ELECTRONIC = "electronic valve"


@dataclass(frozen=True, slots=True)
class Rated:
    """A plant at its rated point. SI: W, K, Pa, m3, m3/s, kg.

    `capacity_W` is what the indoor coil takes from the air, fan heat not taken off. `evaporating_K` is the
    dew point under the pressure at the suction service valve, `condensing_K` the bubble point under that at
    the liquid service valve: what the gauges' scales show. Pressure drops are those at rated flow.
    `right_charge_kg`, where known, sets how much the coils hold; else it follows from their volumes.
    """

    refrigerant: str
    metering: Metering
    capacity_W: float
    evaporating_K: float
    superheat_K: float
    condensing_K: float
    subcooling_K: float
    indoor_m3_per_s: float
    outdoor_m3_per_s: float
    indoor_fan_W: float
    outdoor_fan_W: float
    condenser_m3: float
    evaporator_m3: float
    liquid_line_m3: float
    vapour_m3: float
    oil_kg: float
    suction_drop_Pa: float
    evaporator_drop_Pa: float
    condenser_drop_Pa: float
    liquid_drop_Pa: float
    suction_line_W_per_K: float
    high_switch_Pa: float
    low_switch_Pa: float
    right_charge_kg: float | None = None
    indoor_db_K: float = from_F(80.0)
    indoor_wb_K: float = from_F(67.0)
    outdoor_K: float = from_F(95.0)


_SIZE_W: Final = 11_000.0
"""The size the usual numbers are for: 3 tons."""


@dataclass(frozen=True, slots=True)
class _Usual:
    """Evaporating and condensing [°F], volumes of both coils in parts of the usual."""

    evaporating_F: float
    condensing_F: float
    condenser: float
    evaporator: float


# PROPOSED, tuned once for each refrigerant so that superheat at right charge follows the published target
# table and the slopes of the answer to charge stay in the bands drawn up for them, R-410A also by what a
# valve loses at wrong charge; together with what stands in `void_fraction.py`, `condenser.py`,
# `evaporator.py`, `expansion_valve.py` and `inventory.py`. Small volumes of the indoor coil stand for all
# that this form of void fraction says too much of with that refrigerant.
# R-407C glides: its dew point lies above its mean boiling temperature.
_USUAL: Final = {
    "R-410A": _Usual(46.0, 111.6, 1.00, 1.00),
    "R-32": _Usual(47.0, 117.9, 0.79, 0.44),
    "R-454B": _Usual(47.0, 115.0, 0.90, 0.62),
    "R-22": _Usual(46.0, 117.2, 0.62, 0.35),
    "R-407C": _Usual(49.0, 115.5, 1.03, 0.57),
    "R-134a": _Usual(46.0, 119.4, 1.14, 0.65),
}
# PROPOSED, those of a split system of this size: what its coils and lines hold, what its fans take.
_SUPERHEAT_K: Final = 12.0 * K_PER_F
_SUBCOOLING_K: Final = 10.0 * K_PER_F
_INDOOR_M3_PER_S: Final = 0.595  # 1261 cfm, 400 cfm a ton: common practice, no source
_OUTDOOR_M3_PER_S: Final = 1.274  # 2700 cfm
_CONDENSER_M3: Final = 4.4e-3
_EVAPORATOR_M3: Final = 3.95e-3
_LIQUID_LINE_M3: Final = 3.6e-4  # 25 ft of 3/8 inch
_VAPOUR_M3: Final = 6.0e-3  # 25 ft of 3/4 inch and the compressor's shell
_OIL_KG: Final = 1.0
# PROPOSED, in parts of the pressure, since lines are sized for the kelvins they cost; with R-410A they are
# 15, 30, 60 and 25 kPa.
_SUCTION_DROP: Final = 0.0147
_EVAPORATOR_DROP: Final = 0.0294
_CONDENSER_DROP: Final = 0.0222
_LIQUID_DROP: Final = 0.0093
_INDOOR_FAN_W: Final = 400.0
_OUTDOOR_FAN_W: Final = 220.0
# PROPOSED: pressure switches stand at about these saturation temperatures (R-410A 618 and 26 psig).
_HIGH_SWITCH_K: Final = from_F(150.0)
_LOW_SWITCH_K: Final = from_F(-20.0)


def usual(refrigerant: str, capacity_W: float, metering: Metering, **changes: Any) -> Rated:
    """The usual numbers of a plant of a refrigerant and size, with changes by name.

    Raises:
        NoThermal: heat and density of the refrigerant are not known.
    """
    fluid = thermal(refrigerant)
    size = capacity_W / _SIZE_W
    tuned = _USUAL[refrigerant]
    evaporating_K, condensing_K = from_F(tuned.evaporating_F), from_F(tuned.condensing_F)
    pressure, high = fluid.dew_Pa(evaporating_K), fluid.bubble_Pa(condensing_K)
    rated = Rated(
        refrigerant=refrigerant,
        metering=metering,
        capacity_W=capacity_W,
        evaporating_K=evaporating_K,
        superheat_K=_SUPERHEAT_K,
        condensing_K=condensing_K,
        subcooling_K=_SUBCOOLING_K,
        indoor_m3_per_s=_INDOOR_M3_PER_S * size,
        outdoor_m3_per_s=_OUTDOOR_M3_PER_S * size,
        indoor_fan_W=_INDOOR_FAN_W * size,
        outdoor_fan_W=_OUTDOOR_FAN_W * size,
        condenser_m3=_CONDENSER_M3 * tuned.condenser * size,
        evaporator_m3=_EVAPORATOR_M3 * tuned.evaporator * size,
        liquid_line_m3=_LIQUID_LINE_M3 * size,
        vapour_m3=_VAPOUR_M3 * size,
        oil_kg=_OIL_KG * size,
        high_switch_Pa=fluid.bubble_Pa(_HIGH_SWITCH_K),
        low_switch_Pa=fluid.dew_Pa(_LOW_SWITCH_K),
        suction_drop_Pa=_SUCTION_DROP * pressure,
        evaporator_drop_Pa=_EVAPORATOR_DROP * pressure,
        condenser_drop_Pa=_CONDENSER_DROP * high,
        liquid_drop_Pa=_LIQUID_DROP * high,
        suction_line_W_per_K=2.5 * size,
    )
    return replace(rated, **changes)
