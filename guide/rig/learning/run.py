"""The run of a lesson as it is scored: its events, what hands did and when, what happened, how it ended."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, Protocol

from guide.job import payloads as p
from guide.job.elapsed import elapsed
from guide.job.state import JobState
from guide.journal.event import Event
from guide.rig.acts import Act, Handling
from guide.rig.happenings import Happening
from guide.rig.learning.drawing import Drawn
from guide.rig.learning.lesson import Help, Lesson

CONCLUSION: Final = "conclusion"
"""`at` of a Practised event (what: chosen) whose `act` is the trouble the trainee names."""
SAME_MOMENT_S: Final = 1.0
"""A unit tells what happens by its whole seconds, so an act up to so much later may be what did it."""


class TrueEnd(Protocol):
    """As much of the truth about a simulated system as a score needs. SI: kg, K."""

    @property
    def charge_kg(self) -> float:
        """Refrigerant in the system [kg]."""

    @property
    def right_charge_kg(self) -> float:
        """What would be right [kg]."""

    @property
    def superheat_K(self) -> float | None:
        """At the suction port [K]; None where nothing runs."""

    @property
    def subcooling_K(self) -> float | None:
        """At the liquid port [K]; None where nothing runs."""

    @property
    def target_superheat_K(self) -> float | None:
        """What it should be [K]; None where there is no target."""

    @property
    def target_subcooling_K(self) -> float | None:
        """What it should be [K]; None where there is no target."""

    @property
    def air_kg(self) -> float:
        """Air in the circuit [kg]."""

    @property
    def water_kg(self) -> float:
        """Water in the circuit [kg]."""

    @property
    def lost_kg(self) -> float:
        """Refrigerant lost to the air [kg]."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What was truly so at the end of a run [kg, K]; None where there is no such thing."""

    charge_kg: float
    right_charge_kg: float
    superheat_K: float | None = None
    subcooling_K: float | None = None
    target_superheat_K: float | None = None
    target_subcooling_K: float | None = None
    air_kg: float = 0.0
    water_kg: float = 0.0
    lost_kg: float = 0.0


def outcome(truth: TrueEnd) -> Outcome:
    """The outcome that a truth about a simulated system comes to."""
    return Outcome(
        truth.charge_kg, truth.right_charge_kg, truth.superheat_K, truth.subcooling_K,
        truth.target_superheat_K, truth.target_subcooling_K, truth.air_kg, truth.water_kg, truth.lost_kg,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Told:
    """An event with its payload read, and its simulated time [s] after the opening."""

    seq: int
    at_s: float
    payload: p.Payload


@dataclass(frozen=True, slots=True)
class Deed:
    """What hands did, by which event, when [s], and at which step the work stood."""

    seq: int
    at_s: float
    handling: Handling
    step: str | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """One run of a lesson, told whole. The score is a function of this and of nothing else.

    `true_readings`: for an event that entered readings (by seq), what each channel truly was then [SI],
    whatever its instrument showed.
    `true_answers`: for an event that said what was seen, the answer of the procedure that was true then.
    Either may leave events out; what is not there is not judged.
    """

    lesson: Lesson
    drawn: Drawn
    help: Help
    state: JobState
    told: tuple[Told, ...]
    end: Outcome
    happenings: tuple[Happening, ...] = ()
    conclusion: str | None = None
    true_readings: Mapping[int, Mapping[str, float]] = field(default_factory=lambda: MappingProxyType({}))
    true_answers: Mapping[int, str] = field(default_factory=lambda: MappingProxyType({}))
    true_earlier: Mapping[int, Mapping[str, float]] = field(default_factory=lambda: MappingProxyType({}))
    """The same a moment earlier, when a value may have been looked at."""
    unread: Mapping[int, Mapping[str, str]] = field(default_factory=lambda: MappingProxyType({}))
    """By event: channels that were entered and could not be read then, with the reason."""
    interrupted_at_s: float | None = None
    """When somebody called the trainee away, where the lesson has that."""

    def of(self, *kinds: type[p.Payload]) -> tuple[Told, ...]:
        """The events of some kinds, in order."""
        return tuple(each for each in self.told if isinstance(each.payload, kinds))

    @property
    def last(self) -> Told:
        """The last event of the work itself.

        Raises:
            ValueError: there is none.
        """
        if not self.told:
            raise ValueError("a run has at least its opening")
        return self.told[-1]

    @property
    def deeds(self) -> tuple[Deed, ...]:
        """What hands did, in order."""
        return deeds(self.told)

    def cause(self, at_s: float) -> Told:
        """The event a happening goes back to: the last thing hands did up to then, else the last event."""
        before = [each for each in self.told if each.at_s <= at_s + SAME_MOMENT_S] or [self.told[0]]
        by_hand = [each for each in before if _handled(each.payload) is not None]
        return by_hand[-1] if by_hand else before[-1]


def told(events: Iterable[Event]) -> tuple[Told, ...]:
    """A job's events with payloads and times; time is summed event by event, as the job itself tells it.

    Raises:
        BadBody: an event is not of its form.
    """
    out: list[Told] = []
    now_s, before = 0.0, None
    for event in events:
        if before is not None:
            now_s += elapsed(before, event.stamp).seconds
        before = event.stamp
        out.append(Told(event.seq, now_s, p.read_payload(event.kind, event.body)))
    return tuple(out)


def deeds(events: Iterable[Told]) -> tuple[Deed, ...]:
    """What hands did, in order. An act that this version does not know is left out."""
    out = []
    for each in events:
        handling = _handled(each.payload)
        if handling is not None:
            step = getattr(each.payload, "step", None)
            out.append(Deed(each.seq, each.at_s, handling, step))
    return tuple(out)


def concluded(events: Iterable[Told]) -> tuple[str, Told] | None:
    """The trouble the trainee named last, and the event that says so."""
    found = None
    for each in events:
        payload = each.payload
        if isinstance(payload, p.Practised) and payload.what == "chosen" and payload.at == CONCLUSION:
            found = (payload.act, each)
    return found


def over(lesson: Lesson, state: JobState) -> bool:
    """Whether a run has come to an end: where the lesson ends, at the signature, or before its time."""
    return state.stopped is not None or state.closed is not None or _came_to_its_part(lesson, state)


def finished(run: Run, untrue: frozenset[int] = frozenset()) -> bool:
    """Whether a run has come to where its lesson ends.

    Breaking the job off counts where that may be right, and once the work itself has said stop: by what was
    seen at a step, or by the advice of a round. To break off at the door shows nothing, nor does a stop that
    rests on what was not so: `untrue` are the events that said such things.
    """
    state = run.state
    if state.stopped is not None:
        return False
    if state.closed is not None:
        right = run.lesson.breaks_off and _was_told_to_stop(run, untrue)
        return state.closed.outcome == "complete" or right
    return _came_to_its_part(run.lesson, state)


def _was_told_to_stop(run: Run, untrue: frozenset[int]) -> bool:
    refused = [
        each.seq
        for each in run.of(p.Answered)
        if isinstance(each.payload, p.Answered) and not each.payload.accepted
    ]
    stops = [each.seq for each in run.state.rounds if each.read.assessment.action == "stop"]
    return not untrue.issuperset((*refused, *stops))


def _came_to_its_part(lesson: Lesson, state: JobState) -> bool:
    return lesson.parts is not None and lesson.parts.last in state.ended_parts


def _handled(payload: p.Payload) -> Handling | None:
    if not isinstance(payload, p.Practised) or payload.what != "handled":
        return None
    try:
        act = Act(payload.act)
    except ValueError:
        return None
    return Handling(act, payload.at or "", None if payload.amount is None else float(payload.amount))
