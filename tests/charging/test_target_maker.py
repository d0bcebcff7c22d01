"""The maker's own table of target superheat stands in the place of the built-in one."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.advice import advise
from guide.charging.meaning import interpret, target_of
from guide.charging.refusal import FigureError
from guide.charging.round import Action, Appliance, Metering, Round
from guide.charging.target import Method, cross_check, target_by_rule
from guide.charging.target_maker import MakerTable
from guide.charging.wording import K_PER_F, from_F
from guide.refrigerant.saturation import curve

PRINTED = Path(__file__).parent / "data" / "target_superheat_maker_a.csv"
"""FOUND: Carrier 38VTA, table 4; see the charging reference, section 1.2."""


def table_in_F(
    wet_bulbs: tuple[float, ...],
    rows: dict[float, tuple[float | None, ...]],
    source: str = "chart on the unit",
) -> MakerTable:
    return MakerTable(
        source,
        tuple(from_F(wb) for wb in wet_bulbs),
        tuple(from_F(db) for db in rows),
        tuple(tuple(None if f is None else f * K_PER_F for f in row) for row in rows.values()),
    )


def printed() -> MakerTable:
    with PRINTED.open(encoding="utf-8") as file:
        lines = [line for line in csv.reader(file) if line and not line[0].startswith("#")]
    head, *rest = lines
    wet_bulbs = tuple(float("".join(c for c in name if c.isdigit())) for name in head[1:])
    rows = {
        float(line[0]): tuple(float(cell) if cell.strip(" -") else None for cell in line[1:]) for line in rest
    }
    return table_in_F(wet_bulbs, rows)


SMALL = table_in_F(
    (60.0, 64.0, 70.0), {75.0: (12.0, 18.0, 28.0), 85.0: (None, 11.0, 22.0), 100.0: (None, None, 15.0)}
)


def value_F(table: MakerTable, wb_F: float, db_F: float) -> float | None:
    value_K = table.target(from_F(wb_F), from_F(db_F)).value_K
    return None if value_K is None else value_K / K_PER_F


@pytest.mark.parametrize(
    ("wb_F", "db_F", "target_F"),
    [(50, 55, 9), (76, 55, 45), (66, 95, 10), (67, 95, 12), (72, 115, 14), (70, 100, 15), (73, 107.5, 18.5)],
)
def test_a_printed_table_is_read_at_and_between_its_places(wb_F: float, db_F: float, target_F: float) -> None:
    # Places FOUND, as printed; between them CALCULATED: (17 + 22 + 15 + 20) / 4 at 73/107.5 °F.
    assert value_F(printed(), wb_F, db_F) == pytest.approx(target_F)


def test_uneven_steps_are_read_by_their_own_width() -> None:
    assert value_F(SMALL, 67.0, 75.0) == pytest.approx(23.0)
    assert value_F(SMALL, 64.0, 80.0) == pytest.approx(14.5)
    assert value_F(SMALL, 70.0, 95.0) == pytest.approx(22.0 - 7.0 * 2.0 / 3.0)


def test_slopes_are_those_of_the_cell() -> None:
    target = SMALL.target(from_F(67.0), from_F(80.0))
    assert target.slope_per_wb == pytest.approx((25.0 - 14.5) / 6.0)
    assert target.slope_per_db == pytest.approx(-(23.0 - 16.5) / 10.0)
    edge = SMALL.target(from_F(70.0), from_F(100.0))
    assert edge.slope_per_db == pytest.approx(-7.0 / 15.0)


@pytest.mark.parametrize(
    ("wb_F", "db_F", "words"),
    [
        (62.0, 80.0, "has a dash"),
        (66.0, 90.0, "has a dash"),
        (59.0, 75.0, "starts at 60.0 °F"),
        (66.0, 101.0, "ends at 100.0 °F"),
        (66.0, 70.0, "starts at 75.0 °F"),
    ],
)
def test_beside_the_table_and_over_a_dash_there_is_no_target(wb_F: float, db_F: float, words: str) -> None:
    target = SMALL.target(from_F(wb_F), from_F(db_F))
    assert not target.valid
    assert target.value_K is None
    assert words in target.reasons[0]
    assert "chart on the unit" in target.reasons[0]
    assert "eigh the charge in" in target.reasons[0]


def test_on_the_edge_of_a_dash_the_printed_place_counts() -> None:
    assert value_F(SMALL, 64.0, 85.0) == pytest.approx(11.0)
    assert SMALL.target(from_F(64.0) - 0.02, from_F(85.0) + 0.02).valid  # kelvin written to a hundredth


def test_what_a_maker_prints_below_5_F_is_not_charged_to() -> None:
    low = table_in_F((60.0, 70.0), {75.0: (3.0, 13.0), 85.0: (0.0, 10.0)})
    assert value_F(low, 62.0, 75.0) == pytest.approx(5.0)
    target = low.target(from_F(61.0), from_F(75.0))
    assert not target.valid
    assert "below 5 °F" in target.reasons[0]


@given(st.floats(min_value=40.0, max_value=90.0), st.floats(min_value=40.0, max_value=130.0))
@settings(max_examples=200, deadline=None)
def test_no_target_lies_beyond_the_figures_of_the_table(wb_F: float, db_F: float) -> None:
    target = printed().target(from_F(wb_F), from_F(db_F))
    assert target.valid == (target.value_K is not None)
    if target.value_K is not None:
        assert 5.0 * K_PER_F - 1e-6 <= target.value_K <= 45.0 * K_PER_F + 1e-6
        assert 50.0 - 0.06 <= wb_F <= 76.0 + 0.06
        assert 55.0 - 0.06 <= db_F <= 115.0 + 0.06


def test_the_rule_of_thumb_asks_to_measure_again_beside_a_maker_s_table_too() -> None:
    far = SMALL.target(from_F(70.0), from_F(75.0))  # 28 °F; the rule says 27.5
    assert cross_check(far, target_by_rule(from_F(70.0), from_F(75.0))) == ()
    high = table_in_F((60.0, 70.0), {75.0: (12.0, 31.0), 85.0: (8.0, 26.0)})
    said = cross_check(high.target(from_F(70.0), from_F(75.0)), target_by_rule(from_F(70.0), from_F(75.0)))
    assert len(said) == 1
    assert "measure the indoor wet bulb" in said[0]


def unit(table: MakerTable | None) -> Appliance:
    return Appliance(
        curve=curve("R-410A"),
        safety_group="A1",
        metering=Metering.FIXED_ORIFICE,
        nameplate_charge_kg=3.2,
        site_pressure_Pa=101325.0,
        target_table=table,
    )


NOW = Round(
    net_charged_kg=0.0,
    minutes_since_change=20.0,
    suction_pressure_Pa=118.0 * 6894.757 + 101325.0,
    suction_line_K=from_F(52.0),
    liquid_pressure_Pa=360.0 * 6894.757 + 101325.0,
    liquid_line_K=from_F(98.0),
    indoor_db_K=from_F(80.0),
    indoor_wb_K=from_F(67.0),
    supply_db_K=from_F(61.7),
    outdoor_db_K=from_F(95.0),
)


def test_the_maker_s_table_goes_before_the_built_in_one_and_is_named() -> None:
    higher = table_in_F((60.0, 70.0), {75.0: (20.0, 30.0), 100.0: (18.0, 28.0)}, "plate inside the cover")
    ours, theirs = interpret(unit(None), NOW), interpret(unit(higher), NOW)
    assert ours.target_superheat_K == pytest.approx(12.0 * K_PER_F, abs=0.1)
    assert theirs.target_superheat_K == pytest.approx(25.4 * K_PER_F, abs=1e-6)
    assert any("plate inside the cover" in reason for reason in theirs.reasons)
    assert theirs.target_superheat_uncertainty_K is not None
    assert theirs.target_superheat_uncertainty_K > 0.0
    target = target_of(unit(higher), NOW)
    assert target is not None
    assert target.method is Method.MAKER


def test_one_target_from_the_maker_goes_before_the_maker_s_table() -> None:
    given_too = replace(unit(SMALL), target_superheat_K=6.0)
    assert interpret(given_too, NOW).target_superheat_K == 6.0


def test_over_a_dash_of_the_maker_s_table_nothing_is_moved() -> None:
    dashed = table_in_F((60.0, 70.0), {75.0: (12.0, 28.0), 100.0: (None, 15.0)})
    advice = advise(unit(dashed), (NOW,))
    assert advice.action is Action.STOP
    assert advice.amount_kg == 0
    assert any("has a dash" in reason for reason in advice.reasons)


@pytest.mark.parametrize(
    ("wet_bulbs", "rows", "words"),
    [
        ((60.0,), {75.0: (12.0,), 85.0: (8.0,)}, "2 to 60 wet bulbs"),
        ((60.0, 70.0), {75.0: (12.0, 28.0)}, "2 to 60 outdoor"),
        ((70.0, 60.0), {75.0: (28.0, 12.0), 85.0: (22.0, 8.0)}, "must rise"),
        ((60.0, 70.0), {85.0: (8.0, 22.0), 75.0: (12.0, 28.0)}, "must rise"),
        ((60.0, 70.0), {75.0: (12.0, 28.0), 85.0: (8.0,)}, "has 1 figures for 2"),
        ((60.0, 70.0), {75.0: (12.0, 28.0), 85.0: (8.0, 220.0)}, "no target superheat"),
        ((60.0, 70.0), {75.0: (12.0, 28.0), 85.0: (28.0, 8.0)}, "rises with the wet bulb"),
        ((60.0, 70.0), {75.0: (12.0, 28.0), 85.0: (8.0, 29.0)}, "falls as it gets warmer"),
        ((60.0, 70.0), {75.0: (None, None), 85.0: (None, None)}, "nothing but dashes"),
        ((600.0, 700.0), {75.0: (12.0, 28.0), 85.0: (8.0, 20.0)}, "check the unit"),
        ((60.0, float("nan")), {75.0: (12.0, 28.0), 85.0: (8.0, 20.0)}, "measure it again"),
    ],
)
def test_what_is_no_table_of_target_superheat_is_refused(
    wet_bulbs: tuple[float, ...], rows: dict[float, tuple[float | None, ...]], words: str
) -> None:
    with pytest.raises(FigureError, match=words):
        table_in_F(wet_bulbs, rows)
