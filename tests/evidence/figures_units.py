"""Unit factors and the standard atmosphere against published ones (ours: `guide.units`)."""

from __future__ import annotations

from guide.units import from_si, standard_pressure_at, to_si
from tests.evidence.figure import Row

SP_811 = (
    "NIST SP 811 appendix B.8 - factors as quoted in public unit tables, e.g. coursehero.com/file/6112116"
)
SP_811_FACTORS = (
    ("psia", 6894.757, "Pa", 0.0005),
    ("inHga", 3386.389, "Pa", 0.0005),
    ("mmHga", 133.3224, "Pa", 0.00005),
    ("Torr", 133.3224, "Pa", 0.00005),
)
HANDBOOK_PRESSURES = (
    "Instrument maker's table of pressure units - scribd.com/doc/30427951/Conversion-Pressure-Units"
)
HANDBOOK_FACTORS = (
    ("1 bar in psia", (1, "bara", "psia"), 14.50377, 0.00001),
    ("1 bar in Torr", (1, "bara", "Torr"), 750.06, 0.005),
    ("1 kPa in micron", (1, "kPaa", "micron"), 7500.6, 0.05),
    ("1 atm in psia", (101325, "Paa", "psia"), 14.69594, 0.00001),
    ("1 psi in micron", (1, "psia", "micron"), 51715.1, 0.5),
    ("1 MPa in psia", (1, "MPaa", "psia"), 145.0377, 0.00005),
)
FLUIDS = "fluids - constants and core (the library that chemicals is built on)"

TOOLBOX = "US Standard Atmosphere 1976 - engineeringtoolbox.com/standard-atmosphere-d_604.html"
TOOLBOX_psia = ((0, 14.696), (5000, 12.228), (10000, 10.108), (15000, 8.297), (20000, 6.759))
ASHRAE_TABLE = "Standard atmospheric data - engineersedge.com/calculators/standard_atmospheric_data_15729.htm"
ASHRAE_psia = (
    (-1000, 15.236),
    (500, 14.430),
    (1000, 14.175),
    (3000, 13.173),
    (7000, 11.341),
    (10000, 10.108),
)
ICAO = "ICAO standard atmosphere 1964 - meteowvl.be/MetInfo/StandAtmosfeer.html"
ICAO_hPa = ((540, 950), (988, 900), (1457, 850), (1949, 800), (3012, 700), (4206, 600))


def rows() -> list[Row]:
    """Every figure of units and of the atmosphere."""
    return [*_factors(), *_temperatures(), *_atmosphere()]


def _factors() -> list[Row]:
    import fluids.constants as outside

    found = [
        Row(f"Units, 1 {unit}", float(to_si(1, unit)), factor, si, within, SP_811, "FOUND")
        for unit, factor, si, within in SP_811_FACTORS
    ]
    found += [
        Row(
            f"Units, {words}", float(from_si(to_si(number, source), target)), factor, target, within,
            HANDBOOK_PRESSURES, "FOUND",
        )
        for words, (number, source, target), factor, within in HANDBOOK_FACTORS
    ]  # fmt: skip
    # `ours` carries the step in which values are stored: a thousand of the unit shows the factor beyond it.
    for unit, factor, si in (
        ("psia", outside.psi, "Pa"),
        ("Torr", outside.torr, "Pa"),
        ("bara", outside.bar, "Pa"),
        ("lb", outside.lb, "kg"),
        ("oz", outside.oz, "kg"),
        ("in", outside.inch, "m"),
        ("ft", outside.foot, "m"),
        ("h", outside.hour, "s"),
    ):
        found.append(
            Row(
                f"Units, 1000 {unit}", float(to_si(1000, unit)), 1000 * float(factor), si,
                1e-7 * 1000 * float(factor), FLUIDS, "LIBRARY",
            )
        )  # fmt: skip
    return found


def _temperatures() -> list[Row]:
    from fluids.core import C2K, F2K, R2K

    return [
        Row(
            f"Units, {number:g} °{unit}", float(to_si(number, unit)), float(outside(number)), "K", 1e-6,
            FLUIDS, "LIBRARY",
        )
        for number, unit, outside in (
            (-40.0, "F", F2K),
            (40.0, "F", F2K),
            (212.0, "F", F2K),
            (25.0, "C", C2K),
            (560.0, "R", R2K),
        )
    ]  # fmt: skip


def _atmosphere() -> list[Row]:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    # Both tables go by the height on a map, ours by the geopotential one: 0.02 % of the pressure at 10 000 ft
    # and 0.08 % at 20 000 ft.
    found = [
        Row(
            f"Standard atmosphere, {feet} ft", _at_feet(feet), psia, "psia", 0.001 * psia, source, "FOUND",
        )
        for pairs, source in ((TOOLBOX_psia, TOOLBOX), (ASHRAE_psia, ASHRAE_TABLE))
        for feet, psia in pairs
    ]  # fmt: skip
    # The heights are whole metres: half a metre is 0.06 hPa at sea level.
    found += [
        Row(
            f"Standard atmosphere, {metres} m", float(standard_pressure_at(metres)) / 100, float(hPa), "hPa",
            0.08, ICAO, "FOUND",
        )
        for metres, hPa in ICAO_hPa
    ]  # fmt: skip
    # psychrolib's exponent and lapse are rounded (ASHRAE Fundamentals 2017, chapter 1, equation 3).
    found += [
        Row(
            f"Standard atmosphere, {metres} m above the sea", float(standard_pressure_at(metres)),
            float(psychrolib.GetStandardAtmPressure(metres)), "Pa", 0.5,
            "psychrolib - GetStandardAtmPressure", "LIBRARY",
        )
        for metres in (0, 300, 500, 1000, 1500, 2000, 2500, 3000)
    ]  # fmt: skip
    return found


def _at_feet(feet: float) -> float:
    return float(
        from_si(standard_pressure_at(to_si(feet, "ft") if feet >= 0 else -to_si(-feet, "ft")), "psia")
    )
