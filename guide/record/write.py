"""This room's edge: records and exports onto the disk.

A file gets its name only when it is whole, checked by our own checker, and on the disk; no file is
ever written over.
"""

from __future__ import annotations

import contextlib
import hashlib
import secrets
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.escape import for_file_name
from guide.job import payloads as p
from guide.job.state import JobState
from guide.journal.blob import Blob
from guide.journal.checkpoint import fingerprint
from guide.journal.event import Event
from guide.journal.files import reason, rename_new, sync_folder, write_new
from guide.record.answers import first_line
from guide.record.bundle import LOG, MEANING, MEDIA, Bundle, read_bundle, write_bundle
from guide.record.certificate import read_certificate
from guide.record.compile import compile_content, replay
from guide.record.content import RecordContent
from guide.record.exported import PHOTOS, copy_photo, photos_of
from guide.record.gather import Log, gather
from guide.record.narrate import Text
from guide.record.pdf import draw_customer_page, draw_record
from guide.record.pdf_attachments import Attachment
from guide.record.pdf_form import prepare
from guide.record.signature import certify, extract_attachments
from guide.record.stamp import stamp_words
from guide.record.tables import tables
from guide.record.verify import verify_record

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

_MOST_RECORDS = 1000


class NotWritten(ChargewrightError):
    """A record or export that is not on the disk: what, where, why."""


@dataclass(frozen=True, slots=True)
class RecordFiles:
    """A record on the disk: the signed PDF with its SHA-256, the customer's page, the fingerprint."""

    pdf: Path
    customer_copy: Path
    sha256: str
    fingerprint: str


def make(
    bundle: Bundle, *, private_key: EllipticCurvePrivateKey, certificate_der: bytes, when: datetime
) -> tuple[bytes, RecordContent]:
    """The signed PDF of a bundle, and what stands on its pages.

    Raises:
        ChargewrightError: the bundle folds to no possible job, or key and certificate don't fit.
    """
    state = replay(bundle)
    content = compile_content(bundle, state)
    drawn = draw_record(content)
    attachments = [
        Attachment(name, MEDIA[name], data, MEANING[name], "Source" if name == LOG else "Data")
        for name, data in write_bundle(bundle).items()
    ]
    made = datetime.fromisoformat(bundle.events[-1].stamp.utc).replace(microsecond=0)
    form = prepare(drawn.pdf, attachments, now=made, technician=drawn.technician, customer=drawn.customer)
    meaning, place = stamp_words(state)
    signed = certify(
        form,
        private_key=private_key,
        certificate_der=certificate_der,
        name=read_certificate(certificate_der).common_name,
        reason=meaning,
        location=place,
        when=when,
    )
    return signed, content


def issue(
    journal: Log, state: JobState, *, private_key: EllipticCurvePrivateKey, certificate_der: bytes,
    when: datetime, folder: Path, page_size: str | None = None,
) -> RecordFiles:  # fmt: skip
    """Make the record of a closed job, check it, and put it into `folder` under a free name.

    Raises:
        NotReady: the job is not closed, or the log's head is not signed yet.
        NotWritten: it does not pass our own check, or can't be written; no file is left.
        ChargewrightError: the journal holds no possible job, or key and certificate don't fit.
    """
    bundle = gather(journal, state, page_size=page_size)
    pdf, content = make(bundle, private_key=private_key, certificate_der=certificate_der, when=when)
    report = verify_record(pdf)
    if not report.intact:
        raise NotWritten(f"no record of job {state.job} written, it does not pass: {first_line(report)}")
    customer = draw_customer_page(content)
    name = for_file_name(state.job)
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        for number in range(1, _MOST_RECORDS):
            stem = name if number == 1 else f"{name}-{number}"
            paths = (folder / f"{stem}.pdf", folder / f"{stem}-customer.pdf")
            if not any(path.exists() for path in paths):
                break
        else:
            raise NotWritten(
                f"{folder} holds {_MOST_RECORDS} records of job {state.job}; name another folder"
            )
        _put(paths[1], customer)
        try:
            _put(paths[0], pdf)
        except OSError:
            paths[1].unlink(missing_ok=True)
            raise
    except OSError as error:
        raise NotWritten(f"no record of job {state.job} written to {folder}: {reason(error)}") from error
    return RecordFiles(
        paths[0].absolute(),
        paths[1].absolute(),
        hashlib.sha256(pdf).hexdigest(),
        fingerprint(bundle.checkpoints[-1]),
    )


def customer_copy(state: JobState, records: Path) -> bytes:
    """The customer's page of the newest record issued, drawn again from what rides inside it.

    Raises:
        NotWritten: no record was issued, or it is not there as it was issued.
        ChargewrightError: what is inside can't be read.
    """
    notes: list[str] = []
    pdf = _issued(state, records, notes)
    if pdf is None:
        raise NotWritten(f"no customer's copy: {notes[0].rpartition(';')[0]}")
    bundle = read_bundle(extract_attachments(pdf))
    return draw_customer_page(compile_content(bundle, replay(bundle)))


def _put(path: Path, data: bytes) -> None:
    """A whole file under its name, durable; never over another."""
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        write_new(draft, data)
        rename_new(draft, path)
    finally:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)
    sync_folder(path.parent)


@dataclass(frozen=True, slots=True)
class Exported:
    """What an export wrote, and what a person must know about it."""

    files: tuple[Path, ...]
    notes: tuple[str, ...]


def export(log: Log, state: JobState, *, to: Path, records: Path, photos: Path | None = None) -> Exported:
    """Write a job's log, its newest issued record, its tables and the photos it names into a folder.

    `photos` is the folder where this job's photos are kept. One that is missing or is not what the log
    names is left out, and that is said.

    Raises:
        NotWritten: a file is there already or can't be written. A record that is missing or was
            changed since it was issued is left out, and that is said.
    """
    lines = list(log.raw_events(state.job))
    events = [Event.from_bytes(line) for line in lines]
    files: dict[str, bytes] = {LOG: b"".join(line + b"\n" for line in lines)}
    notes: list[str] = []
    pdf = _issued(state, records, notes)
    if pdf is not None:
        files["record.pdf"] = pdf
    for name, data in tables(state, events, _text_of(log.blob)).items():
        files[f"tables/{name}"] = data
    named = photos_of(events)
    _require_free(to, [*files, *(f"{PHOTOS}/{photo.file}" for photo in named)])
    written: list[Path] = []
    try:
        (to / "tables").mkdir(parents=True, exist_ok=True)
        for name, data in files.items():
            _put(to / name, data)
            written.append(to / name)
        for photo in named:
            fault = copy_photo(photo, photos, to / PHOTOS)
            if fault is None:
                written.append(to / PHOTOS / photo.file)
            else:
                notes.append(f"photo {photo.file} {fault}; it is left out")
    except OSError as error:
        raise NotWritten(f"job {state.job} not exported to {to}: {reason(error)}") from error
    return Exported(tuple(written), tuple(notes))


def _text_of(blob: Callable[[str], Blob | None]) -> Text:
    def text(ref: str | None) -> str:
        found = blob(ref) if ref is not None else None
        return "[withheld]" if ref is not None and found is None else found.text if found else ""

    return text


def _issued(state: JobState, records: Path, notes: list[str]) -> bytes | None:
    if not state.issued:
        notes.append(f"no record of job {state.job} was issued yet; record.pdf is left out")
        return None
    last: p.RecordIssued = state.issued[-1]
    path = records / Path(last.file).name
    try:
        data = path.read_bytes()
    except OSError as error:
        notes.append(f"{path} can't be read ({reason(error)}); record.pdf is left out")
        return None
    if hashlib.sha256(data).hexdigest() != last.sha256:
        notes.append(f"{path} is not the record that was issued; record.pdf is left out")
        return None
    return data


def _require_free(to: Path, files: Iterable[str]) -> None:
    taken = [name for name in files if (to / name).exists()]
    if taken:
        raise NotWritten(f"{to / taken[0]} exists already; nothing was exported, name another folder")
