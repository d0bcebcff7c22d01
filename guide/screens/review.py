"""What is read before work goes on, and before it is signed: the recap and the review. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from guide.job.elapsed import elapsed, in_words
from guide.job.exceptions import Departure
from guide.job.state import JobState, Standing, focus_step_id
from guide.journal.event import Stamp
from guide.screens import say
from guide.screens.figures import VERDICT_WORDS


def recap(state: JobState, now: Stamp) -> tuple[str, ...]:
    """Coming back: how long away, the last three steps, what is open, where it goes on."""
    words: list[str] = []
    if state.last_at is not None:
        away = elapsed(state.last_at, now)
        vouched = "" if away.vouched else " (by the wall clock, through a restart)"
        since = say.day_and_time(state.last_at)
        words.append(f"YOU WERE AWAY {in_words(away.seconds)}{vouched}, since {since}.")
    if state.handed_to:
        words.append(f"The job was handed over to {state.handed_to}.")
    settled = [
        step
        for part in state.path()
        for step in part.steps
        if state.standing(step.id) in {Standing.DONE, Standing.SKIPPED}
    ]
    words.append("Last steps:" if settled else "No step was done yet.")
    words += [f"  {_mark(state, step.id)} {step.id}  {step.do}" for step in settled[-3:]]
    if state.weighing is not None:
        begun = state.weighing.begun
        way = "INTO the system" if begun.direction == "in" else "OUT of the system"
        before = say.weight(begun.before.si, state.order)
        at = say.clock(state.weighing.at)
        words.append(f"OPEN WEIGHING since {at}: {begun.cylinder}, refrigerant {way}, {before} before.")
    if state.waiting is not None:
        passed = elapsed(state.waiting.at, now).seconds
        left = max(0.0, state.waiting.begun.at_least_s - passed)
        words.append(f"A WAIT RUNS: {say.countdown(left)} left." if left else "A WAIT RAN: its time is up.")
    here = focus_step_id(state)
    step = next((s for part in state.path() for s in part.steps if s.id == here), None)
    if step is not None:
        words.append(f"It goes on at {step.id}  {step.do}")
        words += [f"  {hazard.word.value}: {hazard.text}" for hazard in step.hazards]
    return tuple(words)


def _mark(state: JobState, step_id: str) -> str:
    return "✓" if state.standing(step_id) is Standing.DONE else "- skipped:"


def review(
    state: JobState, departures: Sequence[Departure], text: Callable[[str | None], str]
) -> tuple[str, ...]:
    """Before the signature: departures first, then the balance, the last figures, what will be signed."""
    words: list[str] = []
    if departures:
        words.append(f"{len(departures)} DEPARTURE{'S' if len(departures) > 1 else ''} from the plain run:")
        for item in departures:
            at = f"{item.step} " if item.step else ""
            because = f" - {text(item.reason)}" if item.reason else ""
            words.append(f"  {item.sort}: {at}{item.words}{because}")
    else:
        words.append("NO DEPARTURES from the plain run.")
    words.append("")
    order = state.order
    charged, recovered = say.amount(state.charged_kg(), order), say.amount(state.recovered_kg(), order)
    words.append(
        f"Refrigerant {order.refrigerant.designation}: charged {charged}, recovered {recovered}, "
        f"net {say.amount(state.net_charged_kg(), order, sign=True)}; "
        f"nameplate {say.nameplate(order)}."
    )
    for move in state.moves:
        way = "into" if move.into_system_kg >= 0 else "out of"
        seen = "" if move.observed else ", while nobody was at the program"
        words.append(
            f"  {move.cylinder}: {say.amount(abs(move.into_system_kg), order)} {way} the system, "
            f"{say.clock(move.at, seconds=False)}{seen}"
        )
    if state.rounds:
        said = state.rounds[-1].read.assessment
        words.append(f"Last round: {VERDICT_WORDS[said.verdict]}.")
    if state.customer is not None:
        words.append(f"Customer: {state.customer.how}{_named(state, text)}.")
    events = sum(state.counts.values())
    words.append(f"What you sign: every event of {state.job}, {events} so far, whole and unaltered.")
    return tuple(words)


def _named(state: JobState, text: Callable[[str | None], str]) -> str:
    name = text(state.customer.name) if state.customer and state.customer.name else ""
    return f" by {name}" if name else ""


def record_words(state: JobState, folder: Path) -> tuple[str, ...]:
    """A closed job: where its record is, and the fingerprint that goes onto the customer's sheet."""
    if not state.issued:
        return ()
    made = state.issued[-1]
    return (
        "The record is signed and written:",
        f"  {folder / made.file}",
        "The customer's sheet lies beside it. Copy this fingerprint onto it by hand:",
        "",
        f"      {made.fingerprint}",
        "",
        "Whoever keeps it can tell later whether the record was changed.",
    )
