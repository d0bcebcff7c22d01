"""The guard band."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.charging.refusal import FigureError
from guide.charging.round import Verdict
from guide.charging.verdict import Bound, all_of, judge, judge_limit

width = st.floats(0, 50)


@given(st.floats(-50, 50), width, width)
def test_undecided_is_exactly_the_guard_band(difference: float, tolerance: float, off: float) -> None:
    verdict = judge(difference, tolerance, off)
    assert (verdict is Verdict.PASS) == (abs(difference) + off <= tolerance)
    assert (verdict is Verdict.FAIL) == (abs(difference) - off > tolerance)


@given(st.floats(-50, 50), st.floats(-50, 50), width)
def test_a_one_sided_limit_is_judged_alike_from_both_sides(value: float, limit: float, off: float) -> None:
    assert judge_limit(value, Bound.AT_MOST, limit, off) is judge_limit(-value, Bound.AT_LEAST, -limit, off)


def test_without_uncertainty_the_limit_itself_passes() -> None:
    assert judge(5.0, 5.0, 0.0) is Verdict.PASS
    assert judge(-5.0, 5.0, 0.0) is Verdict.PASS
    assert judge_limit(500.0, Bound.AT_MOST, 500.0, 0.0) is Verdict.PASS
    assert judge_limit(500.1, Bound.AT_MOST, 500.0, 0.0) is Verdict.FAIL
    assert judge_limit(4.0, Bound.AT_LEAST, 5.0, 0.5) is Verdict.FAIL


def test_title_24_limits_against_its_own_band_need_a_best_estimate_within_one_and_a_half() -> None:
    # FOUND band ± 5 °F (RA3 2008 p. 15); uncertainty 3.45 °F, CALCULATED for R-410A.
    assert judge(1.5, 5.0, 3.45) is Verdict.PASS
    assert judge(1.6, 5.0, 3.45) is Verdict.UNDECIDED
    assert judge(8.4, 5.0, 3.45) is Verdict.UNDECIDED
    assert judge(8.5, 5.0, 3.45) is Verdict.FAIL


def test_several_demands_fail_with_one_and_stay_open_with_one() -> None:
    assert all_of((Verdict.PASS, Verdict.UNDECIDED, Verdict.FAIL)) is Verdict.FAIL
    assert all_of((Verdict.PASS, Verdict.UNDECIDED)) is Verdict.UNDECIDED
    assert all_of((Verdict.PASS, Verdict.PASS)) is Verdict.PASS


@pytest.mark.parametrize(
    ("gap", "tolerance", "off"), [(math.nan, 1, 1), (1, -1, 1), (1, 1, -1), (1, math.inf, 1)]
)
def test_figures_without_sense_are_refused(gap: float, tolerance: float, off: float) -> None:
    with pytest.raises(FigureError):
        judge(gap, tolerance, off)
