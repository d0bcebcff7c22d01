"""Refrigerant that a longer line set takes, against what makers say to add."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from guide.charging.wording import KG_PER_OZ
from guide.rig.plant import Conditions, Design, steady_state
from tests.evidence.plant_model import VALVE, unit
from tests.evidence.plant_published import lines_of
from tests.evidence.plant_row import Compared, around

_M_PER_FT: Final = 0.3048
_M_PER_IN: Final = 0.0254
# Bore [in] of copper tube by outer diameter: wall 0.030 to 0.032 in.
_BORE_IN: Final = {"1/4": 0.190, "5/16": 0.2485, "3/8": 0.311, "1/2": 0.436}
_SUCTION_BORE_IN: Final = 0.68
"""Of 3/4 in tube (CALCULATED from a wall of 0.035 in)."""
_MORE_FT: Final = 25.0


def rows() -> Iterator[Compared]:
    """Makers' adders by liquid line; a vapour line of 3/4 in lies beside it."""
    source = ""
    for number, row in enumerate(_makers(), start=1):
        if not row["source"].startswith("same"):
            source = row["source"].split(",")[0]
        measured = float(row["oz_per_ft"])
        refrigerant, across = row["refrigerant"], row["line_OD_in"]
        low, high = around(measured, max(0.1, 0.2 * measured))
        yield Compared(
            "Longer lines",
            f"{refrigerant}, liquid line of {across} in, figure {number}",
            more_oz_per_ft(refrigerant, across),
            measured,
            low,
            high,
            "oz/ft",
            "± 20 %, at least 0.1; makers round up",
            f"maker's instructions, {source}",
            "FOUND",
        )


def _makers() -> list[dict[str, str]]:
    return [
        row
        for row in lines_of("lineset_charge_oz_per_ft.csv")
        if row["status"] == "FOUND" and row["line_OD_in"] in _BORE_IN and row["refrigerant"] != "unspecified"
    ]


def more_oz_per_ft(refrigerant: str, across: str) -> float:
    """What brings subcooling back to its rated figure after 25 ft more of line, an ounce for each foot."""
    short = unit(refrigerant, VALVE)
    long = replace(
        short,
        rated=replace(
            short.rated,
            liquid_line_m3=short.rated.liquid_line_m3 + _volume_m3(_BORE_IN[across]),
            vapour_m3=short.rated.vapour_m3 + _volume_m3(_SUCTION_BORE_IN),
        ),
    )
    low_kg, high_kg = short.right_charge_kg, 1.5 * short.right_charge_kg
    for _ in range(30):
        middle_kg = 0.5 * (low_kg + high_kg)
        if _subcooling_K(long, middle_kg) < short.rated.subcooling_K:
            low_kg = middle_kg
        else:
            high_kg = middle_kg
    return (low_kg - short.right_charge_kg) / KG_PER_OZ / _MORE_FT


def _volume_m3(bore_in: float) -> float:
    return math.pi / 4.0 * (bore_in * _M_PER_IN) ** 2 * _MORE_FT * _M_PER_FT


def _subcooling_K(made: Design, charge_kg: float) -> float:
    rated = made.rated
    return steady_state(
        made, Conditions(charge_kg, rated.indoor_db_K, rated.indoor_wb_K, rated.outdoor_K)
    ).subcooling_K
