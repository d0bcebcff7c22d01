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
    high_switch_Pa: float
    low_switch_Pa: float
    right_charge_kg: float | None = None
    indoor_db_K: float = from_F(80.0)
    indoor_wb_K: float = from_F(67.0)
    outdoor_K: float = from_F(95.0)
    suction_drop_Pa: float = 15e3
    evaporator_drop_Pa: float = 30e3
    condenser_drop_Pa: float = 60e3
    liquid_drop_Pa: float = 25e3
    suction_line_W_per_K: float = 2.5


_SIZE_W: Final = 11_000.0
# PROPOSED, tuned once on R-410A so that superheat at right charge follows the published target table.
_EVAPORATING_K: Final = from_F(46.0)
_CONDENSING_K: Final = from_F(112.4)
_SUPERHEAT_K: Final = 12.0 * K_PER_F
_SUBCOOLING_K: Final = 10.0 * K_PER_F
_INDOOR_M3_PER_S: Final = 0.595  # 1261 cfm, 400 cfm a ton: common practice, no source
_OUTDOOR_M3_PER_S: Final = 1.274  # 2700 cfm
_CONDENSER_M3: Final = 3.6e-3
_EVAPORATOR_M3: Final = 3.2e-3
_LIQUID_LINE_M3: Final = 3.6e-4  # 25 ft of 3/8 inch
_VAPOUR_M3: Final = 6.0e-3  # 25 ft of 3/4 inch and the compressor's shell
_OIL_KG: Final = 1.0
_INDOOR_FAN_W: Final = 400.0
_OUTDOOR_FAN_W: Final = 220.0
# PROPOSED: pressure switches stand at about these saturation temperatures (R-410A 618 and 26 psig).
_HIGH_SWITCH_K: Final = from_F(150.0)
_LOW_SWITCH_K: Final = from_F(-20.0)


def usual(refrigerant: str, capacity_W: float, metering: Metering, **changes: Any) -> Rated:
    """The usual numbers of a plant of a refrigerant and size, with changes by name.

    A mixture that glides gets a dew point so much higher that its mean boiling temperature is as usual.

    Raises:
        NoThermal: heat and density of the refrigerant are not known.
    """
    fluid = thermal(refrigerant)
    size = capacity_W / _SIZE_W
    pressure = fluid.dew_Pa(_EVAPORATING_K)
    glide_K = fluid.dew_K(pressure) - fluid.bubble_K(pressure)
    rated = Rated(
        refrigerant=refrigerant,
        metering=metering,
        capacity_W=capacity_W,
        evaporating_K=_EVAPORATING_K + 0.4 * max(glide_K, 0.0),
        superheat_K=_SUPERHEAT_K,
        condensing_K=_CONDENSING_K,
        subcooling_K=_SUBCOOLING_K,
        indoor_m3_per_s=_INDOOR_M3_PER_S * size,
        outdoor_m3_per_s=_OUTDOOR_M3_PER_S * size,
        indoor_fan_W=_INDOOR_FAN_W * size,
        outdoor_fan_W=_OUTDOOR_FAN_W * size,
        condenser_m3=_CONDENSER_M3 * size,
        evaporator_m3=_EVAPORATOR_M3 * size,
        liquid_line_m3=_LIQUID_LINE_M3 * size,
        vapour_m3=_VAPOUR_M3 * size,
        oil_kg=_OIL_KG * size,
        high_switch_Pa=fluid.bubble_Pa(_HIGH_SWITCH_K),
        low_switch_Pa=fluid.dew_Pa(_LOW_SWITCH_K),
        suction_line_W_per_K=2.5 * size,
    )
    return replace(rated, **changes)
