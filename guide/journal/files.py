"""Small acts on files that must survive a power cut, and a trial of a folder before work begins."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
import sqlite3
import sys
from pathlib import Path

from guide.errors import ChargewrightError
from guide.journal.pragmas import set_pragmas

MIN_FREE_BYTES = 64 << 20  # PROPOSED: a job takes well under 1 MiB, its record a few


class JournalUnusable(ChargewrightError):
    """A journal that can't be opened, or a folder that can't hold one."""


def sync_folder(folder: Path) -> None:
    """Make a rename or a new name in a folder durable; a no-op where folders can't be opened (Windows).

    Raises:
        OSError: the folder can't be read.
    """
    if sys.platform == "win32":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def sync_file(path: Path) -> None:
    """Make a file's contents durable.

    Raises:
        OSError: the file can't be opened or written.
    """
    descriptor = os.open(path, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def write_new(path: Path, data: bytes, *, mode: int = 0o600) -> None:
    """Write a file that must not exist yet, durable on return except for its folder's entry.

    Raises:
        OSError: it exists, or can't be written.
    """
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), mode)
    with os.fdopen(descriptor, "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def rename_new(source: Path, target: Path) -> None:
    """Give a finished file its name, never over another file, and make that durable.

    Raises:
        OSError: the name is taken, or the folder refuses.
    """
    if sys.platform == "win32":
        source.rename(target)  # refuses a taken name there
    else:
        try:
            target.hardlink_to(source)  # refuses a taken name, where rename would not
        except FileExistsError:
            raise
        except OSError:  # a file system without hard links
            if target.exists():
                raise FileExistsError(f"{target} exists") from None
            source.rename(target)
        else:
            source.unlink()
    sync_folder(target.parent)


class NameWatch:
    """Sees whether names still lead to the files they led to at first.

    A file that was moved or deleted while it is open still takes writes, into nowhere. The first
    name must always be there; the others from the moment they were first seen.
    """

    def __init__(self, paths: tuple[Path, ...]) -> None:
        self._paths = paths
        self._places: dict[Path, tuple[int, int]] = {}

    def wrong(self) -> str | None:
        """What is wrong and what to do first, or None."""
        for path in self._paths:
            try:
                found = path.stat()
            except OSError:
                if path in self._places or path == self._paths[0]:
                    return f"{path} is gone; find it"
                continue
            place = (found.st_dev, found.st_ino)
            if self._places.setdefault(path, place) != place:
                return f"{path} was replaced by another file; put the first one back"
        return None


def probe(folder: Path) -> None:
    """Prove that a folder can hold a journal, by really keeping one row in a database there.

    Creates the folder (for its owner alone) if it is missing, and leaves nothing else behind.

    Raises:
        JournalUnusable: it can't be made, is full or nearly so, or does not keep what is written.
    """
    trial = folder / f".trial-{secrets.token_hex(8)}.db"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        free = shutil.disk_usage(folder).free
        if free < MIN_FREE_BYTES:
            raise JournalUnusable(
                f"folder {folder} has only {free >> 20} MiB free; "
                f"make room for {MIN_FREE_BYTES >> 20} MiB or name another with --data"
            )
        try:
            with contextlib.closing(sqlite3.connect(trial, isolation_level=None)) as connection:
                set_pragmas(connection, read_only=False)
                connection.execute("CREATE TABLE trial (word TEXT)")
                connection.execute("INSERT INTO trial VALUES ('kept')")
            with contextlib.closing(sqlite3.connect(trial)) as connection:
                if connection.execute("SELECT word FROM trial").fetchone() != ("kept",):
                    raise JournalUnusable(
                        f"folder {folder} does not keep what is written; name another with --data"
                    )
            sync_folder(folder)
        finally:
            for suffix in ("", "-wal", "-shm", "-journal"):
                trial.with_name(trial.name + suffix).unlink(missing_ok=True)
    except (OSError, sqlite3.Error) as error:
        raise JournalUnusable(
            f"folder {folder} can't hold a journal: {reason(error)}; name another with --data"
        ) from error


def reason(error: BaseException) -> str:
    """Why a write or a read failed, in a few words for people."""
    cause = getattr(error, "orig", None) or error
    if isinstance(cause, UnicodeDecodeError):
        return _REASONS["SQLITE_CORRUPT"]
    code = str(getattr(cause, "sqlite_errorname", None) or "")
    for prefix, words in _REASONS.items():
        if code.startswith(prefix):
            return words
    if isinstance(cause, OSError) and cause.strerror:
        return cause.strerror.lower()
    return str(cause).splitlines()[0] if str(cause) else type(cause).__name__


_REASONS = {
    "SQLITE_FULL": "the disk is full",
    "SQLITE_READONLY": "it may only be read",
    "SQLITE_CANTOPEN": "it can't be opened there",
    "SQLITE_IOERR": "the disk failed while reading or writing",
    "SQLITE_BUSY": "another program holds it",
    "SQLITE_LOCKED": "another program holds it",
    "SQLITE_CORRUPT": "the file is damaged",
    "SQLITE_NOTADB": "the file is no journal",
}
