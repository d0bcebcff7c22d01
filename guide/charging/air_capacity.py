"""What the air gives up over the indoor coil, where its flow is known: a check on the verdict, no more.

Heat is the difference of moist air's enthalpy times the flow of dry air; the flow counts at the density of
the place where it was measured, under the site's pressure (ASHRAE Handbook, Fundamentals 2017, chapter 1;
the air-enthalpy method of ASHRAE 37 leaves out the heat of the condensate likewise, MEMORY). The fan's own
heat is in the figures, so that this is what reaches the rooms.

How far the figures may be off: every reading is moved by its limit, both ways; the larger changes are added
as root of the sum of squares.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Final

from guide.charging.psychrometrics import (
    DRY_AIR_J_PER_kg_K,
    MoistAir,
    VAPOR_J_PER_kg,
    VAPOR_J_PER_kg_K,
    air_by_wet_bulb,
)  # fmt: skip
from guide.charging.refusal import FigureError, positive
from guide.charging.round import Verdict
from guide.charging.uncertainty import TITLE_24
from guide.charging.wording import to_F

W_PER_TON: Final = 3516.852842
"""12 000 Btu an hour of 1055.05585262 J (MEMORY, international table Btu)."""
W_PER_BTU_PER_H: Final = W_PER_TON / 12_000.0
M3_S_PER_CFM: Final = 0.3048**3 / 60.0  # exact
AIRFLOW_LIMIT: Final = 0.10
"""± 10 % of the reading where nothing is stated, a usual hood or pressure grid (PROPOSED)."""
LEAST_M3_S_PER_W: Final = 350.0 * M3_S_PER_CFM / W_PER_TON
MOST_M3_S_PER_W: Final = 450.0 * M3_S_PER_CFM / W_PER_TON
"""Normal airflow, 350 to 450 cfm a ton (charging reference section 3, MEMORY)."""
MOST_M3_S: Final = 1000.0
"""More air than any unit moves (PROPOSED)."""
LEAST_SHARE: Final = 0.85
"""Below this share of the rated capacity something besides charge is looked for: with 85 % of its charge
a unit still has 0.92 to 0.94 (charging reference 6.2, CALCULATED), weather moves it by a few hundredths
(PROPOSED)."""
_NEAR_RATED_WB_F: Final = (63.0, 71.0)
_NEAR_RATED_OUTDOOR_F: Final = (80.0, 105.0)
_HUMIDITY_HAIR: Final = 1e-9


@dataclass(frozen=True, slots=True)
class AirReadings:
    """Return and supply air, and the flow [m³/s] as it was measured in the return or the supply duct.

    Temperatures [K], pressure [Pa absolute]. Without a supply wet bulb only sensible heat is known.
    """

    airflow_m3_per_s: float
    return_db_K: float
    return_wb_K: float
    supply_db_K: float
    supply_wb_K: float | None
    site_pressure_Pa: float
    measured_in_supply: bool = False


@dataclass(frozen=True, slots=True)
class Heat:
    """What the air gives up each second [W]: total and latent are None without a supply wet bulb.

    `dry_air_kg_per_s` is the flow of dry air; `dries_by` is kg of water that each kg of it leaves behind.
    """

    sensible_W: float
    latent_W: float | None
    total_W: float | None
    dry_air_kg_per_s: float
    dries_by: float | None


@dataclass(frozen=True, slots=True)
class AirCapacity:
    """The heat, and how far each figure may be off, in the same units; None as in `Heat`."""

    heat: Heat
    sensible_limit_W: float
    latent_limit_W: float | None
    total_limit_W: float | None
    dries_by_limit: float | None
    parts_W: Mapping[str, float] = field(default_factory=dict)
    """By field of `AirReadings`, what its limit moves the total (else the sensible) heat by."""


def heat_of(air: AirReadings) -> Heat:
    """Return the heat that the air gives up.

    Total is m·(h return - h supply). Sensible takes the supply air's moisture along, (cp + cw·W)·(drop of
    dry bulb); latent is the rest, which is m·(drop of W) at the return air's heat of vapour.

    Raises:
        FigureError: a reading is impossible: not finite, no flow, a wet bulb above its dry bulb.
    """
    if positive("The airflow", air.airflow_m3_per_s) > MOST_M3_S:
        raise FigureError(
            f"An airflow of {air.airflow_m3_per_s:g} m³/s is none of a unit's: check number and unit"
        )
    entering = air_by_wet_bulb(air.return_db_K, air.return_wb_K, air.site_pressure_Pa)
    leaving = _supply(air, entering)
    at = leaving if air.measured_in_supply else entering
    flow = air.airflow_m3_per_s / at.volume_m3_per_kg
    drop_K = air.return_db_K - air.supply_db_K
    sensible = flow * (DRY_AIR_J_PER_kg_K + VAPOR_J_PER_kg_K * leaving.humidity_ratio) * drop_K
    if air.supply_wb_K is None:
        return Heat(sensible, None, None, flow, None)
    dries_by = entering.humidity_ratio - leaving.humidity_ratio
    vapor = VAPOR_J_PER_kg + VAPOR_J_PER_kg_K * (air.return_db_K - 273.15)
    latent = flow * dries_by * vapor
    return Heat(sensible, latent, sensible + latent, flow, dries_by)


def _supply(air: AirReadings, entering: MoistAir) -> MoistAir:
    if air.supply_wb_K is None:
        return replace(entering, dry_bulb_K=air.supply_db_K)  # its moisture weighs little in sensible heat
    return air_by_wet_bulb(air.supply_db_K, air.supply_wb_K, air.site_pressure_Pa)


def air_capacity(air: AirReadings, limits: Mapping[str, float] | None = None) -> AirCapacity:
    """Return the heat that the air gives up and how far it may be off.

    `limits` holds half widths by field of `AirReadings`, in its unit; a thermometer without one has the
    Title 24 limit, the airflow ± 10 %, the site's pressure none.

    Raises:
        FigureError: as `heat_of`, or a limit is negative or not finite.
    """
    stated = _limits(air, limits or {})
    heat = heat_of(air)
    changes = {name: _change(air, heat, name, limit) for name, limit in stated.items()}

    def added(figure: str) -> float | None:
        if getattr(heat, figure) is None:
            return None
        return math.hypot(*(change[figure] for change in changes.values()))

    sensible_limit = added("sensible_W")
    assert sensible_limit is not None
    figure = "sensible_W" if heat.total_W is None else "total_W"
    return AirCapacity(
        heat=heat,
        sensible_limit_W=sensible_limit,
        latent_limit_W=added("latent_W"),
        total_limit_W=added("total_W"),
        dries_by_limit=added("dries_by"),
        parts_W={name: change[figure] for name, change in changes.items()},
    )


def _limits(air: AirReadings, given: Mapping[str, float]) -> dict[str, float]:
    known = {each.name for each in fields(AirReadings)} - {"measured_in_supply"}
    found: dict[str, float] = {}
    for name in given:
        if name not in known:
            raise FigureError(
                f"no reading of the air is called {name!r}: use one of {', '.join(sorted(known))}"
            )
    for name in sorted(known):
        value = getattr(air, name)
        if value is None:
            continue
        if name == "airflow_m3_per_s":
            usual = AIRFLOW_LIMIT * value
        elif name == "site_pressure_Pa":
            usual = 0.0
        else:
            thermometer = TITLE_24["indoor_db_K"]
            usual = thermometer.fixed + thermometer.of_reading * abs(to_F(value)) / 1.8
        limit = given.get(name, usual)
        if not (math.isfinite(limit) and limit >= 0.0):
            raise FigureError(f"The accuracy of {name} can't be {limit:g}: give the half width")
        found[name] = limit
    return found


def _change(air: AirReadings, heat: Heat, name: str, limit: float) -> dict[str, float]:
    """The larger change of each figure as one reading moves by its limit, both ways."""
    most = {"sensible_W": 0.0, "latent_W": 0.0, "total_W": 0.0, "dries_by": 0.0}
    for step in (-limit, limit):
        try:
            moved = heat_of(replace(air, **{name: getattr(air, name) + step}))
        except FigureError:
            continue  # no such air: the wet bulb would pass the dry bulb; the other way counts
        for figure, before in most.items():
            now, then = getattr(heat, figure), getattr(moved, figure)
            if now is not None and then is not None:
                most[figure] = max(before, abs(then - now))
    return most


def capacity_words(
    found: AirCapacity,
    *,
    airflow_m3_per_s: float,
    rated_W: float | None = None,
    return_wb_K: float | None = None,
    outdoor_db_K: float | None = None,
    verdict: Verdict | None = None,
) -> tuple[str, ...]:
    """Say in whole sentences what the air side shows, and what in it does not go with the verdict.

    The rated capacity [W] is the maker's, for 80/67 °F indoors and 95 °F outdoors; it is held against the
    total only near those conditions. Nothing here changes a verdict.
    """
    heat = found.heat
    said = [_figures(found)]
    if heat.sensible_W + found.sensible_limit_W < 0.0:
        return (
            *said,
            "The supply air is warmer than the return air: the unit does not cool, or the two are swapped.",
        )
    if _grows_wetter(found):
        return (
            *said,
            "The supply air holds more water than the return air, which no cooling coil does: wet both "
            "wicks and read the four air temperatures again.",
        )
    said += _flow_words(airflow_m3_per_s, rated_W, heat)
    if rated_W is None or heat.total_W is None or found.total_limit_W is None:
        return tuple(said)
    share, off = heat.total_W / rated_W, found.total_limit_W / rated_W
    said.append(f"That is {share * 100:.0f} ± {off * 100:.0f} % of the rated capacity.")
    if not _near_rated(return_wb_K, outdoor_db_K):
        said.append("The rating holds for 80/67 °F indoors and 95 °F outdoors; here it says little.")
    elif share + off < LEAST_SHARE:
        said.append(
            "It is low even if every instrument erred to that side: "
            + (
                "charge judged right does not explain it; look at airflow, coils and compressor."
                if verdict is Verdict.PASS
                else "look at airflow and coils before the charge."
            )
        )
    elif share - off > 1.0 / LEAST_SHARE:
        said.append("It is more than the unit can give: measure the airflow and the wet bulbs again.")
    return tuple(said)


def _grows_wetter(found: AirCapacity) -> bool:
    dries_by, limit = found.heat.dries_by, found.dries_by_limit
    return dries_by is not None and limit is not None and dries_by < -limit - _HUMIDITY_HAIR


def _figures(found: AirCapacity) -> str:
    heat = found.heat
    sensible = _power(heat.sensible_W, found.sensible_limit_W)
    if heat.total_W is None or heat.latent_W is None or found.total_limit_W is None:
        return f"The air gives up {sensible} of sensible heat; latent needs the supply air's wet bulb."
    assert found.latent_limit_W is not None
    return (
        f"The air gives up {_power(heat.total_W, found.total_limit_W)}: {sensible} sensible, "
        f"{_power(heat.latent_W, found.latent_limit_W)} latent."
    )


def _power(value_W: float, limit_W: float) -> str:
    btu, off = round(value_W / W_PER_BTU_PER_H, -2), round(limit_W / W_PER_BTU_PER_H, -2)
    return f"{btu:,.0f} ± {off:,.0f} Btu/h ({value_W / 1000.0:.1f} ± {limit_W / 1000.0:.1f} kW)".replace(
        ",", " "
    )


def _flow_words(airflow_m3_per_s: float, rated_W: float | None, heat: Heat) -> list[str]:
    of_W, whose = (rated_W, "rated") if rated_W is not None else (heat.total_W, "measured")
    if of_W is None or of_W <= 0.0:
        return []
    per_W = airflow_m3_per_s / of_W
    per_ton = per_W * W_PER_TON / M3_S_PER_CFM
    said = [f"The airflow is {per_ton:.0f} cfm a ton of {whose} capacity ({per_W * 3.6e6:.0f} m³/h a kW)."]
    if rated_W is None:
        return said
    if per_W < LEAST_M3_S_PER_W:
        said.append("Less than 350 cfm a ton is low: bring the airflow right before the charge.")
    elif per_W > MOST_M3_S_PER_W:
        said.append("More than 450 cfm a ton is high: it warms the coil and raises superheat.")
    return said


def _near_rated(return_wb_K: float | None, outdoor_db_K: float | None) -> bool:
    if return_wb_K is None or outdoor_db_K is None:
        return False
    wb, db = to_F(return_wb_K), to_F(outdoor_db_K)
    return (
        _NEAR_RATED_WB_F[0] <= wb <= _NEAR_RATED_WB_F[1]
        and _NEAR_RATED_OUTDOOR_F[0] <= db <= _NEAR_RATED_OUTDOOR_F[1]
    )
