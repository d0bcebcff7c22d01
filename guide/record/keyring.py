"""The log keys that a job's own events name, and what of a note was signed with them.

A note's signature line names a key; an event names the key's public half. A key counts when both fit.
"""

from __future__ import annotations

import base64
import binascii
from collections.abc import Iterable, Sequence

from guide.job import payloads as p
from guide.journal.checkpoint import BadCheckpoint, OpenedNote, UnknownSigner, Verifier, open_note
from guide.journal.event import Event


def people_of(events: Iterable[Event]) -> tuple[p.Person, ...]:
    """Everybody who was at work on a job, once for each pair of keys.

    Raises:
        BadBody: an event is not of its form.
    """
    people: dict[p.Person, None] = {}
    for event in events:
        if event.kind in {p.Opened.KIND, p.Resumed.KIND, p.Reopened.KIND}:
            payload = p.read_payload(event.kind, event.body)
            assert isinstance(payload, p.Opened | p.Resumed | p.Reopened)
            people[payload.person] = None
    return tuple(people)


def public_keys(people: Iterable[p.Person]) -> tuple[bytes, ...]:
    """The public halves of people's log keys; what is no such key is left out."""
    keys = []
    for person in people:
        try:
            key = base64.b64decode(person.log_key, validate=True)
        except (binascii.Error, ValueError):
            continue
        if len(key) == 32:
            keys.append(key)
    return tuple(dict.fromkeys(keys))


def open_with(note: str, keys: Sequence[bytes]) -> OpenedNote:
    """A note checked with public keys, under the names its signature lines give.

    Raises:
        UnknownSigner: signed by none of the keys.
        BadCheckpoint: not in its form, or a signature of one of the keys does not hold.
    """
    verifiers: dict[tuple[str, bytes], Verifier] = {}
    for line in note.rpartition("\n\n")[2].splitlines()[:100]:
        name = line.removeprefix("— ").partition(" ")[0]
        for key in keys:
            try:
                verifier = Verifier(name, key)
            except BadCheckpoint:
                continue
            verifiers[(name, verifier.key_id)] = verifier
    if not verifiers:
        raise UnknownSigner("this note is signed by none of the people of this job")
    return open_note(note, verifiers.values())
