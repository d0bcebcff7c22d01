"""Target superheat against published figures and its own edges."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.charging import target_table
from guide.charging.refusal import FigureError
from guide.charging.target import Method, cross_check, target_as_given, target_by_rule, target_by_table
from guide.charging.wording import K_PER_F, from_F

DATA = Path(__file__).parent / "data"


def table_F(wb_F: float, db_F: float) -> float | None:
    value = target_by_table(from_F(wb_F), from_F(db_F)).value_K
    return None if value is None else value / K_PER_F


def makers_places() -> list[tuple[int, int, float | None]]:
    # FOUND: Carrier 38VTA, Dimensions and Installation Guide, Table 4 (address in the file).
    lines = [
        line for line in (DATA / "target_superheat_maker_a.csv").read_text().splitlines() if line[0] != "#"
    ]
    places: list[tuple[int, int, float | None]] = []
    for row in csv.DictReader(lines):
        for name, cell in row.items():
            if name.startswith("WB"):
                places.append((int(name[2:]), int(row["DB_F"]), float(cell) if cell else None))
    return places


def test_the_table_agrees_with_a_published_makers_table_within_one_degree() -> None:
    gaps = []
    for wb, db, printed in makers_places():
        ours = table_F(wb, db)
        if printed is not None and ours is not None:
            gaps.append(ours - printed)
    assert len(gaps) == 115
    assert max(map(abs, gaps)) <= 1.0 + 1e-9
    assert math.sqrt(sum(gap * gap for gap in gaps) / len(gaps)) < 0.4


def test_where_the_maker_says_dash_the_table_never_gives_a_target() -> None:
    assert [
        place for place in makers_places() if place[2] is None and table_F(place[0], place[1]) is not None
    ] == []


def test_three_corners_that_the_maker_still_charges_are_refused() -> None:
    refused = {
        (wb, db) for wb, db, printed in makers_places() if printed is not None and table_F(wb, db) is None
    }
    assert refused == {(58, 80), (62, 90), (66, 105)}


@pytest.mark.parametrize(
    ("db", "wb", "target", "per_wb", "per_db"),
    # CALCULATED from the 1 °F table (MEMORY, cross-checked); printed in the project's reference.
    [
        (65, 60, 18.5, 1.40, -0.50),
        (75, 63, 16.7, 1.35, -0.60),
        (85, 65, 13.7, 1.80, -0.55),
        (95, 67, 12.0, 1.95, -0.55),
        (105, 70, 13.1, 2.10, -0.50),
    ],
)
def test_local_slopes_are_those_of_the_reference(
    db: int, wb: int, target: float, per_wb: float, per_db: float
) -> None:
    found = target_by_table(from_F(wb), from_F(db))
    assert found.value_K == pytest.approx(target * K_PER_F, abs=1e-6)
    assert found.slope_per_wb == pytest.approx(per_wb, abs=1e-6)
    assert found.slope_per_db == pytest.approx(per_db, abs=1e-6)


@pytest.mark.parametrize(
    ("db", "lowest_wb"),
    # Lower edge of validity, reference list (MEMORY, cross-checked).
    [
        (55, 50),
        (60, 50),
        (65, 51),
        (70, 54),
        (75, 56),
        (80, 59),
        (85, 61),
        (90, 63),
        (95, 64),
        (100, 65),
        (105, 67),
        (110, 68),
        (115, 69),
    ],
)
def test_the_lowest_wet_bulb_with_a_target_is_kept_through_the_unit_conversion(
    db: int, lowest_wb: int
) -> None:
    assert table_F(lowest_wb, db) is not None
    assert table_F(lowest_wb - 1, db) is None


@given(st.floats(50, 76), st.floats(55, 115))
def test_between_places_the_target_follows_the_closed_form(wb: float, db: float) -> None:
    value = table_F(wb, db)
    if value is None:
        return
    w, d = wb - 65, db - 85
    if w >= 0:  # CALCULATED fits of the table, rms 0.03 and 0.05 °F
        form = 13.740594 + 1.7778399 * w - 0.56759647 * d + 0.015045679 * w * d - 0.0031852770 * w**2
        form += 0.00028356298 * d**2 + 0.00027593619 * w**2 * d + 0.000076513422 * w * d**2
        form += 0.000019673694 * w**3 - 0.00000019837 * d**3
    else:
        form = 13.638111 + 1.5779191 * w - 0.56682178 * d + 0.048594412 * w * d - 0.047798085 * w**2
        form += 0.00050797387 * d**2 - 0.0021308304 * w**2 * d + 0.0017378823 * w * d**2
        form += 0.00018357472 * w**3 + 0.00000068092 * d**3
    assert value == pytest.approx(form, abs=0.35)
    assert value >= 5.0 - 1e-9


@pytest.mark.parametrize(("wb", "db", "target"), [(64, 96, 8.0), (66, 90, 14.0)])
def test_the_rule_of_thumb_gives_its_published_examples(wb: int, db: int, target: float) -> None:
    # FOUND: trade teaching article "Target Superheat", updated June 2020.
    found = target_by_rule(from_F(wb), from_F(db))
    assert found.valid
    assert found.method is Method.RULE
    assert found.value_K == pytest.approx(target * K_PER_F, abs=1e-6)


def test_the_rule_says_so_where_the_table_has_no_target() -> None:
    found = target_by_rule(from_F(60), from_F(85))
    assert found.value_K == pytest.approx(7.5 * K_PER_F)
    assert any("don't charge to this figure" in reason for reason in found.reasons)


def test_an_edge_written_in_kelvin_to_a_hundredth_is_still_on_the_table() -> None:
    for wb_K, db_K in ((292.59, 285.92), (292.6, 285.9), (290.92, 308.15), (297.59, 319.26)):
        assert target_by_table(wb_K, db_K).valid, (wb_K, db_K)


@pytest.mark.parametrize(("wb", "db"), [(67, 54.9), (67, 115.1), (49.9, 60), (76.1, 95), (60, 85)])
def test_outside_the_table_there_is_no_target_and_the_words_say_what_to_do(wb: float, db: float) -> None:
    found = target_by_table(from_F(wb), from_F(db))
    assert (found.value_K, found.valid) == (None, False)
    assert all("eigh the charge in" in reason and "°F" in reason for reason in found.reasons)
    assert found.reasons


def test_a_target_below_five_degrees_is_refused_from_the_rule_and_from_the_maker() -> None:
    # FOUND: RA3 2008 p. 15; same article as above.
    assert not target_by_rule(from_F(60), from_F(91)).valid
    assert target_by_rule(from_F(60), from_F(90)).valid
    assert target_as_given(5.0 * K_PER_F).valid
    assert not target_as_given(4.9 * K_PER_F).valid


def test_rule_and_table_far_apart_ask_for_a_second_measurement() -> None:
    hot = (from_F(75), from_F(105))
    assert cross_check(target_by_table(*hot), target_by_rule(*hot))
    mild = (from_F(67), from_F(95))
    assert cross_check(target_by_table(*mild), target_by_rule(*mild)) == ()
    dash = (from_F(60), from_F(85))
    assert cross_check(target_by_table(*dash), target_by_rule(*dash)) == ()


def test_the_table_is_the_one_its_digest_names() -> None:
    assert target_table.digest() == target_table.SHA256
    assert sum(cell is not None for row in target_table.rows() for cell in row) == 1054


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_temperature_that_is_no_number_is_refused_in_words(bad: float) -> None:
    with pytest.raises(FigureError, match="wet bulb"):
        target_by_table(bad, 300.0)
    with pytest.raises(FigureError, match="outdoor"):
        target_by_rule(290.0, bad)
    with pytest.raises(FigureError):
        target_as_given(bad)


@given(st.floats(allow_nan=False, allow_infinity=False), st.floats(allow_nan=False, allow_infinity=False))
def test_no_finite_weather_breaks_the_table(wb_K: float, db_K: float) -> None:
    if max(abs(wb_K), abs(db_K)) < 1e300:
        found = target_by_table(wb_K, db_K)
        assert found.valid == (found.value_K is not None)
