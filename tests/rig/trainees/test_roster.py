"""Several trainees on one machine: each with a folder, a journal and keys of their own."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson
from guide.journal.integrity import check
from guide.journal.keys import BadKey, WrongPassphrase
from guide.journal.port import SimulatedClock
from guide.rig.trainees.roster import NoTrainee, Roster, clean_id

PASSPHRASE = "seven gray herons"
OTHER = "nine brown otters"


def _clock() -> SimulatedClock:
    return SimulatedClock(datetime(2026, 11, 25, 14, 0, tzinfo=UTC))


def test_each_trainee_has_a_folder_a_journal_and_keys_of_their_own(tmp_path: Path) -> None:
    roster = Roster(tmp_path)
    roster.add("ada", "Ada Finch", PASSPHRASE, clock=_clock())
    roster.add("ben", "Ben Wren", OTHER, clock=_clock())

    assert [(each.id, each.name, each.fault) for each in roster.trainees()] == [
        ("ada", "Ada Finch", None), ("ben", "Ben Wren", None),
    ]  # fmt: skip
    for name in ("ada", "ben"):
        folder = tmp_path / "trainees" / name
        assert check(folder / "journal.db").ok
        assert [each.name for each in (folder / "keys").iterdir()] == [name]
    assert not (tmp_path / "journal.db").exists(), "nobody teaches here yet"
    if os.name == "posix":
        assert (tmp_path / "trainees").stat().st_mode & 0o077 == 0


def test_a_trainee_signs_in_at_their_own_bench_with_their_own_passphrase(tmp_path: Path) -> None:
    roster = Roster(tmp_path)
    roster.add("ada", "Ada Finch", PASSPHRASE, clock=_clock())
    roster.add("ben", "Ben Wren", OTHER, clock=_clock())
    at_work = roster.sign_in("ada", PASSPHRASE, clock=_clock())

    assert at_work.bench.nature == "practice"
    assert at_work.technician.known.id == "ada"
    assert at_work.technician.log_key.name == "chargewright/PRACTICE/ada"
    with pytest.raises(WrongPassphrase):
        roster.sign_in("ben", PASSPHRASE, clock=_clock())
    at_work.bench.close()
    roster.sign_in("ben", OTHER, clock=_clock()).bench.close()


def test_nobody_is_added_twice_and_a_bad_name_or_passphrase_leaves_nobody_behind(tmp_path: Path) -> None:
    roster = Roster(tmp_path)
    roster.add("ada", "Ada Finch", PASSPHRASE, clock=_clock())
    with pytest.raises(NoTrainee, match="already"):
        roster.add("ada", "Another", PASSPHRASE, clock=_clock())
    with pytest.raises(BadKey, match="too short"):
        roster.add("ben", "Ben Wren", "short", clock=_clock())
    with pytest.raises(BadKey, match="name"):
        roster.add("ben", " ", PASSPHRASE, clock=_clock())
    with pytest.raises(BadKey, match="can't be used"):
        roster.add("aux", "Reserved", PASSPHRASE, clock=_clock())
    with pytest.raises(NoTrainee, match="'ben-wren' would do"):
        roster.add("Ben Wren", "Ben Wren", PASSPHRASE, clock=_clock())

    assert [each.id for each in roster.trainees()] == ["ada"]
    roster.add("ben", "Ben Wren", OTHER, clock=_clock())


def test_a_link_in_a_trainees_place_is_nobody(tmp_path: Path) -> None:
    roster = Roster(tmp_path / "practice")
    elsewhere = Roster(tmp_path / "elsewhere")
    elsewhere.add("ada", "Ada Finch", PASSPHRASE, clock=_clock())
    roster.folder.mkdir(parents=True)
    (roster.folder / "ada").symlink_to(elsewhere.folder / "ada")

    assert roster.trainees() == ()
    with pytest.raises(NoTrainee, match="not known here"):
        roster.open("ada")
    with pytest.raises(NoTrainee, match="link"):
        roster.add("ada", "Ada Finch", PASSPHRASE, clock=_clock())


def test_a_journal_that_can_not_be_read_is_listed_with_the_reason(tmp_path: Path) -> None:
    roster = Roster(tmp_path)
    roster.add("ada", "Ada Finch", PASSPHRASE, clock=_clock())
    (roster.folder / "ada" / "journal.db").write_bytes(b"nothing of the kind" * 100)
    (roster.folder / "empty").mkdir()

    ada, empty = roster.trainees()
    assert ada.fault is not None
    assert "journal" in ada.fault
    assert empty.fault is not None
    assert "no journal" in empty.fault


def test_a_trainers_keys_are_known_by_fingerprint_also_after_they_were_replaced(tmp_path: Path) -> None:
    bench = Bench.open(tmp_path, nature="practice", clock=_clock())
    bench.enrol(KnownPerson("tess", "Tess Rook", "608 Universal"), PASSPHRASE)
    old = bench.sign_in("tess", PASSPHRASE).log_key.public_key
    bench.replace_keys("tess", OTHER)
    new = bench.sign_in("tess", OTHER).log_key.public_key
    bench.close()

    found = {each.public_key: each for each in Roster(tmp_path).trainers().values()}
    assert (found[old].replaced, found[new].replaced) == (True, False)
    assert {each.name for each in found.values()} == {"Tess Rook"}
    assert Roster(tmp_path / "absent").trainers() == {}


@given(st.text(max_size=60))
def test_whatever_is_typed_becomes_an_id_that_stays_itself_or_is_refused_in_words(text: str) -> None:
    refusal = ""
    try:
        found = clean_id(text)
    except NoTrainee as error:
        found, refusal = "a", str(error)

    assert clean_id(found) == found
    assert found.isascii()
    assert 0 < len(found) <= 32
    assert not set(found) & set("/.\\ ")
    assert not refusal or "at most 32" in refusal
