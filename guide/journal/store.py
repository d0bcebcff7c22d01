"""The journal on disk: one SQLite file, one writer, and nothing acknowledged before it is kept.

This is the room's edge. `append` returns after the commit has returned (write-ahead log,
synchronous=FULL), so a screen may paint "logged" then and not earlier. Once a write has failed
part-way the object takes no more: what the file holds is found out by opening it again, which
is the same code as starting.
"""

from __future__ import annotations

import contextlib
import secrets
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Self, get_args

import sqlalchemy as sa
from filelock import FileLock

from guide.errors import ChargewrightError
from guide.journal import schema, tree
from guide.journal.blob import Blob
from guide.journal.canonical import Json
from guide.journal.checkpoint import Checkpoint, Signer, read_unverified, sign
from guide.journal.database import DATABASE_ERRORS, JournalBusy, engine_for, release, take_lock
from guide.journal.event import FIRST_JOB_PREV, FORMAT_VERSION, BadEvent, Event, Stamp, frozen_copy
from guide.journal.files import JournalUnusable, NameWatch, probe, reason, rename_new, sync_file
from guide.journal.logs import Kind, log_kind, origin
from guide.journal.reading import JobHead, JournalReader, NotLogged

__all__ = [
    "JobHead",
    "Journal",
    "JournalBusy",
    "JournalUnusable",
    "Kind",
    "NotLogged",
    "Payload",
    "log_kind",
    "origin",
    "probe",
]

Payload = tuple[str, Mapping[str, Json]]

# The statements of the append path, spelled once: building them anew costs more than the disk does.
_HEAD = "SELECT seq FROM event ORDER BY seq DESC LIMIT 1"
_JOB_HEAD = "SELECT job_seq, leaf FROM event WHERE job = ? ORDER BY job_seq DESC LIMIT 1"
_COLUMNS = tuple(column.name for column in schema.event.columns)
_INSERT = f"INSERT INTO event ({', '.join(_COLUMNS)}) VALUES ({', '.join('?' * len(_COLUMNS))})"  # noqa: S608 - our own names

_STOPPED = "an earlier write to this journal did not finish; close it and open it again to see what it holds"


class Journal(JournalReader):
    """One append-only log. Make it with `create`, `open` or `open_or_create`; close it when done.

    Safe to use from several threads. Reading never waits for the writer.
    """

    def __init__(self, path: Path, engine: sa.Engine, lock: FileLock | None) -> None:
        super().__init__(path, engine, read_only=lock is None)
        self._lock = lock
        self._stopped: str | None = None
        self._edge = tree.CompactRange()
        # last number and leaf of each job, as committed: nobody else can write while the lock is held
        self._job_heads: dict[str, tuple[int, str]] = {}
        self._watch = NameWatch((path, path.with_name(path.name + "-wal")))
        self._writer: sa.Connection | None = None
        if lock is not None:
            self._load_edge()
            self._require_in_place()
            self._writer = engine.connect().execution_options(writer=True)

    @property
    def size(self) -> int:
        """Number of events in the log."""
        return super().size if self._writer is None else self._edge.size

    # -- opening and closing ------------------------------------------------------------------

    @classmethod
    def create(cls, path: Path, *, kind: Kind, log_id: str | None = None) -> Self:
        """Lay a new, empty journal and open it for writing.

        The kind becomes part of the log's identifier, so every event and checkpoint carries it.

        Raises:
            JournalUnusable: the file exists, the folder can't hold it, or the kind or id is unknown.
            JournalBusy: somebody else is making it now.
        """
        if kind not in get_args(Kind):
            raise JournalUnusable(f"no journal of kind {kind!r}: it is real, practice or demonstration")
        log = log_id or ("" if kind == "real" else f"{kind}-") + secrets.token_hex(16)
        if log_kind(log) != kind:
            raise JournalUnusable(f"log id {log!r} does not belong to a {kind} journal")
        draft = path.with_name(path.name + ".new")
        with contextlib.ExitStack() as undo, _said_plainly(path, "made"):
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            lock = take_lock(path)
            undo.callback(release, lock)
            _require_free(path)
            for suffix in ("", "-journal"):  # left by a power cut while making it
                draft.with_name(draft.name + suffix).unlink(missing_ok=True)
            engine = sa.create_engine(
                "sqlite://", creator=lambda: sqlite3.connect(draft), poolclass=sa.NullPool
            )
            with engine.begin() as connection:
                schema.lay(connection, log=log, kind=kind)
            draft.chmod(0o600)
            sync_file(draft)
            rename_new(draft, path)
            engine = engine_for(path, read_only=False)
            undo.callback(engine.dispose)
            journal = cls(path, engine, lock)
            undo.pop_all()
        return journal

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Self:
        """Open a journal, for writing (taking the writer's lock) or only to read.

        Raises:
            JournalBusy: another window or program is writing to it.
            JournalUnusable: it is missing, damaged, not a journal, or written by a newer version.
        """
        if not path.is_file():
            raise JournalUnusable(f"there is no journal at {path}")
        with contextlib.ExitStack() as undo, _said_plainly(path, "opened"):
            lock = None if read_only else take_lock(path)
            undo.callback(release, lock)
            engine = engine_for(path, read_only=read_only)
            undo.callback(engine.dispose)
            journal = cls(path, engine, lock)
            undo.pop_all()
        return journal

    @classmethod
    def open_or_create(cls, path: Path, *, kind: Kind) -> Self:
        """Open a journal for writing, laying it first where there is none.

        Raises:
            JournalUnusable, JournalBusy: as for `open` and `create`; or it is of another kind.
        """
        if not path.exists():
            return cls.create(path, kind=kind)
        journal = cls.open(path)
        if journal.kind != kind:
            journal.close()
            raise JournalUnusable(f"journal {path} is of kind {journal.kind}, not {kind}")
        return journal

    def close(self) -> None:
        """Let go of the file and the lock; closing twice is harmless."""
        with self._guard:
            writer, self._writer = self._writer, None
            if writer is not None:
                with contextlib.suppress(*DATABASE_ERRORS):
                    if self._stopped is None:
                        writer.connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
                with contextlib.suppress(*DATABASE_ERRORS):
                    writer.close()
            self._engine.dispose()
            release(self._lock)
            self._lock = None
            self._stopped = "this journal was closed"

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # -- writing ------------------------------------------------------------------------------

    def append(
        self, job: str, payloads: Sequence[Payload], *, stamp: Stamp, by: str, blobs: Sequence[Blob] = ()
    ) -> tuple[Event, ...]:
        """Write events and the notes they refer to, all or none; returns when they are on the disk.

        Raises:
            BadEvent: an event is not in its form; nothing was written.
            NotLogged: the write failed, or its success is unknown. Nothing is tried again.
        """
        if not payloads:
            raise BadEvent("nothing to write: an append needs at least one event")
        bodies = [(kind, frozen_copy(body)) for kind, body in payloads]
        with self._guard:
            with self._write() as connection:
                self._require_unchanged(connection)
                edge = self._edge.copy()
                events, rows, last_leaf = self._link(
                    connection, edge, job=job, bodies=bodies, stamp=stamp, by=by
                )
                connection.exec_driver_sql(_INSERT, [tuple(row[name] for name in _COLUMNS) for row in rows])
                for item in blobs:
                    connection.execute(
                        schema.blob.insert().prefix_with("OR IGNORE"),
                        {"ref": item.ref, "salt": item.salt, "text": item.text},
                    )
            self._edge = edge
            self._job_heads[job] = (events[-1].job_seq, last_leaf)
        return tuple(events)

    def _link(
        self,
        connection: sa.Connection,
        edge: tree.CompactRange,
        *,
        job: str,
        bodies: Iterable[Payload],
        stamp: Stamp,
        by: str,
    ) -> tuple[list[Event], list[dict[str, object]], str]:
        """Number and chain new events behind the last of their job, with the last leaf; extends `edge`."""
        last = self._job_heads.get(job) or self._stored_job_head(connection, job)
        job_seq, job_prev = (0, FIRST_JOB_PREV) if last is None else (last[0] + 1, last[1])
        events: list[Event] = []
        rows: list[dict[str, object]] = []
        for kind, body in bodies:
            event = Event(FORMAT_VERSION, self.log, edge.size, job, job_seq, job_prev, stamp, by, kind, body)
            raw = event.to_bytes()
            leaf = tree.leaf_hash(raw)
            rows.append(columns(event) | {"leaf": leaf, "raw": raw})
            events.append(event)
            edge.append(leaf)
            job_seq, job_prev = job_seq + 1, leaf.hex()
        return events, rows, job_prev

    @staticmethod
    def _stored_job_head(connection: sa.Connection, job: str) -> tuple[int, str] | None:
        row = connection.exec_driver_sql(_JOB_HEAD, (job,)).one_or_none()
        return None if row is None else (row.job_seq, row.leaf.hex())

    def checkpoint(self, log_key: Signer) -> str:
        """Sign the present head, keep the note, and return it.

        Raises:
            NotLogged: the note could not be kept.
        """
        with self._guard:
            head = Checkpoint(origin(self.log), self._edge.size, self._edge.root())
            note = sign(head, log_key)
            with self._write() as connection:
                self._require_unchanged(connection)
                table = schema.checkpoint
                last = connection.execute(
                    sa.select(table.c.number, table.c.note).order_by(table.c.number.desc()).limit(1)
                ).one_or_none()
                if last is None or last.note != note:
                    number = 0 if last is None else last.number + 1
                    connection.execute(table.insert().values(number=number, size=head.size, note=note))
            return note

    def erase_blob(self, ref: str) -> bool:
        """Erase a note's text and salt for good; the log keeps its hash. False if there was none.

        Raises:
            NotLogged: the erasure could not be written.
        """
        with self._write() as connection:
            gone = connection.execute(schema.blob.delete().where(schema.blob.c.ref == ref)).rowcount
        with self._guard, contextlib.suppress(*DATABASE_ERRORS):
            # the write-ahead file still holds pages with the old text until it is folded in
            if self._writer is not None:
                self._writer.connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
        return gone > 0

    @contextlib.contextmanager
    def _write(self) -> Iterator[sa.Connection]:
        """One write transaction; only a clean refusal before the commit leaves the journal usable."""
        with self._guard:
            if self._stopped is not None:
                raise NotLogged(f"not logged: {self._stopped}")
            if self._writer is None:
                raise NotLogged("not logged: this journal was opened only to be read")
            self._require_in_place()
            try:
                transaction = self._writer.begin()
            except DATABASE_ERRORS as error:
                raise NotLogged(f"not logged: {reason(error)} ({self.path})") from error
            self._stopped = _STOPPED
            refused_cleanly = finished = False
            try:
                try:
                    yield self._writer
                    self._require_in_place()
                except ChargewrightError:
                    refused_cleanly = True
                    raise
                transaction.commit()
                finished = True
                self._require_in_place()
            except DATABASE_ERRORS as error:
                raise NotLogged(
                    f"not logged: {reason(error)} ({self.path}); put that right, then open the journal again"
                ) from error
            finally:
                if not finished:
                    with contextlib.suppress(*DATABASE_ERRORS):
                        transaction.rollback()
                        # a failed commit leaves the transaction open below SQLAlchemy
                        self._writer.connection.rollback()
                        self._stopped = None if refused_cleanly else _STOPPED
            self._stopped = None

    def _require_unchanged(self, connection: sa.Connection) -> None:
        """Another writer that went round the lock shows as a head that is not ours."""
        row = connection.exec_driver_sql(_HEAD).one_or_none()
        size = 0 if row is None else row.seq + 1
        if size != self._edge.size:
            raise NotLogged(
                f"not logged: another program wrote to {self.path} meanwhile; open the journal again"
            )

    def _require_in_place(self) -> None:
        wrong = self._watch.wrong()
        if wrong is not None:
            raise NotLogged(f"not logged: {wrong}, then open the journal again")

    def _load_edge(self) -> None:
        """Rebuild the tree's right edge, and see on the way that the last checkpoint still holds."""
        notes = self.checkpoints()
        last = read_unverified(notes[-1]) if notes else None
        leaves = self.leaf_hashes()
        covered = last.size if last else 0
        self._edge = tree.CompactRange(leaves[:covered])
        if last is not None and (len(leaves) < covered or self._edge.root() != last.root_hash):
            raise JournalUnusable(
                f"journal {self.path} does not agree with its checkpoint at {covered} events: "
                "it was altered; keep the file, check it, and restore a backup"
            )
        for leaf in leaves[covered:]:
            self._edge.append(leaf)


def columns(event: Event) -> dict[str, object]:
    """The index columns of an event."""
    return {
        "seq": event.seq,
        "job": event.job,
        "job_seq": event.job_seq,
        "kind": event.kind,
        "person": event.by,
        "utc": event.stamp.utc,
    }


def _require_free(path: Path) -> None:
    if path.exists():
        raise JournalUnusable(f"{path} exists already; open it, or name another place")


@contextlib.contextmanager
def _said_plainly(path: Path, act: str) -> Iterator[None]:
    try:
        yield
    except (OSError, *DATABASE_ERRORS) as error:
        raise JournalUnusable(f"journal {path} can't be {act}: {reason(error)}") from error
