"""Recovery levels against 40 CFR 82.156(a), Table 1 (FOUND, copy in the regulations reference)."""

from __future__ import annotations

from datetime import date

import pytest

from guide.charging.recovery_level import PressureClass, recovery_level_Pa
from guide.charging.refusal import FigureError

LB = 0.45359237
OLD, NEW = date(1993, 11, 14), date(1993, 11, 15)


@pytest.mark.parametrize(
    ("group", "pounds", "old", "new"),
    [
        (PressureClass.VERY_HIGH, 8, 0, 0),
        (PressureClass.VERY_HIGH, 300, 0, 0),
        (PressureClass.HIGH, 199.9, 0, 0),
        (PressureClass.HIGH, 200, 4, 10),
        (PressureClass.MEDIUM, 199.9, 4, 10),
        (PressureClass.MEDIUM, 200, 4, 15),
    ],
)
def test_levels_are_those_of_the_table(group: PressureClass, pounds: float, old: int, new: int) -> None:
    for made, inches in ((OLD, old), (NEW, new)):
        level = recovery_level_Pa(group, pounds * LB, made)
        assert (101_325 - level) / 3386.389 == pytest.approx(inches, abs=1e-6)


@pytest.mark.parametrize("made", [OLD, NEW])
def test_low_pressure_is_25_mm_of_mercury_absolute(made: date) -> None:
    assert recovery_level_Pa(PressureClass.LOW, 100.0, made) == pytest.approx(3333, abs=1)  # 25,000 micron


@pytest.mark.parametrize("charge", [0.0, -1.0, float("nan"), float("inf")])
def test_an_impossible_charge_is_refused(charge: float) -> None:
    with pytest.raises(FigureError):
        recovery_level_Pa(PressureClass.HIGH, charge, NEW)


def test_an_impossible_date_is_refused() -> None:
    with pytest.raises(FigureError, match="plate"):
        recovery_level_Pa(PressureClass.HIGH, 3.0, date(193, 11, 15))
