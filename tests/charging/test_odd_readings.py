"""Readings that are no number, stale or contradicting never move refrigerant; the guard band of a valve."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.advice import advise
from guide.charging.contract import answer
from guide.charging.meaning import CHANNEL_WORDS
from guide.charging.round import Accuracy, Action, Advice, Appliance, Round, Verdict
from guide.charging.signature import BAD_READING
from guide.charging.wording import K_PER_F, from_F
from guide.errors import ChargewrightError
from tests.charging.linear_plant import orifice_unit, readings, valve_unit, with_channel

UNITS = st.sampled_from([orifice_unit(), valve_unit()])
CHANNELS = st.sampled_from(list(CHANNEL_WORDS))
NO_NUMBER = st.sampled_from([math.nan, math.inf, -math.inf])
MOVES = {Action.ADD, Action.RECOVER}
plausible = st.builds(
    readings,
    superheat_F=st.floats(0, 45),
    subcooling_F=st.floats(0, 30),
    dew_F=st.floats(28, 52),
    bubble_F=st.floats(98, 130),
    indoor_wb_F=st.floats(58, 72),
    supply_db_F=st.floats(54, 68),
    outdoor_db_F=st.floats(75, 105),
    net_charged_kg=st.floats(-0.3, 0.3),
)
BEFORE = st.lists(plausible, max_size=3)


def demand_stop(advice: Advice) -> None:
    assert advice.action is Action.STOP, advice.reasons
    assert advice.suspect == BAD_READING
    assert advice.amount_kg == 0


@settings(deadline=None, max_examples=150)
@given(UNITS, BEFORE, plausible, CHANNELS, NO_NUMBER)
def test_one_reading_that_is_no_number_stops_and_is_named(
    unit: Appliance, before: list[Round], now: Round, channel: str, odd: float
) -> None:
    advice = advise(unit, [*before, with_channel(now, channel, odd)])
    demand_stop(advice)
    assert CHANNEL_WORDS[channel] in " ".join(advice.reasons)


@settings(deadline=None, max_examples=100)
@given(UNITS, BEFORE, plausible, st.sampled_from(["net_charged_kg", "minutes_since_change"]), NO_NUMBER)
def test_a_weight_or_a_time_that_is_no_number_stops(
    unit: Appliance, before: list[Round], now: Round, field: str, odd: float
) -> None:
    demand_stop(advise(unit, [*before, replace(now, **{field: odd})]))


@settings(deadline=None, max_examples=150)
@given(UNITS, BEFORE, plausible, st.floats(0, 15, exclude_max=True))
def test_a_round_taken_before_the_system_settled_never_moves_nor_ends_anything(
    unit: Appliance, before: list[Round], now: Round, minutes: float
) -> None:
    advice = advise(unit, [*before, replace(now, minutes_since_change=minutes)])
    assert advice.action in {Action.WAIT, Action.STOP}
    assert advice.amount_kg == 0


@settings(deadline=None, max_examples=100)
@given(UNITS, st.lists(plausible, min_size=1, max_size=4), plausible)
def test_good_earlier_rounds_never_stand_in_for_a_channel_that_is_missing_now(
    unit: Appliance, before: list[Round], now: Round
) -> None:
    for channel in ("suction_pressure_Pa", "suction_line_K", "liquid_pressure_Pa", "liquid_line_K"):
        advice = advise(unit, [*before, with_channel(now, channel, None)])
        assert advice.action not in MOVES
        assert advice.action is not Action.DONE


def contradicting(now: Round, how: str) -> Round:
    """Two readings of a round that can't both be true of a system that runs in cooling."""
    assert now.suction_pressure_Pa is not None
    assert now.liquid_pressure_Pa is not None
    assert now.indoor_db_K is not None
    if how == "hoses swapped":
        return replace(
            now, suction_pressure_Pa=now.liquid_pressure_Pa, liquid_pressure_Pa=now.suction_pressure_Pa
        )
    if how == "clamps swapped":
        return replace(now, suction_line_K=from_F(110), liquid_line_K=from_F(45), outdoor_db_K=from_F(140))
    if how == "wet bulb above dry bulb":
        return replace(now, indoor_wb_K=now.indoor_db_K + 4.0)
    if how == "supply air warmer":
        return replace(now, supply_db_K=now.indoor_db_K + 4.0)
    if how == "line colder than saturation":
        return replace(now, suction_line_K=from_F(10))
    return replace(now, liquid_line_K=from_F(145))


HOW = (
    "hoses swapped", "clamps swapped", "wet bulb above dry bulb", "supply air warmer",
    "line colder than saturation", "liquid warmer than saturation",
)  # fmt: skip


@pytest.mark.parametrize("how", HOW)
@settings(deadline=None, max_examples=40)
@given(UNITS, BEFORE, plausible)
def test_readings_that_contradict_each_other_stop(
    how: str, unit: Appliance, before: list[Round], now: Round
) -> None:
    demand_stop(advise(unit, [*before, contradicting(now, how)]))


@settings(deadline=None, max_examples=300)
@given(st.floats(-12, 20), st.floats(6, 22))
def test_a_valve_too_is_undecided_exactly_inside_its_guard_bands(gap_F: float, superheat_F: float) -> None:
    unit = valve_unit()
    meaning = advise(unit, [readings(superheat_F=superheat_F, subcooling_F=10.0 + gap_F)]).meaning
    assert meaning.subcooling_K is not None
    assert meaning.superheat_K is not None
    assert meaning.superheat_uncertainty_K is not None
    assert meaning.uncertainty_K is not None
    gap_K = abs(meaning.subcooling_K - 10.0 * K_PER_F)
    low_K, high_K = unit.superheat_range_K
    off_K = meaning.superheat_uncertainty_K
    passes = (
        gap_K + meaning.uncertainty_K <= unit.subcooling_tolerance_K
        and low_K + off_K <= meaning.superheat_K <= high_K - off_K
    )
    fails = (
        gap_K - meaning.uncertainty_K > unit.subcooling_tolerance_K
        or meaning.superheat_K + off_K < low_K
        or meaning.superheat_K - off_K > high_K
    )
    assert (meaning.verdict is Verdict.PASS) == passes
    assert (meaning.verdict is Verdict.FAIL) == fails


number = st.one_of(
    st.floats(-500, 1e7).map(lambda value: f"{value:.3f}"),
    st.sampled_from(["nan", "inf", "-inf", "0", "-1", "1e308", "273.15", "101325"]),
    st.none(),
)
written_round = st.fixed_dictionaries(
    {"net_charged_kg": st.sampled_from(["0", "0.1", "-0.2", "nan"]),
     "minutes_since_change": st.sampled_from([0, 14, 15, 60, "nan"])},
    optional={name.replace("pressure_Pa", "pressure_Pa_gauge"): number for name in CHANNEL_WORDS},
)  # fmt: skip


@settings(deadline=None, max_examples=200)
@given(
    st.sampled_from(["fixed orifice", "thermostatic valve", "electronic valve"]),
    st.lists(written_round, min_size=1, max_size=4),
)
def test_whatever_is_written_no_answer_moves_beyond_the_bounds(
    metering: str, rounds: list[dict[str, object]]
) -> None:
    request = {
        "refrigerant": "R-410A", "metering": metering, "nameplate_charge_kg": "3.20",
        "site_pressure_Pa": "101325", "target_subcooling_K": "5.5", "rounds": rounds,
    }  # fmt: skip
    try:
        found = answer(json.dumps(request))
    except ChargewrightError as error:
        assert str(error).isprintable()  # noqa: PT017 - either outcome is right, each has its own demand
        return
    amount = Decimal(str(found["amount_kg"]))
    assert amount <= Decimal("3.20") * Decimal("0.05")
    assert (amount > 0) == (found["action"] in {"add", "recover"})
    if amount:
        assert float(str(rounds[-1]["minutes_since_change"])) >= 15


BESIDE = (
    "discharge_line_K", "condenser_out_db_K", "standing_low_Pa", "standing_high_Pa", "standing_ambient_K",
    "indoor_airflow_share",
)  # fmt: skip


@pytest.mark.parametrize("channel", BESIDE)
@pytest.mark.parametrize("reading", [math.nan, math.inf, -1e300, 1e300, 0.0, 1e-300])
def test_nonsense_in_what_only_the_diagnosis_reads_stops_too(channel: str, reading: float) -> None:
    far_off = readings(superheat_F=30.0, subcooling_F=2.0)
    advice = advise(orifice_unit(), [with_channel(far_off, channel, reading)])

    assert (advice.action, advice.suspect) == (Action.STOP, BAD_READING)


@pytest.mark.parametrize("superheat_F", [0.0, 0.6, 1.4])
@pytest.mark.parametrize("target_F", [5.0, 5.4])
def test_a_charge_is_never_right_where_there_may_be_no_superheat(superheat_F: float, target_F: float) -> None:
    """Below 5 °F liquid could reach the compressor (FOUND, RA3 2008 p. 15), tolerance or not."""
    exact = {channel: Accuracy(fixed=0.0) for channel in CHANNEL_WORDS}
    gauges = {"suction_pressure_Pa": Accuracy(fixed=1000.0), "suction_line_K": Accuracy(fixed=0.3)}
    unit = replace(
        orifice_unit(), target_superheat_K=target_F * K_PER_F, superheat_tolerance_K=6.0 * K_PER_F,
        accuracies=exact | gauges,
    )  # fmt: skip
    advice = advise(unit, [readings(superheat_F=superheat_F, subcooling_F=12.0)])

    assert advice.meaning.verdict is not Verdict.PASS
    assert advice.action is not Action.ADD
    assert any("liquid may be reaching the compressor" in reason for reason in advice.reasons)
