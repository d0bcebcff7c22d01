"""Forgets one trainee: their whole folder goes, and nothing beside it."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from guide.errors import ChargewrightError
from guide.journal.database import JournalBusy
from guide.journal.files import JournalUnusable, reason
from guide.journal.store import Journal
from guide.rig.trainees.roster import Roster

_LEAVING: Final = ".leaving-"


class NotForgotten(ChargewrightError):
    """A trainee who is still here, and why."""


@dataclass(frozen=True, slots=True)
class Forgotten:
    """What went: how many jobs (None where the journal could not be read), files and bytes."""

    trainee: str
    folder: Path
    jobs: int | None
    files: int
    size_bytes: int

    def words(self) -> tuple[str, ...]:
        """What was deleted, line by line."""
        jobs = "practice jobs: unknown, the journal can't be read"
        if self.jobs is not None:
            jobs = f"{self.jobs} practice job{'' if self.jobs == 1 else 's'}"
        return (
            f"{self.trainee} is forgotten: journal, keys and records, {jobs}, "
            f"{self.files} files, {self.size_bytes} bytes",
            f"deleted: {self.folder}; nothing else was touched, and no copy was kept here",
        )


def forget(roster: Roster, trainee: str, *, typed_again: str) -> Forgotten:
    """Delete a trainee's folder for good. Links inside it go, what they lead to stays.

    Raises:
        NoTrainee: nobody of that id learns here.
        NotForgotten: the id typed again is another, somebody works there now, or it can't be deleted.
    """
    folder = roster.folder_of(trainee)
    if typed_again != trainee:
        raise NotForgotten(f"{trainee} stays: the id typed again is not the same")
    jobs = _jobs(folder)
    # the name goes first, in one act: whatever stops the deletion, no half of a trainee is left in the list
    leaving = roster.folder / f"{_LEAVING}{trainee}-{secrets.token_hex(4)}"
    try:
        _sweep(roster.folder)
        files, size_bytes = _measure(folder)
        folder.rename(leaving)
    except OSError as error:
        raise NotForgotten(f"{folder}: not deleted ({reason(error)}); check its rights") from error
    try:
        shutil.rmtree(leaving)
    except OSError as error:
        raise NotForgotten(
            f"{trainee} is off the list, but {leaving} is not deleted to the end ({reason(error)}); delete it"
        ) from error
    return Forgotten(trainee, folder, jobs, files, size_bytes)


def _jobs(folder: Path) -> int | None:
    """How many jobs the journal has, once nobody holds it."""
    try:
        with Journal.open(folder / "journal.db") as journal:
            return len(journal.jobs())
    except JournalBusy as error:
        raise NotForgotten(f"somebody works in {folder} now; close that window first") from error
    except JournalUnusable:
        return None


def _measure(folder: Path) -> tuple[int, int]:
    """Files, and their bytes, under a folder; links count as themselves."""
    files = size_bytes = 0
    for where, _, names in os.walk(folder, followlinks=False):
        for name in names:
            files += 1
            size_bytes += (Path(where) / name).lstat().st_size
    return files, size_bytes


def _sweep(trainees: Path) -> None:
    """What a power cut left of a deletion goes now."""
    for left in trainees.glob(f"{_LEAVING}*"):
        if left.is_dir() and not left.is_symlink():
            with contextlib.suppress(FileNotFoundError):
                shutil.rmtree(left)
