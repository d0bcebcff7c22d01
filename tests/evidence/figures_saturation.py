"""Saturation, superheat and subcooling against printed tables (ours: the shipped curves)."""

from __future__ import annotations

from guide.charging.superheat import superheat_K
from guide.refrigerant.saturation import curve
from guide.units import to_si
from tests.evidence.figure import Row

PSI_Pa = 6894.757293168
ATMOSPHERE_Pa = 101325.0

# The equations of state of the blends state 0.5 % for bubble and dew pressures (FOUND, fluid file of Lemmon
# 2003); a printed table that rests on an older one can be as far off again, so blends are allowed 1 %.
BLEND = 0.01
# The only table of R-407C found lies 1.5 % (1 °F) below that equation throughout; makers' manuals of its time
# rest on the first mixture models.
OLD_BLEND = 0.02
OLD_BLEND_F = 1.2
# The course tables of R-134a rest on an equation that lies up to 0.2 °F apart below the freezing point.
OLD_R134A_F = 0.25

LENNOX_R410A = (
    "Lennox 506083-01 (TSA H4) p. 18 table 5 - manualshive.com/ru/manual/lennox/tsa036h4n41/1876687?page=18"
)
LENNOX_R410A_PSIG = (
    (32, 100.8), (36, 109.2), (40, 118.0), (48, 137.1), (55, 155.5), (63, 178.5), (70, 200.6), (80, 235.3),
    (95, 295.1), (100, 317.2), (110, 365.0), (115, 390.7), (125, 445.9), (130, 475.6), (141, 545.6),
    (150, 608.1),
)  # fmt: skip

DUPONT_R410A = "Producer's SI table of R-410A - text.123docz.net/document/9777293-bang-tra-moi-chat-r410a.htm"
DUPONT_R410A_kPa = (
    (-40, 176.2, 175.8), (-35, 219.6, 219.0), (-30, 270.8, 270.1), (-25, 330.9, 329.9), (-22, 371.5, 370.5),
)  # fmt: skip

MORAN_R22 = (
    "Moran and Shapiro table A-7 - studmed.ru/view/moran-mj-shapiro-hn-fundamentals-of-"
    "engineering-thermodynamics_ed2d0c55b26.html?page=92"
)
# The copy prints the minus sign of a temperature as a 2.
MORAN_R22_bar = (
    (-40, 1.0522), (-36, 1.2627), (-30, 1.6389), (-20, 2.4534), (-14, 3.0733), (-10, 3.5485), (-4, 4.3638),
    (0, 4.9811), (2, 5.3133),
)  # fmt: skip

ICP_R22 = (
    "ICP HHP036 installation instructions fig. 9 - "
    "manuzoid.com/manuals/YNaak-ICP%20HHP036AKA1%20Owner's%20manual"
)
ICP_R22_PSIG = (
    (0, 24.0), (20, 43.0), (30, 54.9), (40, 68.5), (45, 76.0), (50, 84.0), (60, 101.6), (75, 132.2),
    (90, 168.4), (100, 195.9), (105, 210.8), (110, 226.4), (115, 242.7),
)  # fmt: skip

ALLCHEMI_R32 = "Handbook page on R-32 appendix 9 - allchemi.com/eng/refregerants/appendix9.html"
ALLCHEMI_R32_bar = (
    (-40, 1.777), (-30, 2.737), (-20, 4.060), (-10, 5.831), (0, 8.139), (10, 11.081), (20, 14.759),
    (25, 16.908), (30, 19.283), (40, 24.781), (45, 27.941), (50, 31.403),
)  # fmt: skip

COURSE_R134A = (
    "Engineering course tables of R-134a - ecoursesbook.com/cgi-bin/ebook.cgi?topic=th"
    "&chap_sec=Refrigerant_134a&page=steam_US"
)
COURSE_R134A_psia = ((10, -29.71), (15, -14.25), (20, -2.48), (30, 15.38), (40, 29.04), (50, 40.27))
COLLEGE_R134A = (
    "Engineering reference of superheated R-134a - engineersedge.com/thermodynamics/"
    "superheated_r134a_thermodynamic_properties_table_14802.htm"
)
COLLEGE_R134A_kPa = ((800, 31.30), (1000, 39.37), (1200, 46.31), (1400, 52.42))
PRODUCER_R134A = (
    "Producer's sheet of R-134a - pdfcoffee.com/freon-134a-si-thermodynamic-properties-pdf-free.html"
)

LIEBERT_R407C = "Liebert ITR p. 57 table 33 - office.manualsonline.com/manuals/mfg/liebert/itr.html?p=63"
LIEBERT_R407C_kPa = (
    (36, 500), (40, 544), (46, 615), (50, 664), (60, 801), (70, 954), (76, 1055), (94, 1402), (100, 1532),
    (104, 1624), (110, 1769), (116, 1922), (120, 2029), (122, 2085),
)  # fmt: skip
LEMMON_R407C = "Fluid file of Lemmon's R-407C equation - Int. J. Thermophys. 24(4) 2003"

COMFORTNET = (
    "ComfortNet SZC p. 9 - manualshelf.com/manual/comfortnet/szc-16-seer/specifications-english/page-9.html"
)
COMFORTNET_SUCTION = {
    "R-22": ((60, 34), (68, 40), (70, 41), (80, 48), (90, 53), (100, 59)),
    "R-410A": ((100, 31), (110, 36), (120, 41), (130, 45), (140, 49), (150, 53)),
}
COMFORTNET_LIQUID = {
    "R-22": ((200, 101), (225, 110), (245, 116), (275, 124), (305, 133)),
    "R-410A": ((275, 90), (305, 97), (355, 108), (405, 118), (475, 130), (525, 138)),
}

CARRIER_SUCTION = (
    "Carrier 38VTA table 5 - "
    "manuals.online/carrier/heat-pump/38vta040/dimensions-and-installation-guide/19xq4"
)
CARRIER_R22_LINE_F = (
    (61.5, 45, 10),
    (67.1, 49, 10),
    (73.0, 53, 10),
    (79.2, 57, 10),
    (85.7, 63, 12),
    (70.0, 55, 14),
)
CARRIER_SUCTION_SI = "Carrier 38TUA p. 10 table 7 - manualshive.com/en/manual/carrier/38tua/2561896?page=10"
CARRIER_R22_LINE_C = ((424, 1.7), (463, 3.9), (503, 6.1), (546, 8.3), (591, 10.6))

SLOPES = "Charging reference data/saturation_slope.csv - the same property library, CoolProp 8.0"
SLOPES_F_per_psi = (
    ("R-410A", "dew", 40, 0.439), ("R-410A", "bubble", 110, 0.198), ("R-22", "dew", 40, 0.688),
    ("R-22", "bubble", 110, 0.313), ("R-32", "dew", 40, 0.429), ("R-32", "bubble", 110, 0.193),
    ("R-134a", "dew", 40, 1.036), ("R-134a", "bubble", 110, 0.426), ("R-407C", "dew", 40, 0.685),
    ("R-407C", "bubble", 110, 0.274),
)  # fmt: skip


def rows() -> list[Row]:
    """Every figure of saturation."""
    return [
        *_r410a(), *_r22(), *_r32(), *_r134a(), *_r407c(), *_whole_degrees(), *_superheat(), *_slopes(),
        *_critical(),
    ]  # fmt: skip


def _kelvin(fahrenheit: float) -> float:
    return float(to_si(fahrenheit, "F"))


def _fahrenheit(kelvin: float) -> float:
    return kelvin * 1.8 - 459.67


def _psig(pressure_Pa: float) -> float:
    return (pressure_Pa - ATMOSPHERE_Pa) / PSI_Pa


def _pressure_Pa(psig: float) -> float:
    return psig * PSI_Pa + ATMOSPHERE_Pa


def _r410a() -> list[Row]:
    known = curve("R-410A")
    found = [
        Row(
            f"R-410A, bubble pressure at {fahrenheit} °F",
            _psig(known.bubble_pressure_Pa(_kelvin(fahrenheit))),
            psig, "psig", BLEND * (psig + 14.696), LENNOX_R410A, "FOUND",
        )
        for fahrenheit, psig in LENNOX_R410A_PSIG
    ]  # fmt: skip
    for celsius, liquid, vapour in DUPONT_R410A_kPa:
        at_K = celsius + 273.15
        for side, ours_Pa, outside in (
            ("bubble", known.bubble_pressure_Pa(at_K), liquid),
            ("dew", known.dew_pressure_Pa(at_K), vapour),
        ):
            found.append(
                Row(
                    f"R-410A, {side} pressure at {celsius} °C", ours_Pa / 1000, outside, "kPa",
                    BLEND * outside, DUPONT_R410A, "FOUND",
                )
            )  # fmt: skip
    return found


def _r22() -> list[Row]:
    known = curve("R-22")
    moran = [
        Row(
            f"R-22, saturation pressure at {celsius} °C", known.dew_pressure_Pa(celsius + 273.15) / 1e5, bar,
            "bar", 0.002 * bar, MORAN_R22, "FOUND",
        )
        for celsius, bar in MORAN_R22_bar
    ]  # fmt: skip
    icp = [
        Row(
            f"R-22, saturation pressure at {fahrenheit} °F",
            _psig(known.dew_pressure_Pa(_kelvin(fahrenheit))), psig, "psig", 0.15, ICP_R22, "FOUND",
        )
        for fahrenheit, psig in ICP_R22_PSIG
    ]  # fmt: skip
    return moran + icp


def _r32() -> list[Row]:
    known = curve("R-32")
    return [
        Row(
            f"R-32, saturation pressure at {celsius} °C", known.dew_pressure_Pa(celsius + 273.15) / 1e5, bar,
            "bar", 0.002 * bar, ALLCHEMI_R32, "FOUND",
        )
        for celsius, bar in ALLCHEMI_R32_bar
    ]  # fmt: skip


def _r134a() -> list[Row]:
    known = curve("R-134a")
    course = [
        Row(
            f"R-134a, saturation temperature at {psia} psia",
            _fahrenheit(known.dew_temperature_K(psia * PSI_Pa)), fahrenheit, "°F", OLD_R134A_F, COURSE_R134A,
            "FOUND",
        )
        for psia, fahrenheit in COURSE_R134A_psia
    ]  # fmt: skip
    college = [
        Row(
            f"R-134a, saturation temperature at {kPa} kPa", known.dew_temperature_K(kPa * 1000) - 273.15,
            celsius, "°C", 0.05, COLLEGE_R134A, "FOUND",
        )
        for kPa, celsius in COLLEGE_R134A_kPa
    ]  # fmt: skip
    boiling = known.dew_temperature_K(ATMOSPHERE_Pa) - 273.15
    return [
        *course, *college,
        Row("R-134a, boiling point at one atmosphere", boiling, -26.06, "°C", 0.02, PRODUCER_R134A, "FOUND"),
    ]  # fmt: skip


def _r407c() -> list[Row]:
    known = curve("R-407C")
    table = [
        Row(
            f"R-407C, bubble pressure at {fahrenheit} °F",
            (known.bubble_pressure_Pa(_kelvin(fahrenheit)) - ATMOSPHERE_Pa) / 1000, float(kPa), "kPa gauge",
            OLD_BLEND * (kPa + 101.325), LIEBERT_R407C, "FOUND",
        )
        for fahrenheit, kPa in LIEBERT_R407C_kPa
    ]  # fmt: skip
    boiling = known.bubble_temperature_K(ATMOSPHERE_Pa)
    liquid = _fahrenheit(known.bubble_temperature_K(_pressure_Pa(200)))
    return [
        *table,
        Row(
            "R-407C, bubble temperature at 200 psig", liquid, 93.0, "°F", OLD_BLEND_F, LIEBERT_R407C, "FOUND"
        ),
        Row("R-407C, bubble point at one atmosphere", boiling, 229.52, "K", 0.01, LEMMON_R407C, "FOUND"),
    ]


def _whole_degrees() -> list[Row]:
    found = []
    for tables, side in ((COMFORTNET_SUCTION, "dew"), (COMFORTNET_LIQUID, "bubble")):
        for name, pairs in tables.items():
            known = curve(name)
            lookup = known.dew_temperature_K if side == "dew" else known.bubble_temperature_K
            found += [
                Row(
                    f"{name}, {side} temperature at {psig} psig", _fahrenheit(lookup(_pressure_Pa(psig))),
                    float(fahrenheit), "°F", 1.0, COMFORTNET, "FOUND",
                )
                for psig, fahrenheit in pairs
            ]  # fmt: skip
    return found


def _superheat() -> list[Row]:
    known = curve("R-22")
    by_table = [
        Row(
            f"Superheat, R-22 at {psig:g} psig with a line of {line} °F",
            superheat_K(known, suction_pressure_Pa=_pressure_Pa(psig), suction_line_K=_kelvin(line)) * 1.8,
            float(superheat), "°F", 0.5, CARRIER_SUCTION, "FOUND",
        )
        for psig, line, superheat in CARRIER_R22_LINE_F
    ]  # fmt: skip
    saturated = [
        Row(
            f"Superheat, R-22 line without superheat at {kPa} kPa gauge",
            known.dew_temperature_K(kPa * 1000 + ATMOSPHERE_Pa) - 273.15, celsius, "°C", 0.15,
            CARRIER_SUCTION_SI, "FOUND",
        )
        for kPa, celsius in CARRIER_R22_LINE_C
    ]  # fmt: skip
    return [*by_table, *saturated]


def _slopes() -> list[Row]:
    found = []
    for name, side, fahrenheit, slope in SLOPES_F_per_psi:
        known = curve(name)
        at_K = _kelvin(fahrenheit)
        ours = (
            known.dew_slope_K_per_Pa(known.dew_pressure_Pa(at_K))
            if side == "dew"
            else known.bubble_slope_K_per_Pa(known.bubble_pressure_Pa(at_K))
        )
        found.append(
            Row(
                f"Saturation slope, {name} {side} at {fahrenheit} °F", ours * 1.8 * PSI_Pa, slope, "°F/psi",
                0.0006, SLOPES, "CALCULATED",
            )
        )  # fmt: skip
    return found


def _critical() -> list[Row]:
    from chemicals import Pc

    cas = {"R-22": "75-45-6", "R-32": "75-10-5", "R-134a": "811-97-2"}
    return [
        Row(
            f"{name}, critical pressure", curve(name).critical_pressure_Pa / 1e6, float(Pc(number)) / 1e6,
            "MPa", 0.02, "chemicals - Pc", "LIBRARY",
        )
        for name, number in cas.items()
    ]  # fmt: skip
