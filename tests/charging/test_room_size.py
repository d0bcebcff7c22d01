"""Charge limits and room sizes against makers' printed tables (FOUND) as in the regulations reference 6.1."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.refusal import FigureError
from guide.charging.room_size import (
    RoomCheck,
    Standing,
    check,
    least_area_m2,
    limits,
    most_charge_kg,
)

LFL_IEC = 0.307
"""R-32 in IEC 60335-2-40, by which the maker's table is reckoned."""


def judged(charge_kg: float, area_m2: float | None, group: str = "A2L", lfl: float = LFL_IEC) -> RoomCheck:
    return check("R-32", group, lfl, charge_kg, area_m2=area_m2, release_height_m=0.6)


def test_ten_square_metres_at_the_floor_take_what_the_maker_s_table_prints() -> None:
    assert most_charge_kg(LFL_IEC, 0.6, 10.0) == pytest.approx(1.084, abs=0.0005)  # FOUND: 1,084 kg


def test_two_kilograms_ask_for_the_room_that_the_maker_s_table_prints() -> None:
    assert least_area_m2(2.0, LFL_IEC, 0.6) == pytest.approx(34.04, abs=0.005)  # FOUND: 34,04 m2


def test_at_a_wall_the_straight_branch_decides() -> None:
    assert least_area_m2(2.0, LFL_IEC, 1.8) == pytest.approx(4.83, abs=0.005)  # COMPUTED


def test_the_limits_that_makers_print() -> None:
    assert limits("A2L", LFL_IEC).m1_kg == pytest.approx(1.842, abs=0.0005)  # FOUND: free below 1.84 kg
    assert limits("A3", 0.038).m2_kg == pytest.approx(0.988, abs=0.0005)  # FOUND: 988 g
    assert limits("A2L", LFL_IEC).m2_kg == pytest.approx(15.96, abs=0.01)  # factor 52 MEMORY
    assert limits("A2L", LFL_IEC).m3_kg == pytest.approx(79.8, abs=0.05)  # factor 260 MEMORY


@settings(max_examples=80, deadline=None)
@given(st.floats(0.02, 0.4), st.floats(0.3, 3.0), st.floats(1.0, 500.0))
def test_the_least_room_of_the_most_charge_is_the_room_itself(lfl: float, height: float, area: float) -> None:
    assert least_area_m2(most_charge_kg(lfl, height, area), lfl, height) == pytest.approx(area, rel=1e-9)


def test_each_standing_is_told_in_words() -> None:
    assert judged(1.8, None).standing is Standing.FREE
    assert judged(2.0, None).standing is Standing.ROOM_UNKNOWN
    assert judged(2.0, 35.0).standing is Standing.FITS
    assert judged(2.0, 30.0).standing is Standing.ROOM_TOO_SMALL
    assert judged(20.0, 2000.0).standing is Standing.VENTILATION
    assert judged(90.0, 2000.0).standing is Standing.OUTSIDE
    assert "34.0 m2" in judged(2.0, 30.0).words
    assert "national code" in judged(90.0, None).words


def test_beyond_m3_and_an_a3_beyond_m2_are_refused_an_a2l_between_them_is_not() -> None:
    assert judged(90.0, 2000.0).refused
    assert not judged(20.0, 2000.0).refused
    assert not judged(2.0, 30.0).refused
    assert judged(1.0, 2000.0, "A3", 0.038).refused
    assert not judged(0.5, 2000.0, "A3", 0.038).refused


def test_what_does_not_burn_and_impossible_figures_are_refused() -> None:
    with pytest.raises(FigureError, match="no charge limit"):
        limits("A1", 0.3)
    for lfl, height, area in ((0.0, 0.6, 10.0), (0.3, -1.0, 10.0), (0.3, 0.6, float("nan"))):
        with pytest.raises(FigureError):
            most_charge_kg(lfl, height, area)
    with pytest.raises(FigureError):
        least_area_m2(0.0, 0.3, 0.6)
