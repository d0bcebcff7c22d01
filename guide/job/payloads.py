"""What an event of a job says: one frozen model a kind.

A body is validated when it comes back from a journal or a record (both are hostile until
checked) and is trusted from there on. Numbers that matter are decimal strings in JSON;
free text and personal data are references to salted blobs (`guide.journal.blob`).
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from guide.errors import ChargewrightError
from guide.job.seed import HIGHEST_SEED

TextRef = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Word = Annotated[str, Field(min_length=1, max_length=200)]
Si = Annotated[Decimal, Field(max_digits=30, decimal_places=16, allow_inf_nan=False)]


class BadBody(ChargewrightError):
    """An event's body does not have the form of its kind."""


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Payload(_Frozen):
    """The body of one event; `KIND` is the event's kind."""

    KIND: ClassVar[str]

    def body(self) -> dict[str, Any]:
        """The body as JSON values, absent values left out."""
        return self.model_dump(mode="json", exclude_none=True)


class Person(_Frozen):
    """Who works: identity, certification and the public halves of their two keys."""

    id: Word
    name: TextRef
    certification_type: Word
    certification_number: TextRef | None = None
    log_key: Word
    """The log key's public half, base64 of 32 bytes (Ed25519)."""
    certificate_sha256: Sha256
    """Fingerprint of the signing certificate (DER)."""


class ReadingValue(_Frozen):
    """One reading: what was typed beside its SI value."""

    channel: Word
    si: Si
    unit: Word
    typed: Word
    source: Literal["typed", "stream", "simulated"]
    instrument: Word | None = None
    unusual: TextRef | None = None
    """Why a value outside the plausible range is right all the same."""
    line_sha256: Sha256 | None = None
    """Of a value from a stream: the hash of the line it came in."""


class LimitVerdict(_Frozen):
    """How one reading, or its change over a hold, stands against one limit of its step [SI]."""

    channel: Word
    bound: Literal["at most", "at least"]
    limit: Si
    uncertainty: Si
    verdict: Literal["pass", "fail", "undecided"]
    source: Word
    change: Si | None = None
    """What was judged where it is a change: the end less the start (as a gas would show it), signed."""


class Versions(_Frozen):
    """With which rules, table and curve a verdict was reached."""

    rules: Word
    target_table: Word
    target_table_sha256: Sha256
    curve: Word
    curve_sha256: Sha256
    walk: Word | None = None
    """By which rules of the walk; absent in records from before these had a name."""


class Assessment(_Frozen):
    """What one round of readings means and what to do about it, rounded as it is checked [K, kg]."""

    minutes_since_change: Si
    net_charged_kg: Si
    dew_K: Si | None = None
    bubble_K: Si | None = None
    superheat_K: Si | None = None
    superheat_uncertainty_K: Si | None = None
    subcooling_K: Si | None = None
    subcooling_uncertainty_K: Si | None = None
    target_superheat_K: Si | None = None
    target_superheat_uncertainty_K: Si | None = None
    target_subcooling_K: Si | None = None
    tolerance_K: Si
    uncertainty_K: Si | None = None
    verdict: Literal["pass", "fail", "undecided"]
    action: Literal["add", "recover", "wait", "done", "stop"]
    amount_kg: Si
    suspect: Word | None = None
    reasons: tuple[Annotated[str, Field(max_length=600)], ...] = ()


class Lesson(_Frozen):
    """Which lesson a practice job is a run of, on which seed, with how much help."""

    id: Word
    sha256: Sha256
    """Of the lesson file."""
    seed: int = Field(ge=0, le=HIGHEST_SEED)
    help: Literal["worked", "fill", "choose", "none"]


class Opened(Payload):
    """The job is in the register: which order, which procedure, under which rules, by whom."""

    KIND: ClassVar[str] = "opened"
    number: int = Field(ge=1)
    nature: Literal["real", "practice", "demonstration"]
    clock: Literal["system", "simulated"]
    program: Word
    run: Word
    order: TextRef
    order_sha256: Sha256
    procedure: TextRef
    procedure_id: Word
    procedure_revision: Word
    procedure_sha256: Sha256
    versions: Versions
    person: Person
    ticket: Word | None = None
    past_due_reason: TextRef | None = None
    """Why the work begins with something past its calibration."""
    lesson: Lesson | None = None


class Acknowledged(Payload):
    """A hazard of a step was read."""

    KIND: ClassVar[str] = "acknowledged"
    step: Word
    hazard: int = Field(ge=0, le=50)


class Answered(Payload):
    """What was seen at a step."""

    KIND: ClassVar[str] = "answered"
    step: Word
    seen: Word
    accepted: bool


class Read(Payload):
    """Readings of a step and how they stand against its limits."""

    KIND: ClassVar[str] = "read"
    step: Word
    readings: tuple[ReadingValue, ...]
    verdicts: tuple[LimitVerdict, ...] = ()
    accepted: bool


class WaitBegun(Payload):
    """A timed hold began."""

    KIND: ClassVar[str] = "wait-begun"
    step: Word
    at_least_s: int = Field(ge=0, le=31_536_000)
    readings: tuple[ReadingValue, ...] = ()


class WaitEnded(Payload):
    """A timed hold ended: elapsed time, and whether a running clock vouches for it."""

    KIND: ClassVar[str] = "wait-ended"
    step: Word
    elapsed_s: int = Field(ge=0)
    vouched: bool
    readings: tuple[ReadingValue, ...] = ()
    verdicts: tuple[LimitVerdict, ...] = ()
    accepted: bool
    early: Literal[True] | None = None
    """Ended before its time, because it had failed already."""


class WeighBegun(Payload):
    """A cylinder stands on the scale, its valve about to be opened."""

    KIND: ClassVar[str] = "weigh-begun"
    step: Word
    direction: Literal["in", "out"]
    cylinder: Word
    before: ReadingValue
    against_advice: TextRef | None = None
    stop_at_kg: Si | None = None
    """Gross weight at which filling the cylinder has to stop, where the order gives its collar."""


class WeighEnded(Payload):
    """The cylinder's valve is closed again; `moved_kg` went the way the weighing said."""

    KIND: ClassVar[str] = "weigh-ended"
    step: Word
    after: ReadingValue
    moved_kg: Si


class WeighingFinished(Payload):
    """The weighings of a step that takes several are done: how much moved in all, how much was wanted."""

    KIND: ClassVar[str] = "weighing-finished"
    step: Word
    moved_kg: Si
    target_kg: Si | None = None
    reason: TextRef | None = None


class RoundRead(Payload):
    """One round of the charging loop: readings and what they mean."""

    KIND: ClassVar[str] = "round-read"
    step: Word
    number: int = Field(ge=1)
    readings: tuple[ReadingValue, ...]
    assessment: Assessment


class AdjustEnded(Payload):
    """The charging loop ended, and on what ground."""

    KIND: ClassVar[str] = "adjust-ended"
    step: Word
    outcome: Literal["in tolerance", "undecided, accepted", "stopped", "accepted against advice"]
    reason: TextRef | None = None


class Chosen(Payload):
    """A branch was taken: the rule offered `offered`; taking another carries a reason."""

    KIND: ClassVar[str] = "chosen"
    step: Word
    option: Word
    offered: Word
    facts: dict[str, str]
    reason: TextRef | None = None


class NotApplicable(Payload):
    """A step does not apply, by these facts."""

    KIND: ClassVar[str] = "not-applicable"
    step: Word
    facts: dict[str, str]


class PartEnded(Payload):
    """The person called a part of the work complete."""

    KIND: ClassVar[str] = "part-ended"
    part: Word
    done: int
    skipped: int
    not_applicable: int


class Skipped(Payload):
    """A step was left out, and why."""

    KIND: ClassVar[str] = "skipped"
    step: Word
    reason: TextRef


class Redone(Payload):
    """A step is to be done again; `recheck` are later steps it throws into doubt."""

    KIND: ClassVar[str] = "redone"
    step: Word
    reason: TextRef
    recheck: tuple[Word, ...] = ()


class Corrected(Payload):
    """An earlier entry was wrong: old value, new value, why. The old event stays as it is."""

    KIND: ClassVar[str] = "corrected"
    step: Word
    of_seq: int = Field(ge=0)
    channel: Word
    old: ReadingValue
    new: ReadingValue
    moved_kg: Si | None = None
    """The amount moved, reckoned again, where a weight was corrected."""
    reason: TextRef


class Photo(_Frozen):
    """A picture kept beside the journal: its file's name there, its SHA-256 and its size."""

    file: Annotated[str, Field(pattern=r"^[A-Za-z0-9_][A-Za-z0-9._-]{0,119}$")]
    sha256: Sha256
    size_bytes: int = Field(ge=1, le=50_000_000)


class Noted(Payload):
    """A free note; `late` when it tells of something seen earlier than it was written."""

    KIND: ClassVar[str] = "noted"
    step: Word
    text: TextRef
    late: bool = False
    photo: Photo | None = None


class Paused(Payload):
    """Work stopped for a while."""

    KIND: ClassVar[str] = "paused"
    reason: TextRef


class CylinderCheck(_Frozen):
    """What stood on the scale when work went on: cylinder, weight, valve."""

    cylinder: Word
    weight: ReadingValue
    valve: Literal["open", "closed"]


class Resumed(Payload):
    """Work goes on, by whom, after how long; what the cylinder weighed where refrigerant may have moved."""

    KIND: ClassVar[str] = "resumed"
    run: Word
    person: Person
    after: Literal["pause", "stop", "hand-over"]
    away_s: int = Field(ge=0)
    vouched: bool
    check: CylinderCheck | None = None
    unexplained_kg: Si | None = None
    """Gone from the cylinder since its last weight (negative: gained)."""


class HandedOver(Payload):
    """The job passes to another technician."""

    KIND: ClassVar[str] = "handed-over"
    to: Word
    reason: TextRef


class Aborted(Payload):
    """The job is broken off; the safe-state steps follow."""

    KIND: ClassVar[str] = "aborted"
    reason: TextRef


class CustomerSaw(Payload):
    """The customer's acknowledgement: a typed name, refused, or not present. Not a digital signature."""

    KIND: ClassVar[str] = "customer-saw"
    how: Literal["acknowledged", "refused", "not present"]
    name: TextRef | None = None


class Signed(Payload):
    """The technician put their name to the work, with this meaning."""

    KIND: ClassVar[str] = "signed"
    step: Word
    person: Word
    name: TextRef
    meaning: Word
    certificate_sha256: Sha256


class Closed(Payload):
    """No more events of the work itself; how many of each kind there are, this one included."""

    KIND: ClassVar[str] = "closed"
    outcome: Literal["complete", "aborted"]
    counts: dict[str, int]


class RecordIssued(Payload):
    """A signed record left the program."""

    KIND: ClassVar[str] = "record-issued"
    sha256: Sha256
    file: Word
    fingerprint: Word


class Reopened(Payload):
    """A closed and recorded job is amended; the next record names the one before it."""

    KIND: ClassVar[str] = "reopened"
    run: Word
    person: Person
    reason: TextRef
    record_sha256: Sha256


class Practised(Payload):
    """Something done in the run of a lesson beside the procedure: never part of real work.

    `handled`: a hand on the simulated unit; `act`, `at`, `amount` as `guide.rig.acts` says. `hint`: one was
    taken at `step`; `act` says which of the three. `chosen`: the next step was picked; `act` is the picked
    one, `step` the right one. `ended`: what happened (`act`) would have hurt somebody or ruined a machine,
    and the run is over.
    """

    KIND: ClassVar[str] = "practised"
    what: Literal["handled", "hint", "chosen", "ended"]
    act: Word
    at: Annotated[str, Field(max_length=200)] | None = None
    amount: Si | None = None
    step: Word | None = None


KINDS: Mapping[str, type[Payload]] = {
    kind.KIND: kind
    for kind in (
        Opened, Acknowledged, Answered, Read, WaitBegun, WaitEnded, WeighBegun, WeighEnded, WeighingFinished,
        RoundRead, AdjustEnded, Chosen, NotApplicable, PartEnded, Skipped, Redone, Corrected, Noted, Paused,
        Resumed, HandedOver, Aborted, CustomerSaw, Signed, Closed, RecordIssued, Reopened,
        Practised,
    )
}  # fmt: skip


def read_payload(kind: str, body: Mapping[str, Any]) -> Payload:
    """The payload of a stored event.

    Raises:
        BadBody: the kind is unknown or the body is not of its form.
    """
    model = KINDS.get(kind)
    if model is None:
        raise BadBody(f"event kind {kind[:40]!r} is not known to this version")
    try:
        return model.model_validate(dict(body))
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise BadBody(f"event of kind {kind!r}: {where}: {first['msg']}") from error
