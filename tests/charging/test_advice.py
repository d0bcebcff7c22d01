"""What the technician is told to do."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import pytest

from guide.charging.advice import advise
from guide.charging.meaning import CHANNEL_WORDS
from guide.charging.refusal import FigureError
from guide.charging.round import Action, Appliance, Round, Verdict
from guide.charging.signature import target_split_K
from guide.charging.wording import K_PER_F, from_F
from tests.charging.linear_plant import orifice_unit, readings, valve_unit, with_channel


def test_high_superheat_and_a_starved_liquid_line_ask_for_refrigerant() -> None:
    advice = advise(orifice_unit(), [readings(superheat_F=25.0, subcooling_F=6.0)])
    assert (advice.action, advice.meaning.verdict, advice.suspect) == (
        Action.ADD,
        Verdict.FAIL,
        "undercharge",
    )
    assert 0 < advice.amount_kg <= Decimal("0.064")


def test_low_superheat_with_good_airflow_asks_for_recovery() -> None:
    advice = advise(orifice_unit(), [readings(superheat_F=2.0, subcooling_F=14.0)])
    assert (advice.action, advice.suspect) == (Action.RECOVER, "overcharge")
    assert 0 < advice.amount_kg <= Decimal("0.064")


def test_subcooling_moves_a_valve_the_other_way_round() -> None:
    assert advise(valve_unit(), [readings(subcooling_F=3.0)]).action is Action.ADD
    assert advise(valve_unit(), [readings(subcooling_F=18.0)]).action is Action.RECOVER


def test_high_superheat_with_a_full_liquid_line_is_a_restriction_not_a_shortage() -> None:
    advice = advise(orifice_unit(), [readings(superheat_F=25.0, subcooling_F=15.0)])
    assert (advice.action, advice.suspect) == (Action.STOP, "liquid-line restriction")
    valve = advise(valve_unit(), [readings(superheat_F=30.0, subcooling_F=16.0)])
    assert (valve.action, valve.suspect) == (Action.STOP, "liquid-line restriction")


def test_low_superheat_with_a_high_split_is_airflow_and_nothing_is_recovered() -> None:
    low = readings(superheat_F=2.0, subcooling_F=14.0, supply_db_F=57.0)
    advice = advise(orifice_unit(), [low])
    assert (advice.action, advice.suspect) == (Action.STOP, "low indoor airflow")
    valve = advise(valve_unit(), [readings(superheat_F=2.0, subcooling_F=16.0, supply_db_F=57.0)])
    assert (valve.action, valve.suspect) == (Action.STOP, "low indoor airflow")


def test_low_superheat_without_a_supply_reading_waits_for_one() -> None:
    low = replace(readings(superheat_F=2.0, subcooling_F=14.0), supply_db_K=None)
    advice = advise(orifice_unit(), [low])
    assert advice.action is Action.WAIT
    assert "supply air" in advice.reasons[0]


def test_low_superheat_with_low_subcooling_is_no_overcharge() -> None:
    advice = advise(orifice_unit(), [readings(superheat_F=2.0, subcooling_F=2.0)])
    assert (advice.action, advice.suspect) == (Action.STOP, "compressor valve leak")


def test_condensing_far_above_outdoor_air_is_looked_at_before_charge() -> None:
    advice = advise(valve_unit(), [readings(subcooling_F=18.0, bubble_F=135.0)])
    assert (advice.action, advice.suspect) == (Action.STOP, "dirty condenser")


def test_a_valve_that_feeds_too_much_is_not_answered_with_charge() -> None:
    for subcooling_F in (3.0, 10.0, 18.0):
        advice = advise(valve_unit(), [readings(superheat_F=0.0, subcooling_F=subcooling_F)])
        assert advice.action is Action.STOP


def test_readings_before_the_system_has_settled_only_ask_to_wait() -> None:
    advice = advise(orifice_unit(), [readings(superheat_F=25.0, subcooling_F=6.0, minutes=14.0)])
    assert advice.action is Action.WAIT
    assert "1 minutes more" in advice.reasons[0]
    brisk = replace(orifice_unit(), settle_minutes=10.0)
    assert advise(brisk, [readings(superheat_F=25.0, subcooling_F=6.0, minutes=14.0)]).action is Action.ADD


@pytest.mark.parametrize("channel", [name for name in CHANNEL_WORDS if name != "supply_db_K"])
def test_a_needed_reading_that_is_missing_is_asked_for_by_name(channel: str) -> None:
    advice = advise(
        orifice_unit(), [with_channel(readings(superheat_F=25.0, subcooling_F=6.0), channel, None)]
    )
    assert advice.action is Action.WAIT
    assert any(CHANNEL_WORDS[channel] in reason for reason in advice.reasons)


@pytest.mark.parametrize(
    "bad",
    [
        replace(readings(), suction_line_K=math.nan),
        replace(readings(), outdoor_db_K=math.inf),
        replace(readings(), liquid_pressure_Pa=1e9),
        replace(readings(), suction_pressure_Pa=-5.0),
        replace(readings(), suction_line_K=52.0),
        replace(readings(), suction_pressure_Pa=3e6),
        readings(indoor_wb_F=76.0, indoor_db_F=70.0),
        readings(superheat_F=-9.0),
        readings(subcooling_F=-9.0),
        readings(bubble_F=85.0),
        readings(supply_db_F=90.0),
        readings(net_charged_kg=math.nan),
        readings(net_charged_kg=50.0),
        readings(minutes=math.nan),
        readings(minutes=-1.0),
    ],
)
def test_readings_that_cannot_be_true_stop_the_loop(bad: Round) -> None:
    for unit in (orifice_unit(), valve_unit()):
        advice = advise(unit, [bad])
        assert (advice.action, advice.suspect) == (Action.STOP, "bad reading")
        assert advice.amount_kg == 0


def test_the_middle_of_the_band_is_done_with_a_pass() -> None:
    advice = advise(orifice_unit(), [readings()])
    assert (advice.action, advice.meaning.verdict) == (Action.DONE, Verdict.PASS)
    assert advise(valve_unit(), [readings()]).action is Action.DONE


def test_inside_the_tolerance_but_undecided_is_done_when_no_weighable_step_is_left() -> None:
    coarse = replace(orifice_unit(), scale_division_kg=0.05)
    advice = advise(coarse, [readings(superheat_F=15.0)])
    assert (advice.action, advice.meaning.verdict) == (Action.DONE, Verdict.UNDECIDED)


def test_inside_the_tolerance_but_undecided_is_improved_when_a_step_would_show() -> None:
    advice = advise(orifice_unit(), [readings(superheat_F=16.5, subcooling_F=9.0)])
    assert (advice.action, advice.meaning.verdict, advice.suspect) == (Action.ADD, Verdict.UNDECIDED, None)


def test_a_scale_too_coarse_for_the_charge_stops_with_words() -> None:
    coarse = replace(orifice_unit(), scale_division_kg=0.1)
    advice = advise(coarse, [readings(superheat_F=25.0, subcooling_F=6.0)])
    assert advice.action is Action.STOP
    assert "finer scale" in advice.reasons[0]


def test_the_next_step_is_sized_by_the_answer_to_the_last() -> None:
    strong = [
        readings(superheat_F=30.0, subcooling_F=4.0),
        readings(superheat_F=22.0, subcooling_F=5.0, net_charged_kg=0.0638),
    ]
    weak = [strong[0], readings(superheat_F=28.5, subcooling_F=5.0, net_charged_kg=0.0638)]
    assert advise(orifice_unit(), strong).amount_kg < advise(orifice_unit(), weak).amount_kg
    assert advise(orifice_unit(), weak).amount_kg <= Decimal("0.16")


def test_a_system_that_does_not_answer_is_not_fed_any_further() -> None:
    rounds = [
        readings(superheat_F=25.0, subcooling_F=6.0, net_charged_kg=net)
        for net in (0.0, 0.0637, 0.1275, 0.1913)
    ]
    advice = advise(orifice_unit(), rounds)
    assert advice.action is Action.STOP
    assert "did not answer" in advice.reasons[0]


def test_a_system_that_answers_the_wrong_way_stops_after_one_move() -> None:
    rounds = [
        readings(superheat_F=25.0, subcooling_F=6.0),
        readings(superheat_F=29.0, subcooling_F=6.0, net_charged_kg=0.0637),
    ]
    assert advise(orifice_unit(), rounds).action is Action.STOP


def test_no_subcooling_yet_is_no_sign_that_a_valve_system_does_not_answer() -> None:
    rounds = [readings(subcooling_F=0.0, superheat_F=20.0, net_charged_kg=0.0637 * step) for step in range(6)]
    assert advise(valve_unit(), rounds).action is Action.ADD


def test_more_than_four_tenths_of_the_nameplate_are_weighed_in_afresh() -> None:
    rounds = [readings(subcooling_F=0.0, superheat_F=20.0, net_charged_kg=1.25)]
    advice = advise(valve_unit(), rounds)
    assert advice.action is Action.STOP
    assert "weigh the charge in" in advice.reasons[0]


def test_adding_and_recovering_by_turns_is_stopped() -> None:
    net = [0.0, 0.06, 0.0, 0.06]
    superheat = [20.0, 4.0, 20.0, 4.0]
    rounds = [
        readings(superheat_F=heat, subcooling_F=9.0, net_charged_kg=kg)
        for heat, kg in zip(superheat, net, strict=True)
    ]
    advice = advise(orifice_unit(), rounds)
    assert advice.action is Action.STOP
    assert "turns" in advice.reasons[0]


def test_bad_weather_outranks_waiting_and_bad_readings_are_named_first() -> None:
    cold = readings(outdoor_db_F=40.0, minutes=1.0)
    assert advise(valve_unit(), [cold]).action is Action.STOP
    both = advise(valve_unit(), [replace(cold, suction_line_K=math.nan)])
    assert both.suspect == "bad reading"
    assert any("40.0 °F" in reason for reason in both.reasons)


def test_no_rounds_at_all_wait_for_the_first() -> None:
    assert advise(orifice_unit(), []).action is Action.WAIT


@pytest.mark.parametrize(
    "unit",
    [
        replace(orifice_unit(), nameplate_charge_kg=0.0),
        replace(orifice_unit(), nameplate_charge_kg=math.nan),
        replace(orifice_unit(), nameplate_charge_kg=1e300),
        replace(orifice_unit(), site_pressure_Pa=101.325),
        replace(orifice_unit(), scale_division_kg=0.0),
        replace(orifice_unit(), superheat_tolerance_K=-1.0),
        replace(orifice_unit(), superheat_tolerance_K=8.0),
        replace(valve_unit(), subcooling_tolerance_K=1e300),
        replace(orifice_unit(), settle_minutes=math.nan),
        replace(orifice_unit(), target_superheat_K=math.inf),
        replace(valve_unit(), target_subcooling_K=-2.0),
        replace(valve_unit(), superheat_range_K=(9.0, 2.0)),
        replace(valve_unit(), indoor_range_K=(300.0, 290.0)),
    ],
)
def test_an_appliance_no_advice_can_be_built_on_is_refused_in_one_line(unit: Appliance) -> None:
    with pytest.raises(FigureError) as caught:
        advise(unit, [readings()])
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("dry", "wet", "split"), [(75, 62, 19.3), (80, 67, 18.3), (80, 63, 21.3), (70, 60, 17.7)]
)
def test_the_normal_split_has_its_known_places(dry: float, wet: float, split: float) -> None:
    # MEMORY: Table RA3.2-3, checked only for internal consistency.
    assert target_split_K(from_F(dry), from_F(wet)) == pytest.approx(split * K_PER_F, abs=0.04)
