"""Liquid densities, fill limits of cylinders, charges by weight and rooms against outside figures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from guide.charging.cylinder_limit import FILLING_DENSITY, FILLING_K, HOTTEST_K, Collar, fill_limit
from guide.charging.line_set import BORES_m, adder_for, reckoned_adder
from guide.charging.room_size import least_area_m2, limits, most_charge_kg
from guide.charging.weigh_in import line_set_allowance_kg, weigh_in_charge_kg
from guide.refrigerant.catalogue import find
from guide.refrigerant.liquid_density import liquid_density
from tests.evidence.figure import Mark, Row

POUND, OUNCE, FOOT = 0.45359237, 0.45359237 / 16, 0.3048

VDI = "chemicals, VDI Heat Atlas - chemicals.volume.rho_data_VDI_PPDS_2"
PERRY = "chemicals, Perry 8th edition - chemicals.volume.rho_data_Perry_8E_105_l"
# Printed correlations of liquid density reproduce data to about half a percent.
DENSITY_SHARE = 0.005
OF_VDI = {
    "R-11": "75-69-4", "R-12": "75-71-8", "R-22": "75-45-6", "R-32": "75-10-5", "R-113": "76-13-1",
    "R-114": "76-14-2", "R-143a": "420-46-2", "R-290": "74-98-6", "R-600": "106-97-8", "R-600a": "75-28-5",
    "R-601": "109-66-0", "R-601a": "78-78-4", "R-717": "7664-41-7", "R-1270": "115-07-1",
}  # fmt: skip
OF_PERRY = {
    "R-32": "75-10-5", "R-152a": "75-37-6", "R-290": "74-98-6", "R-600a": "75-28-5", "R-717": "7664-41-7",
    "R-1270": "115-07-1",
}  # fmt: skip

ACHR = (
    "ACHR News 111771 - achrnews.com/articles/111771-on-the-level-filling-cylinders (AHRI Guideline K-2004)"
)
CFR = "49 CFR 173.304a - filling density 105 % for R-22, as copied in the published rules [S42]"
WORKED = "Published rules reference - section 5.1, worked example of a 50 lb cylinder"

# A room for R-32 at LFL 0.307 and a release height of 0.6 m, as printed.
PANASONIC = (
    "Panasonic WH-ADC0309K3E5 p. 242 - manualshive.com/en/manual/panasonic/wh-adc0309k3e5/4216487?page=242"
)
PANASONIC_MOST_kg = {
    1: 0.138,
    3: 0.414,
    6: 0.829,
    7: 0.907,
    10: 1.084,
    15: 1.328,
    20: 1.533,
    30: 1.877,
    45: 2.299,
}
PANASONIC_LEAST_m2 = {1.84: 28.81, 1.90: 30.72, 2.00: 34.04, 2.10: 37.53, 2.20: 41.19, 2.30: 45.02}
HISENSE = "Hisense Hi-Therma p. 27 - manualslib.mx/manual/929182/Hisense-Hi-Therma-Serie.html?page=27"
HISENSE_LEAST_m2 = {2.4: 49.02, 2.7: 62.04, 3.0: 76.6, 3.5: 104.26}
LG = "LG Therma V HN0913T p. 41 - easymanua.ls/lg/therma-v-hn0913t/manual?p=41"
ASERCOM = (
    "ASERCOM notice - asercom.org/approved-flammable-refrigerants-for-use-in-acs-according-to-iec-60335-2-40"
)
IEC_R32 = 0.307

CARRIER = "Carrier 38C p. 27 - easymanua.ls/carrier/38c-series/manual?p=27"
FUJITSU = "Fujitsu FO*20R p. 28 - manualslib.com/manual/1937512/Fujitsu-Fo20r-Series.html?page=28"
DUCANE = "Ducane 13HPD p. 18 - manualshive.com/en/manual/ducane/13hpd-018-230/2537453?page=18"
UNICO = "Unico IS36G110 p. 10 - easymanua.ls/unico/is36g110/manual?p=10"
SPECIALISTS = "hvacspecialists.info - determining-the-correct-system-charge-weight"


def rows() -> list[Row]:
    """Every figure about weight."""
    return [*_densities(), *_cylinders(), *_rooms(), *_lines()]


def _densities() -> Iterator[Row]:
    for designation, cas in OF_VDI.items():
        for kelvin, name in ((FILLING_K, "77 °F"), (HOTTEST_K, "131 °F")):
            yield _density(designation, name, kelvin, _vdi(cas, kelvin), VDI)
    for designation, cas in OF_PERRY.items():
        outside = _perry(cas, FILLING_K)
        yield _density(designation, "77 °F by Perry", FILLING_K, outside, PERRY)


def _density(designation: str, at: str, kelvin: float, outside: float, source: str) -> Row:
    return Row(
        f"Liquid density, {designation} at {at}",
        liquid_density(designation).at(kelvin),
        outside,
        "kg/m3",
        DENSITY_SHARE * outside,
        source,
        "LIBRARY",
    )


def _vdi(cas: str, kelvin: float) -> float:
    """Density [kg/m3] by the atlas' form: critical density and four terms in 1 - T/Tc."""
    from chemicals import volume

    row: Any = volume.rho_data_VDI_PPDS_2.loc[cas]
    tau = 1 - kelvin / float(row.Tc)
    terms = float(row.A) * tau**0.35 + float(row.B) * tau ** (2 / 3) + float(row.C) * tau
    return float(float(row.rhoc) + terms + float(row.D) * tau ** (4 / 3))


def _perry(cas: str, kelvin: float) -> float:
    """Density [kg/m3] by equation 105 of the handbook."""
    from chemicals import MW, dippr, volume

    row: Any = volume.rho_data_Perry_8E_105_l.loc[cas]
    equation_105: Any = dippr.EQ105
    return float(equation_105(kelvin, row.C1, row.C2, row.C3, row.C4)) * float(MW(cas)) / 1000


def _cylinders() -> Iterator[Row]:
    half_ton = Collar(1000 * POUND, 380 * POUND)
    limit = fill_limit(half_ton, ["R-22"])
    # the article's specific gravity, 1.197, is good to half a percent against property data
    for what, ours, outside in (
        ("most R-22 in 1000 lb of water capacity", limit.net_kg, 957.6),
        ("gross weight with a tare of 380 lb", limit.gross_kg, 1337.6),
    ):
        yield _pounds(f"Fill limit, {what}", ours, outside, 5.0, ACHR, "FOUND")
    gravity = (limit.density_kg_per_m3 or 0.0) / 999.0
    yield Row("Fill limit, R-22 against water at 77 °F", gravity, 1.197, "1", 0.006, ACHR, "FOUND")
    by_law = FILLING_DENSITY["R-22"] * 47.7 * POUND
    yield _pounds("Fill limit, R-22 in 47.7 lb by law", by_law, 1.05 * 47.7, 0.01, CFR, "FOUND")
    fifty = Collar(47.7 * POUND, 28.5 * POUND)
    for designation, outside in (("R-410A", 40.4), ("R-32", 36.7), ("R-22", 45.5)):
        ours = fill_limit(fifty, [designation]).net_kg
        yield _pounds(f"Fill limit, {designation} in 47.7 lb", ours, outside, 0.06, WORKED, "CALCULATED")
    gross = fill_limit(fifty, ["R-410A"]).gross_kg
    yield _pounds("Fill limit, gross weight of 47.7 lb with R-410A", gross, 68.9, 0.06, WORKED, "CALCULATED")


def _pounds(quantity: str, ours_kg: float, outside: float, tolerance: float, source: str, mark: Mark) -> Row:
    return Row(quantity, ours_kg / POUND, outside, "lb", tolerance, source, mark)


def _rooms() -> Iterator[Row]:
    for area, most in PANASONIC_MOST_kg.items():
        ours = most_charge_kg(IEC_R32, 0.6, area)
        yield Row(f"Room, most R-32 in {area} m2 at the floor", ours, most, "kg", 0.00051, PANASONIC, "FOUND")
    for source, table in ((PANASONIC, PANASONIC_LEAST_m2), (HISENSE, HISENSE_LEAST_m2)):
        for charge, least in table.items():
            ours = least_area_m2(charge, IEC_R32, 0.6)
            quantity = f"Room, least for {charge:.2f} kg of R-32 at the floor"
            yield Row(quantity, ours, least, "m2", 0.0051, source, "FOUND")
    yield Row("Room, R-32 free of it", limits("A2L", IEC_R32).m1_kg, 1.842, "kg", 0.0005, LG, "FOUND")
    propane = find("R-290").lfl
    assert propane is not None
    a3 = limits("A3", float(propane.value_kg_per_m3)).m2_kg
    yield Row("Room, most R-290 of a split system", a3, 0.988, "kg", 0.0005, ASERCOM, "FOUND")


def _lines() -> Iterator[Row]:
    def ounces(quantity: str, ours_kg: float, outside: float, source: str, tolerance: float = 0.005) -> Row:
        return Row(
            f"Charge by weight, {quantity}", ours_kg / OUNCE, outside, "oz", tolerance, source, "FOUND"
        )

    factory = 13.5 * OUNCE / (25 * FOOT)  # 13.5 oz for the 25 ft that the maker charges for
    quarter = adder_by_print(0.27)
    yield ounces(
        "25 ft of 1/4 in instead of 3/8 in",
        line_set_allowance_kg(25 * FOOT, quarter, covered_m=25 * FOOT, covered_adder_kg_per_m=factory),
        -6.75,
        CARRIER,
    )
    yield ounces(
        "45 ft of 5/16 in instead of 25 ft of 3/8 in",
        line_set_allowance_kg(
            45 * FOOT,
            adder_for("R-410A", "5/16").kg_per_m,
            covered_m=25 * FOOT,
            covered_adder_kg_per_m=factory,
        ),
        4.5,
        CARRIER,
    )
    yield ounces(
        "75 ft of 1/2 in instead of 15 ft of 3/8 in",
        line_set_allowance_kg(
            75 * FOOT,
            adder_for("R-410A", "1/2").kg_per_m,
            covered_m=15 * FOOT,
            covered_adder_kg_per_m=adder_for("R-410A", "3/8").kg_per_m,
        ),
        81.0,
        FUJITSU,
    )
    twenty = line_set_allowance_kg(60 * FOOT, adder_by_print(0.16), covered_m=40 * FOOT)
    yield ounces("60 ft at 0.16 oz/ft, 40 ft covered", twenty, 3.2, UNICO)
    extra = line_set_allowance_kg(20 * FOOT, adder_by_print(0.58), covered_m=0.0)
    whole = weigh_in_charge_kg(5 * POUND, extra)
    yield ounces("5 lb and 20 ft at 0.58 oz/ft", whole, 5 * 16 + 11.6, SPECIALISTS)
    # a printed adder is rounded to a tenth of an ounce a foot
    each = reckoned_adder("R-22", BORES_m["3/8"]).kg_per_m * FOOT
    yield ounces("a foot of 3/8 in filled with liquid R-22", each, 0.6, DUCANE, 0.05)


def adder_by_print(ounces_per_foot: float) -> float:
    """A printed adder [kg/m]."""
    return ounces_per_foot * OUNCE / FOOT
