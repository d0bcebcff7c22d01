"""The numbered checks of a record behind the signature layer. Each finds at most one thing: the first wrong.

What they demand is listed in `guide.record.verify`, under the same numbers.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from io import BytesIO
from itertools import pairwise
from typing import Final

from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.job.order import read_order
from guide.job.state import JobState, begin, fold
from guide.journal.blob import MAX_CHARACTERS
from guide.journal.checkpoint import Checkpoint
from guide.journal.event import CLOSED, FIRST_JOB_PREV, Event
from guide.journal.reading import log_kind, origin
from guide.journal.tree import BadProof, leaf_hash, verify_consistency, verify_inclusion
from guide.procedure.reader import read_procedure
from guide.record import bundle as files
from guide.record.again import (
    Differs,
    decide_again,
    judge_again,
    readings_as_typed,
    same_curve,
    unknown_versions,
)
from guide.record.bundle import Bundle, read_bundle
from guide.record.compile import compile_content
from guide.record.gather import references
from guide.record.keyring import open_with, people_of, public_keys
from guide.record.pdf import draw_record, libraries
from guide.record.pdf_form import read_form
from guide.record.pdf_revisions import read_revisions
from guide.record.signature import extract_attachments
from guide.record.signature_report import Signature, SignatureReport
from guide.record.stamp import stamp_words
from guide.refrigerant.curve_file import read_curve

HOSTILE_FAULTS: Final = (
    ChargewrightError, LookupError, ArithmeticError, ValueError, TypeError, AttributeError, AssertionError,
    RuntimeError, StopIteration,
)  # fmt: skip
"""What a forged log may make our own rules run into; a genuine one gives none of these."""


MOST_ROUNDS: Final = 1_000
"""PROPOSED: a charging loop takes a dozen; judging them again costs the square of their number."""


class Wrong(ChargewrightError):
    """What one check found."""


@dataclass(slots=True)
class Examined:
    """What the checks have learnt of a record so far."""

    pdf: bytes
    signature: SignatureReport
    program: str
    bundle: Bundle | None = None
    payloads: tuple[p.Payload, ...] = ()
    heads: list[Checkpoint] = field(default_factory=list)
    start: JobState | None = None
    state: JobState | None = None
    notes: list[str] = field(default_factory=list)

    @property
    def inside(self) -> Bundle:
        """The bundle, once it was read."""
        assert self.bundle is not None
        return self.bundle

    @property
    def opened(self) -> p.Opened:
        """The opening event, once the log was found whole."""
        first = self.payloads[0]
        assert isinstance(first, p.Opened)
        return first


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


def _named_files(record: Examined) -> None:
    inside, opened = record.inside, record.opened
    for name, data, wanted in (
        (files.ORDER, inside.order, opened.order_sha256),
        (files.PROCEDURE, inside.procedure, opened.procedure_sha256),
    ):
        if hashlib.sha256(data).hexdigest() != wanted:
            raise Wrong(f"{name} is not the one the job was opened with: its SHA-256 is another")
    curve = read_curve(inside.curve)
    if curve.sha256 != opened.versions.curve_sha256:
        raise Wrong(f"{files.CURVE} is not the curve the job was worked with")
    known = references(inside.events)
    for ref, blob in inside.blobs.items():
        if ref not in known:
            raise Wrong("a text rides along that no event refers to")
        if len(blob.text) > MAX_CHARACTERS:
            raise Wrong(f"a text is longer than the {MAX_CHARACTERS} characters a note may have")
    withheld = _text_references(record.payloads) - set(inside.blobs)
    if withheld:
        record.notes.append(f"{len(withheld)} texts were withheld or erased; the log holds their hashes")


def _text_references(payloads: Sequence[p.Payload]) -> set[str]:
    """References to texts that belong in a record: reasons, notes, names, numbers."""
    found: set[str] = set()
    for payload in payloads:
        for name in ("reason", "text", "name", "against_advice"):
            value = getattr(payload, name, None)
            if isinstance(value, str):
                found.add(value)
        person = getattr(payload, "person", None)
        if isinstance(person, p.Person):
            found.add(person.name)
            if person.certification_number is not None:
                found.add(person.certification_number)
        for reading in getattr(payload, "readings", ()):
            if reading.unusual is not None:
                found.add(reading.unusual)
    return found


def _possible(record: Examined) -> None:
    inside, opened = record.inside, record.opened
    order = read_order(inside.order, files.ORDER)
    procedure = read_procedure(inside.procedure, files.PROCEDURE)
    rounds = sum(isinstance(payload, p.RoundRead) for payload in record.payloads)
    if rounds > MOST_ROUNDS:
        raise Wrong(f"{rounds} rounds of readings; a record holds at most {MOST_ROUNDS}")
    record.start = begin(inside.job, order, procedure)
    record.state = fold(record.start, inside.events)
    if not opened.nature == order.nature == log_kind(inside.log):
        raise Wrong(
            f"the log is {log_kind(inside.log)}, the order {order.nature}, the opening {opened.nature}: "
            "practice was passed off as work, or the other way round"
        )
    if (procedure.id, procedure.revision) != (opened.procedure_id, opened.procedure_revision):
        raise Wrong("the opening event names another procedure or revision than the one inside")
    if opened.ticket != order.ticket:
        raise Wrong("the opening event does not repeat the order's ticket")
    reopened = [x.record_sha256 for x in record.payloads if isinstance(x, p.Reopened)]
    if inside.previous != (reopened[-1] if reopened else None):
        raise Wrong("the manifest names another earlier record than the log")


def _typed(record: Examined) -> None:
    assert record.state is not None
    readings_as_typed(record.inside.events, record.state.order.site_pressure_Pa)


def _decisions(record: Examined) -> None:
    assert record.start is not None
    missing = unknown_versions(record.opened.versions)
    if missing is not None:
        record.notes.append(f"verdicts were not reached again: this program does not have {missing}")
        return
    curve = read_curve(record.inside.curve)
    if same_curve(curve):
        decide_again(record.start, record.inside.events)
        return
    judge_again(record.start, record.inside.events, curve)
    record.notes.append("verdicts were reached again with the curve inside; this program ships another")


def _right_hand(record: Examined) -> None:
    signature, state = record.signature.technician, record.state
    assert signature is not None
    assert state is not None
    signed = state.signed[-1]
    signer = state.people.get(signed.person)
    if signer is None or signed.person != record.inside.events[-1].by:
        raise Wrong("the sign-off in the log is by somebody who was not at work on the job")
    if not signature.fingerprint_sha256 == signed.certificate_sha256 == signer.certificate_sha256:
        raise Wrong("the signature is by another certificate than the sign-off in the log names")
    if (signature.practice_mark is not None) != (record.opened.nature != "real"):
        raise Wrong("a practice key signed real work, or a real key a practice job")
    closed = datetime.fromisoformat(record.inside.events[-1].stamp.utc).replace(microsecond=0)
    if signature.claimed_time < closed:
        raise Wrong("the claimed time of signing lies before the job was closed")
    _stamp(record, signature, state, (signed.name, signer.name))


def _stamp(record: Examined, signature: Signature, state: JobState, names: tuple[str, ...]) -> None:
    for ref in names:
        name = record.inside.blobs.get(ref)
        if name is not None and name.text != signature.common_name:
            raise Wrong("the log names the signer otherwise than the certificate")
    if (signature.reason, signature.location) != stamp_words(state):
        raise Wrong("the signature's stamp gives another meaning or place than the log")


def _pages(record: Examined) -> None:
    inside = record.inside
    assert record.state is not None
    drawing = draw_record(compile_content(inside, record.state))
    drawn = drawing.pdf
    pages, form = read_revisions(record.pdf)[:2]
    base = record.pdf[: pages.end]
    if drawn == base:
        parts = read_form(record.pdf, pages, form)
        if (parts.technician, parts.customer) != (drawing.technician, drawing.customer):
            raise Wrong("a signature's box does not stand where the pages leave room for it")
        return
    if inside.made.program == record.program and dict(inside.made.libraries) == libraries():
        raise Wrong("the printed pages are not those that the log inside gives")
    if _words(drawn) != _words(base):
        by = "" if inside.made.program == record.program else f" (made by program {inside.made.program})"
        raise Wrong(f"the printed pages{by} say other than the log inside")
    record.notes.append(
        f"the pages were made by program {inside.made.program} with other libraries; "
        "their words were compared, not their drawing"
    )


def _words(pdf: bytes) -> list[str]:
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    try:
        return [word for page in PdfReader(BytesIO(pdf)).pages for word in page.extract_text().split()]
    except PyPdfError:
        raise Wrong("the printed pages can't be read") from None


CHECKS: Final[tuple[tuple[str, Callable[[Examined], None]], ...]] = (
    ("the file is, to the last bit, what was signed", _signature_layer),
    ("the attachments are those of a record and what the manifest says", _bundle),
    ("the log is one job, canonical, whole and in order", _whole),
    ("the job is closed and its closing event counts right", _closed),
    ("the checkpoints are signed by the log keys of the job's people", _heads),
    ("every event is in the log that the last checkpoint signed", _included),
    ("the checkpoints extend one another", _consistent),
    ("order, procedure, curve and texts are those the log names", _named_files),
    ("the events are those of a possible job", _possible),
    ("every reading is what was typed", _typed),
    ("every decision and verdict comes out again", _decisions),
    ("the signature is by whoever signed off in the log", _right_hand),
    ("the printed pages come out of the log again", _pages),
)
"""Number 1 first."""

__all__ = ["CHECKS", "HOSTILE_FAULTS", "Differs", "Examined", "Wrong", "check_chain", "check_closed"]
