"""A run of a lesson told whole from its job's events: the simulated unit goes through it once more.

Nothing of a run is kept but its events. What happened, what was truly to be read and seen at each of them,
and how it all ended comes from doing the same again with a fresh unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.job.evolve import evolve
from guide.job.state import JobState, begin
from guide.journal.event import Event
from guide.procedure.model import Confirm
from guide.rig.at_a_look import seen_at
from guide.rig.learning.beginning import beginning
from guide.rig.learning.drawing import draw
from guide.rig.learning.lesson import Help
from guide.rig.learning.lesson_reader import Ready
from guide.rig.learning.run import Run, concluded, outcome, told
from guide.rig.port import NoSuchChannel
from guide.rig.retrace import CantRetrace, RunTime, bring_to, handling_of
from guide.rig.rig import Rig

_WEIGHTS: Final[Mapping[str, str]] = MappingProxyType(
    {p.WeighBegun.KIND: "weight before", p.WeighEnded.KIND: "weight after"}
)
"""What the weight of an event is called among a job's entries."""
WRITING_S: Final = 60.0
"""Simulated time between looking at an instrument and having its value in the log (PROPOSED): while a unit
has just been started, its pressures fall meanwhile."""


def retell(ready: Ready, start: JobState, events: Iterable[Event]) -> Run:
    """The run that a job's events tell; `start` is the job before its first event.

    Raises:
        CantRetrace: the events are no run of this lesson.
        BadBody, Impossible: they are no possible job.
        BadScenario, BadFault, FigureError: the lesson's unit can't be simulated.
    """
    known = tuple(events)
    lesson = _lesson_of(ready, known)
    witness = _Witness(Rig(beginning(ready, lesson.seed)), begin(start.job, start.order, start.procedure))
    for event in known:
        witness.see(event)
    story = told(known)
    named = concluded(story)
    away = witness.rig.interruption
    return Run(
        lesson=ready.lesson,
        drawn=draw(ready.lesson, lesson.seed),
        help=Help(lesson.help),
        state=witness.state,
        told=story,
        end=outcome(witness.rig.truth()),
        happenings=witness.rig.happenings,
        conclusion=None if named is None else named[0],
        true_readings=MappingProxyType(witness.readings),
        true_answers=MappingProxyType(witness.answers),
        unread=MappingProxyType(witness.unread),
        true_earlier=MappingProxyType(witness.earlier),
        interrupted_at_s=None if away is None or away.at_s > story[-1].at_s else away.at_s,
    )


def _lesson_of(ready: Ready, events: tuple[Event, ...]) -> p.Lesson:
    opened = p.read_payload(events[0].kind, events[0].body) if events else None
    if not isinstance(opened, p.Opened) or opened.lesson is None:
        raise CantRetrace("this job is no run of a lesson")
    if opened.lesson.id != ready.lesson.id or opened.lesson.sha256 != ready.lesson.sha256:
        raise CantRetrace(
            f"this was a run of {opened.lesson.id} as its file was then; the file has changed since, "
            "so it can't be told with this one"
        )
    return opened.lesson


class _Witness:
    """Goes along with a run: the unit, the job, and what was truly so at each event."""

    def __init__(self, rig: Rig, state: JobState) -> None:
        self.rig = rig
        self.state = state
        self.readings: dict[int, Mapping[str, float]] = {}
        self.answers: dict[int, str] = {}
        self.unread: dict[int, Mapping[str, str]] = {}
        self.earlier: dict[int, Mapping[str, float]] = {}
        self._a_moment_ago: dict[str, float] = {}
        self._time: RunTime | None = None

    def see(self, event: Event) -> None:
        """One event: the unit is brought to its moment, then looked at, then acted on."""
        if self._time is None:
            self._time = RunTime(event.stamp)
        payload = p.read_payload(event.kind, event.body)
        t_s = self._time.take(event.stamp)
        channels = {each.channel for each in getattr(payload, "readings", ())}
        self._a_moment_ago = {}
        if channels and t_s > WRITING_S:
            bring_to(self.rig, t_s - WRITING_S)
            self._a_moment_ago = {each: so for each in channels if (so := self._truly(each)) is not None}
        bring_to(self.rig, t_s)
        match payload:
            case p.Practised(what="handled"):
                self._handled(payload)
            case p.Answered():
                self._answered(event.seq, payload)
            case p.Read() | p.RoundRead() | p.WaitBegun() | p.WaitEnded():
                self._read(event.seq, [(each.channel, each.channel) for each in payload.readings])
            case p.WeighBegun() | p.WeighEnded():
                self._read(event.seq, [(_WEIGHTS[payload.KIND], "cylinder_weight")])
        self.state = evolve(self.state, event)

    def _handled(self, payload: p.Practised) -> None:
        try:
            self.rig.do(handling_of(payload))
        except CantRetrace:
            raise
        except ChargewrightError:
            return  # refused then too, and left no trace but its event

    def _read(self, seq: int, wanted: list[tuple[str, str]]) -> None:
        found, earlier, unread = {}, {}, {}
        for entry, channel in wanted:
            why = self.rig.unread(channel)
            if why:
                unread[entry] = why
                continue
            so = self._truly(channel)
            if so is not None:
                found[entry] = so
                earlier[entry] = self._a_moment_ago.get(channel, so)
        if found:
            self.readings[seq] = MappingProxyType(found)
            self.earlier[seq] = MappingProxyType(earlier)
        if unread:
            self.unread[seq] = MappingProxyType(unread)

    def _truly(self, channel: str) -> float | None:
        """What was to be read now, had the instrument not lied: to find that out is the reader's."""
        try:
            return self.rig.read(channel) - self.rig.off(channel)
        except NoSuchChannel:
            return None  # the simulated unit has no such thing, so nothing is held against it

    def _answered(self, seq: int, answered: p.Answered) -> None:
        step = self.state.procedure.step(answered.step)
        if isinstance(step.proof, Confirm):
            self.answers[seq] = seen_at(self.rig, step, self.state).answer
