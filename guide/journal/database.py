"""How a journal file is reached: the engine with its settings, and the writer's lock."""

from __future__ import annotations

import secrets
import sqlite3
from pathlib import Path

import sqlalchemy as sa
from filelock import FileLock, Timeout
from sqlalchemy.exc import SQLAlchemyError

from guide.journal.files import JournalUnusable
from guide.journal.pragmas import set_pragmas

# A damaged file can make SQLite's own message undecodable, which sqlite3 reports as the last of these.
DATABASE_ERRORS = (SQLAlchemyError, sqlite3.Error, UnicodeDecodeError)


class JournalBusy(JournalUnusable):
    """Another process, or another part of this one, is writing to this journal."""


def take_lock(path: Path) -> FileLock:
    """The operating system's lock, which dies with its holder; never a mere marker file."""
    lock = FileLock(
        path.with_name(path.name + ".lock"),
        timeout=0,
        mode=0o600,
        thread_local=False,
        fallback_to_soft=False,
        preserve_lock_file=True,
    )
    try:
        lock.acquire()
    except Timeout:
        raise JournalBusy(
            f"journal {path} is in use: another window or program is writing to it; close that one first"
        ) from None
    except NotImplementedError as error:
        raise JournalUnusable(
            f"journal {path} can't be locked in this folder; name another with --data"
        ) from error
    return lock


def release(lock: FileLock | None) -> None:
    """Give the lock back, if there is one."""
    if lock is not None:
        lock.release()


def engine_for(path: Path, *, read_only: bool) -> sa.Engine:
    """An engine on the file; a connection made with the option `writer` takes the write lock at once."""
    uri = path.absolute().as_uri()
    if not read_only:
        uri += "?mode=rw"
    elif path.with_name(path.name + "-wal").exists() or _folder_takes_files(path.parent):
        uri += "?mode=ro"
    else:
        # with no write-ahead file and no way to make its companion, the main file is all there is
        uri += "?mode=ro&immutable=1"

    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(uri, uri=True, isolation_level=None, check_same_thread=False)
        # damage can break a text; it must then read as another text, not stop the reading
        connection.text_factory = _forgiving_text
        try:
            set_pragmas(connection, read_only=read_only)
        except BaseException:
            connection.close()
            raise
        return connection

    engine = sa.create_engine("sqlite://", creator=connect, poolclass=sa.QueuePool)

    @sa.event.listens_for(engine, "begin")
    def begin(connection: sa.Connection) -> None:
        writer = connection.get_execution_options().get("writer")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writer else "BEGIN")

    return engine


def _folder_takes_files(folder: Path) -> bool:
    trial = folder / f".trial-{secrets.token_hex(8)}"
    try:
        trial.touch(exist_ok=False)
        trial.unlink()
    except OSError:
        return False
    return True


def _forgiving_text(data: bytes) -> str:
    return data.decode("utf-8", errors="replace")
