from __future__ import annotations

import sqlite3
import threading
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.journal import tree
from guide.journal.blob import Blob
from guide.journal.checkpoint import open_note
from guide.journal.event import FIRST_JOB_PREV, BadEvent
from guide.journal.store import Journal, JournalBusy, JournalUnusable, Kind, NotLogged, log_kind, origin
from guide.journal.tree import BadProof, verify_consistency, verify_inclusion
from tests.journal.making import STAMP, log_key, raw_database, verifier


def journal_with(path: Path, jobs: int = 2, events: int = 3) -> Journal:
    journal = Journal.create(path, kind="real")
    for number in range(1, jobs + 1):
        payloads = [("opened", {"number": number}), *(("noted", {"i": i}) for i in range(events - 1))]
        journal.append(f"J-{number:04d}", payloads, stamp=STAMP, by="jo")
    return journal


def test_events_come_back_as_they_were_acknowledged(tmp_path: Path) -> None:
    with Journal.create(tmp_path / "journal.db", kind="real") as journal:
        first = journal.append(
            "J-0001", [("opened", {"number": 1}), ("noted", {"a": ["b"]})], stamp=STAMP, by="jo"
        )
        second = journal.append("journal", [("person enrolled", {"person": "al"})], stamp=STAMP, by="al")
        third = journal.append("J-0001", [("closed", {})], stamp=STAMP, by="jo")
        assert list(journal.events()) == [*first, *second, *third]
        assert list(journal.events("J-0001")) == [*first, *third]
        assert list(journal.events(after=1)) == [*second, *third]
        assert [event.seq for event in journal.events()] == [0, 1, 2, 3]
        assert third[0].job_seq == 2
        assert third[0].job_prev == first[1].leaf_hash
        assert second[0].job_prev == FIRST_JOB_PREV
        assert [event.to_bytes() for event in journal.events()] == list(journal.raw_events())
    with Journal.open(tmp_path / "journal.db", read_only=True) as again:
        assert list(again.events()) == [*first, *second, *third]
        assert again.size == 4


def test_jobs_are_listed_from_the_columns(tmp_path: Path) -> None:
    with journal_with(tmp_path / "journal.db") as journal:
        journal.append("journal", [("backup made", {})], stamp=STAMP, by="jo")
        journal.append("J-0001", [("closed", {})], stamp=STAMP, by="jo")
        heads = journal.jobs()
        assert [(head.job, head.first_seq, head.last_seq, head.events, head.closed) for head in heads] == [
            ("J-0001", 0, 7, 4, True),
            ("J-0002", 3, 5, 3, False),
        ]
        assert journal.next_job_number() == 3


def test_a_caller_who_changes_the_body_afterwards_changes_no_event(tmp_path: Path) -> None:
    with Journal.create(tmp_path / "journal.db", kind="real") as journal:
        body = {"a": [1]}
        (event,) = journal.append("J-0001", [("noted", body)], stamp=STAMP, by="jo")
        body["a"].append(2)
        assert event.body == {"a": [1]}


@pytest.mark.parametrize("kind", ["real", "practice", "demonstration"])
def test_the_kind_of_log_stands_in_every_event_and_checkpoint(tmp_path: Path, kind: Kind) -> None:
    with Journal.create(tmp_path / "journal.db", kind=kind) as journal:
        (event,) = journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
        assert journal.kind == log_kind(event.log) == kind
        assert journal.checkpoint(log_key()).startswith(f"chargewright/log/{event.log}\n")
        assert event.log.startswith("" if kind == "real" else kind)


@given(st.lists(st.tuples(st.sampled_from(["A", "B", "C"]), st.integers(1, 4)), min_size=1, max_size=12))
@settings(max_examples=15, deadline=None)
def test_any_interleaving_of_jobs_is_chained_and_proven(
    tmp_path_factory: pytest.TempPathFactory, batches: list[tuple[str, int]]
) -> None:
    path = tmp_path_factory.mktemp("log") / "journal.db"
    with Journal.create(path, kind="practice") as journal:
        notes = []
        for job, count in batches:
            journal.append(job, [("noted", {"i": i}) for i in range(count)], stamp=STAMP, by="jo")
            notes.append(journal.checkpoint(log_key()))
        heads = [open_note(note, [verifier()]).checkpoint for note in notes]
        assert heads[-1].root_hash == tree.root([tree.leaf_hash(raw) for raw in journal.raw_events()])
        for old, new in pairwise(heads):
            proof = journal.consistency_proof(old.size, new.size)
            verify_consistency(old.size, new.size, old.root_hash, new.root_hash, proof)
        for event in journal.events():
            leaf = bytes.fromhex(event.leaf_hash)
            verify_inclusion(
                event.seq, journal.size, leaf, journal.inclusion_proof(event.seq), heads[-1].root_hash
            )
        assert journal.checkpoints() == notes


def test_a_checkpoint_of_an_unchanged_log_is_kept_once(tmp_path: Path) -> None:
    with journal_with(tmp_path / "journal.db") as journal:
        first = journal.checkpoint(log_key())
        assert journal.checkpoint(log_key()) == first
        other = journal.checkpoint(log_key("chargewright/person/al", 2))
        assert journal.checkpoints() == [first, other]
        assert open_note(first, [verifier()]).checkpoint.origin == origin(journal.log)


def test_notes_can_be_erased_and_the_log_stays_whole(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with Journal.create(path, kind="real") as journal:
        blob = Blob.of("the customer is Mrs Unforgettable-Example")
        journal.append("J-0001", [("noted", {"text": blob.ref})], stamp=STAMP, by="jo", blobs=[blob, blob])
        head = journal.checkpoint(log_key())
        assert journal.blob(blob.ref) == blob
        assert journal.erase_blob(blob.ref)
        assert not journal.erase_blob(blob.ref)
        assert journal.blob(blob.ref) is None
        for file in tmp_path.iterdir():
            assert b"Unforgettable" not in file.read_bytes()
        assert journal.checkpoint(log_key()) == head
        assert journal.size == 1


def test_a_bad_event_writes_nothing_and_leaves_the_journal_usable(tmp_path: Path) -> None:
    with Journal.create(tmp_path / "journal.db", kind="real") as journal:
        attempts: list[list[tuple[str, dict[str, Any]]]] = [
            [("good", {}), ("Bad", {})],
            [("good", {"x": 1.5})],
            [],
        ]
        for payloads in attempts:
            with pytest.raises(BadEvent):
                journal.append("J-0001", payloads, stamp=STAMP, by="jo")
        assert journal.size == 0
        journal.append("J-0001", [("good", {})], stamp=STAMP, by="jo")
        assert [event.seq for event in journal.events()] == [0]


FORBIDDEN = [
    "UPDATE event SET job = 'x'",
    "UPDATE event SET raw = x'00' WHERE seq = 1",
    "DELETE FROM event WHERE seq = 5",
    "REPLACE INTO event SELECT * FROM event WHERE seq = 0",
    "UPDATE OR REPLACE event SET seq = 0 WHERE seq = 1",
    "INSERT OR REPLACE INTO event SELECT 6, job, 0, kind, person, utc, leaf, raw FROM event WHERE seq = 0",
    "INSERT OR IGNORE INTO event SELECT 6, job, 2, kind, person, utc, leaf, raw FROM event WHERE seq = 0",
    "INSERT INTO event SELECT 6, job, 4, kind, person, utc, leaf, raw FROM event WHERE seq = 0",
    "INSERT INTO event (seq, job, job_seq, kind, person, utc, leaf, raw) "
    "VALUES (6, 'J', 0, 'k', 'p', 'u', 'text', 'text')",
    "UPDATE checkpoint SET note = 'x'",
    "DELETE FROM checkpoint",
    "REPLACE INTO checkpoint SELECT * FROM checkpoint",
    "UPDATE about SET kind = 'practice'",
    "DELETE FROM about",
    "REPLACE INTO about SELECT one, schema_version, log, 'practice' FROM about",
    "UPDATE blob SET text = 'x'",
]


@pytest.mark.parametrize("recursive", [0, 1])
@pytest.mark.parametrize("statement", FORBIDDEN)
def test_the_database_refuses_to_change_what_was_written(
    tmp_path: Path, statement: str, recursive: int
) -> None:
    path = tmp_path / "journal.db"
    with journal_with(path) as journal:
        blob = Blob.of("note")
        journal.append("J-0003", [("noted", {"text": blob.ref})], stamp=STAMP, by="jo", blobs=[blob])
        journal.checkpoint(log_key())
    statement = statement.replace("6, ", "7, ")
    with raw_database(path) as connection:
        connection.execute(f"PRAGMA recursive_triggers = {recursive}")
        tables = ("event", "checkpoint", "about", "blob")
        before = [connection.execute(f"SELECT * FROM {table}").fetchall() for table in tables]
        with pytest.raises(sqlite3.IntegrityError):
            connection.execute(statement)
        assert before == [connection.execute(f"SELECT * FROM {table}").fetchall() for table in tables]


def test_the_settings_the_journal_relies_on_are_in_force(tmp_path: Path) -> None:
    with Journal.create(tmp_path / "journal.db", kind="real") as journal, journal.connection() as connection:
        asked = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()
            for name in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers", "secure_delete")
        }
    assert asked == {
        "journal_mode": "wal",
        "synchronous": 2,
        "foreign_keys": 1,
        "recursive_triggers": 1,
        "secure_delete": 1,
    }


def test_there_is_one_writer_and_any_number_of_readers(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with journal_with(path) as journal:
        with pytest.raises(JournalBusy, match="in use"):
            Journal.open(path)
        with Journal.open(path, read_only=True) as one, Journal.open(path, read_only=True) as two:
            journal.append("J-0003", [("noted", {})], stamp=STAMP, by="jo")
            assert one.size == two.size == 7
            assert one.tree().root() == journal.tree().root()
            with pytest.raises(NotLogged, match="only to be read"):
                one.append("J-0003", [("noted", {})], stamp=STAMP, by="jo")
    with Journal.open(path) as again:
        assert again.size == 7


def test_threads_write_one_after_the_other(tmp_path: Path) -> None:
    with Journal.create(tmp_path / "journal.db", kind="real") as journal:

        def work(job: str) -> None:
            for i in range(20):
                journal.append(job, [("noted", {"i": i})], stamp=STAMP, by="jo")

        threads = [threading.Thread(target=work, args=(f"J-{n}",)) for n in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert [event.seq for event in journal.events()] == list(range(80))
        assert [event.body["i"] for event in journal.events("J-2")] == list(range(20))


def test_a_writer_that_went_round_the_lock_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with journal_with(path) as journal:
        with raw_database(path) as connection:
            connection.execute(
                "INSERT INTO event SELECT 6, job, 3, kind, person, utc, leaf, raw FROM event WHERE seq = 0"
            )
        with pytest.raises(NotLogged, match="another program"):
            journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
        with pytest.raises(NotLogged, match="another program"):
            journal.checkpoint(log_key())


def test_a_held_database_is_reported_and_the_journal_goes_on_afterwards(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with journal_with(path) as journal, raw_database(path) as connection:
        connection.execute("BEGIN IMMEDIATE")
        with pytest.raises(NotLogged, match="another program holds it"):
            journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
        connection.execute("ROLLBACK")
        (event,) = journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
        assert event.seq == 6


def test_an_altered_log_is_not_opened_for_writing(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with journal_with(path) as journal:
        journal.checkpoint(log_key())
    with raw_database(path, unguarded=True) as connection:
        connection.execute("DELETE FROM event WHERE seq = 5")
    with pytest.raises(JournalUnusable, match="altered"):
        Journal.open(path)
    with Journal.open(path, read_only=True) as readable:
        assert readable.size == 5


def test_a_newer_schema_is_read_but_never_written(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    journal_with(path).close()
    with raw_database(path, unguarded=True) as connection:
        connection.execute("UPDATE about SET schema_version = 99")
    with pytest.raises(JournalUnusable, match="newer version"):
        Journal.open(path)
    with Journal.open(path, read_only=True) as readable:
        assert readable.size == 6


def test_practice_cannot_be_relabelled_as_real(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    Journal.create(path, kind="practice").close()
    with raw_database(path, unguarded=True) as connection:
        connection.execute("UPDATE about SET kind = 'real'")
    with pytest.raises(JournalUnusable, match="altered"):
        Journal.open(path)


def test_a_backup_is_one_complete_file_and_replaces_nothing(tmp_path: Path) -> None:
    with journal_with(tmp_path / "journal.db") as journal:
        copy = tmp_path / "backup.db"
        assert journal.backup(copy) == 6
        with pytest.raises(NotLogged, match="exists already"):
            journal.backup(copy)
        with pytest.raises(NotLogged, match="no backup made"):
            journal.backup(tmp_path / "nowhere" / "backup.db")
        assert sorted(f.name for f in tmp_path.iterdir() if "backup" in f.name) == ["backup.db"]
        with Journal.open(copy) as restored:
            assert list(restored.raw_events()) == list(journal.raw_events())
            restored.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")


@pytest.mark.parametrize("content", [b"", b"not a database at all, but long enough" * 40])
def test_a_file_that_is_no_journal_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "journal.db"
    path.write_bytes(content)
    for read_only in (True, False):
        with pytest.raises(JournalUnusable):
            Journal.open(path, read_only=read_only)
    with pytest.raises(JournalUnusable, match="exists already"):
        Journal.create(path, kind="real")
    assert path.read_bytes()[: len(content)] == content


def test_what_cannot_be_opened_or_made_is_refused(tmp_path: Path) -> None:
    with pytest.raises(JournalUnusable, match="no journal at"):
        Journal.open(tmp_path / "journal.db")
    with pytest.raises(JournalUnusable, match="kind"):
        Journal.create(tmp_path / "journal.db", kind="other")  # type: ignore[arg-type]  # the mistake under test
    with pytest.raises(JournalUnusable, match="does not belong"):
        Journal.create(tmp_path / "journal.db", kind="real", log_id="practice-" + "0" * 32)
    with Journal.open_or_create(tmp_path / "journal.db", kind="practice") as made:
        log = made.log
    with Journal.open_or_create(tmp_path / "journal.db", kind="practice") as found:
        assert found.log == log
    with pytest.raises(JournalUnusable, match="not real"):
        Journal.open_or_create(tmp_path / "journal.db", kind="real")
    Journal.open(tmp_path / "journal.db").close()


def test_a_closed_journal_takes_nothing_more(tmp_path: Path) -> None:
    journal = journal_with(tmp_path / "journal.db")
    journal.close()
    journal.close()
    with pytest.raises(NotLogged, match="closed"):
        journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")


def test_proofs_out_of_range_are_refused(tmp_path: Path) -> None:
    with journal_with(tmp_path / "journal.db") as journal:
        with pytest.raises(BadProof):
            journal.inclusion_proof(6)
        with pytest.raises(BadProof):
            journal.consistency_proof(3, 9)


def test_a_path_with_odd_characters_and_a_draft_left_by_a_power_cut_do_no_harm(tmp_path: Path) -> None:
    folder = tmp_path / "50% of ä? #1 & more"
    folder.mkdir()
    for name in ("journal.db.new", "journal.db.new-journal"):
        (folder / name).write_bytes(b"half written")
    with journal_with(folder / "journal.db") as journal:
        assert journal.size == 6
    with Journal.open(folder / "journal.db", read_only=True) as again:
        assert again.size == 6
    assert not [file for file in folder.iterdir() if ".new" in file.name]
