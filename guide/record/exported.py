"""Photos beside an exported log: copied out by what the log names, checked again by it."""

from __future__ import annotations

import hashlib
import os
import secrets
import stat
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Final

from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.journal.event import Event
from guide.journal.files import reason, rename_new, sync_file
from guide.record.answers import CheckLine, Report
from guide.record.bundle import read_log

PHOTOS: Final = "photos"
"""The folder of an export that holds them."""

_CHUNK: Final = 1 << 20
_CHECK: Final = "the photos beside the log are those it names"


def photos_of(events: Iterable[Event]) -> tuple[p.Photo, ...]:
    """Every photo that events name, each once.

    Raises:
        BadBody: a note is not of its form.
    """
    found: dict[str, p.Photo] = {}
    for event in events:
        if event.kind == p.Noted.KIND:
            note = p.read_payload(event.kind, event.body)
            assert isinstance(note, p.Noted)
            if note.photo is not None:
                found.setdefault(note.photo.file, note.photo)
    return tuple(found.values())


def copy_photo(photo: p.Photo, source: Path | None, to: Path) -> str | None:
    """Copy one photo as the log names it; returns why not, where it could not be.

    Raises:
        OSError: the copy can't be written.
    """
    if source is None:
        return "is not kept here"
    to.mkdir(parents=True, exist_ok=True)
    draft = to / f".{secrets.token_hex(8)}"
    try:
        fault = fault_of(photo, source / photo.file, copy_to=draft)
        if fault is None:
            sync_file(draft)
            rename_new(draft, to / photo.file)
    finally:
        draft.unlink(missing_ok=True)
    return fault


def fault_of(photo: p.Photo, path: Path, *, copy_to: Path | None = None) -> str | None:
    """What is wrong with a photo on the disk, in words that follow its name; copies it on the way.

    Raises:
        OSError: the copy can't be written.
    """
    try:
        number = os.open(
            path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOFOLLOW", 0)
            | getattr(os, "O_BINARY", 0),
        )  # fmt: skip
    except FileNotFoundError:
        return "is missing"
    except OSError as error:
        return f"can't be read ({reason(error)})"
    with os.fdopen(number, "rb") as file:
        found = os.fstat(number)
        if not stat.S_ISREG(found.st_mode) or found.st_size != photo.size_bytes:
            return "is not the one the log names: its size is another"
        digest = hashlib.sha256()
        copy = copy_to.open("xb") if copy_to is not None else None
        try:
            while chunk := file.read(_CHUNK):
                digest.update(chunk)
                if copy is not None:
                    copy.write(chunk)
        finally:
            if copy is not None:
                copy.close()
    if digest.hexdigest() != photo.sha256:
        return "is not the one the log names: its SHA-256 is another"
    return None


def with_photos(report: Report, folder: Path, log: bytes) -> Report:
    """The report about an exported log, with one more check: the photos beside it.

    A photo that is missing was withheld or lost; that is a note. One that is another is a fault.
    """
    if not report.intact:
        return report
    wrong: str | None = None
    notes: list[str] = []
    try:
        named = photos_of(read_log(log))
    except ChargewrightError as error:
        named, wrong = (), str(error)
    if not named and wrong is None:
        return report
    for photo in named:
        fault = fault_of(photo, folder / PHOTOS / photo.file)
        if fault == "is missing":
            notes.append(f"photo {photo.file} is missing; the log holds its SHA-256")
        elif fault is not None and wrong is None:
            wrong = f"photo {photo.file} {fault}"
    line = CheckLine(len(report.checks) + 1, _CHECK, "failed" if wrong else "passed")
    return replace(report, checks=(*report.checks, line), first_wrong=wrong, notes=(*report.notes, *notes))
