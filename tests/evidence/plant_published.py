"""Published correlations of what wrong charge, little air and other troubles do to a system.

The coefficients stand in `data/*.csv` as they were read, each file with its source. All give ratios to the
sound system at the same weather.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Final

DATA = Path(__file__).parent / "data"
NIST: Final = "NIST TN 1848, Domanski, Henderson, Payne: R-410A split heat pump with a valve, correlation"
NREL_PACKAGED: Final = "Cheung and Braun for NREL: packaged units, fit"
NREL_SPLIT: Final = "Cheung and Braun for NREL: split systems, fit"
NREL_FAULT: Final = "Cheung and Braun for NREL: fit"
CUTLER: Final = "Cutler et al., NREL/TP-5500-56354: airflow polynomial, single-speed cooling"
UNDER_PACKAGED, UNDER_SPLIT = "undercharge, packaged unit (RTU)", "undercharge, split system"
OVER, RESTRICTION, GAS = "overcharge", "liquid line restriction", "non-condensable gas"
AIR_PACKAGED, AIR_SPLIT = (
    "condenser airflow reduction, packaged",
    "condenser airflow reduction, split",
)
MIDDLE_COP: Final = {UNDER_SPLIT: 6.0, AIR_SPLIT: 6.0}
"""Rated COP put into the fits: the middle of each one's range; 4.2 where none stands here."""


def nist(quantity: str, charge_error: float, indoor_C: float, outdoor_C: float) -> float:
    """Ratio of "capacity" or "total power" in cooling at a relative charge error (-0.3 to 0.3)."""
    if charge_error == 0.0:
        return 1.0
    branch = "undercharge F<0" if charge_error < 0.0 else "overcharge F>0"
    a1, a2, a3, a4 = _nist()[quantity, branch]
    return 1.0 + (a1 + a2 * indoor_C + a3 * outdoor_C + a4 * charge_error) * charge_error


def nist_cop(charge_error: float, indoor_C: float, outdoor_C: float) -> float:
    """Ratio of the COP: capacity over power."""
    capacity = nist("capacity", charge_error, indoor_C, outdoor_C)
    return capacity / nist("total power", charge_error, indoor_C, outdoor_C)


def nrel(fault: str, quantity: str, size: float, wet_bulb_C: float = 19.4, outdoor_C: float = 35.0) -> float:
    """Ratio of "capacity" or "EIR" (electric input over capacity) at a fault's size (0 or more)."""
    c1, c2, c3, c4, c5, c6 = _nrel()[fault, quantity]
    wet, outdoor = wet_bulb_C / 273.15 + 1.0, outdoor_C / 273.15 + 1.0
    rated = MIDDLE_COP.get(fault, 4.2)
    return 1.0 + size * (c1 + c2 * wet + c3 * outdoor + c4 * size + c5 * size**2 + c6 * rated)


def nrel_cop(fault: str, size: float) -> float:
    """Ratio of the COP at rating conditions."""
    return 1.0 / nrel(fault, "EIR", size)


def airflow_capacity(share: float) -> float:
    """Capacity ratio at a share of the rated indoor airflow, brought to 1 at the rated flow."""
    return _capacity(share) / _capacity(1.0)


def airflow_eir(share: float) -> float:
    """Electric input ratio at a share of the rated indoor airflow, brought to 1 at the rated flow."""
    return _eir(share) / _eir(1.0)


def _capacity(share: float) -> float:
    return 0.718664047 + 0.41797409 * share - 0.136638137 * share**2


def _eir(share: float) -> float:
    return 1.143487507 - 0.13943972 * share - 0.004047787 * share**2


def charge_spread(charge_error: float, quantity: str) -> float:
    """How far the published fits lie apart ("capacity" or "COP") at one charge, rating conditions."""
    error = abs(charge_error)
    faults = [UNDER_PACKAGED, UNDER_SPLIT] if charge_error < 0.0 else [OVER]
    if quantity == "capacity":
        known = [nist("capacity", charge_error, 26.67, 35.0), *(nrel(f, "capacity", error) for f in faults)]
    else:
        known = [nist_cop(charge_error, 26.67, 35.0), *(nrel_cop(f, error) for f in faults)]
    return max(known) - min(known)


def lines_of(name: str) -> list[dict[str, str]]:
    """The rows of one file of `data`, its comments left out."""
    with (DATA / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@cache
def _nist() -> Mapping[tuple[str, str], tuple[float, float, float, float]]:
    return {
        (row["quantity"], row["branch"]): (
            float(row["a1"]),
            float(row["a2"]),
            float(row["a3"]),
            float(row["a4"]),
        )
        for row in lines_of("nist_charge_fault_coefficients.csv")
        if row["mode"] == "cooling"
    }


@cache
def _nrel() -> Mapping[tuple[str, str], tuple[float, float, float, float, float, float]]:
    return {
        (row["fault"], row["quantity"]): (
            float(row["C1"]),
            float(row["C2"]),
            float(row["C3"]),
            float(row["C4"]),
            float(row["C5"]),
            float(row["C6"]),
        )
        for row in lines_of("nrel_fault_coefficients.csv")
    }
