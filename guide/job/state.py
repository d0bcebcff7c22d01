"""A job as it stands: what its events come to (`guide.job.evolve`), and what the walk asks of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from guide.job import payloads as p
from guide.job.order import Order
from guide.journal.event import Stamp
from guide.procedure.model import Adjust, Part, Procedure, Step, Wait, Weigh

ABORT_SIGN_STEP = "sign"
"""The step name a signature carries when the work was broken off or amended."""


class Standing(StrEnum):
    """Where a step stands."""

    TODO = "to do"
    DONE = "done"
    SKIPPED = "skipped"
    NOT_APPLICABLE = "not applicable"
    RECHECK = "re-check"


SETTLED = frozenset({Standing.DONE, Standing.SKIPPED, Standing.NOT_APPLICABLE})


@dataclass(frozen=True, slots=True)
class Entry:
    """One value that was entered and may be corrected: a reading, or a weight of a weighing."""

    seq: int
    step: str
    channel: str
    value: p.ReadingValue


@dataclass(frozen=True, slots=True)
class Move:
    """Refrigerant that crossed the scale; `into_system_kg` is negative when recovered.

    `observed` is False for what left or entered a cylinder while nobody was at the program.
    """

    seq: int
    step: str
    cylinder: str
    before: p.ReadingValue | None
    after: p.ReadingValue
    into_system_kg: Decimal
    observed: bool
    at: Stamp
    begun_seq: int | None = None
    """The event that the weight before stands in."""


@dataclass(frozen=True, slots=True)
class Weighing:
    """A weighing under way."""

    begun: p.WeighBegun
    seq: int
    at: Stamp


@dataclass(frozen=True, slots=True)
class Waiting:
    """A timed hold under way."""

    begun: p.WaitBegun
    at: Stamp
    seq: int = -1


@dataclass(frozen=True, slots=True)
class RoundDone:
    """A round of the charging loop that was read."""

    read: p.RoundRead
    seq: int
    at: Stamp


@dataclass(frozen=True, slots=True)
class JobState:
    """Everything the walk, the screens and the record need to know of a job."""

    job: str
    order: Order
    procedure: Procedure
    opened: p.Opened | None = None
    opened_at: Stamp | None = None
    standings: Mapping[str, Standing] = field(default_factory=dict)
    facts: Mapping[str, str] = field(default_factory=dict)
    acknowledged: frozenset[tuple[str, int]] = frozenset()
    answers: Mapping[str, p.Answered] = field(default_factory=dict)
    entries: tuple[Entry, ...] = ()
    moves: tuple[Move, ...] = ()
    weighing: Weighing | None = None
    waiting: Waiting | None = None
    finished: tuple[p.WeighingFinished, ...] = ()
    rounds: tuple[RoundDone, ...] = ()
    loop_ended: p.AdjustEnded | None = None
    running_since: Stamp | None = None
    last_change: Stamp | None = None
    ended_parts: frozenset[str] = frozenset()
    people: Mapping[str, p.Person] = field(default_factory=dict)
    present: str = ""
    run: str = ""
    paused: bool = False
    handed_to: str | None = None
    aborted: bool = False
    amending: bool = False
    customer: p.CustomerSaw | None = None
    signed: tuple[p.Signed, ...] = ()
    closed: p.Closed | None = None
    issued: tuple[p.RecordIssued, ...] = ()
    stopped: p.Practised | None = None
    """What ended the run of a lesson before its time."""
    counts: Mapping[str, int] = field(default_factory=dict)
    last_at: Stamp | None = None
    last_seq: int = -1

    def standing(self, step_id: str) -> Standing:
        """Where a step stands."""
        return self.standings.get(step_id, Standing.TODO)

    def path(self) -> tuple[Part, ...]:
        """The parts that are walked: the procedure's, or its safe-state steps after an abort."""
        return (self.procedure.on_abort,) if self.aborted else self.procedure.parts

    def net_charged_kg(self) -> Decimal:
        """Refrigerant into the system less refrigerant out of it, this job [kg]."""
        return sum((move.into_system_kg for move in self.moves), Decimal(0))

    def charged_kg(self) -> Decimal:
        """Refrigerant that went into the system, this job [kg]."""
        return sum((m.into_system_kg for m in self.moves if m.into_system_kg > 0), Decimal(0))

    def recovered_kg(self) -> Decimal:
        """Refrigerant that came out of the system, this job [kg]."""
        return -sum((m.into_system_kg for m in self.moves if m.into_system_kg < 0), Decimal(0))

    def moved_in_loop_kg(self) -> Decimal:
        """Net refrigerant into the system since it was last weighed in or out as a whole [kg].

        What a charging loop goes by: a recovery and a charge by weight before it do not answer its advice.
        """
        net = Decimal(0)
        for move in reversed(self.moves):
            if move.step != ABORT_SIGN_STEP and isinstance(self.procedure.step(move.step).proof, Weigh):
                break
            net += move.into_system_kg
        return net

    def hold_start(self) -> tuple[p.ReadingValue, ...]:
        """What was read at the start of the hold under way, as corrected; nothing where none is."""
        if self.waiting is None:
            return ()
        return tuple(entry.value for entry in self.entries if entry.seq == self.waiting.seq)

    def last_weight(self, cylinder: str) -> p.ReadingValue | None:
        """What a cylinder weighed when it was last on the scale in this job."""
        if self.weighing and self.weighing.begun.cylinder == cylinder:
            return self.weighing.begun.before
        return next((m.after for m in reversed(self.moves) if m.cylinder == cylinder), None)

    def step_rounds(self, step_id: str) -> tuple[RoundDone, ...]:
        """The rounds read at one step."""
        return tuple(r for r in self.rounds if r.read.step == step_id)


def named_rules(state: JobState) -> bool:
    """Whether the job was opened under rules of the walk that have a name; the first ones asked for less."""
    return state.opened is not None and state.opened.versions.walk is not None


def beyond_fails(state: JobState) -> bool:
    """Whether a reading beyond its limit fails there, however far the instrument may be off.

    Rules of the walk before the third left it undecided, and the step done.
    """
    return state.opened is not None and state.opened.versions.walk not in {None, "walk/2"}


def begin(job: str, order: Order, procedure: Procedure) -> JobState:
    """The state before the first event."""
    return JobState(job=job, order=order, procedure=procedure, facts=order.facts())


def holds(state: JobState, step: Step) -> bool:
    """Whether a step applies, by the facts known. A fact nobody has given does not rule a step out."""
    for condition in step.when:
        value = state.facts.get(condition.fact)
        if value is not None and (value in condition.values) == condition.negated:
            return False
    return True


def current_step(state: JobState) -> Step | None:
    """The first step on the path that is neither settled nor ruled out by the facts."""
    for part in state.path():
        for step in part.steps:
            if state.standing(step.id) not in SETTLED and holds(state, step):
                return step
        if part.id not in state.ended_parts:
            return None
    return None


def focus_step_id(state: JobState) -> str:
    """The current step's id, or the last place of the work when there is none."""
    step = current_step(state)
    return step.id if step else ABORT_SIGN_STEP


def refrigerant_may_move(state: JobState) -> bool:
    """Whether a cylinder may be open at this place, so that a return begins with weighing it."""
    if state.weighing is not None:
        return True
    step = current_step(state)
    if step is None or state.closed is not None or state.amending:
        return False
    if isinstance(step.proof, Weigh | Adjust):
        return True
    return isinstance(step.proof, Wait) and bool(state.moves) and _cylinder_at_hand(state, step)


def _cylinder_at_hand(state: JobState, step: Step) -> bool:
    """Whether a hold lies where a cylinder may still be connected: in the loop, or where it was last used.

    A hold under nitrogen or vacuum comes in another part than the recovery before it.
    """
    last = state.moves[-1].step
    part = next((part for part in state.path() if step in part.steps), None)
    if part is not None and any(other.id == last for other in part.steps):
        return True
    try:
        return isinstance(state.procedure.step(last).proof, Adjust)
    except KeyError:
        return True
