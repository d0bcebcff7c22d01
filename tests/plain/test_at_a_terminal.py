"""The small job and the program's other places, worked line by line through a pseudo-terminal."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from guide.record.verify import verify_record
from tests.cli_call import ROOT
from tests.plain.terminal import END, INTERRUPT, Person
from tests.screens.small_job import PASSPHRASE, RIGHT_ROUND, ROUND

REAL = ROOT / "jobs" / "harbour-school-unit-3.yaml"


def program(folder: Path, *more: str, named: dict[str, str] | None = None) -> Person:
    return Person("-m", "tests.plain.program", str(folder), *more, named=named)


def signs_in(person: Person) -> None:
    person.hears("Number:")
    person.types("1")
    person.hears("Who are you?")
    person.hears("Number:")
    person.types("1")
    person.hears("Passphrase")
    person.types(PASSPHRASE)


def goes_on(person: Person) -> None:
    person.hears("YOU WERE AWAY")
    person.hears("Empty line: go on.")
    person.types("")


def answers(person: Person, *pairs: tuple[str, str]) -> None:
    for prompt, line in pairs:
        person.hears(prompt)
        person.types(line)


def to_the_loop(person: Person) -> None:
    answers(
        person,
        ("WARNING (1 of 2): Liquid refrigerant freezes skin", "read"),
        ("CAUTION (2 of 2)", "read"),
        ("What do you wear?", "1"),
        ("micron", "400"),
        ("Which way?", ""),
        ("End of part Brief", ""),
        ("Empty line: begin the wait", ""),
    )
    for _ in range(20):
        person.hears("line")
        person.hears(":")
        if "Empty line: end the wait" in person.said[-200:]:
            break
        person.types("")
    else:
        raise AssertionError(person.said[-500:])
    person.types("")
    answers(person, ("WARNING: Liquid", "read"))


def settles_and_reads(person: Person, values: dict[str, str]) -> None:
    told = person.hears(":")
    for _ in range(40):
        told = person.said[-120:]
        if "uction pressure" in told.rsplit("\n", 1)[-1]:
            break
        if told.endswith("again: ") or told.endswith("again:"):
            person.types("")
        person.hears(":")
    first, *rest = values.values()
    person.types(first)
    for value in rest:
        person.hears("\n")
        person.hears(":")
        person.types(value)


def test_a_whole_job_is_worked_line_by_line_into_a_sound_record(tmp_path: Path) -> None:
    with program(tmp_path / "data") as person:
        signs_in(person)
        goes_on(person)
        to_the_loop(person)
        settles_and_reads(person, ROUND)
        person.hears("Advice: ADD")
        answers(person, ("Weight before", "22 0.5"), ("CLOSE it at", ""), ("nothing typed yet", "21 14.5"))
        settles_and_reads(person, RIGHT_ROUND)
        person.hears("Advice: LEAVE IT")
        answers(
            person,
            ("Empty line: end the charging", ""),
            ("End of part Charge", ""),
            ("The customer", "2"),
        )
        person.hears("Your signature says")
        person.hears("Passphrase")
        person.types(PASSPHRASE)
        person.hears("Signed and written")
        told = person.hears("Empty line leaves")
        person.types("")
        record = person.hears("Fingerprint:")
        person.hears("Number:")
        person.types("3")
        assert person.ends() == 0

    assert "fingerprint" in told
    (pdf,) = (
        each
        for each in (tmp_path / "data" / "records").glob("*.pdf")
        if each.name in record.replace("\n", "")
    )
    assert verify_record(pdf.read_bytes()).sound
    assert "\x1b" not in person.said
    assert PASSPHRASE not in person.said


def test_a_warning_is_passed_only_by_the_word(tmp_path: Path) -> None:
    with program(tmp_path / "data") as person:
        signs_in(person)
        goes_on(person)
        answers(person, ("WARNING (1 of 2)", ""), ("stands until you type read", "yes"))
        answers(person, ("stands until you type read", "READ"), ("CAUTION (2 of 2)", "?"))
        told = person.hears("Number")
        person.types("")
        person.presses(END)
        person.ends()

    for words in ("why", "note", "skip", "pause", "break off", "leave"):
        assert words in told


def test_the_end_of_the_input_pauses_and_the_job_goes_on_where_it_stood(tmp_path: Path) -> None:
    with program(tmp_path / "data") as person:
        signs_in(person)
        goes_on(person)
        person.hears("WARNING (1 of 2)")
        person.types("read")
        person.hears("CAUTION (2 of 2)")
        person.hears(":")
        person.presses(END)
        person.hears("Logged")
        assert person.ends() == 0
    with program(tmp_path / "data") as person:
        assert "at rest" in person.hears("Number:")
        person.types("1")
        answers(person, ("Number:", "1"), ("Passphrase", PASSPHRASE))
        goes_on(person)
        person.hears("CAUTION (2 of 2)")
        person.presses(END)
        person.ends()


@pytest.mark.parametrize("at", ["Number:", "Who are you?", "Passphrase"])
def test_the_end_of_the_input_leaves_from_anywhere(tmp_path: Path, at: str) -> None:
    with program(tmp_path / "data") as person:
        for prompt, line in (("Number:", "1"), ("Who are you?", "1"), ("Passphrase", PASSPHRASE)):
            person.hears(prompt)
            if prompt == at:
                break
            person.types(line)
        person.hears(":") if at == "Who are you?" else None
        person.presses(END)
        assert person.ends() == 0

    assert "Traceback" not in person.said


def test_ctrl_c_asks_what_is_meant(tmp_path: Path) -> None:
    with program(tmp_path / "data") as person:
        signs_in(person)
        goes_on(person)
        person.hears("Type read when you have:")
        person.presses(INTERRUPT)
        answers(person, ("You pressed Ctrl-C", "1"))
        person.hears("WARNING (1 of 2)")
        person.hears("Type read when you have:")
        person.presses(INTERRUPT)
        answers(person, ("You pressed Ctrl-C", "2"), ("Logged", ""))
        person.hears("1 open.")
        person.presses(INTERRUPT)
        assert person.ends() == 0


def test_a_terminal_without_utf8_gets_ascii(tmp_path: Path) -> None:
    names = {"PYTHONUTF8": "unset", "LANG": "C", "LC_ALL": "unset", "LC_CTYPE": "unset"}
    with program(tmp_path / "data", "École Fèvre 屋上", named=names) as person:
        signs_in(person)
        goes_on(person)
        person.hears("WARNING (1 of 2)")
        person.presses(END)
        person.ends()

    assert person.said.isascii()
    assert "Ecole Fevre" in person.said
    assert "\x1b" not in person.said


def test_hostile_lines_are_answered_and_harmless(tmp_path: Path) -> None:
    lines = [b"\xff\xfe\x80", b"9" * 3000, b"\x1b[2J\x1b]0;x\x07", "\u202eread".encode(), b"-1", b"<", b"{}"]
    with program(tmp_path / "data") as person:
        signs_in(person)
        goes_on(person)
        for line in lines:
            person.hears("Type read when you have:")
            person.types(line)
        answers(person, ("Type read when you have:", "read"), ("CAUTION", "read"))
        for line in (b"9" * 3000, b"\xff", b"0", b"-1", b"1e3", b"<"):
            person.hears("Number:")
            person.types(line)
        answers(
            person,
            ("Number:", "?"),
            ("What else?", "take a note (t)"),
            ("Note", b"\x9b31mred".decode("latin-1")),
        )
        person.hears("Logged")
        person.presses(END)
        person.ends()

    assert "Traceback" not in person.said
    assert "fault of this program" not in person.said


def test_an_unlikely_value_needs_a_reason_and_can_be_taken_back(tmp_path: Path) -> None:
    with program(tmp_path / "data") as person:
        signs_in(person)
        goes_on(person)
        answers(
            person,
            ("WARNING (1 of 2)", "read"), ("CAUTION", "read"), ("What do you wear?", "1"),
            ("micron", "twenty"),
        )  # fmt: skip
        person.hears("micron")
        person.hears(":")
        person.types("700000")
        told = person.hears("):")
        if "An empty line keeps it" in told:
            person.types("")
            person.hears("Why is")
            person.types("<")
        person.presses(END)
        person.ends()


def test_a_new_person_takes_a_real_order_from_the_command_line(tmp_path: Path) -> None:
    with Person("-m", "guide", "run", str(REAL), "--plain", data=tmp_path / "data") as person:
        answers(
            person,
            ("Your name", "Ana Ruiz"),
            ("Short name", "ana"),
            ("Certification", "1"),
            ("Its number", ""),
            ("Passphrase", PASSPHRASE),
            ("The same again", "not the same one"),
        )
        person.hears("are not the same")
        person.hears("Passphrase")
        person.types("")
        person.hears("Nothing done")
        answers(
            person,
            ("Your name", "Ana Ruiz"), ("Short name", "ana"), ("Certification", "1"), ("Its number", ""),
            ("Passphrase", PASSPHRASE), ("The same again", PASSPHRASE),
        )  # fmt: skip
        person.hears("J-0001, Harbour School, roof unit 3.")
        person.presses(END)
        assert person.ends() == 0

    assert re.search(r"Left\. Everything", person.said)
    assert PASSPHRASE not in person.said
