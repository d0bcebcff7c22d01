"""Who works here: enrolled once, signed in with a passphrase, given new keys when it is lost."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from guide.bench.people import Enrolled, KeysReplaced, KnownPerson, Technician, enrolled, introduce
from guide.bench.shelf import Shelf
from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.journal import keys
from guide.journal.blob import Blob
from guide.journal.event import JOURNAL_JOB
from guide.journal.port import Clock


class NotHere(ChargewrightError):
    """A person or a job that this folder does not know."""


class Staff:
    """The people of one data folder: its journal's enrolments, and the keys in `folder`."""

    def __init__(self, shelf: Shelf, folder: Path, clock: Clock) -> None:
        self._shelf = shelf
        self._folder = folder
        self._clock = clock
        self._in_memory: dict[str, keys.KeySource] = {}

    def people(self) -> tuple[KnownPerson, ...]:
        """Everybody who made themselves known here, by id."""
        return tuple(self._known(person) for person in self._enrolled().values())

    def enrol(self, known: KnownPerson, passphrase: str) -> None:
        """Make a person known: their keys, then their enrolment in the journal.

        Keys of a demonstration are never written down.

        Raises:
            BadKey: id, name or passphrase can't be used, or the person is known already.
            NotLogged: the enrolment did not reach the disk.
        """
        now = datetime.fromisoformat(self._clock.now().utc)
        practice = self._shelf.journal.kind != "real"
        source: keys.KeySource
        if self._shelf.journal.kind == "demonstration":
            source = keys.create_in_memory(known.id, known.name, passphrase, now, practice=True)
            self._in_memory[known.id] = source
        elif known.id not in self._enrolled() and (self._folder / known.id).is_dir():
            # a stop between the two steps of an earlier enrolment: the keys are there, the event is not
            source = keys.KeyFiles(self._folder / known.id)
            source.log_key(passphrase)
        else:
            source = keys.create(self._folder, known.id, known.name, passphrase, now, practice=practice)
        name = Blob.of(known.name)
        number = Blob.of(known.certification_number) if known.certification_number else None
        person = introduce(known, source.person, name.ref, number.ref if number else None)
        self._shelf.append(
            JOURNAL_JOB,
            [(Enrolled.KIND, Enrolled(person=person).body())],
            stamp=self._clock.now(),
            by=known.id,
            blobs=[blob for blob in (name, number) if blob],
        )

    def sign_in(self, person_id: str, passphrase: str) -> Technician:
        """A person at work, their log key unlocked.

        Raises:
            NotHere: nobody of that id is enrolled.
            WrongPassphrase, BadKey: the key stays locked.
        """
        person = self._enrolled().get(person_id)
        if person is None:
            raise NotHere(f"{person_id[:40]!r} is not known here; make yourself known first")
        source = self._in_memory.get(person_id) or keys.KeyFiles(self._folder / person_id)
        if not _same_keys(person, source):
            raise keys.BadKey(
                f"{person_id}: the keys here are not those the journal knows; "
                f"finish with `chargewright people new-key {person_id}`, or restore the keys"
            )
        return Technician(self._known(person), person, source, source.log_key(passphrase))

    def replace_keys(self, person_id: str, passphrase: str) -> None:
        """Make new keys for somebody whose passphrase is lost or no longer theirs alone.

        The old keys stay, set aside; what they signed stays signed. The journal tells of both. Open jobs
        are taken up anew with the new keys.

        Raises:
            NotHere: nobody of that id is enrolled, or the keys of a demonstration were never written down.
            BadKey: the passphrase can't be used, or the old keys can't be set aside.
            NotLogged: the change did not reach the disk; calling again finishes it.
        """
        old = self._enrolled().get(person_id)
        if old is None or person_id in self._in_memory or self._shelf.journal.kind == "demonstration":
            raise NotHere(f"{person_id[:40]!r} has no keys here that could be replaced")
        known, stamp = self._known(old), self._clock.now()
        source = keys.KeyFiles(self._folder / person_id)
        if not source.folder.is_dir() or _same_keys(old, source):
            # a folder that is gone altogether leaves nothing to set aside
            make = keys.replace if source.folder.is_dir() else keys.create
            now = datetime.fromisoformat(stamp.utc)
            source = make(
                self._folder,
                person_id,
                known.name,
                passphrase,
                now,
                practice=self._shelf.journal.kind != "real",
            )
        else:
            source.log_key(passphrase)  # a stop between the two steps: the keys are new, the event is missing
        person = introduce(known, source.person, old.name, old.certification_number)
        replaced = KeysReplaced(
            person=person, old_certificate_sha256=old.certificate_sha256, old_log_key=old.log_key
        )
        self._shelf.append(JOURNAL_JOB, [(KeysReplaced.KIND, replaced.body())], stamp=stamp, by=person_id)

    def certificate_of(self, person_id: str) -> str:
        """Fingerprint of a person's signing certificate, as the journal knows it.

        Raises:
            NotHere: nobody of that id is enrolled.
        """
        person = self._enrolled().get(person_id)
        if person is None:
            raise NotHere(f"{person_id[:40]!r} is not known here; make yourself known first")
        return person.certificate_sha256

    def _enrolled(self) -> dict[str, p.Person]:
        return enrolled(self._shelf.events(JOURNAL_JOB))

    def _known(self, person: p.Person) -> KnownPerson:
        return KnownPerson(
            person.id,
            self.text(person.name),
            person.certification_type,
            self.text(person.certification_number) if person.certification_number else "",
        )

    def text(self, ref: str) -> str:
        """The text behind a reference, or words that say it was withheld."""
        blob = self._shelf.blob(ref)
        return blob.text if blob else "[withheld]"


def _same_keys(person: p.Person, source: keys.KeySource) -> bool:
    """Whether these are the keys the journal knows of a person."""
    owner = introduce(KnownPerson(person.id, "", person.certification_type), source.person, person.name, None)
    return (owner.log_key, owner.certificate_sha256) == (person.log_key, person.certificate_sha256)
