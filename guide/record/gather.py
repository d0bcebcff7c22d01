"""What a record takes from a journal: the job's events up to its closing, and the proofs with them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Protocol

from guide import VERSION
from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.job.state import JobState
from guide.journal.blob import Blob
from guide.journal.canonical import Json
from guide.journal.checkpoint import BadCheckpoint, read_unverified
from guide.journal.event import CLOSED, Event
from guide.journal.tree import Tree
from guide.record.bundle import Bundle, Made, Proofs
from guide.record.figures import Figures
from guide.record.keyring import open_with, people_of, public_keys
from guide.record.pdf import libraries
from guide.refrigerant import saturation

_REF = re.compile(r"[0-9a-f]{64}")


class NotReady(ChargewrightError):
    """A job of which no record can be made yet."""


class Log(Protocol):
    """As much of a journal as a record takes."""

    log: str

    def raw_events(self, job: str | None = None) -> Iterator[bytes]:
        """Stored bytes of a job's events, in order."""

    def blob(self, ref: str) -> Blob | None:
        """The text behind a reference, unless it was withheld or erased."""

    def checkpoints(self) -> list[str]:
        """All notes kept, oldest first."""

    def tree(self) -> Tree:
        """The tree over the log."""


def gather(log: Log, state: JobState, *, page_size: str | None = None) -> Bundle:
    """The bundle of a closed job. Without `page_size`, Letter for an order in pounds and ounces, else A4.

    Raises:
        NotReady: the job is not closed, or no signed head of the log covers its closing event.
        BadBody, BadEvent: the journal does not hold what it should.
    """
    lines, events = _up_to_closing(log, state.job)
    opened = p.read_payload(events[0].kind, events[0].body)
    assert isinstance(opened, p.Opened)
    notes = _notes(log, events)
    sizes = [read_unverified(note).size for note in notes]
    tree = log.tree()
    proofs = Proofs(
        size=sizes[-1],
        inclusion={event.seq: tree.inclusion_proof(event.seq, sizes[-1]) for event in events},
        consistency=tuple((old, new, tree.consistency_proof(old, new)) for old, new in pairwise(sizes)),
    )
    reopened = [event for event in events if event.kind == p.Reopened.KIND]
    previous = str(reopened[-1].body["record_sha256"]) if reopened else None
    return Bundle(
        made=Made(VERSION, libraries(), page_size or _paper(state)),
        job=state.job,
        log=log.log,
        previous=previous,
        lines=lines,
        events=events,
        checkpoints=notes,
        proofs=proofs,
        blobs=_blobs(log, events, opened),
        procedure=state.procedure.source,
        order=state.order.text.encode(),
        curve=saturation.curve(state.order.refrigerant.designation).source,
    )


def _paper(state: JobState) -> str:
    return "Letter" if Figures.of(state.order).american else "A4"


def _up_to_closing(log: Log, job: str) -> tuple[tuple[bytes, ...], tuple[Event, ...]]:
    lines = list(log.raw_events(job))
    events = [Event.from_bytes(line) for line in lines]
    while events and events[-1].kind != CLOSED:
        if events[-1].kind != p.RecordIssued.KIND:
            raise NotReady(f"job {job} is not closed; a record is made of a closed job")
        events.pop()
    if not events:
        raise NotReady(f"job {job} is not closed; a record is made of a closed job")
    return tuple(lines[: len(events)]), tuple(events)


def _notes(log: Log, events: tuple[Event, ...]) -> tuple[str, ...]:
    """The notes of the job's own people from its opening to the first that covers its closing."""
    keys = public_keys(people_of(events))
    notes: list[str] = []
    for note in log.checkpoints():
        if read_unverified(note).size <= events[0].seq:
            continue
        try:
            opened = open_with(note, keys)
        except BadCheckpoint:
            continue
        notes.append(note)
        if opened.checkpoint.size > events[-1].seq:
            return tuple(notes)
    raise NotReady(
        f"job {events[0].job} is closed, but no signed head of the log covers its end; "
        "sign in and make the record again"
    )


def _blobs(log: Log, events: Iterable[Event], opened: p.Opened) -> dict[str, Blob]:
    documents = {opened.order, opened.procedure}  # they ride along as files of their own
    blobs: dict[str, Blob] = {}
    for ref in references(events):
        blob = None if ref in documents else log.blob(ref)
        if blob is not None:
            blobs[ref] = blob
    return blobs


def references(events: Iterable[Event]) -> frozenset[str]:
    """Everything in the events' bodies that has the form of a reference."""
    found: set[str] = set()
    waiting: list[Json] = [event.body for event in events]
    while waiting:
        value = waiting.pop()
        if isinstance(value, str):
            if _REF.fullmatch(value):
                found.add(value)
        elif isinstance(value, dict):
            waiting.extend(value.values())
        elif isinstance(value, list):
            waiting.extend(value)
    return frozenset(found)
