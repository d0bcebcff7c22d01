"""What a trainee's journal holds beside the jobs: scores, debriefs, what was assigned, who signed off.

They are events of the journal itself, as an enrolment or a backup is one. A body is hostile until it is
read here. Names, notes and answers are salted blobs; an entry holds their references.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, ClassVar, Final, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from guide.job.payloads import BadBody, Payload, Sha256, TextRef, Word
from guide.job.seed import HIGHEST_SEED
from guide.journal.event import Event

QUESTIONS: Final = 5
"""What a debrief asks: what was to be, what happened, why, what told it first, what next time."""
_MOST_LOSSES: Final = 200  # PROPOSED: many times what a rubric has items
_MOST_EVIDENCE: Final = 20  # PROPOSED

JobId = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$")]
LessonId = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,63}$")]
PersonId = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,31}$")]
Points = Annotated[Decimal, Field(ge=0, le=1000, max_digits=9, decimal_places=3)]
Seed = Annotated[int, Field(ge=0, le=HIGHEST_SEED)]
Seq = Annotated[int, Field(ge=0)]


def _on_the_calendar(utc: str) -> str:
    datetime.fromisoformat(utc)  # 2026-02-30 has the form of a day, and is none
    return utc


Utc = Annotated[
    str,
    Field(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:]{8}(\.[0-9]{1,6})?Z$"),
    AfterValidator(_on_the_calendar),
]


class _Part(BaseModel):
    """A piece of a body; frozen and closed like the body itself."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class LostPoints(_Part):
    """Points lost: of which item of the rubric, how many, by which event, and why in one line."""

    item: Word
    points: Points
    seq: Seq
    """Number in the journal of the event that lost them."""
    at_s: Annotated[Decimal, Field(ge=0, max_digits=14, decimal_places=3)] | None = None
    """Simulated time after the job's opening [s]."""
    words: Annotated[str, Field(min_length=1, max_length=600)]


class LessonScored(Payload):
    """What one run of a lesson came to. `utc` is the day it was really worked, not the simulated one."""

    KIND: ClassVar[str] = "lesson-scored"
    job: JobId
    lesson: LessonId
    lesson_sha256: Sha256
    seed: Seed
    help: Literal["worked", "fill", "choose", "none"]
    points: Points
    of: Points
    safety: bool
    """Whether nothing happened that would have hurt somebody or ruined a machine."""
    passed: bool
    conclusion: Annotated[str, Field(max_length=200)] | None = None
    """What the trainee said the trouble is; absent where the lesson asks for none."""
    losses: Annotated[tuple[LostPoints, ...], Field(max_length=_MOST_LOSSES)] = ()
    hints: Annotated[int, Field(ge=0, le=10_000)] = 0
    utc: Utc


class Debriefed(Payload):
    """The trainee's own answers to the questions after a run."""

    KIND: ClassVar[str] = "debriefed"
    job: JobId
    answers: Annotated[tuple[TextRef, ...], Field(min_length=QUESTIONS, max_length=QUESTIONS)]
    utc: Utc


class LessonAssigned(Payload):
    """A lesson to be worked: on a certain seed or any, by a date or none, set by whom, with a note."""

    KIND: ClassVar[str] = "lesson-assigned"
    lesson: LessonId
    seed: Seed | None = None
    due: date | None = None
    by: PersonId | None = None
    note: TextRef | None = None
    utc: Utc


class Evidence(_Part):
    """A score a sign-off rests on: its job, its number in the journal, its leaf hash there."""

    job: JobId
    seq: Seq
    leaf: Sha256


class SkillSignedOff(Payload):
    """A trainer's word that the trainee has the skills of a lesson, signed with the trainer's log key.

    What is signed is `guide.rig.trainees.sign_off.statement`: this body without its signature, and whose
    journal it is for.
    """

    KIND: ClassVar[str] = "skill-signed-off"
    lesson: LessonId
    lesson_sha256: Sha256
    skills: Annotated[tuple[Word, ...], Field(max_length=20)] = ()
    evidence: Annotated[tuple[Evidence, ...], Field(min_length=1, max_length=_MOST_EVIDENCE)]
    trainer: PersonId
    trainer_name: TextRef
    log_key: Annotated[str, Field(pattern=r"^[A-Za-z0-9+/]{43}=$")]
    """The public half of the trainer's log key, base64 of 32 bytes (Ed25519)."""
    key_sha256: Sha256
    """Fingerprint of that key."""
    signature: Annotated[str, Field(pattern=r"^[A-Za-z0-9+/]{86}==$")]
    """Base64 of 64 bytes (Ed25519)."""
    utc: Utc


Entry = LessonScored | Debriefed | LessonAssigned | SkillSignedOff
KINDS: Final[Mapping[str, type[Entry]]] = {
    LessonScored.KIND: LessonScored,
    Debriefed.KIND: Debriefed,
    LessonAssigned.KIND: LessonAssigned,
    SkillSignedOff.KIND: SkillSignedOff,
}


def read_entry(event: Event) -> Entry | None:
    """The entry an event holds; None where it is of another kind.

    Raises:
        BadBody: it is not of its kind's form.
    """
    form = KINDS.get(event.kind)
    if form is None:
        return None
    try:
        return form.model_validate(dict(event.body))
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(piece) for piece in first["loc"])
        raise BadBody(
            f"event {event.seq}: this {event.kind} can't be read: {where}: {first['msg']}"
        ) from error
