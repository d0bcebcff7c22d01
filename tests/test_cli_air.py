"""`target` and `look` take what else tells how moist the air is, and what the air side gives up."""

from __future__ import annotations

import psychrolib
import pytest

from tests.cli_call import call

TARGET = ("target", "--outdoor-db", "95F", "--json")
LOOK = (
    "look", "R-410A", "--suction-pressure", "118.2psig", "--suction-line", "54F", "--outdoor-db", "95F",
    "--indoor-db", "80F",
)  # fmt: skip
AIR = ("--supply-db", "59F", "--supply-wb", "57F", "--airflow", "1200cfm")


def test_relative_humidity_gives_the_target_of_the_wet_bulb_it_stands_for() -> None:
    psychrolib.SetUnitSystem(psychrolib.IP)
    wet_bulb_F = psychrolib.GetTWetBulbFromRelHum(80.0, 0.5, 14.696)  # LIBRARY
    by_humidity = call(*TARGET, "--indoor-db", "80F", "--indoor-rh", "50%").json()
    by_wet_bulb = call(*TARGET, "--indoor-wb", f"{wet_bulb_F:.4f}F").json()
    assert by_humidity["target_superheat_K"] == pytest.approx(by_wet_bulb["target_superheat_K"], abs=0.01)
    assert set(by_humidity) == {"target_superheat_K", "valid", "method", "reasons"}
    assert "50 ± 3 % relative humidity" in by_humidity["reasons"][-1]
    assert "sea level is assumed" in by_humidity["reasons"][-1]


def test_the_site_s_altitude_counts() -> None:
    moist = ("--indoor-db", "80F", "--indoor-dew-point", "60F")
    low, high = (call(*TARGET, *moist, "--altitude", height).json() for height in ("0ft", "5000ft"))
    assert low["target_superheat_K"] > high["target_superheat_K"] + 0.3
    assert "assumed" not in low["reasons"][-1]


def test_target_says_when_the_rule_of_thumb_lies_far_from_the_table() -> None:
    far = call(*TARGET[:1], "--outdoor-db", "110F", "--indoor-wb", "76F", "--json").json()
    near = call(*TARGET, "--indoor-wb", "67F").json()
    assert any("measure the indoor wet bulb" in reason for reason in far["reasons"])
    assert not any("measure the indoor wet bulb" in reason for reason in near["reasons"])


def test_look_takes_humidity_with_its_own_uncertainty() -> None:
    got = call(*LOOK, "--indoor-rh", "50%", "--json").json()
    read = call(*LOOK, "--indoor-wb", "66.7F", "--json").json()
    assert got["target_superheat_K"] == pytest.approx(read["target_superheat_K"], abs=0.05)
    assert got["target_superheat_uncertainty_K"] > read["target_superheat_uncertainty_K"]
    assert set(got) == set(read)


def test_look_tells_what_the_air_gives_up_where_its_flow_is_known() -> None:
    got = call(*LOOK, "--indoor-wb", "67F", *AIR, "--rated-capacity", "3ton", "--json").json()
    assert got["air_total_W"] == pytest.approx(10_713.0, rel=0.005)  # see tests/charging/test_air_capacity.py
    assert got["air_sensible_W"] + got["air_latent_W"] == pytest.approx(got["air_total_W"], abs=0.01)
    assert 0.0 < got["air_sensible_uncertainty_W"] < got["air_total_uncertainty_W"]
    assert "102 ± " in got["reasons"][-1]
    words = call(*LOOK, "--indoor-wb", "67F", *AIR).out
    assert "The air gives up 36 600 ± " in words


def test_without_a_supply_wet_bulb_only_sensible_heat_is_told() -> None:
    got = call(*LOOK, "--indoor-wb", "67F", "--supply-db", "15C", "--airflow", "2040m3/h", "--json").json()
    assert got["air_total_W"] is None
    assert got["air_sensible_W"] == pytest.approx(7_800.0, rel=0.02)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ((*TARGET, "--indoor-db", "80F", "--indoor-rh", "50"), "write 50%"),
        ((*TARGET, "--indoor-db", "80F", "--indoor-rh", "50,5%"), "write 50%"),
        ((*TARGET, "--indoor-db", "80F", "--indoor-rh", "500%"), "between 0 % and 100 %"),
        ((*TARGET, "--indoor-rh", "50%"), "give --indoor-db"),
        ((*TARGET, "--indoor-db", "80F", "--indoor-wb", "67F", "--indoor-rh", "50%"), "not both"),
        ((*TARGET, "--indoor-db", "80F", "--indoor-dew-point", "81F"), "swapped"),
        ((*TARGET, "--indoor-db", "800F", "--indoor-rh", "50%"), "read it again"),
        (TARGET, "give --indoor-wb"),
        ((*LOOK, "--indoor-wb", "67F", "--airflow", "1200cfm"), "--supply-db"),
        ((*LOOK, "--indoor-wb", "67F", *AIR[:4]), "give --airflow"),
        ((*LOOK, "--indoor-wb", "67F", *AIR[:4], "--airflow", "1200"), "write 1200cfm"),
        ((*LOOK, "--indoor-wb", "67F", *AIR[:4], "--airflow", "0cfm"), "above zero"),
        ((*LOOK, "--indoor-wb", "67F", *AIR, "--rated-capacity", "3tonne"), "write 3ton"),
        ((*LOOK, "--indoor-wb", "67F", "--supply-db", "57F", "--supply-wb", "59F", *AIR[4:]), "swapped"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_line(line: tuple[str, ...], words: str) -> None:
    got = call(*line)
    assert got.code == 2
    assert words in got.err
    assert got.err.count("\n") == 1
