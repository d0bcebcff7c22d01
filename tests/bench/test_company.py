"""Backup and restore, new keys, locking, photos: what a company does with its data folder."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from guide.bench.backup import NoBackup, make_backup, read_backup, restore, restored_words
from guide.bench.bench import Bench, NotHere
from guide.bench.photos import LARGEST_PHOTO_BYTES, NoPhoto, keep_photo
from guide.job.commands import Pause, Resume
from guide.journal.event import JOURNAL_JOB
from guide.journal.integrity import check
from guide.journal.keys import BadKey, WrongPassphrase
from guide.record.verify import verify_journal, verify_record
from tests.record.build import PASSPHRASE, Bench1, play, set_up

NEW = "nine brown otters"


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Bench1]:
    made = set_up(tmp_path / "data", nature="real")
    yield made
    made.bench.close()


def _kinds(bench: Bench) -> list[str]:
    return [event.kind for event in bench.journal.events(JOURNAL_JOB)]


def test_a_backup_holds_journal_and_keys_and_says_where_the_log_stood(desk: Bench1, tmp_path: Path) -> None:
    made = desk.bench.backup(tmp_path / "stick" / "monday", desk.technician)

    assert read_backup(made.folder).manifest == made.manifest
    assert {"journal.db", "keys/mara/log_key.pem", "keys/mara/certificate.der"} <= made.manifest.files.keys()
    assert made.manifest.checkpoint_events == made.manifest.events == 1
    assert verify_journal(desk.bench.journal.path, checkpoints=[made.manifest.fingerprint]).sound
    assert _kinds(desk.bench)[-1] == "backup-made"
    assert any(made.manifest.fingerprint in line for line in made.words())


def test_a_backup_never_writes_over_anything_nor_into_the_data_folder(desk: Bench1, tmp_path: Path) -> None:
    (tmp_path / "stick").mkdir()
    with pytest.raises(NoBackup, match="exists already"):
        desk.bench.backup(tmp_path / "stick")
    with pytest.raises(NoBackup, match="inside the data folder"):
        desk.bench.backup(desk.bench.folder / "copy")
    assert list((tmp_path / "stick").iterdir()) == []
    assert _kinds(desk.bench) == ["enrolled"]


def test_a_restored_folder_goes_on_with_the_old_keys_and_notes_it_once(desk: Bench1, tmp_path: Path) -> None:
    work = desk.new(_real())
    made = desk.bench.backup(tmp_path / "stick", desk.technician)
    later = desk.bench.journal.checkpoint(desk.technician.log_key)
    backup = restore(made.folder, tmp_path / "new")

    for _ in range(2):
        bench = Bench.open(tmp_path / "new", nature="real", clock=desk.clock, run="run-2")
        assert _kinds(bench) == ["enrolled", "backup-restored"]
        assert bench.take_up(work.state.job, bench.sign_in("mara", PASSPHRASE)).state.job == "J-0001"
        bench.close()
    assert check(tmp_path / "new" / "journal.db").ok
    assert not check(tmp_path / "new" / "journal.db", trusted=[later]).ok, "the missing tail shows"
    assert any("not here" in line for line in restored_words(backup.manifest))
    if os.name == "posix":
        assert (tmp_path / "new" / "keys" / "mara" / "log_key.pem").stat().st_mode & 0o077 == 0


def test_a_backup_is_restored_into_an_empty_folder_only(desk: Bench1, tmp_path: Path) -> None:
    made = desk.bench.backup(tmp_path / "stick")
    (tmp_path / "empty").mkdir()
    restore(made.folder, tmp_path / "empty")
    with pytest.raises(NoBackup, match="not empty"):
        restore(made.folder, tmp_path / "empty")


def test_a_backup_that_was_touched_is_refused_whole(desk: Bench1, tmp_path: Path) -> None:
    made = desk.bench.backup(tmp_path / "stick")
    key = made.folder / "keys" / "mara" / "log_key.pem"
    before = key.read_bytes()
    key.write_bytes(before[:-2] + b"x\n")
    with pytest.raises(NoBackup, match="altered"):
        restore(made.folder, tmp_path / "new")
    key.write_bytes(before)
    (made.folder / "keys" / "mara" / "more").write_text("x")
    with pytest.raises(NoBackup, match="was added"):
        restore(made.folder, tmp_path / "new")
    (made.folder / "keys" / "mara" / "more").unlink()
    key.unlink()
    key.symlink_to("/etc/hostname")
    with pytest.raises(NoBackup):
        restore(made.folder, tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("name", ["../outside", "/etc/passwd", "keys/../../x", "other/file", "keys"])
def test_a_manifest_that_names_files_elsewhere_is_refused(desk: Bench1, tmp_path: Path, name: str) -> None:
    made = desk.bench.backup(tmp_path / "stick")
    path = made.folder / "manifest.json"
    value = json.loads(path.read_bytes())
    value["files"][name] = {"sha256": "0" * 64, "size_bytes": 1}
    path.write_text(json.dumps(value))
    with pytest.raises(NoBackup, match="no backup holds"):
        read_backup(made.folder)


def test_new_keys_are_an_event_and_what_the_old_ones_signed_stays_sound(desk: Bench1) -> None:
    first = desk.new(_real())
    play(desk, first)
    record = desk.sign_off(first)
    open_job = desk.new(_real())
    open_job.do(Pause(open_job.keep("lunch")))
    old = desk.technician.certificate_sha256

    desk.bench.replace_keys("mara", NEW)

    with pytest.raises(WrongPassphrase):
        desk.bench.sign_in("mara", PASSPHRASE)
    desk.technician = desk.bench.sign_in("mara", NEW)
    assert desk.technician.certificate_sha256 != old
    last = list(desk.bench.journal.events(JOURNAL_JOB))[-1]
    assert (last.kind, last.body["old_certificate_sha256"]) == ("keys-replaced", old)
    assert verify_record(record.pdf.read_bytes()).sound
    again = desk.bench.take_up(open_job.state.job, desk.technician)
    again.do(Resume(desk.technician.person))
    play(desk, again)
    report = verify_record(desk.bench.sign_off(again, desk.technician, NEW).pdf.read_bytes())
    assert report.sound, report.first_wrong


def test_new_keys_cut_short_before_their_event_are_finished_by_the_next_try(desk: Bench1) -> None:
    from datetime import UTC, datetime

    from guide.journal import keys

    moment = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
    keys.replace(desk.bench.folder / "keys", "mara", "Mara Quill", NEW, moment, practice=False)
    with pytest.raises(BadKey, match="people new-key mara"):
        desk.bench.sign_in("mara", NEW)
    with pytest.raises(WrongPassphrase):
        desk.bench.replace_keys("mara", "another one altogether")
    desk.bench.replace_keys("mara", NEW)
    assert desk.bench.sign_in("mara", NEW).person.id == "mara"


def test_nobody_unknown_gets_new_keys(desk: Bench1) -> None:
    with pytest.raises(NotHere):
        desk.bench.replace_keys("sam", NEW)


def test_a_locked_technician_holds_no_key_and_unlocks_with_the_passphrase(desk: Bench1) -> None:
    locked = desk.technician.locked()

    assert not hasattr(locked, "log_key")
    with pytest.raises(WrongPassphrase):
        locked.unlock("something else")
    assert locked.unlock(PASSPHRASE).person == desk.technician.person


def test_a_photo_is_kept_by_its_hash_and_stands_in_the_record(desk: Bench1, tmp_path: Path) -> None:
    picture = tmp_path / "name plate (1).jpg"
    picture.write_bytes(b"\xff\xd8 a picture")
    work = desk.new(_real())
    photo = desk.bench.note_photo(work, picture, "the nameplate")

    kept = desk.bench.photos / "J-0001" / photo.file
    assert kept.read_bytes() == picture.read_bytes()
    assert photo.sha256 == hashlib.sha256(picture.read_bytes()).hexdigest()
    assert photo.file.endswith("-name-plate-1-.jpg")
    assert keep_photo(picture, kept.parent) == photo
    assert [path.name for path in kept.parent.iterdir()] == [photo.file]
    play(desk, work)
    assert verify_record(desk.sign_off(work).pdf.read_bytes()).sound


def test_what_is_no_photo_is_refused_and_leaves_nothing(tmp_path: Path) -> None:
    empty, pipe, large = tmp_path / "empty", tmp_path / "pipe", tmp_path / "large"
    empty.touch()
    os.mkfifo(pipe)
    with large.open("wb") as file:
        file.truncate(LARGEST_PHOTO_BYTES + 1)
    folder = tmp_path / "photos"
    for path in (empty, pipe, large, tmp_path, tmp_path / "absent", Path("/dev/zero"), Path("a\0b")):
        with pytest.raises(NoPhoto):
            keep_photo(path, folder)
    assert list(folder.iterdir()) == []


def test_a_backup_of_a_folder_with_a_pipe_among_its_photos_is_refused(desk: Bench1, tmp_path: Path) -> None:
    (desk.bench.folder / "photos").mkdir()
    os.mkfifo(desk.bench.folder / "photos" / "pipe")
    with pytest.raises(NoBackup, match="plain file"):
        make_backup(desk.bench.journal, desk.bench.folder, tmp_path / "stick", utc="2026-11-25T14:00:00Z")
    assert not (tmp_path / "stick").exists()


def _real() -> str:
    from tests.record.build import ORDER

    return ORDER.replace("nature: practice", "nature: real")
