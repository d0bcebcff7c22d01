"""Events of a data folder itself: a backup was made, a backup was brought back."""

from __future__ import annotations

import json
from pathlib import Path
from typing import ClassVar

from pydantic import Field, ValidationError

from guide.bench.backup import RESTORED, NoBackup
from guide.bench.shelf import Shelf
from guide.job.payloads import Payload, Sha256, Word
from guide.journal.event import JOURNAL_JOB, Stamp
from guide.journal.files import reason, sync_folder

NOBODY = "unsigned"
"""Who an event is by when nobody was signed in."""


class BackupMade(Payload):
    """A backup was made; it holds the events before this one."""

    KIND: ClassVar[str] = "backup-made"
    id: Word
    manifest_sha256: Sha256
    events: int = Field(ge=0)
    fingerprint: str = Field(max_length=80)


class BackupRestored(Payload):
    """This log goes on from a backup: whatever was logged after those events elsewhere is not in it."""

    KIND: ClassVar[str] = "backup-restored"
    id: Word
    manifest_sha256: Sha256
    events: int = Field(ge=0)


def note_restored(shelf: Shelf, folder: Path, stamp: Stamp) -> None:
    """Log that this folder came out of a backup, once, and take the mark away.

    Raises:
        NoBackup: the mark can't be read or taken away.
        NotLogged: the note did not reach the disk.
    """
    mark = folder / RESTORED
    try:
        data = mark.read_bytes()
    except FileNotFoundError:
        return
    except OSError as error:
        raise NoBackup(f"{mark}: can't be read: {reason(error)}") from error
    try:
        restored = BackupRestored.model_validate(json.loads(data))
    except (ValueError, ValidationError) as error:
        raise NoBackup(f"{mark}: can't be used; restore the backup again into an empty folder") from error
    noted = any(
        event.kind == BackupRestored.KIND and event.body.get("id") == restored.id
        and event.body.get("events") == event.seq
        for event in shelf.journal.events(JOURNAL_JOB, after=restored.events - 1)
    )  # fmt: skip
    if not noted:
        shelf.append(JOURNAL_JOB, [(BackupRestored.KIND, restored.body())], stamp=stamp, by=NOBODY)
    try:
        mark.unlink()
        sync_folder(folder)
    except OSError as error:
        raise NoBackup(f"{mark}: can't be taken away: {reason(error)}") from error
