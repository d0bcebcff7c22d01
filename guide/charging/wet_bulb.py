"""A wet bulb nobody read, worked out from dry bulb with relative humidity or dew point.

How far it may be off comes from both readings: each is moved by its limit, both ways, and the larger
change of the wet bulb counts; the two are added as root of the sum of squares, as in `uncertainty`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from guide.charging.psychrometrics import COLDEST_K, HOTTEST_K, air_by_dew_point, air_by_relative_humidity
from guide.charging.refusal import FigureError, finite
from guide.charging.uncertainty import limit_of
from guide.charging.wording import difference, temperature

HUMIDITY_LIMIT: Final = 0.03
"""± 3 points of relative humidity, what a usual sensor states (charging reference section 8, as the worked
example there; that it is taken where nothing is stated is PROPOSED)."""
DEW_POINT_LIMIT_K: Final = 1.0
"""± 1 K of dew point where nothing is stated (PROPOSED)."""


@dataclass(frozen=True, slots=True)
class WetBulb:
    """A derived wet bulb [K], how far it may be off [K] and by which reading, and words for the reasons."""

    value_K: float
    limit_K: float
    from_dry_bulb_K: float
    from_moisture_K: float
    said: str


def wet_bulb_by_relative_humidity(
    dry_bulb_K: float,
    relative_humidity: float,
    pressure_Pa: float,
    *,
    dry_bulb_limit_K: float | None = None,
    humidity_limit: float = HUMIDITY_LIMIT,
) -> WetBulb:
    """Return the wet bulb of a dry bulb [K] and a relative humidity (0 to 1) at the site's pressure [Pa].

    Limits are half widths [K, share]; a dry bulb without one has the Title 24 limit.

    Raises:
        FigureError: as `air_by_relative_humidity`, or a limit is negative.
    """
    return _derived(
        lambda db_K, humidity: air_by_relative_humidity(db_K, humidity, pressure_Pa).wet_bulb_K,
        dry_bulb_K,
        (relative_humidity, humidity_limit, 0.0, 1.0),
        dry_bulb_limit_K,
        f"{relative_humidity * 100:.0f} ± {humidity_limit * 100:.0f} % relative humidity at "
        f"{pressure_Pa / 1000.0:.1f} kPa",
    )


def wet_bulb_by_dew_point(
    dry_bulb_K: float,
    dew_point_K: float,
    pressure_Pa: float,
    *,
    dry_bulb_limit_K: float | None = None,
    dew_point_limit_K: float = DEW_POINT_LIMIT_K,
) -> WetBulb:
    """Return the wet bulb of a dry bulb and a dew point [K] at the site's pressure [Pa absolute].

    Limits are half widths [K]; a dry bulb without one has the Title 24 limit.

    Raises:
        FigureError: as `air_by_dew_point`, or a limit is negative.
    """
    air_by_dew_point(dry_bulb_K, dew_point_K, pressure_Pa)  # refused here; below it is held to the dry bulb
    return _derived(
        lambda db_K, dew_K: air_by_dew_point(db_K, min(dew_K, db_K), pressure_Pa).wet_bulb_K,
        dry_bulb_K,
        (dew_point_K, dew_point_limit_K, COLDEST_K, dry_bulb_K),
        dry_bulb_limit_K,
        f"a dew point of {temperature(dew_point_K)} ± {difference(dew_point_limit_K)} at "
        f"{pressure_Pa / 1000.0:.1f} kPa",
    )


def _derived(
    wet_bulb: Callable[[float, float], float],
    dry_bulb_K: float,
    moisture: tuple[float, float, float, float],
    dry_bulb_limit_K: float | None,
    words: str,
) -> WetBulb:
    reading, limit, least, most = moisture
    value_K = wet_bulb(dry_bulb_K, reading)
    if dry_bulb_limit_K is None:
        dry_bulb_limit_K = limit_of("indoor_db_K", dry_bulb_K, {})
    for name, half in (("dry bulb", dry_bulb_limit_K), ("humidity or dew point", limit)):
        if finite(f"The accuracy of the {name}", half) < 0.0:
            raise FigureError(f"The accuracy of the {name} can't be negative: give the half width")
    by_dry_bulb_K = max(
        abs(wet_bulb(min(max(dry_bulb_K + step, COLDEST_K), HOTTEST_K), reading) - value_K)
        for step in (-dry_bulb_limit_K, dry_bulb_limit_K)
    )
    by_moisture_K = max(
        abs(wet_bulb(dry_bulb_K, min(max(reading + step, least), most)) - value_K) for step in (-limit, limit)
    )
    limit_K = math.hypot(by_dry_bulb_K, by_moisture_K)
    return WetBulb(
        value_K=value_K,
        limit_K=limit_K,
        from_dry_bulb_K=by_dry_bulb_K,
        from_moisture_K=by_moisture_K,
        said=(
            f"The indoor wet bulb {temperature(value_K)} ± {difference(limit_K)} is worked out from "
            f"{temperature(dry_bulb_K)} dry bulb and {words}."
        ),
    )
