"""The numbered checks 8 to 13 of a record: what its log says, against everything else in it."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import datetime
from io import BytesIO
from typing import Final

from guide.job import payloads as p
from guide.job.evolve import fold
from guide.job.order import read_order
from guide.job.state import JobState, begin
from guide.journal.blob import MAX_CHARACTERS
from guide.journal.logs import log_kind
from guide.procedure.reader import read_procedure
from guide.record import bundle as files
from guide.record.again import (
    decide_again,
    judge_again,
    readings_as_typed,
    same_curve,
    unknown_versions,
)
from guide.record.compile import compile_content
from guide.record.examined import Examined, Wrong
from guide.record.gather import references
from guide.record.pdf import draw_record, libraries
from guide.record.pdf_form import read_form
from guide.record.pdf_revisions import read_revisions
from guide.record.signature_report import Signature
from guide.record.stamp import stamp_words
from guide.refrigerant.curve_file import read_curve

MOST_ROUNDS: Final = 1_000
"""PROPOSED: a charging loop takes a dozen; judging them again costs the square of their number."""


def named_files(record: Examined) -> None:
    """See that order, procedure, curve and texts are those the log names.

    Raises:
        Wrong, ChargewrightError: the first thing that is not so.
    """
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
        for name in ("reason", "text", "name", "against_advice", "past_due_reason"):
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


def possible_job(record: Examined) -> None:
    """See that the events fold to a possible job, and that log, order and opening agree.

    Raises:
        Wrong, ChargewrightError: the first thing that is not so.
    """
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


def readings_typed(record: Examined) -> None:
    """See that every reading is what was typed.

    Raises:
        Wrong, ChargewrightError: the first thing that is not so.
    """
    assert record.state is not None
    readings_as_typed(record.inside.events, record.state.order.site_pressure_Pa)


def decisions_again(record: Examined) -> None:
    """Take every decision again, as far as this program has the rules.

    Raises:
        Wrong, ChargewrightError: the first thing that is not so.
    """
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


def right_hand(record: Examined) -> None:
    """See that the signature is by whoever signed off in the log.

    Raises:
        Wrong, ChargewrightError: the first thing that is not so.
    """
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


def pages_again(record: Examined) -> None:
    """Lay the pages out again from the log and compare.

    Raises:
        Wrong, ChargewrightError: the first thing that is not so.
    """
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
