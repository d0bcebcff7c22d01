"""Records of other machines kept to be read: checked first, never worked on, apart from own logs."""

from __future__ import annotations

import hashlib
import secrets
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from guide.errors import ChargewrightError
from guide.escape import for_file_name
from guide.journal.files import reason, sync_folder, write_new
from guide.record.answers import Report, first_line
from guide.record.content import RecordContent
from guide.record.witness import NamedSigner

FOLDER = "imported"
RECORD, LOG, ABOUT = "record.pdf", "log.ndjson", "about.json"
_LARGEST_RECORD_BYTES = 256_000_000
_LARGEST_ABOUT_BYTES = 100_000


class NotImported(ChargewrightError):
    """A record that is not kept here: what is wrong with it, or where it can't be written."""


class About(BaseModel):
    """What a list shows of a record, as it stood when it was taken in."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    format: Literal["chargewright-imported-1"] = "chargewright-imported-1"
    job: Annotated[str, Field(max_length=64)]
    log: Annotated[str, Field(max_length=80)]
    nature: Literal["real", "practice", "demonstration"]
    place: Annotated[str, Field(max_length=400)]
    closed_utc: Annotated[str, Field(max_length=40)]
    taken_in_utc: Annotated[str, Field(max_length=40)]
    record_sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


@dataclass(frozen=True, slots=True)
class Imported:
    """One record kept to be read; `id` is the name of its folder."""

    id: str
    folder: Path
    about: About


@dataclass(frozen=True, slots=True)
class Reading:
    """An imported record open to be read: the checker's three answers, and what stands on its pages."""

    imported: Imported
    reports: tuple[Report, ...]
    """About the record; before it about the log beside it, where an export was taken in."""
    content: RecordContent | None
    """None where the record is not intact: what it says is then not shown."""


def take_in(source: Path, root: Path, *, utc: str) -> Imported:
    """Check a record's PDF or an export's folder, and keep it under `root`/imported.

    Raises:
        NotImported: it is not intact, is here already, or can't be read or written.
        NotARecord: the PDF is no record.
    """
    from guide.record.bundle import read_bundle
    from guide.record.compile import replay
    from guide.record.exported import PHOTOS, copy_photo, photos_of
    from guide.record.signature import extract_attachments
    from guide.record.verify import verify_export, verify_record

    inside = source.is_dir()
    pdf = _read(source / RECORD if inside else source)
    reports = verify_export(source) if inside else (verify_record(pdf),)
    for report in reports:
        if not report.sound:
            raise NotImported(f"{source}: not kept, {first_line(report)}")
    bundle = read_bundle(extract_attachments(pdf))
    log = _read(source / LOG) if inside else None
    if log is not None and not log.startswith(b"\n".join(bundle.lines) + b"\n"):
        raise NotImported(f"{source}: not kept, the log beside the record is of another job or course")
    state = replay(bundle)
    digest = hashlib.sha256(pdf).hexdigest()
    name = f"{for_file_name(bundle.job)}-{digest[:16]}"
    target, draft = root / FOLDER / name, root / FOLDER / f".{name}.{secrets.token_hex(4)}"
    about = About(
        job=bundle.job, log=bundle.log, nature=state.order.nature, place=state.order.place,
        closed_utc=bundle.events[-1].stamp.utc, taken_in_utc=utc, record_sha256=digest,
    )  # fmt: skip
    try:
        if target.exists():
            raise NotImported(f"{source}: is here already, as {name}")
        draft.mkdir(parents=True, mode=0o700)
        write_new(draft / RECORD, pdf)
        if log is not None:
            write_new(draft / LOG, log)
            for photo in photos_of(bundle.events):
                copy_photo(photo, source / PHOTOS, draft / PHOTOS)
        write_new(draft / ABOUT, about.model_dump_json(indent=1).encode())
        sync_folder(draft)
        draft.rename(target)
        sync_folder(target.parent)
    except OSError as error:
        raise NotImported(f"{source}: not kept in {target.parent}: {reason(error)}") from error
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return Imported(name, target, about)


def imported(root: Path) -> tuple[Imported, ...]:
    """Every record kept to be read, the one closed last first. A folder that can't be read is left out."""
    found = []
    folder = root / FOLDER
    for each in folder.iterdir() if folder.is_dir() else ():
        try:
            with (each / ABOUT).open("rb") as file:
                about = About.model_validate_json(file.read(_LARGEST_ABOUT_BYTES))
        except (OSError, ValidationError):
            continue
        if not each.name.startswith("."):
            found.append(Imported(each.name, each, about))
    return tuple(sorted(found, key=lambda item: (item.about.closed_utc, item.id), reverse=True))


def read(
    item: Imported, *, signers: Sequence[NamedSigner] = (), known: Mapping[str, str] | None = None,
    checkpoints: Sequence[str] = (),
) -> Reading:  # fmt: skip
    """Check a kept record again and open it; its answers don't rest on what was found when it was taken in.

    Raises:
        NotImported: it is gone or can't be read.
        NotARecord: it is no signed PDF any more.
    """
    from guide.record.bundle import read_bundle
    from guide.record.compile import compile_content, replay
    from guide.record.exported import with_photos
    from guide.record.signature import extract_attachments
    from guide.record.verify import verify_log, verify_record

    pdf = _read(item.folder / RECORD)
    report = verify_record(pdf, signers=signers, known=known, checkpoints=checkpoints)
    reports = [report]
    if (item.folder / LOG).exists():
        log = _read(item.folder / LOG)
        reports.insert(0, with_photos(verify_log(log), item.folder, log))
    if not report.intact:
        return Reading(item, tuple(reports), None)
    bundle = read_bundle(extract_attachments(pdf))
    return Reading(item, tuple(reports), compile_content(bundle, replay(bundle)))


def _read(path: Path) -> bytes:
    try:
        if not path.is_file():
            raise NotImported(
                f"{path}: is no file here; give a record's PDF, or an export with record.pdf in it"
            )
        with path.open("rb") as file:
            data = file.read(_LARGEST_RECORD_BYTES + 1)
    except (OSError, ValueError) as error:
        raise NotImported(f"{path}: can't be read; give a record's PDF or an export's folder") from error
    if len(data) > _LARGEST_RECORD_BYTES:
        raise NotImported(f"{path}: larger than 256 MB, which no record is")
    return data
