"""The numbered checks of a record. Each finds at most one thing: the first wrong.

What they demand is listed in `guide.record.verify`, under the same numbers; 1 to 7 stand here, the
others in `guide.record.checks_job`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Final

from guide.job import payloads as p
from guide.journal.event import CLOSED, FIRST_JOB_PREV, Event
from guide.journal.logs import origin
from guide.journal.tree import BadProof, leaf_hash, verify_consistency, verify_inclusion
from guide.record.bundle import read_bundle
from guide.record.checks_job import (
    decisions_again,
    named_files,
    pages_again,
    possible_job,
    readings_typed,
    right_hand,
)
from guide.record.examined import Examined, Wrong
from guide.record.keyring import open_with, people_of, public_keys
from guide.record.signature import extract_attachments


def check_chain(events: Sequence[Event]) -> None:
    """See that events are one job's, whole and in order.

    Raises:
        Wrong: at the first gap, exchange or stranger.
    """
    if not events:
        raise Wrong("the log holds no event")
    previous, last_seq = FIRST_JOB_PREV, -1
    for number, event in enumerate(events):
        if (event.log, event.job) != (events[0].log, events[0].job):
            raise Wrong(f"event {event.seq} belongs to another log or job")
        if event.job_seq != number:
            raise Wrong(f"event {event.seq} is number {event.job_seq} of its job where {number} should stand")
        if event.job_prev != previous:
            raise Wrong(
                f"event {event.seq} does not follow from the event before it: one was altered or left out"
            )
        if event.seq <= last_seq:
            raise Wrong(f"event {event.seq} stands behind event {last_seq}")
        previous, last_seq = event.leaf_hash, event.seq


def check_closed(events: Sequence[Event]) -> None:
    """See that the last closing event counts the events up to it.

    Raises:
        Wrong: there is none (INCOMPLETE), or it counts otherwise.
    """
    closings = [index for index, event in enumerate(events) if event.kind == CLOSED]
    if not closings:
        raise Wrong("INCOMPLETE: the job has no closing event; its end was cut off, or it is still open")
    counts: dict[str, int] = {}
    for event in events[: closings[-1] + 1]:
        counts[event.kind] = counts.get(event.kind, 0) + 1
    if events[closings[-1]].body.get("counts") != counts:
        raise Wrong("the closing event counts other events than there are")


def _signature_layer(record: Examined) -> None:
    if record.signature.findings:
        raise Wrong(record.signature.findings[0].message)


def _bundle(record: Examined) -> None:
    record.bundle = read_bundle(extract_attachments(record.pdf))


def _whole(record: Examined) -> None:
    check_chain(record.inside.events)
    first = record.inside.events[0]
    if (first.log, first.job) != (record.inside.log, record.inside.job):
        raise Wrong("the manifest names another log or job than the events")
    record.payloads = tuple(p.read_payload(e.kind, e.body) for e in record.inside.events)
    if not isinstance(record.payloads[0], p.Opened):
        raise Wrong("the job does not begin with its opening event")


def _closed(record: Examined) -> None:
    check_closed(record.inside.events)
    if record.inside.events[-1].kind != CLOSED:
        raise Wrong("INCOMPLETE: events stand behind the last closing event: the job was reopened")


def _heads(record: Examined) -> None:
    keys = public_keys(people_of(record.inside.events))
    closing = record.inside.events[-1].seq
    for note in record.inside.checkpoints:
        head = open_with(note, keys).checkpoint
        if head.origin != origin(record.inside.log):
            raise Wrong(f"a checkpoint is of another log, {head.origin}")
        if record.heads and head.size < record.heads[-1].size:
            raise Wrong("the checkpoints do not stand in the order of their size")
        record.heads.append(head)
    if record.heads[-1].size <= closing:
        raise Wrong(
            f"the last checkpoint covers {record.heads[-1].size} events; the closing event is {closing}"
        )


def _included(record: Examined) -> None:
    proofs, head = record.inside.proofs, record.heads[-1]
    if proofs.size != head.size or set(proofs.inclusion) != {e.seq for e in record.inside.events}:
        raise Wrong("the proofs are not those of these events in the last checkpoint")
    for event, line in zip(record.inside.events, record.inside.lines, strict=True):
        try:
            verify_inclusion(
                event.seq, head.size, leaf_hash(line), proofs.inclusion[event.seq], head.root_hash
            )
        except BadProof:
            raise Wrong(f"event {event.seq} is not in the log that the checkpoint signed") from None


def _consistent(record: Examined) -> None:
    given = record.inside.proofs.consistency
    if len(given) != len(record.heads) - 1:
        raise Wrong("a consistency proof between two checkpoints is missing")
    for (older, newer), (old, new, proof) in zip(pairwise(record.heads), given, strict=True):
        if (old, new) != (older.size, newer.size):
            raise Wrong("a consistency proof is for other checkpoints")
        try:
            verify_consistency(old, new, older.root_hash, newer.root_hash, proof)
        except BadProof:
            raise Wrong(
                f"the log of {new} events does not begin with that of {old} events: two versions exist"
            ) from None


CHECKS: Final[tuple[tuple[str, Callable[[Examined], None]], ...]] = (
    ("the file is, to the last bit, what was signed", _signature_layer),
    ("the attachments are those of a record and what the manifest says", _bundle),
    ("the log is one job, canonical, whole and in order", _whole),
    ("the job is closed and its closing event counts right", _closed),
    ("the checkpoints are signed by the log keys of the job's people", _heads),
    ("every event is in the log that the last checkpoint signed", _included),
    ("the checkpoints extend one another", _consistent),
    ("order, procedure, curve and texts are those the log names", named_files),
    ("the events are those of a possible job", possible_job),
    ("every reading is what was typed", readings_typed),
    ("every decision and verdict comes out again", decisions_again),
    ("the signature is by whoever signed off in the log", right_hand),
    ("the printed pages come out of the log again", pages_again),
)
"""Number 1 first."""
