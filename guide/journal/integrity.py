"""Whether a journal is what it was when it was written, and if not, where it first differs.

What this can show by itself: that stored bytes, columns, numbering, chains and checkpoints agree
with each other. That the whole was not made anew takes a checkpoint from outside (`trusted`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import sqlalchemy as sa

from guide.journal import schema, tree
from guide.journal.blob import BadBlob, Blob
from guide.journal.checkpoint import (
    BadCheckpoint,
    Checkpoint,
    UnknownSigner,
    Verifier,
    open_note,
    read_unverified,
)
from guide.journal.database import DATABASE_ERRORS
from guide.journal.event import FIRST_JOB_PREV, OPENED, BadEvent, Event
from guide.journal.files import reason
from guide.journal.logs import origin
from guide.journal.store import Journal, columns

_BATCH = 5000
MAX_PROBLEMS = 100  # PROPOSED: after a deletion every later event would be one more


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong; `seq` names the event where there is one."""

    what: str
    seq: int | None = None

    def __str__(self) -> str:
        return self.what if self.seq is None else f"event {self.seq}: {self.what}"


@dataclass(frozen=True, slots=True)
class Findings:
    """What a check found. `signed` counts checkpoints whose signature held with the keys given."""

    log: str
    events: int
    jobs: int
    checkpoints: int
    signed: int
    problems: tuple[Problem, ...]

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems

    @property
    def first_bad_event(self) -> int | None:
        """The lowest event number that a problem names."""
        return min((p.seq for p in self.problems if p.seq is not None), default=None)


@dataclass(frozen=True, slots=True)
class Row:
    """An event as stored: its bytes, and the columns that index them."""

    raw: object
    leaf: object
    index: dict[str, object]


@dataclass(slots=True)
class _Walk:
    """The state of one pass over a log."""

    log: str
    edge: tree.CompactRange = field(default_factory=tree.CompactRange)
    heads: dict[str, tuple[int, str]] = field(default_factory=dict)
    opened: int = 0
    problems: list[Problem] = field(default_factory=list)

    def add(self, what: str, seq: int | None = None) -> None:
        if len(self.problems) < MAX_PROBLEMS:
            self.problems.append(Problem(what, seq))

    def take(self, event: Event, leaf: bytes) -> None:
        """Check one event's place in the log and in its job; go on from what it says."""
        expected = self.edge.size
        self.edge.append(leaf)
        if event.seq != expected:
            self.add(f"stands where event {expected} belongs: an event was left out or added", event.seq)
        if event.log != self.log:
            self.add(f"belongs to another log, {event.log}", event.seq)
        job_seq, job_prev = self.heads.get(event.job, (0, FIRST_JOB_PREV))
        if event.job_seq != job_seq:
            self.add(f"is number {event.job_seq} of job {event.job}, expected {job_seq}", event.seq)
        if event.job_prev != job_prev:
            self.add(f"does not follow from the event of job {event.job} before it", event.seq)
        self.heads[event.job] = (event.job_seq + 1, leaf.hex())
        if event.kind == OPENED:
            self.opened += 1
            if event.body.get("number") != self.opened:
                self.add(f"opens a job under number {event.body.get('number')}, not {self.opened}", event.seq)


def check_events(
    log: str,
    rows: Iterable[Row],
    notes: Sequence[str] = (),
    *,
    verifiers: Sequence[Verifier] = (),
    trusted: Sequence[str] = (),
) -> Findings:
    """Check a whole log: bytes, columns, numbering, chains, and its tree against each checkpoint.

    `notes` are the log's own checkpoints; `trusted` are checkpoints kept outside, which must all
    fit too. With `verifiers` given, a checkpoint signed by none of them is a problem.
    """
    walk = _Walk(log)
    heads, signed = _heads(walk, [*notes, *trusted], verifiers)
    waiting = sorted(heads, key=lambda head: head.size)
    done = 0

    def compare() -> None:
        nonlocal done
        while done < len(waiting) and waiting[done].size == walk.edge.size:
            if waiting[done].root_hash != walk.edge.root():
                walk.add(f"the first {walk.edge.size} events are not those that the checkpoint there signed")
            done += 1

    compare()
    for row in rows:
        _take_row(walk, row)
        compare()
    for head in waiting[done:]:
        walk.add(f"the log ends before it, but a checkpoint signed {head.size} events", walk.edge.size)
    jobs = len(walk.heads)
    return Findings(log, walk.edge.size, jobs, len(notes), signed, tuple(walk.problems))


def check_chain(raws: Iterable[bytes]) -> tuple[Event, ...]:
    """Read one job's events and insist that none is missing between them, none altered or moved.

    Raises:
        BadEvent: the first event that is not canonical, or does not follow the one before it.
    """
    events: list[Event] = []
    previous = FIRST_JOB_PREV
    for number, raw in enumerate(raws):
        event = Event.from_bytes(raw)
        first = events[0] if events else event
        if (event.log, event.job) != (first.log, first.job):
            raise BadEvent(f"event {event.seq} belongs to another job or log than the first")
        if event.job_seq != number or event.job_prev != previous:
            raise BadEvent(
                f"event {event.seq} does not follow the event before it: one was left out or altered"
            )
        if events and event.seq <= events[-1].seq:
            raise BadEvent(f"event {event.seq} is out of order")
        previous = tree.leaf_hash(raw).hex()
        events.append(event)
    return tuple(events)


def check(path: Path, *, verifiers: Sequence[Verifier] = (), trusted: Sequence[str] = ()) -> Findings:
    """Check a journal file without changing it; also that its database is whole and its triggers stand.

    Raises:
        JournalUnusable: the file can't be opened as a journal at all.
    """
    with Journal.open(path, read_only=True) as journal, journal.connection() as connection:
        before: list[Problem] = []
        try:
            for name in schema.missing_triggers(connection):
                before.append(
                    Problem(f"the guard {name} is missing or was changed: events could be rewritten")
                )
            answer = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar_one()
            if answer != "ok":
                before.append(Problem(f"the database is damaged: {str(answer).splitlines()[-1]}"))
            table = schema.checkpoint
            kept = connection.execute(sa.select(table).order_by(table.c.number)).all()
            notes = [str(row.note) for row in kept]
            before.extend(_misfiled(kept))
        except DATABASE_ERRORS as error:
            before.append(Problem(f"the database is damaged: {reason(error)}"))
            notes = []
        before.extend(_altered_notes(connection))
        reader = _Rows(connection)
        found = check_events(journal.log, reader, notes, verifiers=verifiers, trusted=trusted)
        if reader.failure is not None:
            before.append(Problem(f"can't be read any further: {reader.failure}", found.events))
    return Findings(
        found.log, found.events, found.jobs, found.checkpoints, found.signed, (*before, *found.problems)
    )


def _misfiled(kept: Sequence[sa.Row[tuple[object, ...]]]) -> Iterator[Problem]:
    """Checkpoints whose number or size column is not what it was; notes out of form are told of elsewhere."""
    for place, row in enumerate(kept):
        if row.number != place:
            yield Problem(f"checkpoint {row.number} stands where {place} belongs: one was left out or added")
        try:
            size = read_unverified(str(row.note)).size
        except BadCheckpoint:
            continue
        if row.size != size:
            yield Problem(f"the index says otherwise about the size of checkpoint {row.number}")


def _altered_notes(connection: sa.Connection) -> list[Problem]:
    """Notes that are not what the log's references were made from; an erased note is no problem."""
    problems: list[Problem] = []
    try:
        for ref, salt, text in connection.execute(sa.select(schema.blob)):
            try:
                fits = Blob(salt, text).ref == ref
            except (BadBlob, TypeError):  # damage can turn one stored type into another
                fits = False
            if not fits and len(problems) < MAX_PROBLEMS:
                problems.append(
                    Problem(f"the note {str(ref)[:12]}… was altered: it does not fit its reference")
                )
    except DATABASE_ERRORS as error:
        problems.append(Problem(f"the notes can't be read: {reason(error)}"))
    return problems


class _Rows:
    """The stored rows in order; stops at the first that can't be read, and says why."""

    def __init__(self, connection: sa.Connection) -> None:
        self._connection = connection
        self.failure: str | None = None

    def __iter__(self) -> Iterator[Row]:
        table = schema.event
        names = [column.name for column in table.c if column.name not in {"leaf", "raw"}]
        query = sa.select(table.c.raw, table.c.leaf, *(table.c[name] for name in names))
        query = query.order_by(table.c.seq).limit(_BATCH)
        after = -1
        while True:
            try:
                rows = self._connection.execute(query.where(table.c.seq > after)).all()
            except DATABASE_ERRORS as error:
                self.failure = reason(error)
                return
            for raw, leaf, *index in rows:
                yield Row(raw, leaf, dict(zip(names, index, strict=True)))
            if len(rows) < _BATCH:
                return
            after = rows[-1].seq


def _take_row(walk: _Walk, row: Row) -> None:
    seq = walk.edge.size
    if not isinstance(row.raw, bytes):  # damage can turn one stored type into another
        walk.add("its bytes are gone", seq)
        walk.edge.append(tree.EMPTY_ROOT)
        return
    leaf = tree.leaf_hash(row.raw)
    if leaf != row.leaf:
        walk.add("its bytes are not those that were hashed when it was written", seq)
    try:
        event = Event.from_bytes(row.raw)
    except BadEvent as error:
        walk.add(str(error), seq)
        walk.edge.append(leaf)
        return
    wrong = [name for name, value in columns(event).items() if row.index[name] != value]
    if wrong:
        walk.add(f"the index says otherwise about {', '.join(wrong)}", seq)
    walk.take(event, leaf)


def _heads(walk: _Walk, notes: Sequence[str], verifiers: Sequence[Verifier]) -> tuple[list[Checkpoint], int]:
    """The checkpoints that count, and how many were signed by a key given."""
    heads: list[Checkpoint] = []
    signed = 0
    for note in notes:
        try:
            head = read_unverified(note)
            if verifiers:
                open_note(note, verifiers)
                signed += 1
        except UnknownSigner:
            walk.add(f"the checkpoint at {head.size} events is signed by none of the keys given")
        except BadCheckpoint as error:
            walk.add(f"a checkpoint can't be used: {error}")
            continue
        if head.origin != origin(walk.log):
            walk.add(f"a checkpoint belongs to another log, {head.origin}")
            continue
        heads.append(head)
    return heads, signed
