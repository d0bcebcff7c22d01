"""Moist air and what it gives up, against libraries, printed tables, worked examples and trade constants."""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

from guide.charging.air_capacity import M3_S_PER_CFM, W_PER_BTU_PER_H, AirReadings, heat_of
from guide.charging.psychrometrics import air_by_dew_point, air_by_relative_humidity, air_by_wet_bulb
from guide.charging.target_maker import MakerTable
from guide.charging.wet_bulb import wet_bulb_by_relative_humidity
from guide.charging.wording import K_PER_F, from_F
from tests.evidence.figure import Mark, Row

SEA_Pa = 101325.0
PSYCHROLIB = "psychrolib - wet bulb, enthalpy and volume of ASHRAE Fundamentals 2017 chapter 1"
REAL_GAS = "CoolProp humid air - real-gas moist air after ASHRAE RP-1485"
# Dry bulb and wet bulb below it [°C], relative humidity [%] in whole per cent.
SCHOOL = "Relative humidity table for classes - studylib.net/doc/18052207/2.3-relative-humidity-table"
SCHOOL_C = (
    (20, 2, 82), (20, 5, 60), (20, 8, 38), (24, 3, 77), (24, 6, 57), (24, 9, 38), (27, 4, 72), (27, 6, 59),
    (27, 8, 47), (30, 5, 67), (30, 8, 50), (34, 6, 64), (34, 9, 49),
)  # fmt: skip
MANUAL = "Army manual TM 5-3610-285-14 - topography.tpub.com/TM-5-3610-285-14/css/TM-5-3610-285-14_710.htm"
EXAMPLE = "Examination example 3.11 - reviewpe.com/penotes/meb/b3_11.htm"
NOMOGRAM = "Dictionary of geophysics figure A-7 - wiki.seg.org/wiki/Dictionary:Fig_A-7"
COURSE = "University course example - personal.psu.edu/dhj1/classes/thermo/hvac.html"
COILS = "Coil makers' formulas - coilmastercorp.com/resources/useful-formulae"
TOOLBOX = "Engineering data site - engineeringtoolbox.com/cooling-heating-equations-d_747.html"
SENSOR = "Charging reference section 8 - a humidity sensor of 3 points"

SITES = (("sea level", 101325.0), ("2000 ft", 94213.0), ("5000 ft", 84307.0), ("10 000 ft", 69682.0))
AIRS_F = ((70.0, 0.40), (75.0, 0.50), (80.0, 0.30), (80.0, 0.50), (80.0, 0.80), (84.0, 0.65))
DEWS_F = ((75.0, 55.0), (80.0, 60.0), (84.0, 70.0))
RETURN_F, SUPPLY_F = (80.0, 67.0), (59.0, 57.0)
CFM = 1200.0


# The maker's table as an order may carry it, whole degrees, and the closed form of the fine table
# (CALCULATED, rms 0.03 °F) between its places: half a printed degree and 0.39 °F of spread.
OWN_WB_F = (66.0, 68.0, 70.0, 72.0, 74.0)
OWN_F = {
    85.0: (15.0, 19.0, 22.0, 26.0, 30.0),
    90.0: (13.0, 16.0, 20.0, 24.0, 27.0),
    95.0: (10.0, 14.0, 18.0, 22.0, 25.0),
    100.0: (8.0, 12.0, 15.0, 20.0, 23.0),
}
OWN_BETWEEN_F = ((66.7, 88.0), (67.0, 92.5), (69.0, 95.0), (71.0, 97.0), (73.3, 86.5), (67.5, 99.0))
CLOSED_FORM = "Charging reference section 1.2 - closed form of the 1 °F table from 65 °F wet bulb up"


def rows() -> list[Row]:
    """Every figure of air."""
    return [
        *_own_table(),
        *_wet_bulbs(),
        *_dew_points(),
        *_real_air(),
        *_printed(),
        *_examples(),
        *_sensor(),
        *_heat(),
    ]


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def _closed_form_F(wb_F: float, db_F: float) -> float:
    w, d = wb_F - 65.0, db_F - 85.0
    return (
        13.740594 + 1.7778399 * w - 0.56759647 * d + 0.015045679 * w * d - 0.0031852770 * w**2
        + 0.00028356298 * d**2 + 0.00027593619 * w**2 * d + 0.000076513422 * w * d**2
        + 0.000019673694 * w**3 - 0.00000019837 * d**3
    )  # fmt: skip


def _own_table() -> Iterator[Row]:
    own = MakerTable(
        "as printed",
        tuple(map(from_F, OWN_WB_F)),
        tuple(map(from_F, OWN_F)),
        tuple(tuple(cell * K_PER_F for cell in row) for row in OWN_F.values()),
    )
    for wb, db in OWN_BETWEEN_F:
        value_K = own.target(from_F(wb), from_F(db)).value_K
        yield Row(
            f"Target superheat by a maker's table, {db} °F outdoors and {wb} °F wet bulb",
            float("nan") if value_K is None else value_K / K_PER_F, _closed_form_F(wb, db), "°F", 0.9,
            CLOSED_FORM, "MEMORY",  # fitted to a grid that is from memory
        )  # fmt: skip


def _wet_bulbs() -> Iterator[Row]:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    for site, pressure_Pa in SITES:
        for db, humidity in AIRS_F:
            yield Row(
                f"Wet bulb, {db:.0f} °F and {humidity * 100:.0f} % at {site}",
                air_by_relative_humidity(from_F(db), humidity, pressure_Pa).wet_bulb_K - 273.15,
                float(psychrolib.GetTWetBulbFromRelHum(_celsius(db), humidity, pressure_Pa)),
                "°C", 0.003, PSYCHROLIB, "LIBRARY",
            )  # fmt: skip


def _dew_points() -> Iterator[Row]:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    for site, pressure_Pa in SITES[::2]:
        for db, dew in DEWS_F:
            yield Row(
                f"Wet bulb, {db:.0f} °F and a dew point of {dew:.0f} °F at {site}",
                air_by_dew_point(from_F(db), from_F(dew), pressure_Pa).wet_bulb_K - 273.15,
                float(psychrolib.GetTWetBulbFromTDewPoint(_celsius(db), _celsius(dew), pressure_Pa)),
                "°C", 0.003, PSYCHROLIB, "LIBRARY",
            )  # fmt: skip


def _real_air() -> Iterator[Row]:
    from CoolProp.HumidAirProp import HAPropsSI

    for site, pressure_Pa in SITES:
        for db, humidity in AIRS_F[1::2]:
            at = ("T", from_F(db), "P", pressure_Pa, "R", humidity)
            air = air_by_relative_humidity(from_F(db), humidity, pressure_Pa)
            where = f"{db:.0f} °F and {humidity * 100:.0f} % at {site}"
            yield Row(
                f"Wet bulb, {where}", air.wet_bulb_K - 273.15, float(HAPropsSI("B", *at)) - 273.15, "°C",
                0.02, REAL_GAS, "LIBRARY",
            )  # fmt: skip
            yield Row(
                f"Moist air, enthalpy at {where}", air.enthalpy_J_per_kg / 1000.0,
                float(HAPropsSI("H", *at)) / 1000.0, "kJ/kg", 0.4, REAL_GAS, "LIBRARY",
            )  # fmt: skip
            yield Row(
                f"Moist air, volume at {where}", air.volume_m3_per_kg, float(HAPropsSI("V", *at)), "m³/kg",
                0.001, REAL_GAS, "LIBRARY",
            )  # fmt: skip


def _humidity(db_K: float, wb_K: float, pressure_Pa: float = SEA_Pa) -> float:
    return air_by_wet_bulb(db_K, wb_K, pressure_Pa).relative_humidity * 100.0


def _printed() -> Iterator[Row]:
    for db, below, printed in SCHOOL_C:
        # Tables of psychrometers use a constant of their own, which parts from the handbook by a point.
        yield Row(
            f"Relative humidity, {db} °C with a wet bulb {below} K below",
            _humidity(db + 273.15, db - below + 273.15), float(printed), "%", 1.5, SCHOOL, "FOUND",
        )  # fmt: skip
    yield Row(
        "Relative humidity, 68 °F with a wet bulb of 62 °F", _humidity(from_F(68), from_F(62)), 71.0, "%",
        1.0, MANUAL, "FOUND",
    )  # fmt: skip


def _examples() -> Iterator[Row]:
    air = air_by_wet_bulb(from_F(100.0), from_F(80.0), SEA_Pa)
    cubic_feet = air.volume_m3_per_kg / 0.3048**3 * 0.45359237
    # The example counts dry air from 0 °F, we from 0 °C.
    btu = air.enthalpy_J_per_kg / 2326.0 + 0.240 * 32.0
    yield Row(
        "Relative humidity, 100 °F with a wet bulb of 80 °F", air.relative_humidity * 100.0, 42.0, "%", 1.0,
        EXAMPLE, "FOUND",
    )  # fmt: skip
    yield Row(
        "Moist air, volume at 100 °F with a wet bulb of 80 °F", cubic_feet, 14.5, "ft³/lb", 0.05, EXAMPLE,
        "FOUND",
    )  # fmt: skip
    yield Row(
        "Moist air, enthalpy at 100 °F with a wet bulb of 80 °F", btu, 43.36, "Btu/lb", 0.3, EXAMPLE, "FOUND"
    )
    at_750_ft = air_by_wet_bulb(from_F(95.0), from_F(80.0), 98600.0)  # 750 ft: equation 3 of the handbook
    yield Row(
        "Relative humidity, 95 °F with a wet bulb of 80 °F at 750 ft", at_750_ft.relative_humidity * 100.0,
        52.4, "%", 1.5, NOMOGRAM, "FOUND",
    )  # fmt: skip
    yield Row(
        "Moist air, water at 95 °F with a wet bulb of 80 °F at 750 ft", at_750_ft.humidity_ratio, 0.019,
        "kg/kg", 0.0005, NOMOGRAM, "FOUND",
    )  # fmt: skip
    yield Row(
        "Moist air, water at 25 °C and 75 % under 100 kPa",
        air_by_relative_humidity(298.15, 0.75, 100_000.0).humidity_ratio, 0.0152, "kg/kg", 0.0001, COURSE,
        "FOUND",
    )  # fmt: skip


def _sensor() -> Iterator[Row]:
    found = wet_bulb_by_relative_humidity(
        from_F(80.0), 0.5, SEA_Pa, dry_bulb_limit_K=0.0, humidity_limit=0.03
    )
    yield Row(
        "Derived wet bulb, limit from 3 points of humidity at 80 °F and 50 %", found.limit_K / K_PER_F, 0.9,
        "°F", 0.05, SENSOR, "CALCULATED",
    )  # fmt: skip


def _heat() -> Iterator[Row]:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    for site, pressure_Pa in SITES:
        air = AirReadings(
            CFM * M3_S_PER_CFM, from_F(RETURN_F[0]), from_F(RETURN_F[1]), from_F(SUPPLY_F[0]),
            from_F(SUPPLY_F[1]), pressure_Pa,
        )  # fmt: skip
        entering, leaving = (
            psychrolib.CalcPsychrometricsFromTWetBulb(_celsius(db), _celsius(wb), pressure_Pa)
            for db, wb in (RETURN_F, SUPPLY_F)
        )
        flow = air.airflow_m3_per_s / entering[5]
        heat = heat_of(air)
        assert heat.total_W is not None
        yield Row(
            f"Heat of the air, total at {site}", heat.total_W, flow * (entering[4] - leaving[4]), "W", 10.0,
            PSYCHROLIB, "LIBRARY",
        )  # fmt: skip
    yield from _trade_constants()


def _trade_constants() -> Iterator[Row]:
    """Btu/h per cfm for one unit of difference, with the flow counted as standard air of 0.075 lb/ft³."""
    # At 70 °F dry, standard air has this volume; the constants are rounded to two or three digits.
    standard = air_by_wet_bulb(from_F(70.0), from_F(45.0), SEA_Pa)
    flow = M3_S_PER_CFM * 0.075 * 0.45359237 / 0.3048**3  # kg/s of a cfm
    entering = air_by_wet_bulb(from_F(RETURN_F[0]), from_F(RETURN_F[1]), SEA_Pa)
    leaving = air_by_wet_bulb(from_F(SUPPLY_F[0]), from_F(SUPPLY_F[1]), SEA_Pa)
    air = AirReadings(
        flow * entering.volume_m3_per_kg, entering.dry_bulb_K, from_F(RETURN_F[1]), leaving.dry_bulb_K,
        from_F(SUPPLY_F[1]), SEA_Pa,
    )  # fmt: skip
    heat = heat_of(air)
    assert heat.total_W is not None
    assert heat.latent_W is not None
    assert heat.dries_by is not None
    btu_per_lb = (entering.enthalpy_J_per_kg - leaving.enthalpy_J_per_kg) / 2326.0
    total = heat.total_W / W_PER_BTU_PER_H / btu_per_lb
    sensible = heat.sensible_W / W_PER_BTU_PER_H / (RETURN_F[0] - SUPPLY_F[0])
    latent = heat.latent_W / W_PER_BTU_PER_H / heat.dries_by
    density = 1.0 / standard.volume_m3_per_kg * 0.3048**3 / 0.45359237
    # The trade counts water's heat at 0 °C (1076 Btu/lb) and leaves it out of the sensible part: 2 % apart.
    for figure, ours, constant, unit, within, source, mark in (
        ("Heat of the air, total per cfm and Btu/lb", total, 4.5, "lb/ft³·min/h", 0.05, COILS, "FOUND"),
        ("Heat of the air, sensible per cfm and °F", sensible, 1.08, "Btu/h", 0.03, COILS, "FOUND"),
        ("Heat of the air, latent per cfm and grain", latent / 7000.0, 0.68, "Btu/h", 0.03, COILS, "FOUND"),
        ("Heat of the air, latent per cfm and lb/lb", latent, 4840.0, "Btu/h", 120.0, TOOLBOX, "FOUND"),
        ("Moist air, density at 70 °F and dry", density, 0.075, "lb/ft³", 0.0005, COILS, "CALCULATED"),
    ):
        yield Row(figure, ours, constant, unit, within, source, cast(Mark, mark))
