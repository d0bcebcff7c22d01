"""Water in a vacuum and nitrogen in a closed circuit, against libraries, tables and makers' figures."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterator
from typing import Any

from guide.charging.nitrogen import density_mol_m3
from guide.charging.pressure_test import Gas, expected_pressure_Pa
from guide.charging.water_vapor import MICRON_Pa, TRIPLE_Pa, dry_above_K, vapor_pressure_Pa
from tests.evidence.figure import Mark, Row

PSI_Pa = 6894.757293168
ATMOSPHERE_Pa = 14.696 * PSI_Pa
"""The atmosphere that the table of nitrogen was computed with."""

WATER_TABLE = (
    "Table of water's vapour pressure - charging reference section 4.3, water_vapor_pressure_microns.csv"
)
# °F, micron: liquid by IAPWS-95, ice by the IAPWS equation of 2011
WATER = (
    (-40, 96), (-30, 178), (-20, 320), (-12, 502), (0, 957), (10, 1597), (20, 2611), (30, 4182), (32, 4584),
    (35, 5170), (40, 6296), (50, 9212), (60, 13260), (65, 15815), (70, 18791), (75, 22246), (80, 26244),
    (90, 36151), (100, 49155), (120, 87658), (160, 245503), (212, 760697),
)  # fmt: skip
LEVEL_TABLE = "Table of vacuum levels - charging reference section 4.3, vacuum_level_to_water_temperature.csv"
# micron, °F above which neither water nor ice lasts
LEVELS = (
    (50, -50.2), (100, -39.4), (250, -24.3), (500, -12.1), (700, -5.9), (1000, 0.8), (1500, 8.7),
    (2500, 19.1), (5000, 34.2), (10000, 52.2), (20000, 71.8), (25400, 79.0), (100000, 124.8), (760000, 212.0),
)  # fmt: skip

NITROGEN_TABLE = "Table of real nitrogen - charging reference section 4.1, nitrogen_pressure_correction.csv"
# psig and °F at the start, °F at the end, psig then
NITROGEN = (
    (150, 80, 70, 146.9), (150, 90, 70, 143.9), (150, 70, 75, 151.6), (300, 80, 70, 293.9),
    (300, 90, 70, 288.0), (300, 70, 75, 303.1), (400, 75, 65, 391.7), (400, 90, 70, 384.0),
    (400, 70, 75, 404.2), (450, 90, 70, 431.9), (500, 75, 65, 489.6), (500, 90, 70, 479.8),
    (550, 80, 70, 538.6), (550, 90, 70, 527.7), (550, 70, 75, 555.8),
)  # fmt: skip
TRADE_CASE = "Trade article on pressure testing - achrnews.com/articles/153295"
GUIDE_SPEC = "Guide specification UFGS 15182 - ufgscriteriadocreport.tpub.com/15182/151820028.htm"
MAKER_RULE = "Maker's manual for R-410A - manualshive.com/ru/manual/lg/atnh24gple2/1891759?page=64"


def rows() -> list[Row]:
    """Every figure of vacuum and nitrogen."""
    return [*_water(), *_levels(), *_water_libraries(), *_nitrogen(), *_nitrogen_libraries(), *_makers()]


def _kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) / 1.8


def _psig_then(psig: float, start_F: float, end_F: float) -> float:
    start = Gas(psig * PSI_Pa + ATMOSPHERE_Pa, _kelvin(start_F))
    return (expected_pressure_Pa(start, _kelvin(end_F)) - ATMOSPHERE_Pa) / PSI_Pa


def _water() -> Iterator[Row]:
    for fahrenheit, micron in WATER:
        phase = "ice" if fahrenheit <= 32 else "liquid"
        yield Row(
            f"Water in a vacuum, vapour pressure of {phase} at {fahrenheit} °F",
            vapor_pressure_Pa(_kelvin(fahrenheit)) / MICRON_Pa,
            micron,
            "micron",
            max(0.6, 2e-4 * micron),
            WATER_TABLE,
            "CALCULATED",
        )


def _levels() -> Iterator[Row]:
    for micron, fahrenheit in LEVELS:
        yield Row(
            f"Water in a vacuum, no water lasts at {micron} micron above",
            dry_above_K(micron * MICRON_Pa) * 1.8 - 459.67,
            fahrenheit,
            "°F",
            0.06,
            LEVEL_TABLE,
            "CALCULATED",
        )


def _water_libraries() -> Iterator[Row]:
    import psychrolib
    from iapws._iapws import Pt, _Sublimation_Pressure
    from iapws.iapws97 import _PSat_T

    chemicals: Any = importlib.import_module("chemicals")

    def hyland(kelvin: float) -> float:
        psychrolib.SetUnitSystem(psychrolib.SI)
        return float(psychrolib.GetSatVapPres(kelvin - 273.15))

    # share that the other equation is good for: IF97 and Hyland and Wexler are fits of their own
    tried: tuple[tuple[str, str, Callable[[float], float], tuple[float, ...], float], ...] = (
        ("iapws", "IF97 saturation line", lambda k: float(_PSat_T(k)) * 1e6,
         (274.0, 280.0, 290.0, 300.0, 310.0, 330.0, 373.15), 3e-4),
        ("iapws", "R14-08 sublimation line", lambda k: float(_Sublimation_Pressure(k)) * 1e6,
         (210.0, 230.0, 245.0, 260.0, 273.0), 1e-6),
        ("chemicals", "IAPWS-95 saturation", lambda k: float(chemicals.iapws95_Psat(k)),
         (275.0, 285.0, 295.0, 305.0, 350.0), 1e-4),
        ("chemicals", "IAPWS 2011 sublimation", lambda k: float(chemicals.iapws11_Psub(k)),
         (220.0, 240.0, 255.0, 270.0), 1e-6),
        ("psychrolib", "saturation pressure of Hyland and Wexler", hyland,
         (233.15, 253.15, 268.15, 278.15, 294.26, 310.93), 1.5e-3),
    )  # fmt: skip
    for library, what, outside, temperatures, share in tried:
        for kelvin in temperatures:
            theirs = outside(kelvin)
            yield Row(
                f"Water in a vacuum, vapour pressure at {kelvin:g} K by {what}",
                vapor_pressure_Pa(kelvin),
                theirs,
                "Pa",
                max(1e-6, share * theirs),
                f"{library} - {what}",
                "LIBRARY",
            )
    yield Row(
        "Water in a vacuum, pressure of the triple point",
        TRIPLE_Pa, float(Pt) * 1e6, "Pa", 0.0005, "iapws - R14-08, triple point", "LIBRARY",
    )  # fmt: skip


def _nitrogen() -> Iterator[Row]:
    for psig, start_F, end_F, then in NITROGEN:
        yield Row(
            f"Closed nitrogen, {psig} psig from {start_F} to {end_F} °F",
            _psig_then(psig, start_F, end_F),
            then,
            "psig",
            0.06,
            NITROGEN_TABLE,
            "CALCULATED",
        )


def _nitrogen_libraries() -> Iterator[Row]:
    from CoolProp.CoolProp import PropsSI

    for psig, start_F, end_F in ((100, 95, 50), (250, 20, 70), (450, 110, 60), (600, 100, 60)):
        density = PropsSI(
            "DMOLAR", "P", psig * PSI_Pa + ATMOSPHERE_Pa, "T", _kelvin(start_F), "Nitrogen"
        )  # fmt: skip
        then = (PropsSI("P", "DMOLAR", density, "T", _kelvin(end_F), "Nitrogen") - ATMOSPHERE_Pa) / PSI_Pa
        yield Row(
            f"Closed nitrogen, {psig} psig from {start_F} to {end_F} °F by the reference equation",
            _psig_then(psig, start_F, end_F),
            float(then),
            "psig",
            0.001,
            "CoolProp - nitrogen, Span and others 2000",
            "LIBRARY",
        )
    for psig, start_F, end_F in ((150, 80, 70), (300, 75, 65), (400, 90, 70), (550, 90, 70)):
        yield Row(
            f"Closed nitrogen, {psig} psig from {start_F} to {end_F} °F by two virial coefficients",
            _psig_then(psig, start_F, end_F),
            _virial_psig(psig, start_F, end_F),
            "psig",
            0.1,
            "chemicals - virial coefficients of Tsonopoulos and of Orbey and Vera",
            "LIBRARY",
        )
    for kelvin, MPa in ((280.0, 1.0), (300.0, 3.0), (310.0, 4.0)):
        yield Row(
            f"Closed nitrogen, density at {kelvin:g} K and {MPa:g} MPa",
            density_mol_m3(MPa * 1e6, kelvin),
            float(PropsSI("DMOLAR", "P", MPa * 1e6, "T", kelvin, "Nitrogen")),
            "mol/m3",
            0.001,
            "CoolProp - nitrogen, Span and others 2000",
            "LIBRARY",
        )


def _virial_psig(psig: float, start_F: float, end_F: float) -> float:
    """p = rho R T (1 + B rho + C rho2), the density by halving; critical point and acentric factor of N2."""
    chemicals: Any = importlib.import_module("chemicals")
    critical = (126.192, 3.3958e6, 0.0372)

    def pressure(density: float, kelvin: float) -> float:
        b = chemicals.BVirial_Tsonopoulos(kelvin, *critical)
        c = chemicals.CVirial_Orbey_Vera(kelvin, *critical)[0]
        return float(density * 8.314462618 * kelvin * (1.0 + b * density + c * density * density))

    wanted, low, high = psig * PSI_Pa + ATMOSPHERE_Pa, 1.0, 1e4
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if pressure(middle, _kelvin(start_F)) < wanted else (low, middle)
    return float((pressure(low, _kelvin(end_F)) - ATMOSPHERE_Pa) / PSI_Pa)


def _makers() -> Iterator[Row]:
    found: Mark = "FOUND"
    yield Row(
        "Closed nitrogen, 150 psig from 80 to 70 °F as a trade article works it",
        _psig_then(150, 80, 70), 147.0, "psig", 0.2, TRADE_CASE, found,
    )  # fmt: skip
    yield Row(
        "Closed nitrogen, change a degree at 150 psig",
        (150 - _psig_then(150, 80, 70)) / 10, 0.3, "psi/°F", 0.05, GUIDE_SPEC, found,
    )  # fmt: skip
    # the rule of 0.01 MPa a kelvin has one digit: over 7 K it is good to 0.035 MPa
    start = Gas(3.8e6 + 101_325.0, 300.15)
    yield Row(
        "Closed nitrogen, 3.8 MPa gauge from 27 to 20 °C by a maker's rule",
        (expected_pressure_Pa(start, 293.15) - 101_325.0) / 1e6, 3.73, "MPa gauge", 0.035, MAKER_RULE, found,
    )  # fmt: skip
