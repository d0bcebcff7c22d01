"""The charge by weight against a maker's worked example (FOUND, in the charging reference)."""

from __future__ import annotations

import pytest

from guide.charging.refusal import FigureError
from guide.charging.weigh_in import line_set_allowance_kg, weigh_in_charge_kg

OZ, FT = 0.45359237 / 16, 0.3048


def test_75_ft_of_half_inch_on_a_base_of_15_ft_of_three_eighths_adds_81_oz() -> None:
    extra = line_set_allowance_kg(
        75 * FT, 1.2 * OZ / FT, covered_m=15 * FT, covered_adder_kg_per_m=0.6 * OZ / FT
    )
    assert extra / OZ == pytest.approx(81.0)


def test_a_line_of_the_covered_length_adds_nothing_and_a_shorter_one_takes_away() -> None:
    assert line_set_allowance_kg(5.0, 0.05, covered_m=5.0) == 0.0
    assert line_set_allowance_kg(3.0, 0.05, covered_m=5.0) == pytest.approx(-0.1)


def test_the_charge_is_the_nameplate_and_the_allowance() -> None:
    assert weigh_in_charge_kg(3.6, -0.1) == pytest.approx(3.5)


def test_impossible_figures_are_refused() -> None:
    with pytest.raises(FigureError):
        line_set_allowance_kg(-1.0, 0.05, covered_m=5.0)
    with pytest.raises(FigureError):
        weigh_in_charge_kg(0.1, -0.1)
    with pytest.raises(FigureError):
        weigh_in_charge_kg(float("nan"))
