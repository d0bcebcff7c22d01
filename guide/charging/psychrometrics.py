"""Moist air: wet bulb from dry bulb with relative humidity or dew point, heat content and volume.

The equations are those of the ASHRAE Handbook, Fundamentals 2017, chapter 1, for moist air as a perfect
gas (numbers beside each; from MEMORY, FOUND again as a library of the registry has them). Saturation
pressure comes from `water_vapor` (IAPWS), which differs from the handbook's own fit by less than 0.03 %.
Against real moist air a wet bulb above freezing is right within 0.02 K (CALCULATED, 10 to 45 °C, tests).

The atmosphere's pressure is that of the site: at 5000 ft the wet bulb of 80 °F and 50 % lies 0.8 °F lower
than at sea level (CALCULATED).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from guide.charging.refusal import FigureError, finite
from guide.charging.water_vapor import vapor_pressure_Pa
from guide.charging.wording import difference, temperature

COLDEST_K: Final = 233.15
HOTTEST_K: Final = 338.15
"""From -40 to 65 °C: air that somebody measures at a unit (PROPOSED)."""
LEAST_PRESSURE_Pa: Final = 30_000.0
MOST_PRESSURE_Pa: Final = 150_000.0

DRY_AIR_J_PER_kg_K: Final = 1006.0  # equation 28: specific heat of dry air
VAPOR_J_PER_kg: Final = 2_501_000.0  # equation 29: heat of vaporization at 0 °C
VAPOR_J_PER_kg_K: Final = 1860.0  # equation 29: specific heat of water vapour
_FREEZING_K: Final = 273.15
_WATER_TO_AIR: Final = 0.621945  # equation 20: ratio of molar masses
_GAS_J_PER_kg_K: Final = 287.042  # section 1.2: gas constant of dry air
_VAPOR_VOLUME: Final = 1.607858  # equation 26: 1 / 0.621945
_CLOSE_K: Final = 1e-7


@dataclass(frozen=True, slots=True)
class MoistAir:
    """Air of a dry bulb [K] with kg of water per kg of dry air, under a pressure [Pa absolute]."""

    dry_bulb_K: float
    humidity_ratio: float
    pressure_Pa: float

    @property
    def enthalpy_J_per_kg(self) -> float:
        """Heat content per kg of dry air, nothing at 0 °C and dry (equation 30)."""
        celsius = self.dry_bulb_K - _FREEZING_K
        return DRY_AIR_J_PER_kg_K * celsius + self.humidity_ratio * (
            VAPOR_J_PER_kg + VAPOR_J_PER_kg_K * celsius
        )

    @property
    def volume_m3_per_kg(self) -> float:
        """Volume per kg of dry air (equation 26)."""
        return (
            _GAS_J_PER_kg_K * self.dry_bulb_K * (1.0 + _VAPOR_VOLUME * self.humidity_ratio) / self.pressure_Pa
        )

    @property
    def relative_humidity(self) -> float:
        """Vapour pressure over that of saturated air, as a share (equations 12 and 20)."""
        vapor_Pa = self.pressure_Pa * self.humidity_ratio / (_WATER_TO_AIR + self.humidity_ratio)
        return vapor_Pa / vapor_pressure_Pa(self.dry_bulb_K)

    @property
    def wet_bulb_K(self) -> float:
        """The temperature of a wet wick in this air [K], to a ten-millionth of a kelvin by halving."""
        low, high = COLDEST_K - 60.0, self.dry_bulb_K
        while high - low > _CLOSE_K:
            middle = 0.5 * (low + high)
            if _ratio_at_wet_bulb(self.dry_bulb_K, middle, self.pressure_Pa) > self.humidity_ratio:
                high = middle
            else:
                low = middle
        return 0.5 * (low + high)


def air_by_relative_humidity(dry_bulb_K: float, relative_humidity: float, pressure_Pa: float) -> MoistAir:
    """Return the air of a dry bulb [K] and a relative humidity (0 to 1) under a pressure [Pa absolute].

    Equations 12 and 20.

    Raises:
        FigureError: a figure is not finite, or none that air at a site has.
    """
    _site_air(dry_bulb_K, pressure_Pa)
    if not 0.0 <= finite("The relative humidity", relative_humidity) <= 1.0:
        raise FigureError(
            f"The relative humidity must lie between 0 % and 100 %, not {relative_humidity * 100:g} %: "
            "read it again"
        )
    vapor_Pa = relative_humidity * vapor_pressure_Pa(dry_bulb_K)
    return MoistAir(dry_bulb_K, _ratio(vapor_Pa, pressure_Pa), pressure_Pa)


def air_by_dew_point(dry_bulb_K: float, dew_point_K: float, pressure_Pa: float) -> MoistAir:
    """Return the air of a dry bulb and a dew point [K] under a pressure [Pa absolute].

    Equations 20 and 36; a dew point below freezing is a frost point.

    Raises:
        FigureError: a figure is not finite, none that air at a site has, or the dew point is above the
            dry bulb.
    """
    _site_air(dry_bulb_K, pressure_Pa)
    _not_above("dew point", dew_point_K, dry_bulb_K)
    return MoistAir(dry_bulb_K, _ratio(vapor_pressure_Pa(dew_point_K), pressure_Pa), pressure_Pa)


def air_by_wet_bulb(dry_bulb_K: float, wet_bulb_K: float, pressure_Pa: float) -> MoistAir:
    """Return the air of a dry and a wet bulb [K] under a pressure [Pa absolute].

    Equations 33 and, with ice on the wick, 35.

    Raises:
        FigureError: a figure is not finite, none that air at a site has, the wet bulb is above the dry
            bulb, or so far below it that the air would hold less than no water.
    """
    _site_air(dry_bulb_K, pressure_Pa)
    _not_above("wet bulb", wet_bulb_K, dry_bulb_K)
    ratio = _ratio_at_wet_bulb(dry_bulb_K, wet_bulb_K, pressure_Pa)
    if ratio < 0.0:
        raise FigureError(
            f"A wet bulb {difference(dry_bulb_K - wet_bulb_K)} below the dry bulb is lower than in dry air: "
            "wet the wick and read both again"
        )
    return MoistAir(dry_bulb_K, ratio, pressure_Pa)


def _ratio_at_wet_bulb(dry_bulb_K: float, wet_bulb_K: float, pressure_Pa: float) -> float:
    db, wb = dry_bulb_K - _FREEZING_K, wet_bulb_K - _FREEZING_K
    saturated = _ratio(vapor_pressure_Pa(wet_bulb_K), pressure_Pa)
    if wb >= 0.0:
        return ((2501.0 - 2.326 * wb) * saturated - 1.006 * (db - wb)) / (2501.0 + 1.86 * db - 4.186 * wb)
    return ((2830.0 - 0.24 * wb) * saturated - 1.006 * (db - wb)) / (2830.0 + 1.86 * db - 2.1 * wb)


def _ratio(vapor_Pa: float, pressure_Pa: float) -> float:
    return _WATER_TO_AIR * vapor_Pa / (pressure_Pa - vapor_Pa)


def _site_air(dry_bulb_K: float, pressure_Pa: float) -> None:
    if not COLDEST_K <= finite("The dry bulb", dry_bulb_K) <= HOTTEST_K:
        raise FigureError(
            f"The dry bulb of air must lie between {temperature(COLDEST_K)} and {temperature(HOTTEST_K)}, "
            f"not {temperature(dry_bulb_K)}: read it again"
        )
    if not LEAST_PRESSURE_Pa <= finite("The site pressure", pressure_Pa) <= MOST_PRESSURE_Pa:
        raise FigureError(
            f"The site pressure must lie between {LEAST_PRESSURE_Pa:g} and {MOST_PRESSURE_Pa:g} Pa absolute, "
            f"not {pressure_Pa:g}: give the altitude or a barometer's reading"
        )


def _not_above(what: str, value_K: float, dry_bulb_K: float) -> None:
    if finite(f"The {what}", value_K) > dry_bulb_K + 1e-9:
        raise FigureError(
            f"A {what} of {temperature(value_K)} above a dry bulb of {temperature(dry_bulb_K)} is "
            "impossible: see whether they are swapped, else read both again"
        )
    if value_K < COLDEST_K - 60.0 or not math.isfinite(value_K):
        raise FigureError(f"A {what} of {temperature(value_K)} is none that air at a site has: read it again")
