"""A data folder copied to a stick, and brought back: everything checked, nothing overwritten.

The copy holds the journal (through SQLite's backup interface: a file copy could miss what is still in
the write-ahead file), the keys (encrypted, as they rest), photos, records and known signers, and
`manifest.json` with the SHA-256 of each. It gets its name only when it is whole.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import shutil
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from guide.errors import ChargewrightError
from guide.journal.checkpoint import fingerprint, read_unverified
from guide.journal.files import reason, sync_file, sync_folder, write_new
from guide.journal.reading import JournalReader

FORMAT = "chargewright-backup-1"
JOURNAL, MANIFEST, RESTORED = "journal.db", "manifest.json", "restored.json"
FOLDERS = ("keys", "photos", "records")
FILES = ("known-signers.json",)
_MOST_FILES = 100_000
_LARGEST_MANIFEST = 32 << 20
_CHUNK = 1 << 20

_Sha = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class NoBackup(ChargewrightError):
    """A backup that could not be made, or can't be brought back."""


class _Form(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Kept(_Form):
    """One file of a backup."""

    sha256: _Sha
    size_bytes: int = Field(ge=0)


class Manifest(_Form):
    """What a backup holds and where its log stood."""

    format: Literal["chargewright-backup-1"]
    id: Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
    made_utc: Annotated[str, Field(max_length=40)]
    log: Annotated[str, Field(max_length=80)]
    events: int = Field(ge=0)
    checkpoint_events: int = Field(ge=0)
    """How many events the last signed head in the backup covers."""
    fingerprint: Annotated[str, Field(max_length=80)]
    """Short fingerprint of that head; empty where none was signed yet."""
    files: dict[str, Kept]


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup on its medium."""

    folder: Path
    manifest: Manifest
    sha256: str
    """Of the manifest, and so of everything it names."""

    def words(self) -> tuple[str, ...]:
        """What was kept, and what to write down."""
        m = self.manifest
        head = (
            f"Keep its fingerprint elsewhere: {m.fingerprint} ({m.checkpoint_events} events)."
            if m.fingerprint
            else "No head of the log was signed yet: there is no fingerprint to keep."
        )
        return (
            f"Backup of {m.events} events and {len(m.files)} files in {self.folder}.",
            head,
            "The keys in it are locked by their passphrases and by nothing else: keep the stick safe.",
        )


def restored_words(manifest: Manifest) -> tuple[str, ...]:
    """What bringing back a backup means."""
    return (
        f"Restored as of {manifest.made_utc[:19]}Z: {manifest.events} events of log {manifest.log}.",
        "Whatever was logged after that is not here. A record or fingerprint made later shows it: check the "
        "journal with `chargewright verify journal.db --checkpoint` and the newest fingerprint you kept.",
        "Work no further in the old folder: two logs that begin alike and go on differently prove nothing.",
    )


def make_backup(journal: JournalReader, folder: Path, to: Path, *, utc: str) -> Backup:
    """Copy a data folder in use into `to`, which must not exist yet.

    Raises:
        NoBackup: `to` exists or can't be written, or a file can't be read; nothing is left behind.
        JournalUnusable, NotLogged: the journal can't be copied.
    """
    if to.exists() or to.is_symlink():
        raise NoBackup(f"no backup made: {to} exists already; name a new folder")
    if to.resolve().is_relative_to(folder.resolve()):
        raise NoBackup(f"no backup made: {to} lies inside the data folder; name a folder elsewhere")
    draft = to.with_name(f".{to.name}.{secrets.token_hex(4)}")
    try:
        draft.mkdir(parents=True, mode=0o700)
        events = journal.backup(draft / JOURNAL)
        kept = {JOURNAL: _kept(draft / JOURNAL)}
        for name in _sources(folder):
            kept[name] = _copy(folder / name, draft / name)
        notes = [note for note in journal.checkpoints() if read_unverified(note).size <= events]
        manifest = Manifest(
            format=FORMAT,
            id=secrets.token_hex(16),
            made_utc=utc,
            log=journal.log,
            events=events,
            checkpoint_events=read_unverified(notes[-1]).size if notes else 0,
            fingerprint=fingerprint(notes[-1]) if notes else "",
            files=kept,
        )
        data = json.dumps(manifest.model_dump(), indent=1, sort_keys=True).encode()
        write_new(draft / MANIFEST, data)
        _sync_all(draft)
        if to.exists():
            raise NoBackup(f"no backup made: {to} exists already; name a new folder")
        draft.rename(to)
        sync_folder(to.parent)
    except OSError as error:
        raise NoBackup(f"no backup made at {to}: {reason(error)}; check the stick and its space") from error
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return Backup(to, manifest, hashlib.sha256(data).hexdigest())


def read_backup(source: Path) -> Backup:
    """A backup, every file of it checked against the manifest and the journal against its own proofs.

    Raises:
        NoBackup: it is none, or the first thing that is wrong with it.
    """
    from guide.journal.integrity import check

    path = source / MANIFEST
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST_MANIFEST + 1)
    except OSError as error:
        raise NoBackup(f"{path}: can't be read ({reason(error)}); give the folder of a backup") from error
    try:
        manifest = Manifest.model_validate_json(data[: _LARGEST_MANIFEST + 1])
    except ValidationError as error:
        raise NoBackup(f"{path}: is no manifest of a backup; give the folder of a backup") from error
    if len(manifest.files) > _MOST_FILES or JOURNAL not in manifest.files:
        raise NoBackup(f"{path}: names no journal or too many files; it is no backup of this program")
    for name in manifest.files:
        if not _allowed(name):
            raise NoBackup(f"{path}: names {name[:60]!r}, which no backup holds; it was altered")
    there = {name for name in _tree(source) if name != MANIFEST}
    if odd := sorted(there ^ manifest.files.keys()):
        raise NoBackup(f"{source}: {odd[0][:60]} is missing or was added since the backup was made")
    for name, kept in manifest.files.items():
        try:
            if _kept(source / name) != kept:
                raise NoBackup(f"{source / name}: is not the file that was kept; the backup was altered")
        except OSError as error:
            raise NoBackup(f"{source / name}: can't be read ({reason(error)})") from error
    findings = check(source / JOURNAL)
    if not findings.ok:
        raise NoBackup(f"{source / JOURNAL}: {findings.problems[0]}; use another backup")
    if (findings.log, findings.events) != (manifest.log, manifest.events):
        raise NoBackup(f"{source}: the journal is not the one the manifest tells of; use another backup")
    return Backup(source, manifest, hashlib.sha256(data).hexdigest())


def restore(source: Path, to: Path) -> Backup:
    """Bring a backup into an empty or new data folder, after checking it whole.

    The journal notes it when it is opened next.

    Raises:
        NoBackup: the backup is not sound, `to` holds something, or can't be written.
    """
    backup = read_backup(source)
    draft = to.with_name(f".{to.name}.{secrets.token_hex(4)}")
    try:
        if to.is_symlink() or (to.exists() and (not to.is_dir() or any(to.iterdir()))):
            raise NoBackup(f"{to} is not empty: a backup is brought into a new or empty folder only")
        draft.mkdir(parents=True, mode=0o700)
        for name, kept in backup.manifest.files.items():
            if _copy(source / name, draft / name) != kept:
                raise NoBackup(f"{source / name}: changed while it was read; try again")
        note = {"id": backup.manifest.id, "manifest_sha256": backup.sha256, "events": backup.manifest.events}
        write_new(draft / RESTORED, json.dumps(note).encode())
        _sync_all(draft)
        if to.exists():
            to.rmdir()
        draft.rename(to)
        sync_folder(to.parent)
    except OSError as error:
        raise NoBackup(f"nothing restored to {to}: {reason(error)}") from error
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return backup


def _allowed(name: str) -> bool:
    parts = name.split("/")
    if any(part in {"", ".", ".."} or "\\" in part or "\0" in part or ":" in part for part in parts):
        return False
    return name in {JOURNAL, *FILES} or (len(parts) > 1 and parts[0] in FOLDERS)


def _sources(folder: Path) -> Iterator[str]:
    """What of a data folder is kept beside its journal; unfinished drafts (a dot before) are not."""
    yield from (name for name in FILES if (folder / name).is_file())
    for top in FOLDERS:
        for name in sorted(_tree(folder / top)) if (folder / top).is_dir() else ():
            if not any(part.startswith(".") for part in name.split("/")):
                yield f"{top}/{name}"


def _tree(folder: Path) -> Iterator[str]:
    """Every file below a folder, by its path with slashes; links are not followed."""
    for root, _, files in os.walk(folder):
        for name in files:
            yield (Path(root) / name).relative_to(folder).as_posix()


def _open_regular(path: Path) -> int:
    number = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    if not stat.S_ISREG(os.fstat(number).st_mode):
        os.close(number)
        raise NoBackup(f"{path}: is no plain file; a backup holds plain files only")
    return number


def _kept(path: Path) -> Kept:
    digest, size = hashlib.sha256(), 0
    with os.fdopen(_open_regular(path), "rb") as file:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
            size += len(chunk)
    return Kept(sha256=digest.hexdigest(), size_bytes=size)


def _copy(source: Path, target: Path) -> Kept:
    """Copy a plain file for its owner alone; returns what was copied."""
    target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    digest, size = hashlib.sha256(), 0
    number = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with os.fdopen(_open_regular(source), "rb") as file, os.fdopen(number, "wb") as copy:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
            size += len(chunk)
            copy.write(chunk)
    sync_file(target)
    return Kept(sha256=digest.hexdigest(), size_bytes=size)


def _sync_all(folder: Path) -> None:
    for root, _, _ in os.walk(folder, topdown=False):
        sync_folder(Path(root))
