"""Refrigerants on the command line: estimates say so where their numbers show, others are refused."""

from __future__ import annotations

import json

import pytest

from tests.cli_call import call

ROUND = {
    "net_charged_kg": "0.00", "minutes_since_change": 15, "suction_pressure_Pa_gauge": "300000",
    "suction_line_K": "290", "indoor_wb_K": "292", "outdoor_db_K": "308",
}  # fmt: skip


@pytest.mark.parametrize("name", ["R-404A", "R-448A", "R-290", "R-744", "r1234ze(e)", "RE170", "R-513b"])
def test_sat_knows_far_more_than_the_usual_refrigerants(name: str) -> None:
    said = call("sat", name, "--temperature", "-10C", "--json").json()

    assert 0 < said["dew_pressure_Pa"] <= said["bubble_pressure_Pa"] * (1 + 1e-6)


@pytest.mark.parametrize(
    ("name", "why"), [("R-468A", "R-1132a"), ("R-400", "any proportion"), ("R-718", "freezes")]
)
def test_what_cannot_be_computed_is_refused_with_the_reason(name: str, why: str) -> None:
    answer = call("sat", name, "--temperature", "40F")

    assert answer.code == 2
    assert answer.out == ""
    assert len(answer.err.splitlines()) == 1
    assert why in answer.err


def test_an_estimate_by_mixing_rule_says_how_far_it_may_be_off() -> None:
    assert call("sat", "R-401A", "--temperature", "40F", "--json").json()["estimated"] is True
    assert "off by 4 K (7 °F)" in call("sat", "R-401A", "--temperature", "40F").out

    looked = call("look", "R-401A", "--suction-pressure", "40psig", "--suction-line", "54F")
    assert looked.out.count("off by 4 K (7 °F)") == 1
    said = call("look", "R-401A", "--suction-pressure", "40psig", "--suction-line", "54F", "--json").json()
    assert said["estimated"] is True
    assert any("dew point is estimated" in reason for reason in said["reasons"])


def test_a_bridged_curve_is_a_reason_only_where_it_was_bridged() -> None:
    usual = call("look", "R-454B", "--liquid-pressure", "330psig", "--liquid-line", "97F", "--json").json()
    hot = call("look", "R-454B", "--liquid-pressure", "490psig", "--liquid-line", "130F", "--json").json()

    assert usual["estimated"] is hot["estimated"] is True
    assert not any("estimated" in reason for reason in usual["reasons"])
    assert any("bubble point is estimated" in reason for reason in hot["reasons"])
    assert "bridged" in call("look", "R-454B", "--liquid-pressure", "330psig", "--liquid-line", "97F").out


def test_no_charge_is_advised_by_a_curve_coarser_than_the_tolerance() -> None:
    asked = {
        "refrigerant": "R-409A", "metering": "fixed orifice", "nameplate_charge_kg": "3.20",
        "site_pressure_Pa": "101325", "rounds": [ROUND],
    }  # fmt: skip
    said = json.loads(call("advise", "-", stdin=(json.dumps(asked) + "\n").encode()).out)

    assert said["action"] == "stop"
    assert said["amount_kg"] == "0"
    assert any("curve of R-409A is estimated" in reason for reason in said["reasons"])
    assert any("weigh the charge in" in reason for reason in said["reasons"])


def test_what_burns_freely_is_weighed_in_only() -> None:
    asked = {
        "refrigerant": "R-290", "metering": "fixed orifice", "nameplate_charge_kg": "0.40",
        "site_pressure_Pa": "101325", "rounds": [ROUND],
    }  # fmt: skip
    said = json.loads(call("advise", "-", stdin=(json.dumps(asked) + "\n").encode()).out)

    assert said["action"] == "stop"
    assert any("A3" in reason for reason in said["reasons"])
