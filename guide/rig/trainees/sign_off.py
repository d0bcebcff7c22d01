"""A trainer's word that a trainee can do what a lesson asks: signed, resting on runs, checked when read."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence

from guide.errors import ChargewrightError
from guide.job.payloads import TextRef
from guide.journal.canonical import canonical
from guide.journal.checkpoint import Verifier
from guide.journal.keys import LogKey
from guide.rig.trainees.entries import Evidence, SkillSignedOff
from guide.rig.trainees.roster import Trainer, key_fingerprint

_DOMAIN = b"chargewright skill sign-off v1\n"
"""Begins what is signed, so that no other signature of the same key can be taken for one of these."""


class NotSignedOff(ChargewrightError):
    """A skill that is not signed off, and what is missing."""


def statement(entry: SkillSignedOff, *, log: str, trainee: str) -> bytes:
    """The bytes that the trainer's log key signs: the entry without its signature, and whose it is.

    `log` is the identifier of the trainee's journal: a sign-off copied into another one does not hold.
    """
    body = entry.body() | {"log": log, "trainee": trainee}
    del body["signature"]
    return _DOMAIN + canonical(body)


def signed(
    *, lesson: str, lesson_sha256: str, skills: Sequence[str], evidence: Sequence[Evidence], trainer: str,
    trainer_name: TextRef, key: LogKey, log: str, trainee: str, utc: str,
) -> SkillSignedOff:  # fmt: skip
    """The entry, signed with the trainer's unlocked log key.

    Raises:
        NotSignedOff: there is no evidence, or trainer and trainee are the same.
    """
    if not evidence:
        raise NotSignedOff(f"{lesson} is not signed off: no run of it shows that {trainee} can do it")
    if trainer == trainee:
        raise NotSignedOff(f"{lesson} is not signed off: nobody signs off their own skill")
    unsigned = SkillSignedOff(
        lesson=lesson,
        lesson_sha256=lesson_sha256,
        skills=tuple(skills),
        evidence=tuple(evidence),
        trainer=trainer,
        trainer_name=trainer_name,
        log_key=base64.b64encode(key.public_key).decode(),
        key_sha256=key_fingerprint(key.public_key),
        signature=base64.b64encode(bytes(64)).decode(),
        utc=utc,
    )
    signature = key.sign(statement(unsigned, log=log, trainee=trainee))
    return unsigned.model_copy(update={"signature": base64.b64encode(signature).decode()})


def fault(
    entry: SkillSignedOff,
    *,
    log: str,
    trainee: str,
    passes: Mapping[int, str],
    trainers: Mapping[str, Trainer],
) -> str | None:
    """Why a sign-off is not valid; None where it is.

    `passes` holds the leaf hash of each score that counts as a passed run of this lesson, by its number in
    the journal; `trainers` everybody who teaches here, by the fingerprint of their key.
    """
    public_key = base64.b64decode(entry.log_key)
    if key_fingerprint(public_key) != entry.key_sha256:
        return "its key is not the one its fingerprint names"
    data = statement(entry, log=log, trainee=trainee)
    if not Verifier(entry.trainer, public_key).holds(base64.b64decode(entry.signature), data):
        return "the signature does not hold: it was altered, or is of another trainee"
    known = trainers.get(entry.key_sha256)
    if known is None:
        return "nobody who teaches here has the key it is signed with"
    if known.id != entry.trainer:
        return f"it names {entry.trainer}, and the key is {known.id}'s"
    for each in entry.evidence:
        if passes.get(each.seq) != each.leaf:
            return f"the run it rests on ({each.job}, event {each.seq}) is no such passed run"
    return None
