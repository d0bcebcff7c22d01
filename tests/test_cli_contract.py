"""The contract of `sat`, `target`, `look` and `advise`, a sentence a test: other programs lean on it.

That `advise` flushes each line, and what a closed pipe or a full disk does: `test_cli_questions.py`.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from guide.charging.round import Round
from guide.charging.signature import SUSPECTS
from guide.charging.wording import K_PER_F
from guide.refrigerant.saturation import curve
from tests.charging.linear_plant import readings
from tests.cli_call import Answer, assert_refused, call

ATMOSPHERE_Pa = 101325.0
ANSWER_KEYS = (
    "action", "amount_kg", "verdict", "superheat_K", "subcooling_K", "target_superheat_K",
    "target_subcooling_K", "uncertainty_K", "suspect", "reasons",
)  # fmt: skip
FIGURE_KEYS = tuple(key for key in ANSWER_KEYS if key.endswith("_K"))
ACTIONS = {"add", "recover", "wait", "done", "stop"}
# "done" needs instruments fine enough to decide within the tolerance
FINE = {
    "suction_pressure_Pa_gauge": "1000", "liquid_pressure_Pa_gauge": "1000", "suction_line_K": "0.1",
    "liquid_line_K": "0.1", "indoor_db_K": "0.1", "indoor_wb_K": "0.1", "supply_db_K": "0.1",
    "outdoor_db_K": "0.1",
}  # fmt: skip


def as_written(entry: Round) -> dict[str, Any]:
    """One round as a program would write it: decimal strings, gauge pressures, what was not read left out."""
    written: dict[str, Any] = {
        "net_charged_kg": f"{entry.net_charged_kg:.3f}",
        "minutes_since_change": entry.minutes_since_change,
    }
    for channel in ("suction_pressure_Pa", "liquid_pressure_Pa"):
        value = getattr(entry, channel)
        if value is not None:
            written[f"{channel}_gauge"] = f"{value - ATMOSPHERE_Pa:.1f}"
    for channel in (
        "suction_line_K", "liquid_line_K", "indoor_db_K", "indoor_wb_K", "supply_db_K", "outdoor_db_K",
    ):  # fmt: skip
        value = getattr(entry, channel)
        if value is not None:
            written[channel] = f"{value:.3f}"
    return written


def asked(*rounds: Round, **changes: Any) -> dict[str, Any]:
    """The contract's own example, with these rounds and changes."""
    return {
        "refrigerant": "R-410A", "metering": "fixed orifice", "nameplate_charge_kg": "3.20",
        "site_pressure_Pa": "101325", "target_subcooling_K": None,
        "rounds": [as_written(entry) for entry in rounds or (readings(),)],
    } | changes  # fmt: skip


def valve(*rounds: Round, **changes: Any) -> dict[str, Any]:
    return asked(*rounds, metering="thermostatic valve", target_subcooling_K=f"{10 * K_PER_F:.4f}", **changes)


def advised(*requests: dict[str, Any]) -> list[dict[str, Any]]:
    answer = call("advise", "-", stdin="".join(json.dumps(each) + "\n" for each in requests).encode())
    assert (answer.code, answer.err) == (0, ""), answer
    return [json.loads(line) for line in answer.lines()]


def numbers_in(value: object) -> list[object]:
    if isinstance(value, dict):
        return [number for inner in value.values() for number in numbers_in(inner)]
    if isinstance(value, list):
        return [number for inner in value for number in numbers_in(inner)]
    return [value]


def in_json(*arguments: str) -> dict[str, Any]:
    answer = call(*arguments, "--json")
    assert (answer.code, answer.err) == (0, ""), answer
    assert len(answer.lines()) == 1
    got: dict[str, Any] = answer.json()
    return got


# -- `--json` -------------------------------------------------------------------------------------

JSON_CALLS = (
    ("sat", "R-410A", "--temperature", "40F"),
    ("sat", "R-410A", "--pressure", "118.4psig"),
    ("target", "--indoor-wb", "67F", "--outdoor-db", "95F"),
    ("look", "R-410A", "--suction-pressure", "118.2psig", "--suction-line", "54.1F", "--indoor-wb", "67F",
     "--outdoor-db", "95F"),
)  # fmt: skip


@pytest.mark.parametrize("arguments", JSON_CALLS, ids=lambda arguments: " ".join(arguments[:3]))
def test_numbers_are_numbers_and_their_keys_end_with_an_si_unit(arguments: tuple[str, ...]) -> None:
    for key, value in in_json(*arguments).items():
        if isinstance(value, int | float) and not isinstance(value, bool):
            assert re.search(r"_(K|Pa|kg)$", key), key
        assert not (isinstance(value, str) and re.fullmatch(r"[-+.\deE]+", value)), key


def test_a_pressure_without_gauge_in_its_key_is_absolute() -> None:
    got = in_json("sat", "R-134a", "--pressure", "0psig", "--site-pressure", "101325Paa")

    assert got["pressure_Pa"] == pytest.approx(ATMOSPHERE_Pa)
    assert not [key for key in got if "gauge" in key]


# -- sat ------------------------------------------------------------------------------------------


def test_sat_at_a_temperature_answers_both_pressures_and_at_a_pressure_both_temperatures() -> None:
    at_temperature = in_json("sat", "R-407C", "--temperature", "4.4C")
    at_pressure = in_json("sat", "R-407C", "--pressure", "8.2barg")

    common = {"estimated", "site_pressure_Pa", "site_pressure_assumed"}
    assert common | {"bubble_pressure_Pa", "dew_pressure_Pa"} <= set(at_temperature)
    assert common | {"bubble_temperature_K", "dew_temperature_K"} <= set(at_pressure)
    assert not {"bubble_temperature_K", "dew_temperature_K"} & set(at_temperature)
    assert not {"bubble_pressure_Pa", "dew_pressure_Pa"} & set(at_pressure)
    assert at_temperature["bubble_pressure_Pa"] > at_temperature["dew_pressure_Pa"]
    assert at_pressure["bubble_temperature_K"] < at_pressure["dew_temperature_K"]


def test_sat_without_a_site_pressure_takes_the_standard_one_and_says_so() -> None:
    got = in_json("sat", "R-32", "--pressure", "100psig")
    words = call("sat", "R-32", "--pressure", "100psig").out

    assert (got["site_pressure_Pa"], got["site_pressure_assumed"]) == (101325, True)
    assert "assumed" in words
    assert "--altitude" in words
    assert "--site-pressure" in words


@pytest.mark.parametrize("given", [("--altitude", "620ft"), ("--site-pressure", "14.2psia")])
def test_sat_with_a_site_pressure_does_not_assume_one(given: tuple[str, str]) -> None:
    got = in_json("sat", "R-32", "--pressure", "100psig", *given)

    assert got["site_pressure_assumed"] is False
    assert got["site_pressure_Pa"] < 101325
    assert got["pressure_Pa"] - got["site_pressure_Pa"] == pytest.approx(100 * 6894.757, abs=0.1)


def test_an_order_may_never_go_without_its_atmosphere(tmp_path: Path) -> None:
    whole = Path("jobs/practice-valve.yaml").read_text(encoding="utf-8")
    order = tmp_path / "order.yaml"
    order.write_text(re.sub(r"\n  altitude: .*", "", whole), encoding="utf-8")

    answer = call("run", str(order), "--unattended", data=tmp_path / "data")
    assert whole != order.read_text(encoding="utf-8")
    assert_refused(answer, "altitude")


@pytest.mark.parametrize("name", ["R-22", "R-32", "R-134a", "R-407C", "R-410A", "R-454B"])
def test_curves_run_from_minus_forty_to_nine_tenths_of_the_critical_pressure(name: str) -> None:
    cold = in_json("sat", name, "--temperature", "-40C")
    critical_Pa = curve(name).critical_pressure_Pa
    for share in (0.5, 0.7, 0.8, 0.85, 0.9):  # the patches that need a bridge lie high up
        hot = in_json("sat", name, "--pressure", f"{share * critical_Pa:.0f}Paa")
        assert 233.15 < hot["bubble_temperature_K"] <= hot["dew_temperature_K"]
    assert cold["bubble_pressure_Pa"] >= cold["dew_pressure_Pa"] > 0


def test_the_spellings_of_a_refrigerant_are_the_same() -> None:
    found = [in_json("sat", name, "--temperature", "40F") for name in ("R-410A", "R410A", "r410a")]

    assert found[0] == found[1] == found[2]


# -- target ---------------------------------------------------------------------------------------


def test_target_answers_its_value_its_validity_and_its_source() -> None:
    for method in ("table", "rule"):
        got = in_json("target", "--indoor-wb", "67F", "--outdoor-db", "95F", "--method", method)
        assert set(got) == {"target_superheat_K", "valid", "method", "reasons"}
        assert (got["valid"], got["method"]) == (True, method)
        assert method in " ".join(got["reasons"])
    assert in_json("target", "--indoor-wb", "67F", "--outdoor-db", "95F")["method"] == "table"


@pytest.mark.parametrize("method", ["table", "rule"])
def test_target_is_null_where_it_is_not_valid_and_that_is_an_answer(method: str) -> None:
    got = in_json("target", "--indoor-wb", "50F", "--outdoor-db", "110F", "--method", method)

    assert (got["target_superheat_K"], got["valid"]) == (None, False)
    assert got["reasons"]


# -- look -----------------------------------------------------------------------------------------


def test_look_answers_what_can_be_known_from_what_is_given_and_null_for_the_rest() -> None:
    suction = in_json("look", "R-410A", "--suction-pressure", "118.4psig", "--suction-line", "54F")
    liquid = in_json("look", "R-410A", "--liquid-pressure", "366psig", "--liquid-line", "100F")
    air = in_json("look", "R-410A", "--indoor-wb", "67F", "--outdoor-db", "95F")

    assert suction["superheat_K"] * 1.8 == pytest.approx(14.0, abs=0.1)
    assert (suction["subcooling_K"], suction["target_superheat_K"]) == (None, None)
    assert liquid["subcooling_K"] * 1.8 == pytest.approx(10.0, abs=0.2)
    assert (liquid["superheat_K"], liquid["target_superheat_K"]) == (None, None)
    assert air["target_superheat_K"] * 1.8 == pytest.approx(12.0, abs=0.1)
    assert (air["superheat_K"], air["subcooling_K"], air["dew_temperature_K"]) == (None, None, None)


# -- quantities on the way in ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "offered"),
    [
        (("sat", "R-410A", "--temperature", "40"), ("40F", "40C")),
        (("sat", "R-410A", "--pressure", "118.4"), ("118.4psig", "118.4barg", "118.4micron")),
        (("target", "--indoor-wb", "67", "--outdoor-db", "95F"), ("67F", "67C")),
        (("look", "R-410A", "--suction-pressure", "118"), ("118psig", "118psia")),
        (
            ("look", "R-410A", "--liquid-pressure", "352psig", "--target-subcooling", "10"),
            ("10dF", "10dK"),
        ),
    ],
)
def test_a_bare_number_is_refused_with_the_units_that_would_do(
    arguments: tuple[str, ...], offered: tuple[str, ...]
) -> None:
    assert_refused(call(*arguments), "no unit", *offered)


@pytest.mark.parametrize(
    ("option", "text"),
    [
        ("--temperature", "40F"), ("--temperature", "4.4C"), ("--pressure", "118.4psig"),
        ("--pressure", "8.2barg"), ("--pressure", "1800000micron"),
    ],
)  # fmt: skip
def test_quantities_that_carry_their_unit_are_taken(option: str, text: str) -> None:
    assert call("sat", "R-410A", option, text).code == 0


# -- exit codes and errors ------------------------------------------------------------------------


def test_exit_is_0_when_it_answered_whatever_the_answer() -> None:
    invalid = call("target", "--indoor-wb", "50F", "--outdoor-db", "110F")
    undecided = call("look", "R-410A", "--suction-pressure", "118.2psig", "--suction-line", "54.1F",
                     "--indoor-wb", "67F", "--outdoor-db", "95F", "--json")  # fmt: skip
    stopped = advised(asked(receiver="fitted"))[0]

    assert (invalid.code, undecided.code) == (0, 0)
    assert undecided.json()["verdict"] == "undecided"
    assert stopped["action"] == "stop"


@pytest.mark.parametrize(
    "arguments",
    [
        ("sat", "R-9999", "--temperature", "40F"), ("sat", "R-410A", "--temperature", "warm"), ("sat",),
        ("sat", "R-410A", "--temperature", "40F", "--colour", "red"), ("target",), ("look",),
        ("look", "R-410A", "--suction-pressure", "9999psig"), ("advise",), ("advise", "/no/such/file"),
        ("advise", "/"), ("advise", "a\x1bb"),
    ],
    ids=repr,
)  # fmt: skip
def test_what_cannot_be_used_is_exit_2_and_one_line_on_standard_error(arguments: tuple[str, ...]) -> None:
    answer = call(*arguments)

    assert_refused(answer)
    assert answer.out == ""


# -- advise: lines --------------------------------------------------------------------------------


def test_advise_answers_each_line_with_one_line_goes_on_after_a_bad_one_and_ends_with_2() -> None:
    lines = [json.dumps(asked()), "not json", json.dumps(asked(metering="pipe")), json.dumps(asked())]
    answer: Answer = call("advise", "-", stdin="\n".join(lines).encode())
    got = [json.loads(line) for line in answer.lines()]

    assert [list(each) == ["error"] for each in got] == [False, True, True, False]
    assert all(isinstance(each["error"], str) for each in got[1:3])
    assert answer.code == 2
    assert answer.err.count("\n") == 1


def test_advise_reads_a_file_as_it_reads_a_stream(tmp_path: Path) -> None:
    file = tmp_path / "rounds.jsonl"
    file.write_text(json.dumps(asked()) + "\n")

    assert [json.loads(line) for line in call("advise", str(file)).lines()] == advised(asked())


def test_advise_answers_json_without_being_asked_to() -> None:
    assert list(advised(asked())[0]) == list(ANSWER_KEYS)


# -- advise: what it reads ------------------------------------------------------------------------


def test_every_metering_of_the_contract_is_read_and_no_other() -> None:
    for metering in ("fixed orifice", "thermostatic valve", "electronic valve"):
        assert advised(asked(metering=metering, target_subcooling_K="5.5"))[0]["action"] in ACTIONS
    refused = call("advise", "-", stdin=json.dumps(asked(metering="capillary")).encode())
    assert "fixed orifice" in json.loads(refused.out)["error"]


def test_the_last_round_is_now() -> None:
    high, low = readings(superheat_F=25, minutes=20), readings(superheat_F=12, net_charged_kg=0.06)
    now, before = advised(asked(high, low), asked(low, high))

    assert now["superheat_K"] == pytest.approx(12 * K_PER_F, abs=0.01)
    assert before["superheat_K"] == pytest.approx(25 * K_PER_F, abs=0.01)


def test_a_channel_that_was_not_read_is_absent_and_is_asked_for() -> None:
    whole = asked(readings(superheat_F=25, subcooling_F=4))
    for channel, words in (("indoor_wb_K", "wet bulb"), ("liquid_line_K", "liquid line")):
        part = json.loads(json.dumps(whole))
        del part["rounds"][0][channel]
        got = advised(part)[0]
        assert (got["action"], got["amount_kg"]) == ("wait", "0")
        assert words in " ".join(got["reasons"])


def test_fifteen_minutes_are_enough_unless_the_maker_says_otherwise() -> None:
    def at(minutes: float) -> Round:
        return readings(superheat_F=25, subcooling_F=4, minutes=minutes)

    before, enough, longer, shorter = advised(
        asked(at(14.9)), asked(at(15)), asked(at(15), settle_minutes=20), asked(at(10), settle_minutes=10)
    )
    assert (before["action"], enough["action"]) == ("wait", "add")
    assert (longer["action"], shorter["action"]) == ("wait", "add")


def test_the_tolerance_is_five_fahrenheit_of_superheat_and_three_of_subcooling_unless_given() -> None:
    orifice = [readings(superheat_F=12 + gap) for gap in (4.5, 5.5)]
    liquid = [readings(subcooling_F=10 - gap) for gap in (2.5, 3.5)]
    inside, outside = advised(*(asked(entry, instruments=FINE) for entry in orifice))
    full, short = advised(*(valve(entry, instruments=FINE) for entry in liquid))
    wide = advised(asked(orifice[1], instruments=FINE, tolerance_K="4.0"))[0]

    assert (inside["verdict"], outside["verdict"]) == ("pass", "fail")
    assert (full["verdict"], short["verdict"]) == ("pass", "fail")
    assert wide["verdict"] == "pass"


def test_the_title_24_limits_are_the_default_and_are_named_in_the_reasons() -> None:
    default, stated = advised(asked(), asked(instruments=FINE))

    assert "Title 24" in " ".join(default["reasons"])
    assert "Title 24" not in " ".join(stated["reasons"])
    assert default["uncertainty_K"] * 1.8 == pytest.approx(3.45, abs=0.02)  # CALCULATED in the reference
    assert stated["uncertainty_K"] < default["uncertainty_K"]


def test_a_target_superheat_that_is_given_takes_the_place_of_the_table() -> None:
    given, table = advised(asked(target_superheat_K="5.0"), asked())

    assert given["target_superheat_K"] == 5.0
    assert table["target_superheat_K"] * 1.8 == pytest.approx(12.0, abs=0.05)


def test_absent_facts_are_a_unitary_air_conditioner_in_cooling_without_receiver_of_fixed_capacity() -> None:
    absent, said = advised(
        asked(),
        asked(application="unitary air conditioner in cooling", receiver="none", capacity_fixed=True),
    )
    assert absent == said
    for changes in ({"application": "chiller"}, {"receiver": "fitted"}, {"capacity_fixed": False},
                    {"application": None}, {"receiver": None}, {"capacity_fixed": None}):  # fmt: skip
        got = advised(asked(**changes))[0]
        assert (got["action"], got["amount_kg"]) == ("stop", "0"), changes


# -- advise: what it answers ----------------------------------------------------------------------

SOME = [
    readings(superheat_F=superheat, subcooling_F=subcooling, supply_db_F=supply, minutes=minutes)
    for superheat in (0, 6, 12, 20, 35)
    for subcooling in (0, 6, 10, 20)
    for supply, minutes in ((61.0, 15), (54.0, 15), (61.0, 3))
]


@pytest.mark.parametrize("form", [asked, valve], ids=["orifice", "valve"])
def test_every_answer_has_the_contracts_keys_and_kinds(form: Any) -> None:
    answers = advised(*(form(entry, instruments=FINE) for entry in SOME))

    assert len({got["action"] for got in answers}) >= 4
    for got in answers:
        assert list(got) == list(ANSWER_KEYS)
        assert got["action"] in ACTIONS
        assert got["verdict"] in {"pass", "fail", "undecided"}
        assert got["suspect"] is None or got["suspect"] in SUSPECTS
        assert all(got[key] is None or isinstance(got[key], float) for key in FIGURE_KEYS)
        assert isinstance(got["amount_kg"], str)
        assert re.fullmatch(r"\d+(\.\d+)?", got["amount_kg"])
        assert (got["amount_kg"] == "0") == (got["action"] not in {"add", "recover"})
        assert got["reasons"]
        assert all(isinstance(reason, str) for reason in got["reasons"])


def test_the_suspects_are_those_of_the_contract() -> None:
    assert set(SUSPECTS) == {
        "low indoor airflow", "liquid-line restriction", "dirty condenser", "non-condensables",
        "compressor valve leak", "undercharge", "overcharge", "bad reading",
    }  # fmt: skip


def test_stop_goes_before_wait_wait_before_moving_and_moving_before_done() -> None:
    early, low = readings(superheat_F=25, subcooling_F=4, minutes=3), readings(superheat_F=25, subcooling_F=4)
    missing = asked(low)
    del missing["rounds"][0]["outdoor_db_K"]
    stop, wait, move, unread = advised(asked(early, receiver="fitted"), asked(early), asked(low), missing)

    assert (stop["action"], wait["action"], move["action"]) == ("stop", "wait", "add")
    assert unread["action"] == "wait"
    # outside the tolerance nothing is ever done, inside it with certainty nothing is ever moved
    for form in (asked, valve):
        for got in advised(*(form(entry, instruments=FINE) for entry in SOME)):
            assert not (got["verdict"] == "fail" and got["action"] == "done")
            assert not (got["verdict"] == "pass" and got["action"] in {"add", "recover"})


def test_done_comes_with_pass_or_with_undecided_inside_the_tolerance() -> None:
    fine = [asked(entry, instruments=FINE) for entry in SOME]
    # so little refrigerant that the next step would be finer than scale and hose can place
    small = [
        asked(readings(superheat_F=superheat), nameplate_charge_kg="0.60", scale_division_kg="0.01")
        for superheat in range(2, 24)
    ]
    done = [got for got in advised(*fine, *small) if got["action"] == "done"]

    assert {got["verdict"] for got in done} == {"pass", "undecided"}
    for got in done:
        assert abs(got["superheat_K"] - got["target_superheat_K"]) <= 5 * K_PER_F + 1e-6


def test_the_superheat_of_a_valve_must_also_lie_in_its_range() -> None:
    right, low, high = advised(
        *(valve(readings(superheat_F=superheat, subcooling_F=10), instruments=FINE)
          for superheat in (10, 2, 27))
    )  # fmt: skip

    assert right["verdict"] == "pass"
    assert (low["verdict"], high["verdict"]) == ("fail", "fail")
    edges = advised(*(valve(readings(superheat_F=edge, subcooling_F=10), instruments=FINE)
                      for edge in (4.5, 24.5)))  # fmt: skip
    assert [got["verdict"] for got in edges] == ["pass", "pass"]


def test_subcooling_that_stays_at_zero_is_no_sign_that_the_system_does_not_answer() -> None:
    empty = [
        readings(superheat_F=25, subcooling_F=0, net_charged_kg=moved) for moved in (0.0, 0.064, 0.128, 0.224)
    ]
    got = advised(valve(*empty))[0]

    assert got["action"] == "add", got["reasons"]


def test_no_sentence_of_an_answer_can_break_a_line_or_a_terminal() -> None:
    for got in advised(*(asked(entry) for entry in SOME)):
        assert all(text.isprintable() for text in numbers_in(got) if isinstance(text, str))
