"""Records made wrong on purpose, by somebody with every key of the laptop in hand."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from typing import Any

from guide.bench.people import Technician
from guide.journal.canonical import canonical, strict_loads
from guide.journal.checkpoint import Checkpoint, read_unverified, sign
from guide.journal.event import CLOSED, FIRST_JOB_PREV, Event
from guide.journal.tree import Tree, leaf_hash
from guide.record.bundle import LOG, MANIFEST, MEANING, MEDIA, Bundle, Proofs, write_bundle
from guide.record.certificate import read_certificate
from guide.record.compile import compile_content, replay
from guide.record.content import RecordContent
from guide.record.gather import references
from guide.record.pdf import Drawn, draw_record
from guide.record.pdf_attachments import Attachment
from guide.record.pdf_form import prepare
from guide.record.signature import certify
from guide.record.verify import verify_record
from tests.record.build import PASSPHRASE, Bench1

MEANING_OF_SIGNATURE = "I did this work, and the entries under my name are mine and true."
PLACE = "Harbour School, roof unit 3"


def with_manifest(files: Mapping[str, bytes], **changed: Any) -> dict[str, bytes]:
    """The files with a manifest that fits them again."""
    manifest = strict_loads(files[MANIFEST])
    assert isinstance(manifest, dict)
    hashes = {name: hashlib.sha256(data).hexdigest() for name, data in files.items() if name != MANIFEST}
    return {**files, MANIFEST: canonical({**manifest, "files": hashes, **changed})}


def signed_anyway(
    desk: Bench1,
    files: Mapping[str, bytes],
    content: RecordContent,
    *,
    signer: Technician | None = None,
    when: datetime | None = None,
    drawn: Drawn | None = None,
    reason: str | None = None,
) -> bytes:
    """A record with these attachments and these pages, properly signed, whatever they say."""
    drawn = drawn or draw_record(content)
    attachments = [
        Attachment(n, MEDIA[n], d, MEANING[n], "Source" if n == LOG else "Data") for n, d in files.items()
    ]
    now = datetime.fromisoformat(desk.clock.now().utc).replace(microsecond=0)
    form = prepare(drawn.pdf, attachments, now=now, technician=drawn.technician, customer=drawn.customer)
    key, certificate = (signer or desk.technician).keys.signing_key(PASSPHRASE)
    return certify(
        form,
        private_key=key,
        certificate_der=certificate,
        name=read_certificate(certificate).common_name,
        reason=reason or MEANING_OF_SIGNATURE,
        location=PLACE,
        when=when or now,
    )


def forged(desk: Bench1, bundle: Bundle, files: Mapping[str, bytes]) -> bytes:
    """Changed attachments behind the pages of the true record."""
    return signed_anyway(desk, files, compile_content(bundle, replay(bundle)))


def changed_lines(bundle: Bundle, change: Callable[[list[bytes]], None]) -> dict[str, bytes]:
    """The true record's files with its log's lines changed, and nothing set right but the manifest."""
    lines = list(bundle.lines)
    change(lines)
    files = write_bundle(bundle)
    return with_manifest({**files, LOG: b"".join(line + b"\n" for line in lines)})


Edit = Callable[[list[Event]], list[Event]]


def rewritten(desk: Bench1, bundle: Bundle, edit: Edit) -> Bundle:
    """The log made anew with edited events: numbers, chain, tree, checkpoints, proofs, all set right."""
    events: list[Event] = []
    previous = FIRST_JOB_PREV
    for number, event in enumerate(edit(list(bundle.events))):
        linked = replace(event, seq=bundle.events[0].seq + number, job_seq=number, job_prev=previous)
        events.append(linked)
        previous = linked.leaf_hash
    before = [leaf_hash(raw) for raw in desk.bench.journal.raw_events()][: bundle.events[0].seq]
    tree = Tree([*before, *(leaf_hash(event.to_bytes()) for event in events)])
    sizes = sorted({min(read_unverified(note).size, tree.size) for note in bundle.checkpoints} | {tree.size})
    origin = read_unverified(bundle.checkpoints[0]).origin
    return replace(
        bundle,
        lines=tuple(event.to_bytes() for event in events),
        events=tuple(events),
        checkpoints=tuple(
            sign(Checkpoint(origin, size, tree.root(size)), desk.technician.log_key) for size in sizes
        ),
        blobs={ref: blob for ref, blob in bundle.blobs.items() if ref in references(events)},
        proofs=Proofs(
            tree.size,
            {event.seq: tree.inclusion_proof(event.seq) for event in events},
            tuple((old, new, tree.consistency_proof(old, new)) for old, new in pairwise(sizes)),
        ),
    )


def body_changed(kind: str, change: Callable[[dict[str, Any]], None]) -> Edit:
    """Change the body of the first event of a kind."""

    def edit(events: list[Event]) -> list[Event]:
        at = next(index for index, event in enumerate(events) if event.kind == kind)
        body: Any = strict_loads(canonical(events[at].body))
        change(body)
        events[at] = replace(events[at], body=body)
        return events

    return edit


def recounted(events: Sequence[Event]) -> list[Event]:
    """The events with the last closing event's counts set right."""
    counts: dict[str, int] = {}
    for event in events:
        counts[event.kind] = counts.get(event.kind, 0) + 1
    last = events[-1]
    assert last.kind == CLOSED
    return [*events[:-1], replace(last, body={**last.body, "counts": counts})]


def failed_check(pdf: bytes, **named: Any) -> tuple[int, str]:
    """The number of the check that failed, and what it said."""
    report = verify_record(pdf, **named)
    assert report.first_wrong is not None, "the forgery was taken for a record"
    return next(check.number for check in report.checks if check.outcome == "failed"), report.first_wrong
