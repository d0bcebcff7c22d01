"""The charge by weight against a maker's worked example (FOUND, in the charging reference)."""

from __future__ import annotations

import math

import pytest

from guide.charging.line_set import BORES_m, DRIER_kg, adder_for, reckoned_adder
from guide.charging.refusal import FigureError
from guide.charging.weigh_in import (
    NAMEPLATE_DIVISION_kg,
    Part,
    charge,
    line_set_allowance_kg,
    line_set_limit_kg,
    weigh_in_charge_kg,
)

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


def test_makers_adders_come_from_their_tables_and_others_from_the_liquid() -> None:
    printed = adder_for("R-410A", "3/8")
    assert printed.kg_per_m / OZ * FT == pytest.approx(0.60)  # FOUND, four makers
    assert "makers' tables" in printed.source
    reckoned = adder_for("R-32", "3/8 in")
    assert reckoned.kg_per_m / OZ * FT == pytest.approx(0.483, abs=0.002)  # CALCULATED in the reference
    assert "liquid R-32" in reckoned.source


@pytest.mark.parametrize(
    ("designation", "size", "oz_per_ft"),
    [
        ("R-410A", "1/4", 0.198), ("R-410A", "5/16", 0.338), ("R-410A", "3/8", 0.530),
        ("R-410A", "1/2", 1.041), ("R-22", "3/8", 0.606), ("R-32", "3/8", 0.483), ("R-134a", "3/8", 0.615),
    ],
)  # fmt: skip
def test_the_liquid_that_fills_a_line_is_that_of_the_reference(
    designation: str, size: str, oz_per_ft: float
) -> None:
    assert reckoned_adder(designation, BORES_m[size]).kg_per_m / OZ * FT == pytest.approx(
        oz_per_ft, abs=0.002
    )


def test_a_maker_s_adder_lies_within_what_a_reckoned_one_may_be_off_or_above_it() -> None:
    for size in ("1/4", "5/16", "3/8", "1/2"):
        reckoned = reckoned_adder("R-410A", BORES_m[size])
        printed = adder_for("R-410A", size)
        assert reckoned.kg_per_m < printed.kg_per_m < 1.6 * reckoned.kg_per_m


def test_a_size_or_a_refrigerant_that_is_not_known_is_refused() -> None:
    with pytest.raises(FigureError, match="only 1/4"):
        adder_for("R-410A", "9/16")
    with pytest.raises(FigureError, match="no liquid density"):
        adder_for("R-999", "3/8")
    with pytest.raises(FigureError):
        reckoned_adder("R-410A", 0.0)


def test_five_pounds_and_twenty_feet_at_0_58_make_5_lb_11_6_oz() -> None:
    """FOUND, a published worked example, line set of 20 ft beyond the covered length."""
    extra = line_set_allowance_kg(35 * FT, 0.58 * OZ / FT, covered_m=15 * FT)
    assert weigh_in_charge_kg(5 * 16 * OZ, extra) / OZ == pytest.approx(91.6)


def test_a_charge_of_parts_says_each_of_them_and_how_sure_it_is() -> None:
    extra = line_set_allowance_kg(40 * FT, 0.6 * OZ / FT, covered_m=15 * FT)
    sure = line_set_limit_kg(40 * FT, 0.6 * OZ / FT, 0.05 * OZ / FT, covered_m=15 * FT)
    made = charge(
        (
            Part("nameplate", 128 * OZ, NAMEPLATE_DIVISION_kg, "its plate"),
            Part("line set", extra, sure, "the maker's adder"),
            Part("filter-drier", DRIER_kg, 1 * OZ, "the maker's figure"),
        ),
        scale_division_kg=0.25 * OZ,
        weighings=2,
    )

    assert made.total_kg / OZ == pytest.approx(128 + 15 + 6)
    # 1/3 of each squared limit: plate 1, line 1.25 and 0.48, drier 1, scale 4 x 0.125 (CALCULATED)
    by_hand = 2 * math.sqrt((1 + 1.25**2 + 0.48**2 + 1 + 4 * 0.125**2) / 3)
    assert made.uncertainty_kg / OZ == pytest.approx(by_hand, rel=1e-6)
    assert made.words()[-1].startswith("to weigh in: 149.00 oz")


def test_a_line_set_of_the_covered_length_is_as_sure_as_its_length() -> None:
    assert line_set_limit_kg(15 * FT, 0.6 * OZ / FT, 0.3 * OZ / FT, covered_m=15 * FT) == pytest.approx(
        0.02 * 15 * 0.6 * OZ
    )


def test_parts_that_can_not_be_are_refused() -> None:
    for part in (
        Part("nameplate", float("nan"), 0.0, "plate"), Part("nameplate", 1.0, -1.0, "plate"),
        Part("nameplate", -1.0, 0.0, "plate"),
    ):  # fmt: skip
        with pytest.raises(FigureError):
            charge((part,), scale_division_kg=0.007)
