"""`sat`, `target`, `look` and `advise` answer as the contract says, for people and for programs."""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path

import pytest

from tests.cli_call import ROOT, assert_refused, call, command, environment

ROUNDS = {
    "refrigerant": "R-410A",
    "metering": "fixed orifice",
    "nameplate_charge_kg": "3.20",
    "site_pressure_Pa": "101325",
    "target_subcooling_K": None,
    "rounds": [
        {
            "net_charged_kg": "0.00", "minutes_since_change": 15,
            "suction_pressure_Pa_gauge": "800000", "suction_line_K": "290.0",
            "liquid_pressure_Pa_gauge": "2400000", "liquid_line_K": "310.0",
            "indoor_db_K": "298.15", "indoor_wb_K": "292.0", "supply_db_K": "287.5", "outdoor_db_K": "307.0",
        }
    ],
}  # fmt: skip
ADVICE_KEYS = {
    "action", "amount_kg", "verdict", "superheat_K", "subcooling_K", "target_superheat_K",
    "target_subcooling_K", "uncertainty_K", "suspect", "reasons",
}  # fmt: skip


def line(**changes: object) -> bytes:
    return json.dumps(ROUNDS | changes).encode() + b"\n"


# -- sat ------------------------------------------------------------------------------------------


def test_sat_at_a_temperature_gives_both_pressures_in_json() -> None:
    answer = call("sat", "R-410A", "--temperature", "40F", "--json")

    got = answer.json()
    assert (answer.code, answer.err) == (0, "")
    assert {
        "bubble_pressure_Pa",
        "dew_pressure_Pa",
        "estimated",
        "site_pressure_Pa",
        "site_pressure_assumed",
    } <= set(got)
    # R-410A at 40 °F: 118 to 119 psig, from memory of printed pressure-temperature charts
    assert got["bubble_pressure_Pa"] == pytest.approx((118.6 + 14.696) * 6894.757, rel=0.005)
    assert 0 < got["bubble_pressure_Pa"] - got["dew_pressure_Pa"] < 5000
    assert got["site_pressure_Pa"] == 101325
    assert got["site_pressure_assumed"] is True
    assert got["estimated"] is False


def test_sat_at_a_gauge_pressure_counts_from_the_site() -> None:
    sea = call("sat", "R-22", "--pressure", "68.5psig", "--site-pressure", "101325Paa", "--json").json()
    high = call("sat", "R-22", "--pressure", "68.5psig", "--altitude", "5000ft", "--json").json()

    # R-22 at 68.5 psig is 40 °F, from memory of printed pressure-temperature charts
    assert sea["dew_temperature_K"] == pytest.approx((40 + 459.67) / 1.8, abs=0.1)
    assert high["dew_temperature_K"] < sea["dew_temperature_K"] - 0.5
    assert sea["site_pressure_assumed"] is high["site_pressure_assumed"] is False
    assert high["site_pressure_Pa"] == pytest.approx(84307, abs=30)  # standard atmosphere (MEMORY)
    assert {"bubble_temperature_K", "dew_temperature_K"} <= set(sea)


def test_sat_says_in_words_that_it_assumed_the_sea_level() -> None:
    answer = call("sat", "r410a", "--temperature", "4.4C")

    assert answer.code == 0
    assert "R-410A at 39.9 °F (4.4 °C)" in answer.out
    assert "assumed (sea level)" in answer.out
    assert "bubble" in answer.out
    assert "dew" in answer.out


@pytest.mark.parametrize("name", ["R-410A", "R410A", "r410a"])
def test_a_refrigerants_spellings_are_one(name: str) -> None:
    assert call("sat", name, "--temperature", "0C", "--json").json()["refrigerant"] == "R-410A"


def test_sat_marks_a_bridged_curve() -> None:
    assert call("sat", "R-454B", "--temperature", "40F", "--json").json()["estimated"] is True


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--temperature", "40"], ["no unit", "40F"]),
        (["--temperature", "40,5F"], ["decimal comma", "40.5F"]),
        (["--pressure", "118psi"], ["psig or psia"]),
        (["--pressure", "29.9inHg"], ["inHg"]),
        (["--temperature", "40F", "--pressure", "100psig"], ["either"]),
        ([], ["either"]),
        (["--temperature", "4000C"], ["outside the curve"]),
        (["--temperature", "40dF"], ["temperature difference"]),
        (["--temperature", "40F", "--altitude", "1ft", "--site-pressure", "14psia"], ["one of them"]),
        (["--temperature", "40F", "--altitude", "99000ft"], ["altitude"]),
        (["--temperature", "40F", "--site-pressure", "14.7psig"], ["site-pressure"]),
        (["--temperature", "40F", "--site-pressure", "3psia"], ["barometer"]),
    ],
)
def test_sat_refuses_in_one_line_with_what_would_do(arguments: list[str], words: list[str]) -> None:
    assert_refused(call("sat", "R-410A", *arguments), *words)


def test_an_unknown_refrigerant_is_answered_with_near_names() -> None:
    assert_refused(call("sat", "R-410", "--temperature", "40F"), "R-410A")


# -- target ---------------------------------------------------------------------------------------


def test_target_by_table() -> None:
    answer = call("target", "--indoor-wb", "67F", "--outdoor-db", "95F", "--json")

    got = answer.json()
    assert set(got) == {"target_superheat_K", "valid", "method", "reasons"}
    # FOUND in the charging reference, 1.2: 95/67 -> 12.0 °F
    assert got["target_superheat_K"] * 1.8 == pytest.approx(12.0, abs=0.1)
    assert (got["valid"], got["method"]) == (True, "table")


def test_target_by_rule() -> None:
    got = call("target", "--indoor-wb", "64F", "--outdoor-db", "96F", "--method", "rule", "--json").json()

    # FOUND in a trade article, the charging reference, 2: WB 64, DB 96 -> 8 °F
    assert got["target_superheat_K"] * 1.8 == pytest.approx(8.0, abs=1e-4)
    assert got["method"] == "rule"


def test_no_valid_target_is_an_answer_and_not_an_error() -> None:
    answer = call("target", "--indoor-wb", "57F", "--outdoor-db", "95F", "--json")

    got = answer.json()
    assert answer.code == 0
    assert got["target_superheat_K"] is None
    assert got["valid"] is False
    assert got["reasons"]


def test_target_needs_both_temperatures() -> None:
    assert_refused(call("target", "--indoor-wb", "67F"), "--outdoor-db")
    assert_refused(call("target", "--indoor-wb", "67F", "--outdoor-db", "95F", "--method", "guess"), "guess")


# -- look -----------------------------------------------------------------------------------------


def test_look_gives_everything_that_can_be_known() -> None:
    answer = call(
        "look", "R-410A", "--suction-pressure", "118.2psig", "--suction-line", "54.1F",
        "--liquid-pressure", "352psig", "--liquid-line", "97F", "--indoor-wb", "67F",
        "--outdoor-db", "95F", "--json",
    )  # fmt: skip

    got = answer.json()
    assert answer.code == 0
    assert got["superheat_K"] * 1.8 == pytest.approx(14.1, abs=0.2)
    assert got["subcooling_K"] * 1.8 == pytest.approx(10.1, abs=0.2)
    assert got["target_superheat_K"] * 1.8 == pytest.approx(12.0, abs=0.1)
    assert got["verdict"] == "undecided"


def test_look_answers_from_little() -> None:
    got = call("look", "R-410A", "--suction-pressure", "118.2psig", "--json").json()

    assert got["dew_temperature_K"] > 270
    assert got["superheat_K"] is None
    assert got["verdict"] is None


def test_look_judges_subcooling_where_a_target_for_it_is_given() -> None:
    answer = call(
        "look", "R-410A", "--liquid-pressure", "352psig", "--liquid-line", "97F",
        "--target-subcooling", "10dF",
    )  # fmt: skip

    assert answer.code == 0
    assert "target subcooling 10.0 °F" in answer.out


def test_look_at_nothing_or_beyond_the_curve_is_refused() -> None:
    assert_refused(call("look", "R-410A"), "nothing to look at")
    assert_refused(call("look", "R-410A", "--suction-pressure", "2000psig"), "outside the curve")


# -- advise ---------------------------------------------------------------------------------------


def test_advise_answers_one_line_for_one_line() -> None:
    answer = call("advise", "-", stdin=line() + line())

    assert (answer.code, answer.err) == (0, "")
    first, second = (json.loads(each) for each in answer.lines())
    assert set(first) == ADVICE_KEYS
    assert first == second
    assert first["action"] in {"add", "recover", "wait", "done", "stop"}
    assert isinstance(first["amount_kg"], str)


def test_advise_goes_on_after_a_bad_line_and_ends_with_2() -> None:
    answer = call(
        "advise", "-", stdin=line() + b"{not json}\n" + line(metering="pipe") + b"\xff\xfe\n" + line()
    )

    kinds = ["error" in json.loads(each) for each in answer.lines()]
    assert kinds == [False, True, True, True, False]
    assert_refused(answer, "3 of 5 lines")


def test_advise_flushes_each_line_before_the_next_comes() -> None:
    with subprocess.Popen(
        command("advise", "-"), stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=ROOT, env=environment(None)
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        for _ in range(2):
            process.stdin.write(line())
            process.stdin.flush()
            assert set(json.loads(process.stdout.readline())) == ADVICE_KEYS
        process.stdin.close()
        assert process.wait(timeout=30) == 0


def test_advise_reads_a_file_of_lines_and_a_file_spread_over_lines(tmp_path: Path) -> None:
    lines, spread = tmp_path / "lines.jsonl", tmp_path / "spread.json"
    lines.write_bytes(line() + b"\n" + line())
    spread.write_text(json.dumps(ROUNDS, indent=2))

    several, one = call("advise", str(lines)), call("advise", str(spread))

    assert several.code == one.code == 0
    assert len(several.lines()) == 2
    assert one.lines() == several.lines()[:1]


def test_advise_refuses_an_endless_line_and_goes_on() -> None:
    answer = call("advise", "-", stdin=b'{"refrigerant": "' + b"x" * 3_000_000 + b'"}\n' + line())

    first, second = (json.loads(each) for each in answer.lines())
    assert "longer" in first["error"]
    assert set(second) == ADVICE_KEYS
    assert answer.code == 2


def test_advise_stops_rather_than_charge_what_it_must_not() -> None:
    got = call("advise", "-", stdin=line(receiver="fitted")).json()

    assert (got["action"], got["amount_kg"]) == ("stop", "0")


def test_advise_of_nothing_is_refused(tmp_path: Path) -> None:
    empty = tmp_path / "empty"
    empty.write_bytes(b"")

    assert_refused(call("advise", "-"), "no line")
    assert_refused(call("advise", str(empty)), "no line")
    assert_refused(call("advise", str(tmp_path)), "directory")
    assert_refused(call("advise", str(tmp_path / "missing")), "no such file")


# -- as a process ---------------------------------------------------------------------------------


def test_a_closed_pipe_ends_quietly() -> None:
    with subprocess.Popen(
        command("advise", "-"), stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        cwd=ROOT, env=environment(None),
    ) as process:  # fmt: skip
        assert process.stdin is not None
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        process.stdin.write(line() * 3)
        process.stdin.close()

        assert process.wait(timeout=30) == 141
        assert process.stderr.read() == b""


def test_an_interrupt_ends_quietly() -> None:
    with subprocess.Popen(
        command("advise", "-"), stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        cwd=ROOT, env=environment(None),
    ) as process:  # fmt: skip
        assert process.stdin is not None
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdin.write(line())
        process.stdin.flush()
        process.stdout.readline()
        os.kill(process.pid, 2)

        assert process.wait(timeout=30) == 130
        assert process.stderr.read() == b""


def test_a_full_disk_under_standard_output_is_one_line() -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            command("sat", "R-410A", "--temperature", "40F"), stdout=full, stderr=subprocess.PIPE,
            cwd=ROOT, env=environment(None), check=False,
        )  # fmt: skip

    assert done.returncode == 2
    assert done.stderr.decode().count("\n") == 1
    assert "no space left" in done.stderr.decode()


HEAVY = ("textual", "sqlalchemy", "CoolProp", "reportlab", "pyhanko")


@pytest.mark.parametrize(
    "arguments",
    [
        ["--help"],
        ["--version"],
        ["sat", "R-410A", "--temperature", "40F"],
        ["sat", "--help"],
        ["run", "--help"],
    ],
)
def test_nothing_slow_is_imported_for_a_quick_answer(arguments: list[str]) -> None:
    script = (
        "import sys\nfrom guide.cli import main\n"
        f"try:\n    main({arguments!r})\n"
        f"except SystemExit as end:\n    print(end.code, [m for m in {HEAVY!r} if m in sys.modules])\n"
    )
    done = subprocess.run(
        [command()[0], "-c", script],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=environment(None),
        check=True,
    )

    assert done.stdout.splitlines()[-1] == "0 []"


def test_help_names_every_command() -> None:
    answer = call("--help")

    assert answer.code == 0
    for name in ("advise", "demo", "export", "look", "procedures", "run", "sat", "target", "verify"):
        assert f"\n  {name} " in answer.out


def test_without_a_terminal_the_program_does_not_open() -> None:
    assert_refused(call(), "needs a terminal")
