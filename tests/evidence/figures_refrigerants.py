"""Refrigerants of the catalogue: saturation, warming potential, flammability, ozone (ours: shipped data).

The package chemicals carries published correlations and tables of its own: vapour pressure equations of
Wagner's form (McGarry 1983; Poling, Prausnitz and O'Connell 2001) and of Perry's handbook, boiling points of
the CRC handbook, the lists of the IPCC, explosion limits of NFPA 497. Its boiling points that come from
equations of state are not used, since the same equations made our curves.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from guide.refrigerant.catalogue import AR4, AR5, AR6, find
from guide.refrigerant.listing import LEFT_OUT, components
from guide.refrigerant.saturation import curve
from tests.evidence.figure import Row

ATMOSPHERE_Pa = 101325.0
PSI_Pa = 6894.757293168

# CAS registry numbers; the three refrigerants of the curves' own source need no more than these.
CAS = {
    "R-11": "75-69-4", "R-12": "75-71-8", "R-13": "75-72-9", "R-13I1": "2314-97-8", "R-21": "75-43-4",
    "R-22": "75-45-6", "R-23": "75-46-7", "R-32": "75-10-5", "R-40": "74-87-3", "R-41": "593-53-3",
    "R-113": "76-13-1", "R-114": "76-14-2", "R-115": "76-15-3", "R-116": "76-16-4", "R-123": "306-83-2",
    "R-124": "2837-89-0", "R-125": "354-33-6", "R-134a": "811-97-2", "R-141b": "1717-00-6",
    "R-142b": "75-68-3", "R-143a": "420-46-2", "R-152a": "75-37-6", "R-161": "353-36-6", "R-170": "74-84-0",
    "R-218": "76-19-7", "R-227ea": "431-89-0", "R-236ea": "431-63-0", "R-236fa": "690-39-1",
    "R-245ca": "679-86-7", "R-245fa": "460-73-1", "R-290": "74-98-6", "R-365mfc": "406-58-6",
    "R-600": "106-97-8", "R-600a": "75-28-5", "R-601": "109-66-0", "R-601a": "78-78-4",
    "R-717": "7664-41-7", "R-764": "7446-09-5", "R-1130(E)": "156-60-5", "R-1150": "74-85-1",
    "R-1233zd(E)": "102687-65-0", "R-1234yf": "754-12-1", "R-1234ze(E)": "29118-24-9",
    "R-1243zf": "677-21-4", "R-1270": "115-07-1", "R-1336mzz(E)": "66711-86-2", "R-1336mzz(Z)": "692-49-9",
    "R-C318": "115-25-3", "R-E170": "115-10-6",
}  # fmt: skip

WAGNER = "chemicals, Wagner equation of McGarry 1983"
WAGNER_POLING = "chemicals, Wagner equation of Poling 2001"
PERRY = "chemicals, vapour pressure of Perry's handbook 8th ed."
CRC = "chemicals, boiling points of the CRC handbook"
IPCC = {AR4: "IPCC (2007) 100yr", AR5: "IPCC (2014) 100yr", AR6: "IPCC (2021) 100yr"}

# The equations state an accuracy of about 1 % in the middle of their range.
VAPOUR_PRESSURE = 0.015
BY_WAGNER = (
    "R-12", "R-23", "R-32", "R-40", "R-113", "R-115", "R-290", "R-600", "R-600a", "R-601", "R-601a",
    "R-1270", "R-E170",
)  # fmt: skip
BY_PERRY = ("R-32", "R-152a")
TEMPERATURES_C = (-20, 10, 40)
WARM_ONLY = {
    "R-23": (-40, -20, 10), "R-600": (10, 40), "R-601": (10, 40), "R-601a": (10, 40), "R-113": (10, 40),
}  # fmt: skip

# Compilations of boiling points disagree: 47.6 to 48.7 °C in this package for R-1130(E), -27 to -17 °C for
# R-1243zf; that of R-600 is agreed upon to its last printed digit.
SCATTER_K = {"R-1130(E)": 0.5, "R-1243zf": 2.0, "R-600": 0.1}

OHIO_CO2 = (
    "Course tables of carbon dioxide - people.ohio.edu/trembly/mechanical/thermo/property_tables/CO2/"
    "CO2_TempSat1.html"
)
OHIO_CO2_MPa = ((-20, 1.9696), (-15, 2.2908), (-10, 2.6487), (-5, 3.0459), (0, 3.4851))

AMMONIA = "Saturated ammonia table - engineersedge.com/thermodynamics/saturated_ammonia_properties_14773.htm"
AMMONIA_kPa = (
    (-40, 71.7), (-30, 119.5), (-20, 190.2), (-10, 290.9), (0, 429.6), (10, 615.2), (20, 857.5), (30, 1167.0),
    (40, 1554.9), (50, 2033.1), (60, 2614.4),
)  # fmt: skip

# One pressure for each temperature, between liquid and vapour, which are up to 1.7 % of each other.
TABLE_404A = "Table of saturated R-404A - fr.scribd.com/document/640629774/R404A"
TABLE_404A_bar = ((-40, 1.330), (-38, 1.454), (-36, 1.587), (-34, 1.730), (-32, 1.882))

HANDBOOK_600A = "Dealer's blue handbook 2018 p. 159 - yumpu.com/en/document/view/59990423/159"

# Bubble and dew point at one atmosphere [°C] printed with ASHRAE 34, from memory. Blends whose pairs are all
# measured are held within 1.5 K (the mixture models' own fits scatter by about 1 K), the others within what
# their curve says of itself.
BOILING_C = {
    "R-401A": (-34.4, -28.8), "R-402A": (-49.2, -47.0), "R-403B": (-43.8, -42.3), "R-404A": (-46.2, -45.5),
    "R-406A": (-32.7, -23.5), "R-407A": (-45.2, -38.7), "R-407B": (-46.8, -42.4), "R-407E": (-42.8, -35.6),
    "R-407F": (-46.1, -39.7), "R-407H": (-44.7, -37.6), "R-408A": (-45.5, -45.0), "R-409A": (-35.4, -27.5),
    "R-413A": (-29.3, -27.6), "R-414B": (-34.4, -26.1), "R-416A": (-23.4, -21.8), "R-417A": (-38.0, -32.9),
    "R-418A": (-41.2, -40.1), "R-420A": (-25.0, -24.2), "R-421A": (-40.8, -35.5), "R-422A": (-46.5, -44.1),
    "R-422B": (-40.5, -35.6), "R-422D": (-43.2, -38.4), "R-424A": (-39.1, -33.3), "R-427A": (-43.0, -36.3),
    "R-428A": (-48.4, -47.5), "R-434A": (-45.0, -42.3), "R-437A": (-32.9, -29.2), "R-438A": (-43.0, -36.4),
    "R-442A": (-46.5, -39.9), "R-444B": (-44.6, -34.9), "R-447A": (-49.3, -44.2), "R-448A": (-45.9, -39.8),
    "R-449A": (-46.0, -39.9), "R-450A": (-23.4, -22.8), "R-452A": (-47.0, -43.2), "R-452B": (-51.0, -50.3),
    "R-453A": (-42.2, -35.0), "R-454A": (-48.4, -41.6), "R-454B": (-50.9, -50.0), "R-454C": (-46.0, -37.8),
    "R-455A": (-51.6, -39.1), "R-456A": (-30.4, -25.6), "R-457A": (-42.7, -35.5), "R-458A": (-39.9, -32.4),
    "R-466A": (-51.7, -51.0), "R-469A": (-78.5, -61.5), "R-507A": (-46.7, -46.7), "R-513A": (-29.2, -29.2),
    "R-515B": (-18.9, -18.9),
}  # fmt: skip
MEASURED_K = 1.5


def kelvin(celsius: float) -> float:
    """[°C] in [K]."""
    return celsius + 273.15


def rows() -> list[Row]:
    """Every row of this part."""
    return [*_correlations(), *_boiling(), *_tables(), *_blends(), *_gwps(), *_lfls(), *_ozone()]


def _correlations() -> Iterator[Row]:
    from chemicals import vapor_pressure as known

    for name in BY_WAGNER:
        given = known.Psat_data_WagnerMcGarry.loc[CAS[name]]
        for celsius in WARM_ONLY.get(name, TEMPERATURES_C):
            if given["Tmin"] <= kelvin(celsius):
                pressure = known.Wagner_original(
                    kelvin(celsius), given["Tc"], given["Pc"], given["A"], given["B"], given["C"], given["D"]
                )
                yield _pressure(name, celsius, float(pressure), WAGNER)
    given = known.Psat_data_WagnerPoling.loc[CAS["R-717"]]
    for celsius in TEMPERATURES_C:
        pressure = known.Wagner(
            kelvin(celsius), given["Tc"], given["Pc"], given["A"], given["B"], given["C"], given["D"]
        )
        yield _pressure("R-717", celsius, float(pressure), WAGNER_POLING)
    for name in BY_PERRY:
        given = known.Psat_data_Perrys2_8.loc[CAS[name]]
        for celsius in TEMPERATURES_C:
            first, second, third, fourth, power = (float(given[f"C{k}"]) for k in range(1, 6))
            warm_K = kelvin(celsius)
            exponent = first + second / warm_K + third * math.log(warm_K) + fourth * warm_K**power
            yield _pressure(name, celsius, math.exp(exponent), PERRY)


def _pressure(name: str, celsius: float, outside_Pa: float, source: str) -> Row:
    ours = curve(name).dew_pressure_Pa(kelvin(celsius)) / 1000
    return Row(
        f"{name}, saturation pressure at {celsius} °C", ours, outside_Pa / 1000, "kPa",
        VAPOUR_PRESSURE * outside_Pa / 1000, source, "LIBRARY",
    )  # fmt: skip


def _boiling() -> Iterator[Row]:
    """Boiling points at one atmosphere, printed to a tenth or a hundredth of a degree."""
    import chemicals

    for name, number in CAS.items():
        method = "CRC_INORG" if name in ("R-717", "R-764") else "CRC_ORG"
        read = curve(name)
        if method in chemicals.Tb_methods(number) and read.lowest_pressure_Pa < ATMOSPHERE_Pa:
            outside = float(chemicals.Tb(number, method=method)) - 273.15
            ours = read.dew_temperature_K(ATMOSPHERE_Pa) - 273.15
            allowed = SCATTER_K.get(name, 0.2)
            yield Row(f"{name}, boiling point at 1 atm", ours, outside, "°C", allowed, CRC, "LIBRARY")


def _tables() -> Iterator[Row]:
    for celsius, megapascal in OHIO_CO2_MPa:
        ours = curve("R-744").dew_pressure_Pa(kelvin(celsius)) / 1e6
        yield Row(
            f"R-744, saturation pressure at {celsius} °C", ours, megapascal, "MPa", 0.0006, OHIO_CO2, "FOUND"
        )
    for celsius, kilopascal in AMMONIA_kPa:
        ours = curve("R-717").dew_pressure_Pa(kelvin(celsius)) / 1000
        yield Row(
            f"R-717, saturation pressure at {celsius} °C", ours, kilopascal, "kPa", 0.002 * kilopascal,
            AMMONIA, "FOUND",
        )  # fmt: skip
    for celsius, bar in TABLE_404A_bar:
        read = curve("R-404A")
        middle = (read.dew_pressure_Pa(kelvin(celsius)) + read.bubble_pressure_Pa(kelvin(celsius))) / 2e5
        yield Row(
            f"R-404A, mean of liquid and vapour pressure at {celsius} °C", middle, bar, "bar", 0.02 * bar,
            TABLE_404A, "FOUND",
        )  # fmt: skip
    ours = curve("R-600a").dew_temperature_K(101300.0) - 273.15
    yield Row("R-600a, boiling point at 1.013 bar", ours, -11.76, "°C", 0.02, HANDBOOK_600A, "FOUND")


def _blends() -> Iterator[Row]:
    source = "Boiling points printed with ASHRAE 34"
    for name, (bubble_C, dew_C) in BOILING_C.items():
        read = curve(name)
        if read.lowest_pressure_Pa > ATMOSPHERE_Pa:  # it boils below -40 °C, where the curve starts
            continue
        allowed = read.may_be_off_K or MEASURED_K
        bubble = read.bubble_temperature_K(ATMOSPHERE_Pa) - 273.15
        dew = read.dew_temperature_K(ATMOSPHERE_Pa) - 273.15
        yield Row(f"{name}, bubble point at 1 atm", bubble, bubble_C, "°C", allowed, source, "MEMORY")
        yield Row(f"{name}, dew point at 1 atm", dew, dew_C, "°C", allowed, source, "MEMORY")


def _gwps() -> Iterator[Row]:
    """What chemicals prints to a digit we may hold rounded to its third; below 1 we hold 1 for AR5."""
    import chemicals

    for name, number in CAS.items():
        substance = components()[name]
        for column, basis in ((0, AR4), (2, AR5), (3, AR6)):
            method = IPCC[basis]
            ours = substance.gwps[column]
            if ours in ("", LEFT_OUT) or method not in chemicals.GWP_methods(number):
                continue
            outside = max(float(chemicals.GWP(number, method=method)), 1.0 if basis == AR5 else 0.0)
            yield Row(
                f"GWP, {name} on {basis}", float(find(name).gwp(basis).value), outside, "CO2 = 1", 1e-6,
                "chemicals, lists of the IPCC", "LIBRARY",
            )  # fmt: skip


def _lfls() -> Iterator[Row]:
    """Volume shares taken to mass at 25 °C; NFPA and ASHRAE measure in other vessels, a quarter apart."""
    import chemicals

    for name, number in CAS.items():
        limit = components()[name].lfl_kg_m3
        method = "NFPA 497 (2008)"
        if limit is None or method not in chemicals.safety.LFL_methods(CASRN=number):
            continue
        share = float(chemicals.LFL(CASRN=number, method=method))
        mass = share * float(chemicals.MW(number)) / 1000 * ATMOSPHERE_Pa / (8.314462618 * 298.15)
        yield Row(
            f"Lower flammability limit, {name}", float(limit), mass, "kg/m3", 0.25 * mass,
            "chemicals, NFPA 497", "LIBRARY",
        )  # fmt: skip


def _ozone() -> Iterator[Row]:
    import chemicals

    for name in ("R-11", "R-12", "R-22", "R-113", "R-115", "R-123", "R-124", "R-142b", "R-32", "R-290"):
        yield Row(
            f"Ozone depleting, {name} (1 is yes)", float(find(name).ozone_depleting),
            float(bool(chemicals.ODP(CAS[name]))), "-", 0.25, "chemicals, ozone depletion potentials",
            "LIBRARY",
        )  # fmt: skip
