"""Who works here: a fold over the journal's enrolments, and a person at work with their keys."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from guide.job.payloads import Payload, Person, Sha256, Word
from guide.journal.event import Event
from guide.journal.keys import KeySource, LogKey
from guide.journal.keys import Person as KeyOwner


class Enrolled(Payload):
    """A person made themselves known to this journal, with the public halves of their keys."""

    KIND: ClassVar[str] = "enrolled"
    person: Person


class KeysReplaced(Payload):
    """A person made new keys, the passphrase of the old ones being lost or no longer theirs alone.

    Whoever sits at the machine can do this, and can't hide it: the old fingerprint stands beside the new.
    """

    KIND: ClassVar[str] = "keys-replaced"
    person: Person
    old_certificate_sha256: Sha256
    old_log_key: Word


@dataclass(frozen=True, slots=True)
class KnownPerson:
    """A person as screens show them."""

    id: str
    name: str
    certification_type: str
    certification_number: str = ""


@dataclass(frozen=True, slots=True)
class Technician:
    """A person at work: who they are, what the log says of them, and their keys (the log key unlocked)."""

    known: KnownPerson
    person: Person
    keys: KeySource
    log_key: LogKey

    @property
    def certificate_sha256(self) -> str:
        """Fingerprint of the signing certificate (DER)."""
        return self.person.certificate_sha256

    def locked(self) -> LockedTechnician:
        """The same person without the log key, for a program nobody has touched for a while."""
        return LockedTechnician(self.known, self.person, self.keys)


@dataclass(frozen=True, slots=True)
class LockedTechnician:
    """A person whose log key was let go; their jobs stand where they stood."""

    known: KnownPerson
    person: Person
    keys: KeySource

    def unlock(self, passphrase: str) -> Technician:
        """The person at work again.

        Raises:
            WrongPassphrase, BadKey: the key stays locked.
        """
        return Technician(self.known, self.person, self.keys, self.keys.log_key(passphrase))


def introduce(known: KnownPerson, owner: KeyOwner, name_ref: str, number_ref: str | None) -> Person:
    """What the log is told of a person: references to name and number, and the public keys."""
    return Person(
        id=known.id,
        name=name_ref,
        certification_type=known.certification_type,
        certification_number=number_ref,
        log_key=base64.b64encode(owner.verifier.public_key).decode(),
        certificate_sha256=hashlib.sha256(owner.certificate).hexdigest(),
    )


def enrolled(events: Iterable[Event]) -> dict[str, Person]:
    """Everybody enrolled, by id; a later enrolment (new keys) stands for an earlier one.

    Raises:
        BadBody: an enrolment is not of its form.
    """
    people: dict[str, Person] = {}
    for event in events:
        if event.kind in {Enrolled.KIND, KeysReplaced.KIND}:
            person = read_enrolment(event).person
            people[person.id] = person
    return people


def read_enrolment(event: Event) -> Enrolled | KeysReplaced:
    """The enrolment, or the new keys, that an event holds.

    Raises:
        BadBody: it is not of that form.
    """
    from pydantic import ValidationError

    from guide.job.payloads import BadBody

    try:
        form = KeysReplaced if event.kind == KeysReplaced.KIND else Enrolled
        return form.model_validate(dict(event.body))
    except ValidationError as error:
        raise BadBody(f"event {event.seq}: this enrolment can't be read") from error
