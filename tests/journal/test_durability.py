"""What was acknowledged is there after any end; what was not is never there twice."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from guide.journal import database, files
from guide.journal.integrity import check
from guide.journal.store import Journal, JournalBusy, JournalUnusable, NotLogged, probe
from tests.journal.making import STAMP, log_key, raw_database
from tests.journal.test_store import journal_with

CHILD = """
import os, resource, signal, sys
from pathlib import Path
from sqlalchemy import event as hooks
from guide.journal.store import Journal, JournalUnusable, NotLogged
from tests.journal.making import STAMP

path, mode, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
try:
    journal = Journal.open(path)
except JournalUnusable as error:
    print("refused", error, flush=True)
    sys.exit(3)
print("open", flush=True)
if mode == "hold":
    sys.stdin.readline()
    sys.exit(0)
if mode == "full":
    resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, resource.RLIM_INFINITY))
die = False
if mode == "before":
    @hooks.listens_for(journal._engine, "commit")
    def kill(_connection):
        if die:
            os.kill(os.getpid(), signal.SIGKILL)
for i in range(10**6):
    die = mode == "before" and i == count
    try:
        journal.append("J-0001", [("noted", {"i": i, "fill": "x" * 500})] * 2, stamp=STAMP, by="jo")
    except NotLogged as error:
        print("failed", error, flush=True)
        sys.exit(4)
    if mode == "after" and i == count:
        os.kill(os.getpid(), signal.SIGKILL)
    print(i, flush=True)
"""


def child(path: Path, mode: str, count: int = 0) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", CHILD, str(path), mode, str(count)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
    )


def numbers(path: Path) -> list[int]:
    assert check(path).ok
    with Journal.open(path, read_only=True) as journal:
        return [int(str(event.body["i"])) for event in journal.events()]


@pytest.mark.parametrize(("mode", "present"), [("before", 3), ("after", 4)])
def test_killed_around_the_commit_an_append_is_there_whole_or_not_at_all(
    tmp_path: Path, mode: str, present: int
) -> None:
    path = tmp_path / "journal.db"
    Journal.create(path, kind="practice").close()
    process = child(path, mode, 3)
    output, _ = process.communicate(timeout=60)
    assert process.returncode == -signal.SIGKILL
    assert output.split() == ["open", "0", "1", "2"]
    assert numbers(path) == [i for i in range(present) for _ in range(2)]
    with Journal.open(path) as journal:
        (event,) = journal.append("J-0001", [("resumed", {"i": 99})], stamp=STAMP, by="jo")
        assert event.seq == present * 2
    assert numbers(path)[-1] == 99


@pytest.mark.parametrize("acknowledged", [1, 7, 23])
def test_killed_at_any_moment_all_that_was_acknowledged_is_there_once(
    tmp_path: Path, acknowledged: int
) -> None:
    path = tmp_path / "journal.db"
    Journal.create(path, kind="practice").close()
    process = child(path, "run")
    assert process.stdout is not None
    lines = [process.stdout.readline().strip() for _ in range(acknowledged + 1)]
    process.kill()
    lines += process.stdout.read().split()
    process.communicate(timeout=60)
    last = int(lines[-1])
    found = numbers(path)
    assert found in ([i for i in range(n) for _ in range(2)] for n in (last + 1, last + 2))


def test_the_lock_dies_with_its_holder(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    Journal.create(path, kind="practice").close()
    process = child(path, "hold")
    assert process.stdout is not None
    assert process.stdout.readline() == "open\n"
    with pytest.raises(JournalBusy):
        Journal.open(path)
    process.kill()
    process.communicate(timeout=60)
    Journal.open(path).close()


def test_of_two_that_want_to_write_one_wins_and_the_other_is_told(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    Journal.create(path, kind="practice").close()
    racers = [child(path, "hold") for _ in range(2)]
    first_words = []
    for racer in racers:
        assert racer.stdout is not None
        first_words.append(racer.stdout.readline().split()[0])
    for racer in racers:
        racer.communicate("\n", timeout=60)
    assert sorted(first_words) == ["open", "refused"]
    assert sorted(racer.returncode for racer in racers) == [0, 3]


def test_a_file_that_cannot_grow_is_not_logged_and_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    Journal.create(path, kind="practice").close()
    output, _ = child(path, "full").communicate(timeout=60)
    *acknowledged, failure = output.strip().split("\n")
    assert failure.startswith("failed not logged: ")
    assert acknowledged[0] == "open"
    last = int(acknowledged[-1])
    assert numbers(path)[: 2 * last + 2] == [i for i in range(last + 1) for _ in range(2)]


def test_a_full_disk_is_said_and_nothing_is_tried_again(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with journal_with(path) as journal:
        assert journal._writer is not None
        cursor = journal._writer.connection.cursor()
        (pages,) = cursor.execute("PRAGMA page_count").fetchone()
        cursor.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(NotLogged, match="the disk is full"):
            journal.append("J-0001", [("noted", {"t": "x" * 10_000})], stamp=STAMP, by="jo")
        cursor.execute("PRAGMA max_page_count = 1000000")
        with pytest.raises(NotLogged, match="did not finish"):
            journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
    with Journal.open(path) as again:
        (event,) = again.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
        assert event.seq == 6
    assert check(path).ok


def test_a_database_that_may_only_be_read_is_not_logged(tmp_path: Path) -> None:
    with journal_with(tmp_path / "journal.db") as journal:
        assert journal._writer is not None
        journal._writer.connection.cursor().execute("PRAGMA query_only = 1")
        with pytest.raises(NotLogged, match="may only be read"):
            journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
        with pytest.raises(NotLogged):
            journal.checkpoint(log_key())


def test_a_commit_that_fails_leaves_its_outcome_to_the_next_opening(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with journal_with(path) as journal:
        with raw_database(path, unguarded=True) as connection:
            # a deferred foreign key fails at COMMIT itself, which nothing in our own tables can
            connection.executescript(
                "CREATE TABLE parent (id INTEGER PRIMARY KEY);"
                "CREATE TABLE child (id INTEGER REFERENCES parent DEFERRABLE INITIALLY DEFERRED);"
                "CREATE TRIGGER spoil AFTER INSERT ON event BEGIN INSERT INTO child VALUES (1); END;"
            )
        with pytest.raises(NotLogged):
            journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
        with pytest.raises(NotLogged, match="did not finish"):
            journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
    with Journal.open(path, read_only=True) as again:
        assert again.size == 6


def test_a_vanished_or_replaced_file_is_not_logged_into(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    journal = journal_with(folder / "journal.db")
    folder.rename(tmp_path / "elsewhere")
    with pytest.raises(NotLogged, match="is gone"):
        journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
    folder.mkdir()
    Journal.create(folder / "journal.db", kind="real").close()
    with pytest.raises(NotLogged, match="replaced"):
        journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
    journal.close()


def test_a_vanished_write_ahead_file_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with journal_with(path) as journal:
        (tmp_path / "journal.db-wal").unlink()
        with pytest.raises(NotLogged, match="is gone"):
            journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")


def test_an_interrupted_write_is_given_up_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    path = tmp_path / "journal.db"
    with journal_with(path) as journal:
        monkeypatch.setattr(journal, "_link", interrupt)
        with pytest.raises(KeyboardInterrupt):
            journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
        monkeypatch.undo()
        with pytest.raises(NotLogged, match="did not finish"):
            journal.append("J-0001", [("noted", {})], stamp=STAMP, by="jo")
    Journal.open(path).close()


def test_a_journal_on_a_medium_that_takes_no_files_can_be_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "journal.db"
    journal_with(path).close()
    monkeypatch.setattr(database, "_folder_takes_files", lambda _folder: False)
    with Journal.open(path, read_only=True) as journal:
        assert journal.size == 6
    assert sorted(f.name for f in tmp_path.iterdir()) == ["journal.db", "journal.db.lock"]


def test_a_good_folder_passes_the_trial_and_is_left_clean(tmp_path: Path) -> None:
    probe(tmp_path / "new" / "data")
    assert list((tmp_path / "new" / "data").iterdir()) == []


def test_a_folder_that_cannot_hold_a_journal_is_refused_before_work_begins(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    for place in (tmp_path / "file", tmp_path / "file" / "data"):
        with pytest.raises(JournalUnusable, match="--data"):
            probe(place)
        with pytest.raises(JournalUnusable):
            Journal.create(place / "journal.db", kind="real")
    if Path("/proc/self").exists():  # a folder where even root can make no file
        with pytest.raises(JournalUnusable, match="--data"):
            probe(Path("/proc/self"))
    monkeypatch.setattr(files, "MIN_FREE_BYTES", 1 << 62)
    with pytest.raises(JournalUnusable, match="free"):
        probe(tmp_path)


def test_files_of_the_journal_are_for_their_owner_alone(tmp_path: Path) -> None:
    if os.name != "posix":
        return
    with journal_with(tmp_path / "data" / "journal.db"):
        for file in (tmp_path / "data").iterdir():
            assert file.stat().st_mode & 0o077 == 0, file
        assert (tmp_path / "data").stat().st_mode & 0o077 == 0


def test_a_name_is_never_taken_from_another_file(tmp_path: Path) -> None:
    for name in ("a", "b"):
        files.write_new(tmp_path / name, name.encode())
    with pytest.raises(FileExistsError):
        files.write_new(tmp_path / "a", b"x")
    with pytest.raises(FileExistsError):
        files.rename_new(tmp_path / "a", tmp_path / "b")
    assert (tmp_path / "b").read_bytes() == b"b"
