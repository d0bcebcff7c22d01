"""The JSON lines of `advise`."""

from __future__ import annotations

import json
import math
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.contract import MOST_CHARACTERS, MOST_ROUNDS, answer, read
from guide.charging.psychrometrics import air_by_wet_bulb
from guide.charging.round import Accuracy, Metering, Round
from guide.charging.uncertainty import PA_PER_PSI
from guide.errors import ChargewrightError
from tests.charging.linear_plant import readings

KEYS = [
    "action",
    "amount_kg",
    "verdict",
    "superheat_K",
    "subcooling_K",
    "target_superheat_K",
    "target_subcooling_K",
    "uncertainty_K",
    "suspect",
    "reasons",
]


def round_json(entry: Round) -> dict[str, Any]:
    assert entry.suction_pressure_Pa is not None
    assert entry.liquid_pressure_Pa is not None
    return {
        "net_charged_kg": f"{entry.net_charged_kg:.4f}",
        "minutes_since_change": int(entry.minutes_since_change),
        "suction_pressure_Pa_gauge": f"{entry.suction_pressure_Pa - 101325.0:.3f}",
        "suction_line_K": f"{entry.suction_line_K:.4f}",
        "liquid_pressure_Pa_gauge": f"{entry.liquid_pressure_Pa - 101325.0:.3f}",
        "liquid_line_K": f"{entry.liquid_line_K:.4f}",
        "indoor_db_K": f"{entry.indoor_db_K:.4f}",
        "indoor_wb_K": f"{entry.indoor_wb_K:.4f}",
        "supply_db_K": f"{entry.supply_db_K:.4f}",
        "outdoor_db_K": f"{entry.outdoor_db_K:.4f}",
    }


def request(*rounds: Round, **changed: Any) -> dict[str, Any]:
    return {
        "refrigerant": "R-410A",
        "metering": "fixed orifice",
        "nameplate_charge_kg": "3.20",
        "site_pressure_Pa": "101325",
        "target_subcooling_K": None,
        "rounds": [round_json(entry) for entry in rounds or (readings(),)],
        **changed,
    }


def test_an_answer_has_the_agreed_keys_and_types() -> None:
    found = answer(json.dumps(request(readings(superheat_F=25.0, subcooling_F=6.0))))
    assert list(found) == KEYS
    assert (found["action"], found["verdict"], found["suspect"]) == ("add", "fail", "undercharge")
    amount = found["amount_kg"]
    assert isinstance(amount, str)
    assert Decimal(0) < Decimal(amount) <= Decimal("0.064")
    assert "E" not in amount
    assert found["superheat_K"] == pytest.approx(25.0 / 1.8, abs=1e-3)
    assert found["target_superheat_K"] == pytest.approx(12.0 / 1.8, abs=1e-3)
    assert found["target_subcooling_K"] is None
    assert isinstance(found["reasons"], list)
    json.dumps(found, allow_nan=False)


def test_when_nothing_moves_the_amount_is_zero_as_text() -> None:
    assert answer(json.dumps(request()))["amount_kg"] == "0"


def test_gauge_pressures_become_absolute_with_the_site_pressure() -> None:
    _, (entry,) = read(json.dumps(request(site_pressure_Pa="84000")))
    sea_level = readings().suction_pressure_Pa
    assert sea_level is not None
    assert entry.suction_pressure_Pa == pytest.approx(sea_level - 101325.0 + 84000.0, abs=0.01)


def test_what_is_optional_reaches_the_appliance() -> None:
    appliance, _ = read(
        json.dumps(
            request(
                metering="electronic valve",
                target_subcooling_K="5.5",
                tolerance_K="1.0",
                instruments={
                    "suction_line_K": "0.3",
                    "liquid_pressure_Pa_gauge": {"fixed": "0", "of_reading": "0.01"},
                },
                receiver=None,
                application=None,
                capacity_fixed=None,
                scale_division_kg="0.005",
                settle_minutes=10,
            )
        )
    )
    assert appliance.metering is Metering.ELECTRONIC_VALVE
    assert (appliance.target_subcooling_K, appliance.subcooling_tolerance_K) == (5.5, 1.0)
    assert appliance.accuracies == {
        "suction_line_K": Accuracy(0.3),
        "liquid_pressure_Pa": Accuracy(0.0, 0.01),
    }
    assert (appliance.receiver, appliance.application, appliance.capacity_fixed) == (
        "unknown",
        "unknown",
        None,
    )
    assert (appliance.scale_division_kg, appliance.settle_minutes) == (0.005, 10.0)


def test_what_is_absent_takes_the_agreed_defaults() -> None:
    appliance, _ = read(json.dumps(request()))
    assert (appliance.receiver, appliance.capacity_fixed) == ("none", True)
    assert appliance.superheat_tolerance_K == pytest.approx(5 / 1.8)
    assert appliance.subcooling_tolerance_K == pytest.approx(3 / 1.8)
    assert appliance.settle_minutes == 15.0
    assert appliance.safety_group == "A1"


def test_a_better_set_of_instruments_narrows_the_uncertainty() -> None:
    stated = dict.fromkeys(("suction_line_K", "indoor_wb_K", "outdoor_db_K"), "0.28")
    stated["suction_pressure_Pa_gauge"] = f"{PA_PER_PSI:.1f}"
    plain = answer(json.dumps(request()))["uncertainty_K"]
    good = answer(json.dumps(request(instruments=stated)))["uncertainty_K"]
    assert isinstance(plain, float)
    assert isinstance(good, float)
    assert good == pytest.approx(1.21 / 1.8, abs=0.01)  # CALCULATED in the reference
    assert good < plain


@pytest.mark.parametrize("text", ['"NaN"', "NaN", "Infinity", '"-inf"', "1e400", '"1e400"'])
def test_a_reading_that_is_no_number_is_answered_with_stop(text: str) -> None:
    given = request()
    given["rounds"][0]["suction_line_K"] = "@"
    found = answer(json.dumps(given).replace('"@"', text))
    assert (found["action"], found["amount_kg"], found["suspect"]) == ("stop", "0", "bad reading")
    json.dumps(found, allow_nan=False)


def test_a_channel_left_out_and_one_that_is_null_both_count_as_not_read() -> None:
    without = request()
    del without["rounds"][0]["indoor_wb_K"]
    null = request()
    null["rounds"][0]["indoor_wb_K"] = None
    assert answer(json.dumps(without)) == answer(json.dumps(null))
    assert answer(json.dumps(without))["action"] == "wait"


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"colour": "red"}, "colour: unknown key"),
        ({"metering": "capillary"}, "metering: unknown"),
        ({"metering": None}, "metering"),
        ({"refrigerant": "R-9999"}, "R-9999"),
        ({"nameplate_charge_kg": "3,20"}, "nameplate_charge_kg: expected a number with a decimal point"),
        ({"nameplate_charge_kg": "nan"}, "nameplate_charge_kg"),
        ({"nameplate_charge_kg": True}, "nameplate_charge_kg"),
        ({"nameplate_charge_kg": "0"}, "nameplate"),
        ({"nameplate_charge_kg": "3_2"}, "nameplate_charge_kg"),
        ({"nameplate_charge_kg": "٣"}, "nameplate_charge_kg"),
        ({"nameplate_charge_kg": "9e999"}, "too large"),
        ({"site_pressure_Pa": "101.325"}, "site pressure"),
        ({"rounds": []}, "rounds"),
        ({"rounds": {}}, "rounds"),
        ({"rounds": [{}]}, "rounds.0"),
        (
            {"rounds": [{"net_charged_kg": "0", "minutes_since_change": 1, "x\n": 1}]},
            "a key that can't be shown",
        ),
        ({"instruments": {"nose": "1"}}, "instruments: unknown channel"),
        ({"instruments": {"suction_line_K": "-1"}}, "half width"),
        ({"instruments": {"suction_line_K": "1e9"}}, "no instrument"),
        ({"capacity_fixed": "yes"}, "capacity_fixed"),
        ({"tolerance_K": "0"}, "tolerance"),
        ({"settle_minutes": -1}, "settling"),
        ({"application": "x" * 500}, "application"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_line_that_says_where(
    changed: dict[str, Any], words: str
) -> None:
    with pytest.raises(ChargewrightError) as caught:
        answer(json.dumps(request(**changed)))
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize(
    "line",
    [
        "",
        "{",
        "[]",
        "7",
        "null",
        '{"a": 1, "a": 2}',
        "[" * 100_000,
        "9" * 5000,
        " " * (MOST_CHARACTERS + 1),
        "\ufeff{}",
    ],
)
def test_a_line_that_is_no_object_is_refused_in_one_line(line: str) -> None:
    with pytest.raises(ChargewrightError) as caught:
        answer(line)
    assert "\n" not in str(caught.value)


def test_more_rounds_than_a_job_can_have_are_refused() -> None:
    given = request()
    given["rounds"] = given["rounds"] * (MOST_ROUNDS + 1)
    with pytest.raises(ChargewrightError, match="rounds"):
        answer(json.dumps(given))


def answered_or_refused(given: dict[str, Any]) -> dict[str, object] | None:
    refusal = ""
    found = None
    try:
        found = answer(json.dumps(given))
    except ChargewrightError as error:
        refusal = str(error)
    assert "\n" not in refusal
    return found


json_values = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=12)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=8,
)


@settings(deadline=None, max_examples=300)
@given(st.sampled_from([*request(), "instruments", "receiver", "application", "settle_minutes"]), json_values)
def test_any_value_under_any_key_is_answered_or_refused_in_one_line(key: str, value: Any) -> None:
    found = answered_or_refused(request(**{key: value}))
    assert found is None or list(found) == KEYS


@settings(deadline=None, max_examples=300)
@given(st.sampled_from(list(round_json(readings()))), json_values)
def test_any_reading_under_any_channel_is_answered_or_refused_in_one_line(key: str, value: Any) -> None:
    given = request()
    given["rounds"][0][key] = value
    found = answered_or_refused(given)
    uncertainty = found["uncertainty_K"] if found is not None else None
    assert uncertainty is None or (isinstance(uncertainty, float) and math.isfinite(uncertainty))


@settings(deadline=None, max_examples=200)
@given(st.text(max_size=60))
def test_any_text_is_refused_or_answered(line: str) -> None:
    with pytest.raises(ChargewrightError):
        answer(line)


def moist(**moisture: Any) -> dict[str, Any]:
    asked = request()
    entry = asked["rounds"][-1]
    del entry["indoor_wb_K"]
    entry.update(moisture)
    return asked


def test_relative_humidity_stands_in_for_the_wet_bulb_and_is_told() -> None:
    entry = request()["rounds"][-1]
    air = air_by_wet_bulb(float(entry["indoor_db_K"]), float(entry["indoor_wb_K"]), 101325.0)
    with_wet_bulb = answer(json.dumps(request()))
    said = answer(json.dumps(moist(indoor_relative_humidity=f"{air.relative_humidity:.6f}")))
    assert said["target_superheat_K"] == pytest.approx(with_wet_bulb["target_superheat_K"], abs=1e-3)
    assert list(said) == KEYS
    reasons = said["reasons"]
    assert isinstance(reasons, list)
    assert "is worked out from" in reasons[-1]
    assert "relative humidity" in reasons[-1]


def test_a_derived_wet_bulb_brings_its_own_uncertainty() -> None:
    entry = request()["rounds"][-1]
    air = air_by_wet_bulb(float(entry["indoor_db_K"]), float(entry["indoor_wb_K"]), 101325.0)
    rough, fine = (
        read(
            json.dumps(
                moist(indoor_relative_humidity=air.relative_humidity)
                | {"instruments": {"indoor_relative_humidity": share, "indoor_db_K": "0.1"}}
            )
        )[0].accuracies["indoor_wb_K"]
        for share in ("0.05", "0.01")
    )
    assert rough.fixed > 3.0 * fine.fixed


def test_a_dew_point_stands_in_for_the_wet_bulb() -> None:
    entry = request()["rounds"][-1]
    said = answer(json.dumps(moist(indoor_dew_point_K=f"{float(entry['indoor_db_K']) - 10.0:.2f}")))
    assert said["target_superheat_K"] is not None
    assert "a dew point of" in str(said["reasons"])


@pytest.mark.parametrize(
    "moisture",
    [
        {"indoor_relative_humidity": "45"},
        {"indoor_relative_humidity": "nan"},
        {"indoor_dew_point_K": "400"},
        {"indoor_relative_humidity": None},
    ],
)
def test_humidity_that_is_none_moves_nothing(moisture: dict[str, Any]) -> None:
    said = answer(json.dumps(moist(**moisture)))
    assert said["amount_kg"] == "0"
    assert said["target_superheat_K"] is None


def test_a_read_wet_bulb_goes_before_humidity() -> None:
    asked = request()
    asked["rounds"][-1]["indoor_relative_humidity"] = "0.05"
    assert answer(json.dumps(asked)) == answer(json.dumps(request()))


TABLE = {
    "source": "chart on the unit",
    "indoor_wb_K": ["288.7", "297.0"],
    "outdoor_db_K": ["290", 320],
    "target_superheat_K": [["8.0", "16.0"], [None, "14.0"]],
}


def test_the_maker_s_own_table_can_be_given() -> None:
    whole = TABLE | {"target_superheat_K": [["8.0", "16.0"], ["6.0", "14.0"]]}
    said = answer(json.dumps(request(target_table=whole)))
    assert said["target_superheat_K"] != answer(json.dumps(request()))["target_superheat_K"]
    assert "chart on the unit" in str(said["reasons"])
    dashed = answer(json.dumps(request(target_table=TABLE)))
    assert dashed["action"] == "stop"
    assert "has a dash" in str(dashed["reasons"])


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"outdoor_db_K": ["320", "290"]}, "must rise"),
        ({"source": 3}, "target_table.source"),
        ({"indoor_wb_K": ["288,7", "297.0"]}, "decimal point"),
        ({"colour": "green"}, "unknown key"),
    ],
)
def test_a_table_that_is_none_is_refused(changed: dict[str, Any], words: str) -> None:
    with pytest.raises(ChargewrightError, match=words):
        answer(json.dumps(request(target_table=TABLE | changed)))


def with_air(**air: Any) -> dict[str, Any]:
    asked = request(rated_capacity_W="10550")
    asked["rounds"][-1].update({"supply_wb_K": "286.0", "indoor_airflow_m3_per_s": "0.56"} | air)
    return asked


def test_airflow_tells_what_the_air_gives_up() -> None:
    asked = with_air()
    said = answer(json.dumps(asked))
    assert list(said) == KEYS
    text = str(said["reasons"])
    assert "The air gives up " in text
    assert "cfm a ton of rated capacity" in text
    assert "% of the rated capacity" in text
    sharp = {"indoor_airflow_m3_per_s": "0.01", "supply_wb_K": "0.1"}
    assert str(answer(json.dumps(asked | {"instruments": sharp}))["reasons"]) != text


def test_airflow_beside_the_rated_capacity_counts_as_a_share_of_400_cfm_a_ton() -> None:
    # 3 ton of 3516.85 W take 1200 cfm of 0.000 471 947 m³/s (CALCULATED)
    asked = with_air(indoor_airflow_m3_per_s="0.566337") | {"rated_capacity_W": "10550.56"}
    assert read(json.dumps(asked))[1][-1].indoor_airflow_share == pytest.approx(1.0, abs=1e-4)
    own = with_air(indoor_airflow_share="0.9")
    assert read(json.dumps(own))[1][-1].indoor_airflow_share == 0.9


@pytest.mark.parametrize("air", [{"supply_wb_K": "295"}, {"indoor_airflow_m3_per_s": "nan"}])
def test_impossible_air_is_told_and_the_rest_is_answered(air: dict[str, Any]) -> None:
    said = answer(json.dumps(with_air(**air)))
    assert "What the air gives up can't be told" in str(said["reasons"])
    assert said["superheat_K"] is not None


def test_a_rated_capacity_of_nothing_is_refused() -> None:
    with pytest.raises(ChargewrightError, match="rated_capacity_W"):
        answer(json.dumps(request(rated_capacity_W="0")))
