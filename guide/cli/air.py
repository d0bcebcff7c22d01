"""What a command is given about air: the indoor wet bulb or what stands in for it, airflow, capacity."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import click

from guide.cli.given import Site, Unusable, given
from guide.units import Kind

if TYPE_CHECKING:
    from guide.charging.air_capacity import AirCapacity
    from guide.charging.round import Verdict

_NUMBER: Final = r"([0-9]{1,9}(?:\.[0-9]{1,6})?|\.[0-9]{1,6}) *"
_PER_CENT: Final = re.compile(_NUMBER + r"% *(?:[rR][hH])?")
_M3_S_PER_CFM: Final = 0.3048**3 / 60.0  # exact
_W_PER_BTU_PER_H: Final = 1055.05585262 / 3600.0  # the international table's Btu (MEMORY)
_FLOWS: Final = {"cfm": _M3_S_PER_CFM, "m3/h": 1 / 3600.0, "m³/h": 1 / 3600.0, "l/s": 0.001, "m3/s": 1.0}
_POWERS: Final = {"ton": 12_000.0 * _W_PER_BTU_PER_H, "tons": 12_000.0 * _W_PER_BTU_PER_H,
                  "btu/h": _W_PER_BTU_PER_H, "kw": 1000.0, "w": 1.0}  # fmt: skip


@dataclass(frozen=True, slots=True)
class IndoorAir:
    """Indoor air as given [K]; a wet bulb that was worked out brings its limit [K] and words."""

    db_K: float | None
    wb_K: float | None
    wb_limit_K: float | None = None
    said: tuple[str, ...] = ()


def moisture_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Let a command take relative humidity or dew point for the wet bulb."""
    for option, metavar, words in (
        ("--indoor-dew-point", "T", "Instead of the wet bulb, with --indoor-db: 57F, 14C"),
        ("--indoor-rh", "RH", "Instead of the wet bulb, with --indoor-db: 50%"),
        ("--indoor-db", "T", "Return air, dry bulb: 80F, 26.7C"),
    ):
        function = click.option(option, metavar=metavar, help=words)(function)
    return function


def indoor_air(
    place: Site, *, indoor_wb: str | None, indoor_db: str | None, indoor_rh: str | None,
    indoor_dew_point: str | None,
) -> IndoorAir:  # fmt: skip
    """The indoor air, its wet bulb worked out at the site's pressure where none is given.

    Raises:
        Unusable: an option is no such quantity, one is missing, or two say the same thing.
    """
    from guide.charging.refusal import FigureError
    from guide.charging.wet_bulb import wet_bulb_by_dew_point, wet_bulb_by_relative_humidity

    db_K, wb_K = _kelvin("--indoor-db", indoor_db), _kelvin("--indoor-wb", indoor_wb)
    moist = {"--indoor-wb": indoor_wb, "--indoor-rh": indoor_rh, "--indoor-dew-point": indoor_dew_point}
    named = [option for option, text in moist.items() if text is not None]
    if len(named) > 1:
        raise Unusable(f"{' and '.join(named)}: give one of them, not both")
    if not named or indoor_wb is not None:
        return IndoorAir(db_K, wb_K)
    if db_K is None:
        raise Unusable(f"{named[0]}: give --indoor-db with it, such as --indoor-db 80F")
    pressure_Pa = float(place.pressure_Pa)
    try:
        if indoor_rh is not None:
            found = wet_bulb_by_relative_humidity(db_K, _share("--indoor-rh", indoor_rh), pressure_Pa)
        else:
            dew_K = _kelvin("--indoor-dew-point", indoor_dew_point)
            assert dew_K is not None
            found = wet_bulb_by_dew_point(db_K, dew_K, pressure_Pa)
    except FigureError as error:
        raise Unusable(f"{named[0]}: {error}") from error
    assumed = " No altitude was given: sea level is assumed." if place.assumed else ""
    return IndoorAir(db_K, found.value_K, found.limit_K, (found.said + assumed,))


def capacity_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Let a command take supply air and airflow, and the rated capacity."""
    for option, metavar, words in (
        ("--rated-capacity", "Q", "The maker's rating, held against the air side: 3ton, 36000Btu/h, 10.5kW"),
        ("--airflow", "V", "Measured in the return duct: 1200cfm, 2040m3/h; tells what the air gives up"),
        ("--supply-wb", "T", "Supply air, wet bulb: 57F"),
        ("--supply-db", "T", "Supply air, dry bulb: 59F"),
    ):
        function = click.option(option, metavar=metavar, help=words)(function)
    return function


@dataclass(frozen=True, slots=True)
class AirSide:
    """What the air gives up, and how to say it."""

    found: AirCapacity
    airflow_m3_per_s: float
    rated_W: float | None
    return_wb_K: float
    outdoor_db_K: float | None

    def words(self, verdict: Verdict | None) -> tuple[str, ...]:
        """Whole sentences for the reasons."""
        from guide.charging.air_capacity import capacity_words

        return capacity_words(
            self.found,
            airflow_m3_per_s=self.airflow_m3_per_s,
            rated_W=self.rated_W,
            return_wb_K=self.return_wb_K,
            outdoor_db_K=self.outdoor_db_K,
            verdict=verdict,
        )

    def figures(self) -> dict[str, float | None]:
        """The answer's further keys, in watt."""
        heat, found = self.found.heat, self.found
        figures = {
            "air_total_W": heat.total_W,
            "air_total_uncertainty_W": found.total_limit_W,
            "air_sensible_W": heat.sensible_W,
            "air_sensible_uncertainty_W": found.sensible_limit_W,
            "air_latent_W": heat.latent_W,
            "air_latent_uncertainty_W": found.latent_limit_W,
        }
        return {key: None if value is None else round(value, 3) for key, value in figures.items()}


def air_side(
    place: Site, indoor: IndoorAir, outdoor_db_K: float | None, *, supply_db: str | None,
    supply_wb: str | None, airflow: str | None, rated_capacity: str | None,
) -> AirSide | None:  # fmt: skip
    """What the air gives up over the coil; None where no airflow is given.

    Raises:
        Unusable: an option is no such quantity, one is missing, or the readings are impossible.
    """
    from guide.charging.air_capacity import AirReadings, air_capacity
    from guide.charging.refusal import FigureError

    if airflow is None:
        for option, text in (
            ("--supply-db", supply_db), ("--supply-wb", supply_wb), ("--rated-capacity", rated_capacity),
        ):  # fmt: skip
            if text is not None:
                raise Unusable(f"{option}: give --airflow with it, such as --airflow 1200cfm")
        return None
    flow = _measured("--airflow", airflow, _FLOWS, "1200cfm or 2040m3/h")
    rated = None
    if rated_capacity is not None:
        rated = _measured("--rated-capacity", rated_capacity, _POWERS, "3ton, 36000Btu/h or 10.5kW")
    supply_db_K, supply_wb_K = _kelvin("--supply-db", supply_db), _kelvin("--supply-wb", supply_wb)
    if indoor.db_K is None or indoor.wb_K is None or supply_db_K is None:
        raise Unusable(
            "--airflow: give --indoor-db, --indoor-wb (or --indoor-rh) and --supply-db with it; --supply-wb "
            "too for latent heat"
        )
    air = AirReadings(flow, indoor.db_K, indoor.wb_K, supply_db_K, supply_wb_K, float(place.pressure_Pa))
    limits = {} if indoor.wb_limit_K is None else {"return_wb_K": indoor.wb_limit_K}
    try:
        return AirSide(air_capacity(air, limits), flow, rated, indoor.wb_K, outdoor_db_K)
    except FigureError as error:
        raise Unusable(f"--airflow: {error}") from error


def _kelvin(option: str, text: str | None) -> float | None:
    quantity = given(option, text, Kind.TEMPERATURE)
    return None if quantity is None else float(quantity.si)


def _share(option: str, text: str) -> float:
    match = _PER_CENT.fullmatch(text.strip(" "))
    if match is None:
        raise Unusable(f"{option} {_shown(text)}: no relative humidity; write 50%")
    return float(match[1]) / 100.0


def _measured(option: str, text: str, units: Mapping[str, float], examples: str) -> float:
    match = re.fullmatch(_NUMBER + r"(\S{1,12})", text.strip(" "))
    factor = None if match is None else units.get(match[2].lower())
    if match is None or factor is None or float(match[1]) <= 0.0:
        raise Unusable(f"{option} {_shown(text)}: no such quantity above zero; write {examples}")
    return float(match[1]) * factor


def _shown(text: str) -> str:
    return f'"{text}"' if len(text) <= 40 and text.isprintable() else "(text that can't be shown)"
