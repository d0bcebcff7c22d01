"""Bounds that hold whatever the readings."""

from __future__ import annotations

import math
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging import increment
from guide.charging.advice import advise
from guide.charging.increment import LEAST_DIVISIONS
from guide.charging.round import Action, Advice, Appliance, Metering, Round, Verdict
from guide.charging.signature import SUSPECTS, full_subcooling_K, split_excess_K
from guide.charging.wording import K_PER_F, from_F
from tests.charging.linear_plant import orifice_unit, r410a, readings, valve_unit

absurd = st.one_of(
    st.none(),
    st.floats(),
    st.sampled_from([math.nan, math.inf, -math.inf, 0.0, -1.0, 1e308, -1e308, 5e-324, 273.15, 101325.0]),
)
any_round = st.builds(
    Round,
    net_charged_kg=st.one_of(st.floats(), st.floats(-2, 2)),
    minutes_since_change=st.one_of(st.floats(), st.floats(0, 60)),
    suction_pressure_Pa=absurd,
    suction_line_K=absurd,
    liquid_pressure_Pa=absurd,
    liquid_line_K=absurd,
    indoor_db_K=absurd,
    indoor_wb_K=absurd,
    supply_db_K=absurd,
    outdoor_db_K=absurd,
)
likely_round = st.builds(
    readings,
    superheat_F=st.floats(-6, 50),
    subcooling_F=st.floats(-4, 40),
    dew_F=st.floats(25, 55),
    bubble_F=st.floats(95, 140),
    indoor_wb_F=st.floats(58, 74),
    supply_db_F=st.floats(50, 70),
    outdoor_db_F=st.floats(70, 112),
    net_charged_kg=st.floats(-1.3, 1.3),
    minutes=st.sampled_from([15.0, 20.0]),
)
units = st.sampled_from([orifice_unit(), valve_unit()])
few_rounds = st.lists(st.one_of(any_round, likely_round), min_size=1, max_size=5)


def demand_bounds(unit: Appliance, rounds: list[Round], advice: Advice) -> None:
    moves = advice.action in {Action.ADD, Action.RECOVER}
    nameplate = Decimal(str(unit.nameplate_charge_kg))
    division = Decimal(str(unit.scale_division_kg))
    assert advice.amount_kg.is_finite()
    assert (advice.amount_kg > 0) == moves
    assert advice.amount_kg <= nameplate * Decimal("0.05")
    assert advice.amount_kg % division == 0
    assert advice.suspect is None or advice.suspect in SUSPECTS
    assert advice.reasons
    assert all(reason.endswith(".") and "nan" not in reason for reason in advice.reasons)
    now = rounds[-1]
    if advice.action in {Action.ADD, Action.RECOVER, Action.DONE}:
        assert now.minutes_since_change >= unit.settle_minutes
        assert advice.meaning.verdict is not Verdict.FAIL or moves
    if moves:
        demand_a_sensible_move(unit, rounds, advice)


def demand_a_sensible_move(unit: Appliance, rounds: list[Round], advice: Advice) -> None:
    now, meaning = rounds[-1], advice.meaning
    assert advice.amount_kg >= LEAST_DIVISIONS * Decimal(str(unit.scale_division_kg))
    wanting_K = increment.wanting_K(unit, meaning)
    assert wanting_K is not None
    assert (advice.action is Action.ADD) == (wanting_K > 0.0)
    near = abs(wanting_K) <= increment.NEAR_TARGET * increment.tolerance_K(unit)
    if near or len({entry.net_charged_kg for entry in rounds}) == 1:
        assert advice.amount_kg <= Decimal(str(unit.nameplate_charge_kg)) * Decimal("0.02")
    assert meaning.superheat_K is not None
    assert meaning.subcooling_K is not None
    orifice = unit.metering is Metering.FIXED_ORIFICE
    if advice.action is Action.ADD and orifice:
        assert meaning.target_superheat_K is not None
        high = meaning.superheat_K > meaning.target_superheat_K + unit.superheat_tolerance_K
        assert not (high and meaning.subcooling_K >= full_subcooling_K(unit))
    if advice.action is Action.RECOVER:
        low = orifice or meaning.superheat_K < unit.superheat_range_K[0]
        excess = split_excess_K(unit, now)
        assert not low or (excess is not None and excess[0] <= 0.0)


@settings(deadline=None, max_examples=200)
@given(units, st.lists(any_round, min_size=1, max_size=5))
def test_absurd_readings_never_move_anything_beyond_the_bounds(unit: Appliance, rounds: list[Round]) -> None:
    demand_bounds(unit, rounds, advise(unit, rounds))


@settings(deadline=None, max_examples=250)
@given(units, st.lists(likely_round, min_size=1, max_size=5))
def test_likely_readings_never_move_anything_beyond_the_bounds(unit: Appliance, rounds: list[Round]) -> None:
    demand_bounds(unit, rounds, advise(unit, rounds))


@settings(deadline=None, max_examples=80)
@given(units, few_rounds)
def test_the_same_rounds_always_give_the_same_advice(unit: Appliance, rounds: list[Round]) -> None:
    assert repr(advise(unit, rounds)) == repr(advise(unit, list(rounds)))


@settings(deadline=None, max_examples=150)
@given(st.floats(-20, 30))
def test_undecided_is_exactly_what_lies_inside_the_guard_band(gap_F: float) -> None:
    unit = orifice_unit()
    meaning = advise(unit, [readings(superheat_F=12.0 + gap_F)]).meaning
    assert meaning.superheat_K is not None
    assert meaning.target_superheat_K is not None
    assert meaning.uncertainty_K is not None
    gap_K = abs(meaning.superheat_K - meaning.target_superheat_K)
    passes = gap_K + meaning.uncertainty_K <= unit.superheat_tolerance_K
    fails = gap_K - meaning.uncertainty_K > unit.superheat_tolerance_K
    assert (meaning.verdict is Verdict.UNDECIDED) == (not passes and not fails)


def test_the_bounds_are_checked_on_moves_that_do_happen() -> None:
    grid = [
        readings(superheat_F=superheat, subcooling_F=subcooling)
        for superheat in range(0, 50, 2)
        for subcooling in range(0, 30, 2)
    ]
    actions = [advise(unit, [entry]).action for unit in (orifice_unit(), valve_unit()) for entry in grid]
    assert {Action.ADD, Action.RECOVER, Action.DONE, Action.STOP} <= set(actions)
    assert r410a().dew_temperature_K(9e5) > from_F(0.0) - K_PER_F
