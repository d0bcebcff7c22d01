"""Who learns here and who teaches: a folder a trainee, with a journal and keys of its own.

    practice/                    journal and keys of the trainers
    practice/trainees/<id>/      journal, keys and records of one trainee

Nothing of one trainee lies in the folder of another, so one can be forgotten without touching the rest.
"""

from __future__ import annotations

import base64
import hashlib
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from guide.bench.bench import Bench
from guide.bench.people import Enrolled, KeysReplaced, KnownPerson, Technician, enrolled, read_enrolment
from guide.errors import ChargewrightError
from guide.job.payloads import BadBody
from guide.journal.event import JOURNAL_JOB
from guide.journal.files import reason
from guide.journal.port import Clock
from guide.journal.store import Journal

TRAINEES: Final = "trainees"
"""Folder of the trainees, in that of practice."""
IN_TRAINING: Final = "none, in training"
"""Certification of a trainee: a practice record never claims one."""
_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,31}")


class NoTrainee(ChargewrightError):
    """A trainee or trainer that can't be made known, or is not known here."""


@dataclass(frozen=True, slots=True)
class Trainee:
    """One who learns here, as a list shows them. `fault` says why their journal can't be read."""

    id: str
    name: str
    folder: Path
    fault: str | None = None


@dataclass(frozen=True, slots=True)
class Trainer:
    """One who teaches, with the log key their sign-offs are checked by [32 bytes, Ed25519]."""

    id: str
    name: str
    public_key: bytes
    replaced: bool = False
    """Whether they have other keys now; what these signed stays signed."""

    @property
    def key_sha256(self) -> str:
        """Fingerprint of the key."""
        return key_fingerprint(self.public_key)


@dataclass(frozen=True, slots=True)
class AtWork:
    """A trainee signed in at their own bench."""

    bench: Bench
    technician: Technician


def key_fingerprint(public_key: bytes) -> str:
    """SHA-256 of a public log key, hexadecimal."""
    return hashlib.sha256(public_key).hexdigest()


def clean_id(text: str) -> str:
    """An id made from what was typed: small letters a-z, digits and dashes, at most 32.

    Raises:
        NoTrainee: nothing usable is left, or it is longer.
    """
    plain = unicodedata.normalize("NFKD", text[:200]).encode("ascii", "ignore").decode().lower()
    found = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
    if _ID.fullmatch(found) is None:
        raise NoTrainee(f"id {text[:40]!r} can't be used: small letters a-z, digits and dashes, at most 32")
    return found


def _key(seq: int, text: str) -> bytes:
    try:
        return base64.b64decode(text, validate=True)
    except ValueError as error:
        raise BadBody(f"event {seq}: this enrolment's log key can't be read") from error


class Roster:
    """The trainees and trainers under one practice folder."""

    def __init__(self, practice: Path) -> None:
        self.practice = practice
        self.folder = practice / TRAINEES

    # -- trainees -----------------------------------------------------------------------------

    def trainees(self) -> tuple[Trainee, ...]:
        """Everybody who learns here, by id; a link in their place is nobody."""
        try:
            there = sorted(self.folder.iterdir()) if self.folder.is_dir() else []
        except OSError as error:
            raise NoTrainee(f"{self.folder}: can't be read; check folder and rights") from error
        return tuple(
            self._read(path.name)
            for path in there
            if _ID.fullmatch(path.name) and path.is_dir() and not path.is_symlink()
        )

    def trainee(self, trainee_id: str) -> Trainee:
        """One trainee.

        Raises:
            NoTrainee: nobody of that id learns here.
        """
        self.folder_of(trainee_id)
        return self._read(trainee_id)

    def folder_of(self, trainee_id: str) -> Path:
        """The folder of a trainee who is here.

        Raises:
            NoTrainee: nobody of that id learns here.
        """
        folder = self.folder / trainee_id if _ID.fullmatch(trainee_id) else None
        if folder is None or folder.is_symlink() or self.folder.is_symlink() or not folder.is_dir():
            there = ", ".join(each.id for each in self.trainees()[:10]) or "nobody yet"
            raise NoTrainee(f"trainee {trainee_id[:40]!r} is not known here; there are: {there}")
        return folder

    def _read(self, trainee_id: str) -> Trainee:
        folder = self.folder / trainee_id
        try:
            with Journal.open(folder / "journal.db", read_only=True) as journal:
                person = enrolled(journal.events(JOURNAL_JOB)).get(trainee_id)
                name = journal.blob(person.name) if person is not None else None
        except ChargewrightError as error:
            return Trainee(trainee_id, trainee_id, folder, str(error))
        if person is None:
            return Trainee(trainee_id, trainee_id, folder, "not made known to the end; add them again")
        return Trainee(trainee_id, name.text if name else "[withheld]", folder)

    def add(self, trainee_id: str, name: str, passphrase: str, *, clock: Clock | None = None) -> Trainee:
        """Make a trainee known, with a folder, a journal and keys of their own.

        Raises:
            NoTrainee: the id can't be used, or is taken.
            BadKey: name or passphrase can't be used.
            JournalUnusable, NotLogged: the folder can't be written.
        """
        if _ID.fullmatch(trainee_id) is None:
            raise NoTrainee(f"id {trainee_id[:40]!r} can't be used; {clean_id(trainee_id)!r} would do")
        folder = self.folder / trainee_id
        if folder.is_symlink() or self.folder.is_symlink():
            raise NoTrainee(f"{folder} is a link to elsewhere; take it away, or choose another id")
        if folder.exists() and self._read(trainee_id).fault is None:
            raise NoTrainee(f"trainee {trainee_id!r} is known here already; choose another id")
        self._lay()
        bench = Bench.open(folder, nature="practice", clock=clock)
        try:
            bench.enrol(KnownPerson(trainee_id, name, IN_TRAINING), passphrase)
        except ChargewrightError:
            bench.close()
            self._take_back(folder)
            raise
        bench.close()
        return self._read(trainee_id)

    def _lay(self) -> None:
        """The folders above the trainees', for their owner alone."""
        try:
            self.practice.mkdir(mode=0o700, parents=True, exist_ok=True)
            self.folder.mkdir(mode=0o700, exist_ok=True)
        except OSError as error:
            raise NoTrainee(
                f"{self.folder}: can't be made ({reason(error)}); check folder and rights"
            ) from error

    def _take_back(self, folder: Path) -> None:
        """Leave no empty journal of somebody who could not be made known."""
        if (folder / "keys").exists():
            return  # keys without an enrolment: adding again finishes it
        for file in folder.glob("journal.db*"):
            file.unlink(missing_ok=True)
        folder.rmdir()

    def open(self, trainee_id: str, *, clock: Clock | None = None, run: str | None = None) -> Bench:
        """The bench of a trainee, nobody signed in.

        Raises:
            NoTrainee: nobody of that id learns here.
            JournalUnusable, JournalBusy: it can't be opened for writing.
        """
        return Bench.open(self.folder_of(trainee_id), nature="practice", clock=clock, run=run)

    def sign_in(
        self, trainee_id: str, passphrase: str, *, clock: Clock | None = None, run: str | None = None
    ) -> AtWork:
        """A trainee at work on their own bench; the caller closes it.

        Raises:
            NoTrainee, NotHere: nobody of that id learns here.
            WrongPassphrase, BadKey: the log key stays locked.
            JournalUnusable, JournalBusy: the bench can't be opened for writing.
        """
        bench = self.open(trainee_id, clock=clock, run=run)
        try:
            return AtWork(bench, bench.sign_in(trainee_id, passphrase))
        except ChargewrightError:
            bench.close()
            raise

    # -- trainers -----------------------------------------------------------------------------

    def trainers(self) -> Mapping[str, Trainer]:
        """Every key of everybody enrolled in the practice folder itself, by the key's fingerprint.

        Raises:
            JournalUnusable: there is a journal that can't be read.
            BadBody: an enrolment in it is not of its form.
        """
        path = self.practice / "journal.db"
        if not path.exists():
            return {}
        found: dict[str, Trainer] = {}
        with Journal.open(path, read_only=True) as journal:
            for event in journal.events(JOURNAL_JOB):
                if event.kind not in {Enrolled.KIND, KeysReplaced.KIND}:
                    continue
                person = read_enrolment(event).person
                name = journal.blob(person.name)
                for key, old in tuple(found.items()):
                    if old.id == person.id:
                        found[key] = Trainer(old.id, old.name, old.public_key, replaced=True)
                one = Trainer(person.id, name.text if name else "[withheld]", _key(event.seq, person.log_key))
                found[one.key_sha256] = one
        return found
