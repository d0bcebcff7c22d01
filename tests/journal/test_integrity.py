from __future__ import annotations

import random
import shutil
import time
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.journal import tree
from guide.journal.blob import BadBlob, Blob
from guide.journal.event import BadEvent, Event
from guide.journal.integrity import MAX_PROBLEMS, check, check_chain
from guide.journal.store import Journal, JournalUnusable
from tests.journal.making import STAMP, log_key, raw_database, verifier
from tests.journal.test_store import journal_with


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sound") / "journal.db"
    with journal_with(path, jobs=5, events=6) as journal:
        journal.checkpoint(log_key())
        journal.append("journal", [("backup made", {})], stamp=STAMP, by="jo")
        journal.append("J-0002", [("closed", {})], stamp=STAMP, by="jo")
        journal.checkpoint(log_key())
    return path


@pytest.fixture
def copy(sound: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(sound, tmp_path / "journal.db"))


def test_a_sound_journal_is_found_sound(sound: Path) -> None:
    found = check(sound, verifiers=[verifier()])
    assert found.ok
    assert (found.events, found.jobs, found.checkpoints, found.signed) == (32, 6, 2, 2)
    assert found.first_bad_event is None


def rewrite(path: Path, seq: int, raw: bytes, *, leaf: bool) -> None:
    with raw_database(path, unguarded=True) as connection:
        connection.execute("UPDATE event SET raw = ? WHERE seq = ?", (raw, seq))
        if leaf:
            connection.execute("UPDATE event SET leaf = ? WHERE seq = ?", (tree.leaf_hash(raw), seq))


@pytest.mark.parametrize("leaf", [False, True])
def test_an_event_rewritten_is_named_even_with_its_hash_made_to_fit(copy: Path, leaf: bool) -> None:
    with Journal.open(copy, read_only=True) as journal:
        raw = list(journal.raw_events())[9]
    rewrite(copy, 9, raw.replace(b'"i":2', b'"i":7'), leaf=leaf)
    found = check(copy)
    assert not found.ok
    # with the hash made to fit, it is the next event of the job whose link breaks, and the checkpoint
    assert found.first_bad_event == (10 if leaf else 9)
    assert any("checkpoint there signed" in str(problem) for problem in found.problems)
    assert any("guard" in str(problem) for problem in found.problems)


def test_the_last_event_rewritten_is_shown_by_the_checkpoint(copy: Path) -> None:
    with Journal.open(copy, read_only=True) as journal:
        raw = list(journal.raw_events())[31]
    rewrite(copy, 31, raw.replace(b'"by":"jo"', b'"by":"al"'), leaf=True)
    text = " ".join(map(str, check(copy).problems))
    assert "event 31: the index says otherwise about person" in text
    assert "the first 32 events are not those" in text


@pytest.mark.parametrize(
    ("statement", "first", "says"),
    [
        ("DELETE FROM event WHERE seq = 31", 31, "checkpoint signed 32"),
        ("DELETE FROM event WHERE seq >= 20", 20, "checkpoint signed 30"),
        ("DELETE FROM event WHERE seq = 7", 8, "left out"),
        ("UPDATE event SET job = 'J-0009' WHERE seq = 3", 3, "index says otherwise about job"),
        ("UPDATE event SET kind = 'closed' WHERE seq = 3", 3, "index says otherwise about kind"),
        ("UPDATE event SET utc = '2020' WHERE seq = 3", 3, "index says otherwise about utc"),
        ("UPDATE event SET leaf = x'00' WHERE seq = 3", 3, "not those that were hashed"),
        ("UPDATE event SET raw = x'7b7d' WHERE seq = 3", 3, "not an event"),
        ("UPDATE event SET raw = CAST(raw || x'20' AS BLOB) WHERE seq = 3", 3, "canonical"),
        ("UPDATE checkpoint SET size = 3 WHERE number = 0", None, "size of checkpoint 0"),
        ("DELETE FROM checkpoint WHERE number = 0", None, "checkpoint 1 stands where 0 belongs"),
        ("UPDATE checkpoint SET note = 'nonsense' WHERE number = 0", None, "checkpoint can't be used"),
    ],
)
def test_each_way_of_tampering_is_named(copy: Path, statement: str, first: int | None, says: str) -> None:
    with raw_database(copy, unguarded=True) as connection:
        connection.execute(statement)
    found = check(copy)
    assert found.first_bad_event == first
    assert any(says in str(problem) for problem in found.problems), found.problems


def test_a_missing_or_weakened_guard_is_named(copy: Path) -> None:
    with raw_database(copy) as connection:
        connection.execute("DROP TRIGGER event_delete")
        connection.execute("CREATE TRIGGER event_delete BEFORE DELETE ON event BEGIN SELECT 1; END")
        connection.execute("DROP TRIGGER blob_update")
    assert [str(problem).split()[2] for problem in check(copy).problems] == ["event_delete", "blob_update"]


def test_an_altered_note_is_named_and_never_shown_and_an_erased_one_is_no_problem(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    blobs = [Blob.of("first"), Blob.of("second")]
    with Journal.create(path, kind="real") as journal:
        body = {"texts": [blob.ref for blob in blobs]}
        journal.append("journal", [("noted", body)], stamp=STAMP, by="jo", blobs=blobs)
        journal.erase_blob(blobs[1].ref)
    assert check(path).ok
    with raw_database(path) as connection:
        trigger = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'blob_update'").fetchone()[0]
        connection.execute("DROP TRIGGER blob_update")
        connection.execute("UPDATE blob SET text = 'forged'")
        connection.execute(trigger)
    assert [str(problem).split()[2] for problem in check(path).problems] == [f"{blobs[0].ref[:12]}…"]
    with Journal.open(path, read_only=True) as journal, pytest.raises(BadBlob, match="altered"):
        journal.blob(blobs[0].ref)


def test_an_unnumbered_or_wrongly_numbered_job_is_named(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with Journal.create(path, kind="real") as journal:
        journal.append("J-0001", [("opened", {"number": 1})], stamp=STAMP, by="jo")
        journal.append("J-0003", [("opened", {"number": 3})], stamp=STAMP, by="jo")
    found = check(path)
    assert [str(problem) for problem in found.problems] == ["event 1: opens a job under number 3, not 2"]


def test_a_log_made_anew_does_not_fit_a_checkpoint_kept_outside(sound: Path, tmp_path: Path) -> None:
    with Journal.open(sound, read_only=True) as journal:
        kept, log = journal.checkpoints()[-1], journal.log
    assert check(sound, trusted=[kept]).ok
    forged = tmp_path / "journal.db"
    with Journal.create(forged, kind="real", log_id=log) as journal:
        journal.append("J-0001", [("opened", {"number": 1})] + [("noted", {})] * 40, stamp=STAMP, by="jo")
        journal.checkpoint(log_key())
    assert check(forged, verifiers=[verifier()]).ok
    assert [str(p) for p in check(forged, trusted=[kept]).problems] == [
        "the first 32 events are not those that the checkpoint there signed"
    ]
    with journal_with(tmp_path / "other.db"):
        pass
    assert "another log" in str(check(tmp_path / "other.db", trusted=[kept]).problems[0])


def test_a_checkpoint_signed_by_somebody_else_is_named(sound: Path) -> None:
    found = check(sound, verifiers=[verifier(seed=2)])
    assert [problem.seq for problem in found.problems] == [None, None]
    assert "none of the keys" in str(found.problems[0])


def test_the_number_of_problems_reported_is_bounded(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    journal_with(path, jobs=50, events=5).close()
    with raw_database(path, unguarded=True) as connection:
        connection.execute("DELETE FROM event WHERE seq = 0")
    found = check(path)
    assert found.first_bad_event == 1
    assert len(found.problems) <= MAX_PROBLEMS + 11


@given(st.randoms(use_true_random=False))
@settings(max_examples=80, deadline=None)
def test_flipped_bytes_in_the_file_are_found_or_touched_no_event(
    tmp_path_factory: pytest.TempPathFactory, sound: Path, rng: random.Random
) -> None:
    data = bytearray(sound.read_bytes())
    for _ in range(rng.randint(1, 3)):
        data[rng.randrange(len(data))] ^= rng.randrange(1, 256)
    path = tmp_path_factory.mktemp("flip") / "journal.db"
    path.write_bytes(data)
    try:
        found = check(path, verifiers=[verifier()])
    except JournalUnusable:
        return
    if found.ok:
        with Journal.open(sound, read_only=True) as one, Journal.open(path, read_only=True) as two:
            assert list(one.raw_events()) == list(two.raw_events())
            assert one.checkpoints() == two.checkpoints()


@pytest.mark.parametrize("keep", [0.2, 0.5, 0.9])
def test_a_file_cut_short_is_found(copy: Path, keep: float) -> None:
    data = copy.read_bytes()
    copy.write_bytes(data[: int(len(data) * keep)])
    try:
        sound_still = check(copy).ok
    except JournalUnusable:
        sound_still = False
    assert not sound_still


def chain(sound: Path) -> list[bytes]:
    with Journal.open(sound, read_only=True) as journal:
        return list(journal.raw_events("J-0002"))


def test_one_jobs_events_are_followed_from_first_to_last(sound: Path) -> None:
    raws = chain(sound)
    assert [event.job_seq for event in check_chain(raws)] == list(range(7))
    assert check_chain([]) == ()


@pytest.mark.parametrize("left_out", range(6))
def test_a_job_with_an_event_left_out_is_refused(sound: Path, left_out: int) -> None:
    raws = chain(sound)
    del raws[left_out]
    with pytest.raises(BadEvent, match="left out"):
        check_chain(raws)


def test_a_job_with_events_swapped_altered_or_foreign_is_refused(sound: Path) -> None:
    raws = chain(sound)
    with pytest.raises(BadEvent):
        check_chain([raws[0], raws[2], raws[1], *raws[3:]])
    with pytest.raises(BadEvent, match="left out or altered"):
        check_chain([raws[0], raws[1].replace(b'"i":0', b'"i":5'), *raws[2:]])
    with Journal.open(sound, read_only=True) as journal:
        foreign = next(journal.raw_events("J-0003"))
    with pytest.raises(BadEvent, match="another job"):
        check_chain([raws[0], foreign])
    with pytest.raises(BadEvent, match="not an event"):
        check_chain([raws[0], b"{}"])


def test_twenty_thousand_events_are_checked_in_seconds_and_the_chain_costs_little(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with Journal.create(path, kind="real") as journal:
        journal.append(
            "J-0001", [("noted", {"i": i, "why": "x" * 200}) for i in range(20_000)], stamp=STAMP, by="jo"
        )
    started = time.process_time()
    assert check(path).events == 20_000
    assert time.process_time() - started < 6  # a tenth of a second a thousand events is ten times the usual

    def timed(hashes: bool) -> float:
        begun = time.process_time()
        with raw_database(path) as connection:
            edge = tree.CompactRange()
            for (raw,) in connection.execute("SELECT raw FROM event ORDER BY seq"):
                if hashes:
                    edge.append(tree.leaf_hash(raw))
                else:
                    sha256(raw).digest()
        return time.process_time() - begun

    assert min(timed(True) for _ in range(3)) <= 3 * min(timed(False) for _ in range(3))
    assert Event.from_bytes(next(Journal.open(path, read_only=True).raw_events())).seq == 0
