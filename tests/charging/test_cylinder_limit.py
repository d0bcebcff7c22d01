"""Fill limits against the worked example and the table of the regulations reference, section 3.4 and 5.1."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.cylinder_limit import (
    FILLING_DENSITY,
    LABEL,
    Collar,
    fill_limit,
    retest_against,
    retest_due,
    retest_near,
    room_kg,
    stamp_against,
    stop_at_kg,
    too_strong,
)
from guide.charging.refusal import FigureError
from guide.refrigerant.liquid_density import known
from guide.refrigerant.saturation import curve

LB, PSI = 0.45359237, 6894.757293168
COLLAR = Collar(47.7 * LB, 28.5 * LB)
"""The "50 lb" cylinder of the worked example: water capacity 47.7 lb, tare 28.5 lb, read from its collar."""


@pytest.mark.parametrize(("designation", "net_lb"), [("R-410A", 40.4), ("R-32", 36.7), ("R-22", 45.5)])
def test_the_worked_example_of_a_fifty_pound_cylinder(designation: str, net_lb: float) -> None:
    limit = fill_limit(COLLAR, [designation])

    assert limit.net_kg / LB == pytest.approx(net_lb, abs=0.06)
    assert limit.gross_kg / LB == pytest.approx(28.5 + net_lb, abs=0.06)
    assert limit.rule == "80 % liquid at 77 °F"


def test_the_dot_filling_density_of_r_22_would_allow_more_so_eighty_percent_holds() -> None:
    by_law_lb = FILLING_DENSITY["R-22"] * 47.7
    assert by_law_lb == pytest.approx(50.1, abs=0.05)  # 105 %, FOUND in 49 CFR 173.304a(a)(2)
    assert fill_limit(COLLAR, ["R-22"]).net_kg / LB < by_law_lb


def test_eighty_percent_of_the_water_capacity_alone_would_overfill_what_is_lighter_than_water() -> None:
    rule_of_thumb = 0.8 * 47.7 * LB
    assert fill_limit(COLLAR, ["R-32"]).net_kg < rule_of_thumb
    assert fill_limit(COLLAR, ["R-290"]).net_kg < rule_of_thumb / 2 * 1.01


@pytest.mark.parametrize(
    ("designation", "share"),
    [
        ("R-22", 0.901),
        ("R-32", 0.951),
        ("R-410A", 0.979),
        ("R-404A", 0.972),
        ("R-507A", 0.979),
        ("R-290", 0.898),
    ],
)
def test_the_liquid_s_share_when_hot_is_that_of_the_table(designation: str, share: float) -> None:
    assert fill_limit(COLLAR, [designation]).share_when_hot == pytest.approx(share, abs=0.002)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.sampled_from(known()), min_size=1, max_size=4),
    st.floats(1.0, 200.0),
    st.one_of(st.none(), st.floats(0.5, 200.0)),
)
def test_the_strictest_rule_holds_whatever_is_inside(
    names: list[str], water: float, label: float | None
) -> None:
    collar = Collar(water, 10.0, label_net_kg=label)
    try:
        limit = fill_limit(collar, names)
    except FigureError:
        assert label is None
        return
    assert label is None or limit.net_kg <= label
    if limit.density_kg_per_m3 is not None:
        assert limit.share_of_volume is not None
        assert limit.share_when_hot is not None
        assert limit.share_of_volume <= 0.8 + 1e-12
        assert limit.share_when_hot <= 1.0 + 1e-12
        alone = [fill_limit(Collar(water, 10.0), [name]).net_kg for name in names]
        assert limit.net_kg <= min(alone) + 1e-9


def test_a_label_that_asks_for_less_wins_and_one_that_allows_more_does_not() -> None:
    stricter = fill_limit(Collar(47.7 * LB, 28.5 * LB, label_gross_kg=60 * LB), ["R-410A"])
    assert stricter.gross_kg / LB == pytest.approx(60.0)
    assert stricter.rule == LABEL

    laxer = fill_limit(Collar(47.7 * LB, 28.5 * LB, label_net_kg=45 * LB), ["R-410A"])
    assert laxer.net_kg / LB == pytest.approx(40.4, abs=0.06)


def test_mixed_contents_are_reckoned_by_the_lightest_liquid() -> None:
    mixed = fill_limit(COLLAR, ["R-22", "R-32", "R-410A"])

    assert mixed.reckoned_for == "R-32"
    assert mixed.net_kg == fill_limit(COLLAR, ["R-32"]).net_kg


def test_unknown_contents_are_refused() -> None:
    with pytest.raises(FigureError, match="not known: no fill limit"):
        fill_limit(COLLAR, [])


def test_without_a_density_only_the_label_can_say_how_much() -> None:
    with pytest.raises(FigureError, match="label"):
        fill_limit(COLLAR, ["R-744"])
    limit = fill_limit(Collar(47.7 * LB, 28.5 * LB, label_net_kg=20 * LB), ["R-744"])
    assert (limit.net_kg, limit.rule, limit.density_kg_per_m3) == (20 * LB, LABEL, None)


def test_room_left_is_the_limit_less_the_scale_and_the_stop_never_lies_above_it() -> None:
    limit = fill_limit(COLLAR, ["R-410A"])

    assert room_kg(limit, 28.5 * LB) == pytest.approx(limit.net_kg)
    assert room_kg(limit, 70 * LB) < 0
    for division in (0.0005, 0.007, 0.05):
        at = stop_at_kg(limit, division)
        assert at <= limit.gross_kg + 1e-9
        assert limit.gross_kg - at < division


def test_a_four_hundred_pound_cylinder_takes_r_410a_and_a_three_hundred_and_fifty_one_does_not() -> None:
    """484 psig at 131 °F against 500 and 437.5 psig (COMPUTED in the reference)."""
    strong, weak = (Collar(20.0, 12.0, service_pressure_Pa=p * PSI) for p in (400, 350))

    assert too_strong(strong, curve("R-410A")) is None
    assert "psig" in (too_strong(weak, curve("R-410A")) or "")
    assert "psig" in (too_strong(weak, curve("R-32")) or "")
    assert too_strong(weak, curve("R-134a")) is None
    assert too_strong(Collar(20.0, 12.0), curve("R-410A")) is None


def test_a_weight_that_does_not_go_with_the_collar_is_told() -> None:
    assert stamp_against(COLLAR, 28.5 * LB, said_empty=True, division_kg=0.007) is None
    assert "less than its tare" in (stamp_against(COLLAR, 26 * LB, said_empty=True, division_kg=0.007) or "")
    assert "something is in it" in (stamp_against(COLLAR, 33 * LB, said_empty=True, division_kg=0.007) or "")
    assert stamp_against(COLLAR, 33 * LB, said_empty=False, division_kg=0.007) is None
    heel = Collar(47.7 * LB, 28.5 * LB, heel_kg=4.5 * LB)
    assert stamp_against(heel, 33 * LB, said_empty=True, division_kg=0.007) is None


def test_a_cylinder_past_its_retest_is_not_filled() -> None:
    due, day = date(2026, 11, 24), date(2026, 11, 25)
    assert "emptied, not filled" in (retest_against(due, day) or "")
    assert retest_against(day, day) is None
    assert retest_against(None, day) is None
    assert retest_near(date(2026, 12, 31), day) == "its retest is due on 2026-12-31"
    assert retest_near(date(2027, 6, 1), day) is None
    assert retest_near(due, day) is None
    assert retest_due(date(2022, 4, 30)) == date(2027, 4, 30)
    assert retest_due(date(2024, 2, 29)) == date(2029, 2, 28)


@pytest.mark.parametrize(
    "collar",
    [
        Collar(0.0, 10.0), Collar(20.0, 0.0), Collar(float("nan"), 10.0), Collar(20.0, 10.0, heel_kg=-1.0),
        Collar(20.0, 10.0, label_gross_kg=9.0), Collar(20.0, 10.0, label_net_kg=0.0),
    ],
)  # fmt: skip
def test_impossible_collars_are_refused(collar: Collar) -> None:
    with pytest.raises(FigureError):
        fill_limit(collar, ["R-410A"])
