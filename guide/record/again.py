"""A job's decisions taken again from its log, by the same rules, to see whether they come out the same.

From each event the command behind it is reconstructed and put to `guide.job.walk.decide` in the
state the events before it fold to. What is decided must be what is logged: so a record can hold no
verdict that its readings do not give, and no act that the rules would not have let happen.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from guide.charging import target_table
from guide.charging.round import RULES
from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job import limits
from guide.job import payloads as p
from guide.job.assess import WALK, WALKS, appliance_at, assess, read_at_rest
from guide.job.evolve import evolve
from guide.job.state import JobState, begin, beyond_fails
from guide.job.walk import decide
from guide.journal.event import Event
from guide.procedure.channels import CHANNELS
from guide.procedure.model import Wait
from guide.refrigerant import saturation
from guide.refrigerant.curve import Curve
from guide.units import UnitError, parse


class Differs(ChargewrightError):
    """An event that does not follow from what stands before it."""


def unknown_versions(versions: p.Versions) -> str | None:
    """Which rules or table of a record this program does not have, in words, or None."""
    missing = []
    if versions.rules != RULES:
        missing.append(f"rules {versions.rules} (here: {RULES})")
    if versions.target_table_sha256 != target_table.SHA256:
        missing.append(f"target table {versions.target_table} (here: {target_table.VERSION})")
    if versions.walk not in WALKS:
        missing.append(f"rules {versions.walk} of the walk (here: {WALK})")
    return "; ".join(missing) or None


def readings_as_typed(events: Sequence[Event], site_pressure_Pa: Decimal) -> None:
    """See that every reading's value is exactly what was typed, read at this site.

    Raises:
        Differs: naming the first that is not.
    """
    for event in events:
        for value in _readings(p.read_payload(event.kind, event.body)):
            channel = CHANNELS.get(value.channel)
            if channel is None:
                raise Differs(f"event {event.seq}: {value.channel[:40]} is no channel that can be read")
            try:
                typed = parse(value.typed, channel.kind, site_pressure_Pa=site_pressure_Pa)
            except UnitError as error:
                raise Differs(f"event {event.seq}: {error}") from error
            if (typed.unit, typed.si) != (value.unit, value.si):
                raise Differs(
                    f"event {event.seq}: {value.channel} was typed as {value.typed}, "
                    f"but its value is {value.si} (SI)"
                )


def _readings(payload: p.Payload) -> Iterator[p.ReadingValue]:
    match payload:
        case p.Read() | p.WaitBegun() | p.WaitEnded() | p.RoundRead():
            yield from payload.readings
        case p.WeighBegun():
            yield payload.before
        case p.WeighEnded():
            yield payload.after
        case p.Corrected():
            yield payload.old
            yield payload.new
        case p.Resumed() if payload.check is not None:
            yield payload.check.weight
        case _:
            return


def decide_again(start: JobState, events: Sequence[Event]) -> None:
    """Take every decision of a job again.

    Raises:
        Differs: naming the first event that would not have been decided.
    """
    state, position = start, 0
    while position < len(events):
        event = events[position]
        command, now = _command(state, event)
        try:
            decided = decide(state, command, now)
        except ChargewrightError as error:
            raise Differs(
                f"event {event.seq} ({event.kind}) can't have been decided here: {error}"
            ) from error
        for payload in decided:
            if position >= len(events):
                raise Differs(f"after event {event.seq} an event of kind {payload.KIND} is missing")
            logged = events[position]
            if (logged.kind, logged.stamp, logged.by) != (payload.KIND, event.stamp, event.by):
                raise Differs(f"event {logged.seq} is {logged.kind} where {payload.KIND} was decided")
            if p.read_payload(logged.kind, logged.body) != payload:
                raise Differs(f"event {logged.seq} ({logged.kind}) says other than {_what(payload, logged)}")
            state = evolve(state, logged)
            position += 1


def _what(payload: p.Payload, logged: Event) -> str:
    """Where a decision and its log differ, in words."""
    there = p.read_payload(logged.kind, logged.body)
    if isinstance(payload, p.RoundRead) and isinstance(there, p.RoundRead):
        ours, theirs = payload.assessment, there.assessment
        for name in type(ours).model_fields:
            if getattr(ours, name) != getattr(theirs, name):
                return f"its readings give: {name} {getattr(ours, name)}, logged {getattr(theirs, name)}"
    for name in type(payload).model_fields:
        if getattr(payload, name) != getattr(there, name, None):
            return f"what is decided again: {name} differs"
    return "what is decided again"


def _command(state: JobState, event: Event) -> tuple[c.Command, c.Now]:  # noqa: PLR0911, PLR0912
    # one branch a kind: the table is complete, or a kind would go unchecked
    payload = p.read_payload(event.kind, event.body)
    now = c.Now(event.stamp, state.run, event.by)
    match payload:
        case p.Opened():
            return c.Open(payload), replace(now, run=payload.run)
        case p.Acknowledged():
            return c.Acknowledge(payload.step, payload.hazard), now
        case p.Answered():
            return c.Answer(payload.step, payload.seen), now
        case p.Read() | p.RoundRead():
            return c.Read(payload.step, payload.readings), now
        case p.WaitBegun():
            return c.BeginWait(payload.step, payload.readings), now
        case p.WaitEnded():
            return c.EndWait(payload.step, payload.readings), now
        case p.WeighBegun():
            against = payload.against_advice
            return (
                c.BeginWeigh(payload.step, payload.direction, payload.cylinder, payload.before, against),
                now,
            )
        case p.WeighEnded():
            return c.EndWeigh(payload.step, payload.after), now
        case p.WeighingFinished():
            return c.EndWeighing(payload.step, payload.reason), now
        case p.AdjustEnded():
            return c.EndAdjust(payload.step, payload.reason), now
        case p.Chosen():
            return c.Choose(payload.step, payload.option, payload.reason), now
        case p.PartEnded():
            return c.EndPart(payload.part), now
        case p.Skipped():
            return c.Skip(payload.step, payload.reason), now
        case p.Redone():
            return c.Redo(payload.step, payload.reason), now
        case p.Corrected():
            return c.Correct(payload.of_seq, payload.channel, payload.new, payload.reason), now
        case p.Noted():
            return c.Note(payload.text, payload.late, payload.photo), now
        case p.Paused():
            return c.Pause(payload.reason), now
        case p.Resumed():
            return c.Resume(payload.person, payload.check), replace(now, run=payload.run)
        case p.HandedOver():
            return c.HandOver(payload.to, payload.reason), now
        case p.Aborted():
            return c.Abort(payload.reason), now
        case p.CustomerSaw():
            return c.ShowCustomer(payload.how, payload.name), now
        case p.Signed():
            return c.SignOff(payload.name, payload.certificate_sha256), now
        case p.Practised():
            return c.Practise(payload), now
        case p.RecordIssued():
            return c.Issue(payload.sha256, payload.file, payload.fingerprint), now
        case p.Reopened():
            command = c.Reopen(payload.person, payload.reason, payload.record_sha256)
            return command, replace(now, run=payload.run)
        case _:
            raise Differs(f"event {event.seq} ({event.kind}) stands where nothing decided it")


def judge_again(start: JobState, events: Sequence[Event], curve: Curve) -> None:
    """Reach every verdict again with the curve that rides along, where it is not the one shipped here.

    Raises:
        Differs: naming the first verdict that comes out otherwise.
    """
    state = begin(start.job, start.order, start.procedure)
    for event in events:
        payload = p.read_payload(event.kind, event.body)
        if isinstance(payload, p.RoundRead):
            again = assess(
                appliance_at(state, payload.step, curve),
                [r.read for r in state.step_rounds(payload.step)],
                payload.readings,
                minutes_since_change=payload.assessment.minutes_since_change,
                net_charged_kg=payload.assessment.net_charged_kg,
                at_rest=read_at_rest(state),
            )
            if again != payload.assessment:
                ours = payload.model_copy(update={"assessment": again})
                raise Differs(f"event {event.seq} says other than {_what(ours, event)}")
        elif (
            isinstance(payload, p.Read | p.WaitEnded) and _verdicts_again(state, payload) != payload.verdicts
        ):
            raise Differs(f"event {event.seq}: its verdicts do not follow from its readings")
        state = evolve(state, event)


def _verdicts_again(state: JobState, payload: p.Read | p.WaitEnded) -> tuple[p.LimitVerdict, ...]:
    proof = state.procedure.step(payload.step).proof
    fault = limits.missing(getattr(proof, "channels", ()), payload.readings)
    if fault is not None:
        raise Differs(f"step {payload.step}: {fault}")
    if isinstance(proof, Wait):
        begun = state.hold_start()
        if limits.missing(proof.channels, begun) is not None:
            raise Differs(f"step {payload.step}: the hold began without its readings")
        return limits.of_hold(proof, begun, payload.readings, state.order, strict=beyond_fails(state))
    asked = getattr(proof, "limits", ())
    return limits.verdicts(asked, payload.readings, state.order, strict=beyond_fails(state))


def same_curve(curve: Curve) -> bool:
    """Whether the curve that rides along is the one this program ships."""
    return saturation.curve(curve.designation).sha256 == curve.sha256
