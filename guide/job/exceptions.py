"""What an office reads first: every departure from the plain run of a job, as a fold over its events.

A job without departures gives an empty list.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from guide.charging import cylinder_limit
from guide.job import payloads as p
from guide.job.certification import against_work
from guide.job.elapsed import clock_jump_s, elapsed, in_words
from guide.job.limits import leapt
from guide.job.order import Order
from guide.job.weighing import SCALE_NOISE_DIVISIONS
from guide.journal.event import Event


@dataclass(frozen=True, slots=True)
class Departure:
    """One departure: where it stands in the log, what sort, what is said, and the reason's reference."""

    seq: int
    job_seq: int
    utc: str
    sort: str
    step: str
    words: str
    reason: str | None = None


def departures(order: Order, events: Sequence[Event]) -> tuple[Departure, ...]:
    """Every departure of a job, in the order of its events."""
    found: list[Departure] = []
    rounds: dict[str, p.RoundRead] = {}
    weighing: p.WeighBegun | None = None
    limits: dict[int, tuple[str, Decimal]] = {}
    for position, event in enumerate(events):
        payload = p.read_payload(event.kind, event.body)
        if position:
            found += _clock(events[position - 1], event)
        if isinstance(payload, p.RoundRead):
            for words, reason in _odd(order, payload, rounds.get(payload.step)):
                found.append(
                    Departure(
                        event.seq,
                        event.job_seq,
                        event.stamp.utc,
                        "unusual value",
                        payload.step,
                        words,
                        reason,
                    )
                )
        for sort, step, words, reason in _of(order, payload, event):
            found.append(Departure(event.seq, event.job_seq, event.stamp.utc, sort, step, words, reason))
        if isinstance(payload, p.RoundRead):
            rounds[payload.step] = payload
        elif isinstance(payload, p.WeighBegun):
            weighing = payload
        elif isinstance(payload, p.WeighEnded) and weighing is not None:
            beyond = _beyond_advice(order, payload, weighing, rounds.get(payload.step))
            if beyond:
                found.append(
                    Departure(event.seq, event.job_seq, event.stamp.utc, "override", payload.step, beyond)
                )
            if weighing.stop_at_kg is not None:
                limits[event.seq] = weighing.cylinder, weighing.stop_at_kg
        over = _overfilled(order, payload, event.seq, limits)
        if over:
            found.append(Departure(event.seq, event.job_seq, event.stamp.utc, "cylinder", _at(payload), over))
    return tuple(found)


def _clock(before: Event, event: Event) -> Iterator[Departure]:
    jump = clock_jump_s(before.stamp, event.stamp)
    if jump is not None:
        yield Departure(
            event.seq, event.job_seq, event.stamp.utc, "clock", "",
            f"the wall clock was set by {jump:+.0f} s; the order of events does not depend on it",
        )  # fmt: skip
    if before.stamp.boot != event.stamp.boot:
        away = elapsed(before.stamp, event.stamp)
        yield Departure(
            event.seq, event.job_seq, event.stamp.utc, "clock", "",
            f"the machine was restarted; {in_words(away.seconds)} by a clock that nothing vouches for",
        )  # fmt: skip


def _of(  # noqa: PLR0912, PLR0915 - one branch a kind
    order: Order, payload: p.Payload, event: Event
) -> Iterator[tuple[str, str, str, str | None]]:
    match payload:
        case p.Opened():
            yield from _certification(order, payload.person)
            yield from _instruments(order, date.fromisoformat(event.stamp.utc[:10]), payload.past_due_reason)
            if order.ticket is None and payload.nature == "real":
                yield (
                    "register",
                    "",
                    "the order carries no ticket: the start is not anchored from outside",
                    None,
                )
        case p.Answered(accepted=False):
            yield "deviation", payload.step, f"seen: {payload.seen}", None
        case p.Read() | p.WaitBegun():
            yield from _unusual(order, payload.step, payload.readings)
            yield from _verdicts(payload.step, getattr(payload, "verdicts", ()))
        case p.WaitEnded():
            yield from _unusual(order, payload.step, payload.readings)
            yield from _verdicts(payload.step, payload.verdicts)
            if payload.early:
                yield "wait", payload.step, "the hold was ended before its time: it had failed already", None
            if not payload.vouched:
                yield (
                    "wait",
                    payload.step,
                    "the wait ran through a restart; no running clock vouches for it",
                    None,
                )
        case p.RoundRead():
            # a wrong charge is what the loop is there for; any other suspect is news to the office
            if payload.assessment.suspect not in {None, "undercharge", "overcharge"}:
                yield "suspect", payload.step, f"round {payload.number}: {payload.assessment.suspect}", None
        case p.WeighBegun():
            if payload.against_advice is not None:
                yield (
                    "override", payload.step, f"refrigerant moved {payload.direction} against the advice",
                    payload.against_advice,
                )  # fmt: skip
            yield from _past_retest(order, payload, date.fromisoformat(event.stamp.utc[:10]))
        case p.WeighingFinished() if payload.reason is not None:
            yield "deviation", payload.step, _missed(payload), payload.reason
        case p.AdjustEnded() if payload.outcome != "in tolerance":
            words = {
                "undecided, accepted": "inside the tolerance by its best estimate only: UNDECIDED",
                "stopped": "the charging loop was stopped on advice",
                "accepted against advice": "the charging loop was left against the advice",
            }[payload.outcome]
            sort = "override" if payload.outcome == "accepted against advice" else "undecided"
            yield sort if payload.outcome != "stopped" else "stopped", payload.step, words, payload.reason
        case p.Chosen() if payload.option != payload.offered:
            yield (
                "override",
                payload.step,
                f"{payload.option} taken instead of {payload.offered}",
                payload.reason,
            )
        case p.Skipped():
            yield "skipped", payload.step, "step left out", payload.reason
        case p.Redone():
            yield "redone", payload.step, "step done again", payload.reason
        case p.Corrected():
            words = (
                f"{payload.channel} of event {payload.of_seq}: {payload.old.typed} became {payload.new.typed}"
            )
            yield "correction", payload.step, words, payload.reason
        case p.Noted(late=True):
            yield "late entry", payload.step, "written later than it was seen", payload.text
        case p.Paused():
            yield "pause", "", "work paused", payload.reason
        case p.HandedOver():
            yield "hand-over", "", f"handed over to {payload.to}", payload.reason
        case p.Resumed():
            yield from _resumed(order, payload)
        case p.Aborted():
            yield "broken off", "", "the job was broken off", payload.reason
        case p.CustomerSaw() if payload.how != "acknowledged":
            yield "customer", "", f"customer: {payload.how}", None
        case p.Reopened():
            words = f"amends the record with SHA-256 {payload.record_sha256}"
            yield "amended", "", words, payload.reason
        case _:
            return


def _certification(order: Order, person: p.Person) -> Iterator[tuple[str, str, str, str | None]]:
    for words in against_work(order, person.certification_type):
        yield "certification", "", f"{person.id}: {words}", None


def _instruments(order: Order, day: date, reason: str | None) -> Iterator[tuple[str, str, str, str | None]]:
    for name, until in order.past_due(day):
        yield "instrument", "", f"{name}: calibration was due on {until.isoformat()}", reason


def _unusual(
    order: Order, step: str, readings: Sequence[p.ReadingValue]
) -> Iterator[tuple[str, str, str, str | None]]:
    for reading in readings:
        if reading.unusual is not None:
            yield "unusual value", step, _outside(order, reading), reading.unusual


def _outside(order: Order, reading: p.ReadingValue) -> str:
    """Words for a value outside its instrument's range, else outside the channel's usual one."""
    instrument = order.instrument_for(reading.channel)
    past = instrument is not None and not instrument.reaches(reading.si)
    what = f"what {instrument.id} reads" if instrument is not None and past else "its usual range"
    return f"{reading.channel} {reading.typed} lies outside {what}"


def _odd(order: Order, read: p.RoundRead, before: p.RoundRead | None) -> Iterator[tuple[str, str | None]]:
    """Words for the odd values of a round: outside their range, or a leap from the round before."""
    last = {value.channel: value for value in before.readings} if before else {}
    for reading in read.readings:
        if reading.unusual is None:
            continue
        if leapt(reading, last.get(reading.channel), order.site_pressure_Pa):
            was = last[reading.channel].typed
            yield (
                f"{reading.channel} {reading.typed} is a leap from {was} in the round before",
                reading.unusual,
            )
        else:
            yield _outside(order, reading), reading.unusual


def _verdicts(step: str, verdicts: Sequence[p.LimitVerdict]) -> Iterator[tuple[str, str, str, str | None]]:
    for verdict in verdicts:
        what = verdict.channel if verdict.change is None else f"the change of {verdict.channel}"
        if verdict.verdict == "undecided":
            yield "undecided", step, f"{what} is too near its limit for the instrument", None
        elif verdict.verdict == "fail":
            yield "deviation", step, f"{what} did not meet its limit", None


def _missed(finished: p.WeighingFinished) -> str:
    if finished.target_kg is None:
        return "finished with nothing weighed"
    return f"{finished.moved_kg * 1000:.0f} g moved of {finished.target_kg * 1000:.0f} g"


def _resumed(order: Order, resumed: p.Resumed) -> Iterator[tuple[str, str, str, str | None]]:
    if resumed.after == "hand-over":
        yield from _certification(order, resumed.person)
    if resumed.after == "stop":
        clock = "" if resumed.vouched else ", by the wall clock only"
        yield "stop", "", f"the program was not running for {in_words(resumed.away_s)}{clock}", None
    if resumed.unexplained_kg is not None and resumed.check is not None:
        grams = resumed.unexplained_kg * 1000
        yield (
            "unobserved", "",
            f"cylinder {resumed.check.cylinder}: {grams:+.0f} g left it while nobody was at the program",
            None,
        )  # fmt: skip


def _at(payload: p.Payload) -> str:
    return payload.step if isinstance(payload, p.WeighEnded | p.Corrected) else ""


def _overfilled(
    order: Order, payload: p.Payload, seq: int, limits: Mapping[int, tuple[str, Decimal]]
) -> str | None:
    """Words for a cylinder that was filled beyond the weight to stop at, or is so by a corrected weight."""
    if isinstance(payload, p.WeighEnded) and seq in limits:
        after, (cylinder, stop_at) = payload.after, limits[seq]
    elif isinstance(payload, p.Corrected) and payload.channel == "weight after" and payload.of_seq in limits:
        after, (cylinder, stop_at) = payload.new, limits[payload.of_seq]
    else:
        return None
    over = after.si - stop_at
    if over <= order.scale_division.si / 2:
        return None
    return (
        f"cylinder {cylinder} is {over * 1000:.0f} g over its fill limit: recover that much out of it again"
    )


def _past_retest(order: Order, begun: p.WeighBegun, day: date) -> Iterator[tuple[str, str, str, str | None]]:
    known = order.cylinder(begun.cylinder)
    late = cylinder_limit.retest_against(known.retest_due if known else None, day)
    if late is not None:
        yield "cylinder", begun.step, f"cylinder {begun.cylinder}: {late}", None


def _beyond_advice(
    order: Order, ended: p.WeighEnded, weighing: p.WeighBegun, last: p.RoundRead | None
) -> str | None:
    """Words for more refrigerant moved than advised, beyond the scale's own noise."""
    if last is None or weighing.against_advice is not None:
        return None
    over = ended.moved_kg - last.assessment.amount_kg
    if over <= SCALE_NOISE_DIVISIONS * order.scale_division.si:
        return None
    return f"{over * 1000:.0f} g more moved than advised"
