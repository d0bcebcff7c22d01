"""Target superheat and the indoor split against printed tables."""

from __future__ import annotations

from guide.charging.signature import target_split_K
from guide.charging.target import target_as_given, target_by_rule, target_by_table
from guide.charging.wording import K_PER_F, from_F
from tests.evidence.figure import Row

CARRIER = (
    "Carrier 38VTA table 4 - "
    "manuals.online/carrier/heat-pump/38vta040/dimensions-and-installation-guide/19xq4"
)
CARRIER_WB_F = (50, 52, 54, 56, 58, 60, 62, 64, 66, 68, 70, 72, 74, 76)
# Whole degrees; None is a dash.
CARRIER_F = {
    55: (9, 12, 14, 17, 20, 23, 26, 29, 32, 35, 37, 40, 42, 45),
    75: (None, None, None, 6, 9, 12, 15, 18, 21, 24, 28, 31, 34, 37),
    85: (None, None, None, None, None, None, 8, 11, 15, 19, 22, 26, 30, 33),
    95: (None, None, None, None, None, None, None, 6, 10, 14, 18, 22, 25, 29),
    105: (None, None, None, None, None, None, None, None, None, 9, 13, 17, 22, 26),
    115: (None, None, None, None, None, None, None, None, None, None, 8, 14, 18, 23),
}
LENNOX = (
    "Lennox 14ACX p. 26 - homeappliance.manualsonline.com/manuals/mfg/lennox_international_inc/"
    "merit_series_14acx_units.html?p=26"
)
LENNOX_F = {
    60: (7, 10, 12, 15, 18, 21, 24, 27, 30, 33, 35, 38, 40, 43),
    70: (None, None, 7, 10, 13, 16, 19, 21, 24, 27, 30, 33, 36, 39),
    80: (None, None, None, None, None, 8, 12, 15, 18, 21, 25, 28, 31, 35),
    90: (None, None, None, None, None, None, None, 9, 13, 16, 20, 24, 27, 31),
    100: (None, None, None, None, None, None, None, None, 8, 12, 16, 21, 24, 28),
    110: (None, None, None, None, None, None, None, None, None, 6, 11, 15, 20, 25),
}
CARRIER_SI = "Carrier 38TUA p. 10 table 6 - manualshive.com/en/manual/carrier/38tua/2561896?page=10"
# Outdoor and wet bulb in whole °C, which round the Fahrenheit places: 35 °C is 95 °F, 21 °C stands for 70 °F.
CARRIER_SI_C = ((95, 64, 3.3), (95, 68, 7.8), (95, 70, 10.0), (95, 72, 12.2), (95, 74, 13.9), (95, 76, 16.1))
ARTICLE = (
    "Trade teaching article Target Superheat - updated June 2020, cited in the charging reference section 2"
)
RULE_F = ((64, 96, 8.0), (66, 90, 14.0))
FLOOR = "Title 24 RA3 2008 p. 15 - manualshelf.com/manual/airflow/ra3/specifications-english/page-15.html"
SPLIT = "Title 24 table RA3.2-3 - charging reference data/target_temp_split_ra32.csv"
SPLIT_F = (
    (70, 60, 17.7), (70, 65, 14.4), (72, 58, 19.8), (75, 55, 22.6), (75, 62, 19.3), (75, 66, 16.4),
    (80, 63, 21.3), (80, 67, 18.3),
)  # fmt: skip


def rows() -> list[Row]:
    """Every figure of targets."""
    return [*_tables(), *_rule_and_floor(), *_split()]


def _table_F(wb_F: float, db_F: float) -> float:
    value_K = target_by_table(from_F(wb_F), from_F(db_F)).value_K
    return float("nan") if value_K is None else value_K / K_PER_F


def _tables() -> list[Row]:
    found = []
    # 1.0 °F is half a printed degree and the half degree to which the table itself is good; the second maker
    # differs from the first by 1 °F at the hot end.
    for cells, source, within_F in ((CARRIER_F, CARRIER, 1.0), (LENNOX_F, LENNOX, 1.5)):
        for db, printed in cells.items():
            for wb, target in zip(CARRIER_WB_F, printed, strict=True):
                if target is not None:
                    found.append(
                        Row(
                            f"Target superheat, {db} °F outdoors and {wb} °F wet bulb", _table_F(wb, db),
                            float(target), "°F", within_F, source, "FOUND",
                        )
                    )  # fmt: skip
    found += [
        Row(
            f"Target superheat, {db} °F outdoors and {wb} °F wet bulb in kelvin", _table_F(wb, db) * K_PER_F,
            kelvin, "K", 0.56, CARRIER_SI, "FOUND",
        )
        for db, wb, kelvin in CARRIER_SI_C
    ]  # fmt: skip
    return found


def _rule_and_floor() -> list[Row]:
    found = []
    for wb, db, printed in RULE_F:
        value_K = target_by_rule(from_F(wb), from_F(db)).value_K
        ours = float("nan") if value_K is None else value_K / K_PER_F
        found.append(
            Row(
                f"Rule of thumb, {wb} °F wet bulb and {db} °F outdoors", ours, printed, "°F", 0.01, ARTICLE,
                "FOUND",
            )
        )  # fmt: skip
    tenths = (tenth for tenth in range(1, 200) if target_as_given(tenth / 10 * K_PER_F).valid)
    found.append(
        Row("Target superheat, lowest that is charged to", next(tenths) / 10, 5.0, "°F", 0.05, FLOOR, "FOUND")
    )
    return found


def _split() -> list[Row]:
    return [
        Row(
            f"Target split, {db} °F return air and {wb} °F wet bulb",
            target_split_K(from_F(db), from_F(wb)) / K_PER_F, printed, "°F", 0.1, SPLIT, "MEMORY",
        )
        for db, wb, printed in SPLIT_F
    ]  # fmt: skip
