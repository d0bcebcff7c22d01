"""`demo` and `run` work whole jobs, by themselves and in a terminal."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import time
from pathlib import Path

import pytest

from guide.journal.keys import open_log_key
from guide.record.verify import verify_record
from tests.cli_call import ROOT, Answer, assert_refused, call, command, environment

DEMONSTRATION = ROOT / "jobs" / "demonstration.yaml"
REAL = ROOT / "jobs" / "harbour-school-unit-3.yaml"


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("data")


@pytest.fixture(scope="module")
def demonstrated(data: Path) -> Answer:
    return call("demo", data=data)


def last_path(answer: Answer) -> Path:
    return Path(answer.lines()[-1])


def practice(tmp_path: Path) -> Path:
    order = tmp_path / "practice.yaml"
    order.write_text(DEMONSTRATION.read_text().replace("nature: demonstration", "nature: practice"))
    return order


# -- demo -----------------------------------------------------------------------------------------


def test_the_last_line_of_a_demonstration_is_its_record(demonstrated: Answer, data: Path) -> None:
    pdf = last_path(demonstrated)

    assert (demonstrated.code, demonstrated.err) == (0, "")
    assert pdf.is_absolute()
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert (data / "demo") in pdf.parents


def test_the_record_is_sound_and_says_that_it_is_a_demonstration(demonstrated: Answer) -> None:
    report = verify_record(last_path(demonstrated).read_bytes())

    assert report.sound, report.first_wrong
    assert report.nature == "demonstration"


def test_without_a_terminal_each_step_is_told(demonstrated: Answer) -> None:
    told = "\n".join(demonstrated.lines())

    assert told.startswith("DEMONSTRATION")
    for words in ("reads: WARNING", "advice: add", "advice: done", "takes note", "signs", "PRACTICE"):
        assert words in told
    assert told.count("closes the cylinder valve") >= 2


def test_a_demonstration_writes_no_key(demonstrated: Answer) -> None:
    folder = last_path(demonstrated).parents[1]

    assert not list(folder.rglob("*.pem"))
    assert sorted(path.name for path in folder.rglob("*.pdf")) == ["J-0001-customer.pdf", "J-0001.pdf"]


def test_a_second_demonstration_gets_a_folder_of_its_own(demonstrated: Answer, data: Path) -> None:
    second = call("demo", "--unattended", data=data)

    assert second.code == 0
    assert last_path(second) != last_path(demonstrated)
    assert last_path(demonstrated).exists()


def test_a_demonstration_goes_only_into_a_new_or_empty_folder(tmp_path: Path) -> None:
    new, taken = tmp_path / "new" / "folder", tmp_path / "taken"
    taken.mkdir()
    (taken / "something").write_text("mine")

    answer = call("demo", "--unattended", "--to", str(new))

    assert answer.code == 0
    assert last_path(answer).parent == new / "records"
    assert_refused(call("demo", "--unattended", "--to", str(taken)), "empty folder")
    assert [path.name for path in taken.iterdir()] == ["something"]


def in_a_terminal(
    *arguments: str, data: Path, keys: bytes = b"", after: bytes = b"take over", timeout_s: float = 60.0
) -> tuple[int, str]:
    """The exit code and everything painted by a command that has a terminal at both ends."""
    here, there = pty.openpty()
    with subprocess.Popen(
        command(*arguments), stdin=there, stdout=there, stderr=there, cwd=ROOT, close_fds=True,
        env=environment(data) | {"TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"},
        start_new_session=True,
    ) as process:  # fmt: skip
        os.close(there)
        painted = bytearray()
        until = time.monotonic() + timeout_s
        while time.monotonic() < until:
            if not select.select([here], [], [], 0.2)[0]:
                continue
            try:
                piece = os.read(here, 65536)
            except OSError:  # the other end is closed: the program has ended
                break
            painted += piece
            if keys and after in painted:
                os.write(here, keys)
                keys = b""
        if time.monotonic() >= until:
            process.kill()  # a program that waits for a key no test gives would wait for ever
        os.close(here)
        return process.wait(timeout=10), painted.decode(errors="replace")


def test_on_a_terminal_it_plays_in_the_program_and_ends_by_itself(tmp_path: Path) -> None:
    code, painted = in_a_terminal("demo", "--pace", "0", "--to", str(tmp_path / "to"), data=tmp_path)

    after_the_program = painted.rpartition("\x1b[?1049l")[2]
    assert code == 0
    assert "take over" in painted
    assert after_the_program.rstrip().splitlines()[-1] == str(tmp_path / "to" / "records" / "J-0001.pdf")


def test_a_demonstration_that_is_left_says_so(tmp_path: Path) -> None:
    code, painted = in_a_terminal(
        "demo", "--pace", "0.2", "--to", str(tmp_path / "to"), data=tmp_path, keys=b"\x11"
    )

    assert code == 2
    assert painted.rstrip().endswith("no record was made")


# -- run ------------------------------------------------------------------------------------------


def test_a_practice_order_is_worked_unattended(tmp_path: Path) -> None:
    answer = call("run", str(practice(tmp_path)), "--unattended", data=tmp_path / "data")

    report = verify_record(last_path(answer).read_bytes())
    assert (answer.code, answer.err) == (0, "")
    assert report.sound
    assert report.nature == "practice"
    assert (tmp_path / "data" / "practice") in last_path(answer).parents
    assert not (tmp_path / "data" / "journal.db").exists()


def test_real_work_needs_a_person(tmp_path: Path) -> None:
    assert_refused(call("run", str(REAL), "--unattended", data=tmp_path), "real work", "practice order")
    assert_refused(call("run", str(REAL), data=tmp_path), "terminal")
    assert not list(tmp_path.iterdir())


def test_a_practice_job_may_be_signed_with_a_passphrase_of_ones_own(tmp_path: Path) -> None:
    answer = call(
        "run",
        str(practice(tmp_path)),
        "--unattended",
        data=tmp_path / "data",
        passphrase="my own long passphrase",
    )

    keys = last_path(answer).parents[1] / "keys" / "rig"
    assert answer.code == 0
    assert open_log_key(keys, "my own long passphrase")


def test_real_work_opens_the_program_on_its_order(tmp_path: Path) -> None:
    code, painted = in_a_terminal("run", str(REAL), data=tmp_path, keys=b"\x11", after=b"YOURSELF")

    assert code == 0
    assert "Traceback" not in painted
    assert (tmp_path / "journal.db").exists()


def test_without_a_command_the_program_opens(tmp_path: Path) -> None:
    code, painted = in_a_terminal(data=tmp_path, keys=b"\x11", after=b"WHAT NEXT")

    assert code == 0
    assert "Traceback" not in painted


def test_a_stream_of_readings_is_refused_clearly(tmp_path: Path) -> None:
    assert_refused(call("run", str(DEMONSTRATION), "--readings", "-", data=tmp_path), "--readings")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("order: DEMO-1\n", "", "order: is missing"),
        ("metering: fixed orifice", "metering: guess", "metering"),
        ("nameplate_charge: 8lb0oz", "nameplate_charge: 8", "no unit"),
        ("altitude: 0ft", "altitude: 0ft\n  pressure: 14psia", "either altitude or pressure"),
        ("procedure: charge-fixed-orifice", "procedure: no-such", "no-such"),
        ("metering: fixed orifice", "metering: thermostatic valve", "metering"),
        ("refrigerant: R-410A, contents: virgin", "refrigerant: R-99, contents: virgin", "R-99"),
    ],
)
def test_an_order_that_cannot_be_worked_is_refused(tmp_path: Path, old: str, new: str, words: str) -> None:
    order = practice(tmp_path)
    order.write_text(order.read_text().replace(old, new, 1))

    assert_refused(call("run", str(order), "--unattended", data=tmp_path / "data"), words)


def test_an_order_without_a_site_is_refused(tmp_path: Path) -> None:
    order = practice(tmp_path)
    order.write_text(order.read_text().replace("  altitude: 0ft\n", ""))

    assert_refused(call("run", str(order), "--unattended", data=tmp_path / "data"), "altitude", "barometer")


@pytest.mark.parametrize("path", sorted((ROOT / "jobs").glob("*.yaml")), ids=lambda path: path.stem)
def test_every_shipped_order_can_be_read_and_its_procedure_is_shipped(path: Path) -> None:
    from guide.job.order import read_order
    from guide.procedure.library import load

    order = read_order(path.read_bytes(), path.name)
    facts = order.facts()
    for condition in load(order.procedure).applies:
        assert (facts[condition.fact] in condition.values) != condition.negated
