"""What a person can ask of a job. Free text comes in as a blob's reference, never as text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from guide.job import payloads as p
from guide.journal.event import Stamp


@dataclass(frozen=True, slots=True)
class Now:
    """When, in which run of the program, and by whom a command is given."""

    stamp: Stamp
    run: str
    by: str


@dataclass(frozen=True, slots=True)
class Open:
    """Begin the job: put it into the register."""

    opened: p.Opened


@dataclass(frozen=True, slots=True)
class Acknowledge:
    """Say that a hazard was read."""

    step: str
    hazard: int


@dataclass(frozen=True, slots=True)
class Answer:
    """Say what was seen."""

    step: str
    seen: str


@dataclass(frozen=True, slots=True)
class Read:
    """Enter readings: of a reading step, or of one round of the charging loop."""

    step: str
    readings: tuple[p.ReadingValue, ...]


@dataclass(frozen=True, slots=True)
class BeginWait:
    """Start a timed hold, with what was read at its start."""

    step: str
    readings: tuple[p.ReadingValue, ...] = ()


@dataclass(frozen=True, slots=True)
class EndWait:
    """End a timed hold, with what was read at its end."""

    step: str
    readings: tuple[p.ReadingValue, ...] = ()


@dataclass(frozen=True, slots=True)
class BeginWeigh:
    """A cylinder is on the scale; refrigerant is about to move."""

    step: str
    direction: Literal["in", "out"]
    cylinder: str
    before: p.ReadingValue
    against_advice: str | None = None


@dataclass(frozen=True, slots=True)
class EndWeigh:
    """The cylinder is closed; what it weighs now."""

    step: str
    after: p.ReadingValue


@dataclass(frozen=True, slots=True)
class EndWeighing:
    """Say that a step that takes several weighings is finished; short of its target that needs a reason."""

    step: str
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class EndAdjust:
    """Leave the charging loop."""

    step: str
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class Choose:
    """Take a branch; another than the one offered needs a reason."""

    step: str
    option: str
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class EndPart:
    """Call a part of the work complete."""

    part: str


@dataclass(frozen=True, slots=True)
class Skip:
    """Leave a step out, and say why."""

    step: str
    reason: str


@dataclass(frozen=True, slots=True)
class Redo:
    """Do a step again, and say why."""

    step: str
    reason: str


@dataclass(frozen=True, slots=True)
class Correct:
    """Set an earlier entry right: which event and channel, the new value, why."""

    of_seq: int
    channel: str
    new: p.ReadingValue
    reason: str


@dataclass(frozen=True, slots=True)
class Note:
    """Write something down."""

    text: str
    late: bool = False
    photo: p.Photo | None = None


@dataclass(frozen=True, slots=True)
class Pause:
    """Stop for a while, and say why."""

    reason: str


@dataclass(frozen=True, slots=True)
class Resume:
    """Go on; where refrigerant may have moved, with what the cylinder weighs now."""

    person: p.Person
    check: p.CylinderCheck | None = None


@dataclass(frozen=True, slots=True)
class HandOver:
    """Pass the job to another technician."""

    to: str
    reason: str


@dataclass(frozen=True, slots=True)
class Abort:
    """Break the job off; the safe-state steps come next."""

    reason: str


@dataclass(frozen=True, slots=True)
class ShowCustomer:
    """Record how the customer took note of the work."""

    how: Literal["acknowledged", "refused", "not present"]
    name: str | None = None


@dataclass(frozen=True, slots=True)
class SignOff:
    """Sign the work and close the job."""

    name: str
    certificate_sha256: str


@dataclass(frozen=True, slots=True)
class Issue:
    """A signed record was written."""

    sha256: str
    file: str
    fingerprint: str


@dataclass(frozen=True, slots=True)
class Reopen:
    """Amend a closed job: corrections and notes, then a new signature."""

    person: p.Person
    reason: str
    record_sha256: str


@dataclass(frozen=True, slots=True)
class Practise:
    """Note what was done in the run of a lesson beside the procedure; see `payloads.Practised`."""

    practised: p.Practised


Command = (
    Open | Acknowledge | Answer | Read | BeginWait | EndWait | BeginWeigh | EndWeigh | EndWeighing
    | EndAdjust | Choose
    | EndPart | Skip | Redo | Correct | Note | Pause | Resume | HandOver | Abort | ShowCustomer | SignOff
    | Issue | Reopen | Practise
)  # fmt: skip
