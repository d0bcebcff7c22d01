"""How a procedure was used, for those who write it: one fold over the events of many jobs, step by step.

Nothing here says who worked, for whom or where: jobs are counted, and a reason is told without the names
that its own job knows.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median

from guide.escape import for_terminal
from guide.job import payloads as p
from guide.job.elapsed import elapsed
from guide.job.evolve import evolve
from guide.job.exceptions import departures
from guide.job.order import Order
from guide.job.state import JobState, Standing, begin, current_step
from guide.journal.event import Event
from guide.procedure.model import Procedure

HIDDEN = "…"
"""Stands in a reason where a name was."""
_SHORTEST_NAME = 3
_TOLD_BY_THEMSELVES = frozenset({"skipped", "redone", "correction", "broken off"})


@dataclass(frozen=True, slots=True)
class Worked:
    """One job: its order, the procedure it began with, its events, and the text behind a reference.

    `text` gives None for what was withheld or erased.
    """

    job: str
    order: Order
    procedure: Procedure
    events: Sequence[Event]
    text: Callable[[str], str | None]


@dataclass(frozen=True, slots=True)
class StepUsage:
    """What became of one step over all jobs.

    `seconds` holds, for each time it was done, how long it stood in front of the person [s]: from event
    times, without the time away. `reasons` are those of the skips, cleaned, each with how often it was
    given. `departures` counts the sorts that no other member tells.
    """

    step: str
    done: int
    skipped: int
    reasons: tuple[tuple[str, int], ...]
    redone: int
    corrected: int
    refused: int
    not_applicable: int
    broken_off: int
    seconds: tuple[float, ...]
    departures: tuple[tuple[str, int], ...]

    @property
    def median_s(self) -> float | None:
        """The middle one of the times it took [s]; None where it was never done."""
        return median(self.seconds) if self.seconds else None

    @property
    def longest_s(self) -> float | None:
        """The longest time it took [s]; None where it was never done."""
        return max(self.seconds, default=None)

    @property
    def stands_out(self) -> bool:
        """Whether anything but a plain run came of it."""
        told = self.skipped + self.redone + self.corrected + self.refused + self.broken_off
        return told > 0 or bool(self.departures)


@dataclass(frozen=True, slots=True)
class Usage:
    """What became of one revision of a procedure: its jobs, and its steps in their order.

    `elsewhere` counts the departures that belong to no step, `corrected_elsewhere` and
    `broken_off_elsewhere` what fell between steps; `texts` counts the different texts that bear the
    same revision.
    """

    jobs: int
    complete: int
    aborted: int
    texts: int
    steps: tuple[StepUsage, ...]
    elsewhere: tuple[tuple[str, int], ...]
    corrected_elsewhere: int
    broken_off_elsewhere: int

    def slowest(self) -> StepUsage | None:
        """The step whose median time is longest; None where no step was ever done."""
        timed = [step for step in self.steps if step.seconds]
        return max(timed, key=lambda step: step.median_s or 0.0, default=None)


@dataclass(slots=True)
class _Tally:
    counts: Counter[tuple[str, str]] = field(default_factory=Counter)
    reasons: dict[str, Counter[str]] = field(default_factory=dict)
    seconds: dict[str, list[float]] = field(default_factory=dict)
    departures: dict[str, Counter[str]] = field(default_factory=dict)


def usage(jobs: Iterable[Worked]) -> Usage:
    """How the procedure of these jobs was used. They are of one procedure and revision.

    Raises:
        BadBody, Impossible: an event is not of its form, or can't have happened there.
    """
    tally = _Tally()
    outcomes: Counter[str] = Counter()
    texts: set[str] = set()
    steps: dict[str, None] = {}
    for worked in jobs:
        texts.add(worked.procedure.sha256)
        for part in (*worked.procedure.parts, worked.procedure.on_abort):
            steps |= dict.fromkeys(step.id for step in part.steps)
        ended = _one(worked, tally)
        outcomes["jobs"] += 1
        if ended.aborted:
            outcomes["aborted"] += 1
        elif p.Closed.KIND in ended.counts:
            outcomes["complete"] += 1
    known = tuple(_step(step, tally) for step in steps)
    elsewhere: Counter[str] = Counter()
    for step, sorts in tally.departures.items():
        if step not in steps:
            elsewhere += sorts
    return Usage(
        jobs=outcomes["jobs"],
        complete=outcomes["complete"],
        aborted=outcomes["aborted"],
        texts=len(texts),
        steps=known,
        elsewhere=_ranked(elsewhere),
        corrected_elsewhere=_total(tally, "corrected") - sum(step.corrected for step in known),
        broken_off_elsewhere=_total(tally, "broken off") - sum(step.broken_off for step in known),
    )


def cleaned(reason: str, names: Iterable[str]) -> str:
    """A reason made harmless for a terminal, the names of people and places in it hidden word by word."""
    told = for_terminal(reason).strip()
    words = {word for name in names for word in re.findall(r"\w+", for_terminal(name))}
    hidden = sorted((word for word in words if len(word) >= _SHORTEST_NAME), key=len, reverse=True)
    if not hidden:
        return told
    pattern = rf"\b(?:{'|'.join(map(re.escape, hidden))})\b"
    return re.sub(rf"{pattern}(?:[\s,.-]+{pattern})*", HIDDEN, told, flags=re.IGNORECASE)


def _one(worked: Worked, tally: _Tally) -> JobState:
    """Count one job; its state at the end."""
    state = begin(worked.job, worked.order, worked.procedure)
    spent: dict[str, float] = {}
    refused: set[int] = set()
    skips: list[tuple[str, str]] = []
    for event in worked.events:
        payload = p.read_payload(event.kind, event.body)
        current = current_step(state) if state.closed is None and not state.amending else None
        at = current.id if current else ""
        # what passed before work was taken up again was spent elsewhere
        if at and state.last_at is not None and not isinstance(payload, p.Resumed):
            spent[at] = spent.get(at, 0.0) + elapsed(state.last_at, event.stamp).seconds
        before, state = state, evolve(state, event)
        counted = _counted(payload, at)
        if counted is not None:
            tally.counts[counted] += 1
        if isinstance(payload, p.Answered) and not payload.accepted:
            refused.add(event.seq)
        elif isinstance(payload, p.Skipped):
            skips.append((payload.step, payload.reason))
        for step, standing in state.standings.items():
            if standing is Standing.DONE and before.standing(step) is not Standing.DONE:
                tally.counts[step, "done"] += 1
                tally.seconds.setdefault(step, []).append(spent.pop(step, 0.0))
    names = _names(worked, state)
    for step, reference in skips:
        text = worked.text(reference)
        told = cleaned(text, names) if text is not None else "(withheld)"
        tally.reasons.setdefault(step, Counter())[told] += 1
    for departure in departures(worked.order, worked.events):
        if departure.sort not in _TOLD_BY_THEMSELVES and departure.seq not in refused:
            tally.departures.setdefault(departure.step, Counter())[departure.sort] += 1
    return state


def _counted(payload: p.Payload, at: str) -> tuple[str, str] | None:
    """The step, and what of it is counted; an end of all the work counts at the step it came at."""
    match payload:
        case p.Answered(accepted=False):
            return payload.step, "refused"
        case p.Skipped() | p.Redone() | p.Corrected():
            return payload.step, payload.KIND
        case p.NotApplicable():
            return payload.step, "not applicable"
        case p.Aborted():
            return at, "broken off"
        case _:
            return None


def _names(worked: Worked, state: JobState) -> tuple[str, ...]:
    """Every name of a person or a place that the job itself knows, those of identifiers too."""
    references: list[str] = []
    for person in state.people.values():
        references += [person.name, *([person.certification_number] if person.certification_number else [])]
    if state.customer is not None and state.customer.name is not None:
        references.append(state.customer.name)
    texts = [worked.text(reference) for reference in references]
    order = worked.order
    return (
        *(text for text in texts if text is not None),
        *state.people, *([state.handed_to] if state.handed_to else []),
        order.customer, *([order.address] if order.address else []),
    )  # fmt: skip


def _step(step: str, tally: _Tally) -> StepUsage:
    def count(what: str) -> int:
        return tally.counts[step, what]

    return StepUsage(
        step=step,
        done=count("done"),
        skipped=count("skipped"),
        reasons=_ranked(tally.reasons.get(step, {})),
        redone=count("redone"),
        corrected=count("corrected"),
        refused=count("refused"),
        not_applicable=count("not applicable"),
        broken_off=count("broken off"),
        seconds=tuple(tally.seconds.get(step, ())),
        departures=_ranked(tally.departures.get(step, {})),
    )


def _total(tally: _Tally, what: str) -> int:
    return sum(number for (_, counted), number in tally.counts.items() if counted == what)


def _ranked(counts: Mapping[str, int]) -> tuple[tuple[str, int], ...]:
    """The most frequent first, the same number in alphabetical order."""
    return tuple(sorted(counts.items(), key=lambda each: (-each[1], each[0])))
