"""The reading side of a journal: events, notes, checkpoints, proofs and copies."""

from __future__ import annotations

import contextlib
import secrets
import sqlite3
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from guide.errors import ChargewrightError
from guide.journal import schema, tree
from guide.journal.blob import BadBlob, Blob
from guide.journal.database import DATABASE_ERRORS
from guide.journal.event import CLOSED, JOURNAL_JOB, OPENED, Event
from guide.journal.files import JournalUnusable, reason, rename_new, sync_file
from guide.journal.logs import Kind, log_kind, origin

__all__ = ["JobHead", "JournalReader", "Kind", "NotLogged", "log_kind", "origin"]

_BATCH = 2000


class NotLogged(ChargewrightError):
    """What was to be written is not known to be in the journal."""


@dataclass(frozen=True, slots=True)
class JobHead:
    """What the columns say about one job, without reading its events."""

    job: str
    first_seq: int
    last_seq: int
    events: int
    first_utc: str
    last_utc: str
    closed: bool


class JournalReader:
    """What can be read from a journal file; `Journal` adds opening, closing and writing.

    Safe to use from several threads. Reading never waits for the writer.
    """

    def __init__(self, path: Path, engine: sa.Engine, *, read_only: bool) -> None:
        self.path = path
        self._engine = engine
        self._guard = threading.RLock()
        self._tree = tree.Tree(())
        with engine.connect() as connection:
            row = connection.execute(sa.select(schema.about)).one()
        _check_identity(path, row, read_only=read_only)
        self.log: str = row.log
        self.kind: Kind = log_kind(row.log)

    @property
    def size(self) -> int:
        """Number of events in the log."""
        with self.connection() as connection:
            count = connection.execute(sa.select(sa.func.max(schema.event.c.seq) + 1)).scalar_one()
            return int(count or 0)

    def raw_events(self, job: str | None = None, *, after: int = -1) -> Iterator[bytes]:
        """Stored bytes of the log's events (or one job's) with `seq` above `after`, in order.

        Raises:
            JournalUnusable: the file can't be read.
        """
        table = schema.event
        query = sa.select(table.c.seq, table.c.raw).order_by(table.c.seq).limit(_BATCH)
        if job is not None:
            query = query.where(table.c.job == job)
        while True:
            with self.connection() as connection:
                rows = connection.execute(query.where(table.c.seq > after)).all()
            for row in rows:
                after = row.seq
                yield row.raw
            if len(rows) < _BATCH:
                return

    def events(self, job: str | None = None, *, after: int = -1) -> Iterator[Event]:
        """The same, read into events.

        Raises:
            BadEvent: stored bytes are not an event; `integrity.check` says which and how.
            JournalUnusable: the file can't be read.
        """
        return map(Event.from_bytes, self.raw_events(job, after=after))

    def blob(self, ref: str) -> Blob | None:
        """The note behind a reference; None where it was withheld or erased.

        Raises:
            BadBlob: what is stored there is not what the reference was made from.
            JournalUnusable: the file can't be read.
        """
        with self.connection() as connection:
            row = connection.execute(sa.select(schema.blob).where(schema.blob.c.ref == ref)).one_or_none()
        if row is None:
            return None
        found = Blob(row.salt, row.text)
        if found.ref != ref:
            raise BadBlob(
                f"the note {ref[:12]}… was altered: it does not fit its reference; don't rely on it"
            )
        return found

    def checkpoints(self) -> list[str]:
        """All notes kept, oldest first.

        Raises:
            JournalUnusable: the file can't be read.
        """
        query = sa.select(schema.checkpoint.c.note).order_by(schema.checkpoint.c.number)
        with self.connection() as connection:
            return list(connection.execute(query).scalars())

    def jobs(self) -> list[JobHead]:
        """Every job of the log in the order of opening, from the columns alone.

        Raises:
            JournalUnusable: the file can't be read.
        """
        c = schema.event.c
        query = (
            sa.select(
                c.job,
                sa.func.min(c.seq).label("first_seq"),
                sa.func.max(c.seq).label("last_seq"),
                sa.func.count().label("events"),
                sa.func.min(c.utc).label("first_utc"),
                sa.func.max(c.utc).label("last_utc"),
                sa.func.sum(sa.case((c.kind == CLOSED, 1), else_=0)).label("closings"),
            )
            .where(c.job != JOURNAL_JOB)
            .group_by(c.job)
            .order_by(sa.func.min(c.seq))
        )
        with self.connection() as connection:
            rows = connection.execute(query).all()
        return [
            JobHead(
                job=row.job,
                first_seq=row.first_seq,
                last_seq=row.last_seq,
                events=row.events,
                first_utc=row.first_utc,
                last_utc=row.last_utc,
                closed=row.closings > 0,
            )
            for row in rows
        ]

    def next_job_number(self) -> int:
        """The number the next opening event must carry; the first is 1.

        Raises:
            JournalUnusable: the file can't be read.
        """
        query = sa.select(sa.func.count()).where(schema.event.c.kind == OPENED)
        with self.connection() as connection:
            return int(connection.execute(query).scalar_one()) + 1

    def leaf_hashes(self, after: int = -1) -> list[bytes]:
        """Leaf hashes (32 bytes each) of the events above `after`, from the index column.

        Raises:
            JournalUnusable: the file can't be read.
        """
        table = schema.event
        with self.connection() as connection:
            query = sa.select(table.c.leaf).where(table.c.seq > after).order_by(table.c.seq)
            return list(connection.execute(query).scalars())

    def tree(self) -> tree.Tree:
        """The tree over the log as it stands, for proofs at any size.

        Raises:
            JournalUnusable: the file can't be read.
        """
        with self._guard:
            if self._tree.size != self.size:
                self._tree = tree.Tree(self.leaf_hashes())
            return self._tree

    def inclusion_proof(self, seq: int, size: int | None = None) -> tuple[bytes, ...]:
        """Proof that event `seq` is in the log of `size` events (all by default).

        Raises:
            BadProof: there is no such event or size.
        """
        return self.tree().inclusion_proof(seq, size)

    def consistency_proof(self, old_size: int, size: int | None = None) -> tuple[bytes, ...]:
        """Proof that the log of `size` events extends the one of `old_size`.

        Raises:
            BadProof: a size is out of range.
        """
        return self.tree().consistency_proof(old_size, size)

    def backup(self, to: Path) -> int:
        """Copy the whole journal into a new single file, through SQLite; returns its number of events.

        Raises:
            NotLogged: the copy could not be written; an existing file is never replaced.
        """
        draft = to.with_name(f".{to.name}.{secrets.token_hex(4)}")
        try:
            if to.exists():
                raise NotLogged(f"no backup made: {to} exists already; name another file")
            with contextlib.closing(sqlite3.connect(draft)) as copy, self.connection() as connection:
                source = connection.connection.driver_connection
                assert isinstance(source, sqlite3.Connection)
                source.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")
                (count,) = copy.execute("SELECT COUNT(*) FROM event").fetchone()
            draft.chmod(0o600)
            sync_file(draft)
            rename_new(draft, to)
        except (OSError, sqlite3.Error, JournalUnusable) as error:
            raise NotLogged(f"no backup made at {to}: {reason(error)}") from error
        finally:
            with contextlib.suppress(OSError):
                draft.unlink(missing_ok=True)
        return int(count)

    @contextlib.contextmanager
    def connection(self) -> Iterator[sa.Connection]:
        """A connection for this room's own reading.

        Raises:
            JournalUnusable: the file can't be read.
        """
        try:
            with self._engine.connect() as connection:
                yield connection
        except DATABASE_ERRORS as error:
            raise JournalUnusable(f"journal {self.path} can't be read: {reason(error)}") from error


def _check_identity(path: Path, row: sa.Row[tuple[object, ...]], *, read_only: bool) -> None:
    if row.schema_version > schema.SCHEMA_VERSION and not read_only:
        raise JournalUnusable(
            f"journal {path} was written by a newer version of this program; update, or open it only to read"
        )
    if log_kind(row.log) != row.kind:
        raise JournalUnusable(
            f"journal {path} says it is {row.kind}, but its log is {row.log}: it was altered"
        )
