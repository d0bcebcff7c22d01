"""What hands did in the run of a lesson, as the job's events tell, and the same simulated unit from it again.

A rig is never stored. It is brought back by doing again, at the same simulated times, what the events say
was done, so that a run whose program or whose rig was killed goes on where it stood, to the last digit.

Times are counted from the job's opening and cut to eighths of a second: such a number and every sum and
difference of two are exact in binary, so it does not matter in how many pieces time passes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Protocol, TypeVar

from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.job.elapsed import elapsed
from guide.journal.event import OPENED, Event, Stamp
from guide.rig.acts import Act, Handling
from guide.rig.happenings import Happening

EIGHTH_ns: Final = 125_000_000
LONGEST_RUN_S: Final = 30 * 86_400.0
"""Longest time a run may span [s] (PROPOSED); beyond it nobody practises, somebody tries what breaks."""
_AMOUNT_DIGITS: Final = 9


class CantRetrace(ChargewrightError):
    """The events of a job tell no run that could be done again."""


class Moving(Protocol):
    """As much of a rig as is needed to do things again."""

    @property
    def elapsed_s(self) -> float:
        """Simulated time since the job's opening [s]."""

    def pass_time(self, seconds: float) -> None:
        """Let time pass."""

    def do(self, handling: Handling) -> tuple[Happening, ...]:
        """Do one act."""


Unit = TypeVar("Unit", bound=Moving)


@dataclass(frozen=True, slots=True)
class Done:
    """One act with its time since the opening [s, whole eighths] and the event that tells it."""

    t_s: float
    handling: Handling
    seq: int


class RunTime:
    """Simulated time of a job since its opening, over all the runs of the program that worked it."""

    def __init__(self, opened: Stamp) -> None:
        self._last = opened
        self._ns = 0

    @classmethod
    def of(cls, events: Iterable[Event]) -> RunTime:
        """The time of a job's events so far.

        Raises:
            CantRetrace: they do not begin with an opening.
        """
        found: RunTime | None = None
        for event in events:
            if found is None:
                found = cls(_opening(event))
            found.take(event.stamp)
        if found is None:
            raise CantRetrace("no events, so nothing to go by; open the job first")
        return found

    def take(self, stamp: Stamp) -> float:
        """Take the stamp of the next event in; its time since the opening [s]."""
        self._ns, self._last = self._at_ns(stamp), stamp
        return _eighths_s(self._ns)

    def at(self, stamp: Stamp) -> float:
        """The time since the opening of a stamp not older than the last event's [s, whole eighths]."""
        return _eighths_s(self._at_ns(stamp))

    def _at_ns(self, stamp: Stamp) -> int:
        return self._ns + round(elapsed(self._last, stamp).seconds * 1e9)


def cut_s(t_s: float) -> float:
    """A time cut to whole eighths of a second [s]."""
    return math.floor(t_s * 8.0) / 8.0


def _eighths_s(ns: int) -> float:
    return (ns // EIGHTH_ns) / 8.0


def practised(handling: Handling, step: str | None = None) -> p.Practised:
    """How an act is put into the log; `step` is where the procedure stands."""
    amount = None if handling.amount is None else _decimal(handling.amount)
    return p.Practised(
        what="handled", act=handling.act.value, at=handling.at or None, amount=amount, step=step
    )


def handling_of(told: p.Practised) -> Handling:
    """The act that an event tells: what the rig is to do, live and again.

    Raises:
        CantRetrace: it names no act there is.
    """
    try:
        act = Act(told.act)
    except ValueError as error:
        raise CantRetrace(f"{told.act[:40]!r} is nothing that hands do at a unit") from error
    return Handling(act, told.at or "", None if told.amount is None else float(told.amount))


def acts_of(events: Iterable[Event]) -> tuple[Done, ...]:
    """What hands did in a job, oldest first.

    Raises:
        CantRetrace: the events begin with no opening, name an unknown act, or span more than 30 days.
    """
    done: list[Done] = []
    time: RunTime | None = None
    for event in events:
        if time is None:
            time = RunTime(_opening(event))
        t_s = time.take(event.stamp)
        payload = p.read_payload(event.kind, event.body)
        if isinstance(payload, p.Practised) and payload.what == "handled":
            done.append(Done(_bounded(t_s), handling_of(payload), event.seq))
    return tuple(done)


def bring_to(unit: Moving, t_s: float) -> None:
    """Let time pass until `t_s` after the opening, cut to eighths; nothing where it is later already.

    Raises:
        CantRetrace: that is more than 30 days.
    """
    ahead_s = cut_s(_bounded(t_s)) - unit.elapsed_s
    if ahead_s > 0:
        unit.pass_time(ahead_s)


def redo(unit: Moving, acts: Iterable[Done]) -> tuple[tuple[Done, ChargewrightError], ...]:
    """Do the acts of a run with a fresh unit, each at its time; which of them it refused, as it did live.

    Raises:
        CantRetrace: an act lies more than 30 days after the opening.
    """
    refused = []
    for done in acts:
        bring_to(unit, done.t_s)
        try:
            unit.do(done.handling)
        except ChargewrightError as error:
            refused.append((done, error))
    return tuple(refused)


def rebuild(fresh: Callable[[], Unit], events: Iterable[Event]) -> Unit:
    """The unit as a job's events left it, at the time of the last of them; `fresh` makes it as it began.

    Raises:
        CantRetrace: as `acts_of`.
    """
    told = tuple(events)
    unit = fresh()
    redo(unit, acts_of(told))
    bring_to(unit, RunTime.of(told).at(told[-1].stamp))
    return unit


def _opening(event: Event) -> Stamp:
    if event.kind != OPENED:
        raise CantRetrace(f"event {event.seq}: a run begins with the opening of its job, not {event.kind!r}")
    return event.stamp


def _bounded(t_s: float) -> float:
    if not 0.0 <= t_s <= LONGEST_RUN_S:
        raise CantRetrace(f"{t_s:.0f} s after the opening lies outside the 30 days a run may take")
    return t_s


def _decimal(amount: float) -> Decimal:
    return Decimal(f"{amount:.{_AMOUNT_DIGITS}f}").normalize() + 0
