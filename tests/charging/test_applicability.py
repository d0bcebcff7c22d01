"""When the charging loop is refused, and with what words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from guide.charging.advice import advise
from guide.charging.applicability import reasons_against
from guide.charging.round import Action, Appliance
from guide.charging.wording import K_PER_F, from_F
from tests.charging.linear_plant import orifice_unit, readings, valve_unit


def test_a_plain_unit_in_fair_weather_is_charged_by_the_loop() -> None:
    assert reasons_against(orifice_unit(), readings()) == ()
    assert reasons_against(valve_unit(), readings()) == ()
    heat_pump = replace(orifice_unit(), application="Unitary heat pump in cooling")
    assert reasons_against(heat_pump, readings()) == ()


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        (replace(orifice_unit(), safety_group="A3"), "by weight only"),
        (replace(orifice_unit(), safety_group=""), "safety group is not known"),
        (replace(orifice_unit(), application="walk-in cooler"), "unitary air conditioners"),
        (replace(orifice_unit(), application="unknown"), "is not known"),
        (replace(orifice_unit(), receiver="liquid receiver"), "receiver hides the charge"),
        (replace(orifice_unit(), receiver="unknown"), "receiver is not known"),
        (replace(orifice_unit(), capacity_fixed=False), "capacity is not fixed"),
        (replace(orifice_unit(), capacity_fixed=None), "capacity is fixed is not known"),
        (replace(valve_unit(), target_subcooling_K=None), "target subcooling"),
        (replace(orifice_unit(), target_superheat_K=4.0 * K_PER_F), "below 5 °F"),
    ],
)
def test_a_fact_against_the_loop_or_an_unknown_one_stops_it_in_words(unit: Appliance, words: str) -> None:
    assert any(words in reason for reason in reasons_against(unit, readings()))
    advice = advise(unit, [readings(minutes=2.0)])
    assert advice.action is Action.STOP
    assert advice.amount_kg == 0
    assert words in advice.reasons[0]


def test_weather_outside_the_range_stops_it_and_the_edges_do_not() -> None:
    unit = valve_unit()
    assert reasons_against(unit, readings(outdoor_db_F=54.9))
    assert not reasons_against(unit, readings(outdoor_db_F=55.0))
    assert reasons_against(unit, readings(indoor_db_F=69.9))
    assert not reasons_against(unit, readings(indoor_db_F=70.0))
    assert not reasons_against(unit, readings(indoor_db_F=80.0))
    assert reasons_against(unit, readings(indoor_db_F=80.1))


def test_the_makers_own_limits_replace_the_general_ones() -> None:
    unit = replace(valve_unit(), outdoor_minimum_K=from_F(65.0), indoor_range_K=(from_F(65.0), from_F(85.0)))
    assert reasons_against(unit, readings(outdoor_db_F=60.0))
    assert not reasons_against(unit, readings(outdoor_db_F=70.0, indoor_db_F=84.0))


def test_a_target_below_five_degrees_stops_an_orifice_but_not_a_valve() -> None:
    hot_and_dry = readings(outdoor_db_F=95.0, indoor_wb_F=62.0)
    assert any("below 5 °F" in reason for reason in reasons_against(orifice_unit(), hot_and_dry))
    assert reasons_against(valve_unit(), hot_and_dry) == ()
