"""The walk: which command may follow which state, and what it makes happen.

`decide` is pure: the same state, command and moment give the same events. It refuses in words a
person can act on; it never completes a step by itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Any, Literal

from guide.job import commands as c
from guide.job import limits
from guide.job import payloads as p
from guide.job.assess import assess_now
from guide.job.elapsed import elapsed, in_words
from guide.job.evolve import apply
from guide.job.focus import Front, Refused, at_step, focus
from guide.job.state import (
    ABORT_SIGN_STEP,
    SETTLED,
    Entry,
    JobState,
    Standing,
    current_step,
    focus_step_id,
    holds,
    refrigerant_may_move,
)
from guide.job.weighing import begin_weigh, end_adjust, end_weigh, end_weighing, moved_after, unexplained
from guide.procedure.model import Adjust, ChannelAsk, Confirm, Option, Part, Reading, Sign, Step, Wait
from guide.procedure.model import Choose as ChooseProof


def decide(state: JobState, command: c.Command, now: c.Now) -> tuple[p.Payload, ...]:
    """The events that a command makes happen.

    Raises:
        Refused: it can't be followed here; the message says what would do.
    """
    if isinstance(command, c.Open):
        if state.opened is not None:
            raise Refused("this job is open already")
        _require_no_past_due(state, command.opened, now)
        return _with_not_applicable(state, (command.opened,), now)
    if state.opened is None:
        raise Refused("the job is not opened yet")
    if state.closed is not None:
        if isinstance(command, c.Issue):
            return (
                p.RecordIssued(sha256=command.sha256, file=command.file, fingerprint=command.fingerprint),
            )
        if isinstance(command, c.Reopen):
            return (
                p.Reopened(
                    run=now.run,
                    person=command.person,
                    reason=command.reason,
                    record_sha256=command.record_sha256,
                ),
            )
        raise Refused("the job is closed; amend it to change its record")
    if isinstance(command, c.Resume):
        return (_resume(state, command, now),)
    if state.paused or state.run != now.run:
        raise Refused("the job is at rest; resume it first")
    if now.by != state.present:
        raise Refused("another technician is at work on this job; hand it over first")
    handler: Callable[[JobState, Any, c.Now], tuple[p.Payload, ...]] | None = _HANDLERS.get(type(command))
    if handler is None:
        raise Refused("that can't be done on an open job")
    if state.amending and not isinstance(command, c.Correct | c.Note | c.SignOff | c.Pause):
        raise Refused("an amendment takes corrections and notes, then a signature")
    return _with_not_applicable(state, handler(state, command, now), now)


def _require_no_past_due(state: JobState, opened: p.Opened, now: c.Now) -> None:
    late = state.order.past_due(date.fromisoformat(now.stamp.utc[:10]))
    if late and opened.versions.walk is not None and opened.past_due_reason is None:
        named = ", ".join(f"{name} ({due.isoformat()})" for name, due in late)
        raise Refused(f"past their calibration: {named}; use others, or begin with a reason")


def _with_not_applicable(
    state: JobState, payloads: tuple[p.Payload, ...], now: c.Now
) -> tuple[p.Payload, ...]:
    """The payloads, and for every step they bring to the front that does not apply, one that says so."""
    after = state
    for payload in payloads:
        after = apply(after, payload, now.stamp, state.last_seq + 1, now.by)
    if after.closed is not None or after.amending:
        return payloads
    extra: list[p.Payload] = []
    for part in after.path():
        for step in part.steps:
            if after.standing(step.id) in SETTLED:
                continue
            if holds(after, step):
                return (*payloads, *extra)
            facts = {cond.fact: after.facts[cond.fact] for cond in step.when if cond.fact in after.facts}
            extra.append(p.NotApplicable(step=step.id, facts=facts))
        if part.id not in after.ended_parts:
            break
    return (*payloads, *extra)


def _acknowledge(state: JobState, command: c.Acknowledge, _now: c.Now) -> tuple[p.Payload, ...]:
    step = current_step(state)
    if step is None or step.id != command.step or not 0 <= command.hazard < len(step.hazards):
        raise Refused("that warning does not belong to the current step")
    if (step.id, command.hazard) in state.acknowledged:
        raise Refused("that warning is acknowledged already")
    if any((step.id, index) not in state.acknowledged for index in range(command.hazard)):
        raise Refused("the worst hazard comes first; acknowledge in order")
    return (p.Acknowledged(step=step.id, hazard=command.hazard),)


def _answer(state: JobState, command: c.Answer, _now: c.Now) -> tuple[p.Payload, ...]:
    step = at_step(state, command.step)
    if not isinstance(step.proof, Confirm):
        raise Refused(f"step {step.id} is not proven by an answer")
    seen = command.seen.strip().casefold()
    for answer in (*step.proof.accept, *step.proof.refuse):
        if answer.casefold() == seen:
            accepted = answer in step.proof.accept
            return (p.Answered(step=step.id, seen=answer, accepted=accepted),)
    raise Refused("answer with what you see: " + ", ".join((*step.proof.accept, *step.proof.refuse)))


def _checked(
    state: JobState,
    asked: Sequence[ChannelAsk],
    readings: tuple[p.ReadingValue, ...],
    before: Mapping[str, p.ReadingValue] = MappingProxyType({}),
) -> tuple[p.ReadingValue, ...]:
    fault = limits.missing(asked, readings) or limits.implausible(
        asked, readings, state.order.site_pressure_Pa, before
    )
    if fault:
        raise Refused(fault)
    return readings


def _read(state: JobState, command: c.Read, now: c.Now) -> tuple[p.Payload, ...]:
    step = at_step(state, command.step)
    if isinstance(step.proof, Reading):
        readings = _checked(state, step.proof.channels, command.readings)
        verdicts = limits.verdicts(step.proof.limits, readings, state.order)
        accepted = all(verdict.verdict != "fail" for verdict in verdicts)
        return (p.Read(step=step.id, readings=readings, verdicts=verdicts, accepted=accepted),)
    if isinstance(step.proof, Adjust):
        before = limits.round_before(state, step.id)
        readings = _checked(state, step.proof.channels, command.readings, before)
        return (
            p.RoundRead(
                step=step.id,
                number=len(state.step_rounds(step.id)) + 1,
                readings=readings,
                assessment=assess_now(state, step.id, readings, now.stamp),
            ),
        )
    raise Refused(f"step {step.id} is not proven by readings")


def _begin_wait(state: JobState, command: c.BeginWait, _now: c.Now) -> tuple[p.Payload, ...]:
    step = at_step(state, command.step)
    if not isinstance(step.proof, Wait):
        raise Refused(f"step {step.id} is not a wait")
    if state.waiting is not None:
        raise Refused("the wait is running already")
    readings = _checked(state, step.proof.channels, command.readings)
    return (p.WaitBegun(step=step.id, at_least_s=step.proof.at_least_s, readings=readings),)


def _end_wait(state: JobState, command: c.EndWait, now: c.Now) -> tuple[p.Payload, ...]:
    step = at_step(state, command.step)
    if not isinstance(step.proof, Wait) or state.waiting is None:
        raise Refused("no wait is running at this step; start it first")
    passed = elapsed(state.waiting.at, now.stamp)
    left = state.waiting.begun.at_least_s - passed.seconds
    if left > 0 and not (command.readings and (step.proof.limits or step.proof.changes)):
        raise Refused(f"{in_words(math.ceil(left))} of the wait are left")
    readings = _checked(state, step.proof.channels, command.readings)
    verdicts = limits.of_hold(step.proof, state.hold_start(), readings, state.order)
    if left > 0 and all(verdict.verdict != "fail" for verdict in verdicts):
        raise Refused(
            f"{in_words(math.ceil(left))} of the wait are left; "
            "it ends early only when a limit is clearly not met"
        )
    return (
        p.WaitEnded(
            step=step.id,
            elapsed_s=int(passed.seconds),
            vouched=passed.vouched,
            readings=readings,
            verdicts=verdicts,
            accepted=all(verdict.verdict != "fail" for verdict in verdicts),
            early=True if left > 0 else None,
        ),
    )


def offered(state: JobState, proof: ChooseProof) -> Option | None:
    """The first option whose facts are all known and hold."""
    return next((option for option in proof.options if _option_holds(state, option)), None)


def _option_holds(state: JobState, option: Option) -> bool:
    for condition in option.when:
        value = state.facts.get(condition.fact)
        if value is None or (value in condition.values) == condition.negated:
            return False
    return True


def _choose(state: JobState, command: c.Choose, _now: c.Now) -> tuple[p.Payload, ...]:
    step = at_step(state, command.step)
    if not isinstance(step.proof, ChooseProof):
        raise Refused(f"step {step.id} has no branch")
    option = next((o for o in step.proof.options if o.key == command.option), None)
    if option is None:
        raise Refused("choose one of: " + ", ".join(o.key for o in step.proof.options))
    if not _option_holds(state, option):
        facts = ", ".join(f"{cond.fact}: {state.facts.get(cond.fact, 'unknown')}" for cond in option.when)
        raise Refused(f"{option.key} does not apply here ({facts})")
    first = offered(state, step.proof)
    assert first is not None
    if option.key != first.key and command.reason is None:
        raise Refused(f"{first.key} comes first; to take {option.key} instead, give a reason")
    used = {cond.fact: state.facts.get(cond.fact, "unknown") for o in step.proof.options for cond in o.when}
    return (
        p.Chosen(
            step=step.id,
            option=option.key,
            offered=first.key,
            facts=used,
            reason=command.reason if option.key != first.key else None,
        ),
    )


def _part_ended(state: JobState, part: Part) -> p.PartEnded:
    standings = [state.standing(step.id) for step in part.steps]
    return p.PartEnded(
        part=part.id,
        done=standings.count(Standing.DONE),
        skipped=standings.count(Standing.SKIPPED),
        not_applicable=standings.count(Standing.NOT_APPLICABLE),
    )


def _end_part(state: JobState, command: c.EndPart, now: c.Now) -> tuple[p.Payload, ...]:
    place = focus(state, now.run)
    if place.front is not Front.PART_END or place.part is None or place.part.id != command.part:
        raise Refused("this part is not finished yet")
    return (_part_ended(state, place.part),)


def _skip(state: JobState, command: c.Skip, _now: c.Now) -> tuple[p.Payload, ...]:
    step = current_step(state)
    if state.weighing is not None:
        raise Refused("a weighing is under way: close the cylinder valve and enter its weight")
    if step is None or step.id != command.step:
        raise Refused("only the current step can be skipped")
    if step.hold:
        raise Refused("this is a hold point: the work can't go on around it; do it, or break the job off")
    if isinstance(step.proof, Sign):
        raise Refused("a record without a signature is no record; sign, or break the job off")
    if state.waiting is not None:
        raise Refused("the wait is running; end it first")
    return (p.Skipped(step=step.id, reason=command.reason),)


def _redo(state: JobState, command: c.Redo, _now: c.Now) -> tuple[p.Payload, ...]:
    if state.weighing is not None or state.waiting is not None:
        raise Refused("finish what is running (a weighing or a wait) first")
    for part in state.path():
        for position, step in enumerate(part.steps):
            if step.id == command.step:
                if state.standing(step.id) not in {Standing.DONE, Standing.SKIPPED}:
                    raise Refused(f"step {step.id} has not been done yet")
                later = part.steps[position + 1 :]
                return (p.Redone(step=step.id, reason=command.reason, recheck=_doubtful(state, step, later)),)
    raise Refused(f"there is no step {command.step} on this path")


def _doubtful(state: JobState, step: Step, later: Sequence[Step]) -> tuple[str, ...]:
    """Later steps a redone one throws into doubt.

    Measurements of the same part, and every step that was ruled out by a fact the step sets.
    """
    fact = getattr(step.proof, "fact", None)
    doubtful = [
        other.id
        for other in later
        if state.standing(other.id) is Standing.DONE and isinstance(other.proof, Reading | Wait | Adjust)
    ]
    doubtful += [
        other.id
        for part in state.path()
        for other in part.steps
        if fact is not None
        and state.standing(other.id) is Standing.NOT_APPLICABLE
        and any(condition.fact == fact for condition in other.when)
    ]
    return tuple(doubtful)


def _entry(state: JobState, command: c.Correct) -> Entry:
    for entry in state.entries:
        if entry.seq == command.of_seq and entry.channel == command.channel:
            return entry
    raise Refused(f"event {command.of_seq} has no entry {command.channel} to correct")


def _correct(state: JobState, command: c.Correct, _now: c.Now) -> tuple[p.Payload, ...]:
    entry = _entry(state, command)
    if entry.value.si == command.new.si:
        raise Refused("the new value is the old one")
    if entry.value.channel != command.new.channel:
        raise Refused("a correction keeps its channel")
    return (
        p.Corrected(
            step=entry.step,
            of_seq=entry.seq,
            channel=entry.channel,
            old=entry.value,
            new=command.new,
            moved_kg=moved_after(state, entry, command.new),
            reason=command.reason,
        ),
    )


def _note(state: JobState, command: c.Note, _now: c.Now) -> tuple[p.Payload, ...]:
    return (p.Noted(step=focus_step_id(state), text=command.text, late=command.late, photo=command.photo),)


def _pause(_state: JobState, command: c.Pause, _now: c.Now) -> tuple[p.Payload, ...]:
    return (p.Paused(reason=command.reason),)


def _hand_over(state: JobState, command: c.HandOver, _now: c.Now) -> tuple[p.Payload, ...]:
    if command.to == state.present:
        raise Refused("the job is yours already")
    return (p.HandedOver(to=command.to, reason=command.reason),)


def _resume(state: JobState, command: c.Resume, now: c.Now) -> p.Resumed:
    if not state.paused and state.run == now.run:
        raise Refused("the job is not at rest")
    if command.person.id != now.by:
        raise Refused("the job is resumed by the person at the keyboard")
    if state.handed_to is not None and state.handed_to != now.by:
        raise Refused(f"the job was handed over to {state.handed_to}, who resumes it")
    if refrigerant_may_move(state) and command.check is None:
        raise Refused(
            "refrigerant may have moved while nobody watched: give the cylinder, its weight now and its valve"
        )
    away = elapsed(state.last_at or now.stamp, now.stamp)
    after: Literal["pause", "stop", "hand-over"] = "pause" if state.paused else "stop"
    if state.handed_to:
        after = "hand-over"
    return p.Resumed(
        run=now.run,
        person=command.person,
        after=after,
        away_s=int(away.seconds),
        vouched=away.vouched,
        check=command.check,
        unexplained_kg=unexplained(state, command.check),
    )


def _abort(state: JobState, command: c.Abort, _now: c.Now) -> tuple[p.Payload, ...]:
    if state.aborted:
        raise Refused("the job is broken off already; finish its safe-state steps")
    return (p.Aborted(reason=command.reason),)


def _show_customer(state: JobState, command: c.ShowCustomer, now: c.Now) -> tuple[p.Payload, ...]:
    if focus(state, now.run).front is not Front.CUSTOMER:
        raise Refused("the customer's acknowledgement comes when the work is done, before the signature")
    if (command.how == "acknowledged") != (command.name is not None):
        raise Refused("an acknowledgement carries the customer's typed name; the other answers carry none")
    return (p.CustomerSaw(how=command.how, name=command.name),)


def _sign_off(state: JobState, command: c.SignOff, now: c.Now) -> tuple[p.Payload, ...]:
    place = focus(state, now.run)
    if place.front not in {Front.SIGN, Front.AMEND}:
        raise Refused("the work is not finished: sign when every step is settled")
    if command.certificate_sha256 != state.people[state.present].certificate_sha256:
        raise Refused("that is not the signing key this job was taken up with")
    meaning = "broken off; left in a safe state" if state.aborted else "did the work and stands by the record"
    if state.amending:
        meaning = "amended the record"
    elif place.step is not None and isinstance(place.step.proof, Sign):
        meaning = place.step.proof.meaning
    signed = p.Signed(
        step=place.step.id if place.step else ABORT_SIGN_STEP,
        person=state.present,
        name=command.name,
        meaning=meaning,
        certificate_sha256=command.certificate_sha256,
    )
    payloads: list[p.Payload] = [signed]
    after = apply(state, signed, now.stamp, state.last_seq + 1, now.by)
    if place.part is not None:
        payloads.append(_part_ended(after, place.part))
    kinds = [payload.KIND for payload in payloads] + [p.Closed.KIND]
    counts = dict(state.counts)
    for kind in kinds:
        counts[kind] = counts.get(kind, 0) + 1
    payloads.append(p.Closed(outcome="aborted" if state.aborted else "complete", counts=counts))
    return tuple(payloads)


_HANDLERS: dict[type[Any], Callable[[JobState, Any, c.Now], tuple[p.Payload, ...]]] = {
    c.Acknowledge: _acknowledge,
    c.Answer: _answer,
    c.Read: _read,
    c.BeginWait: _begin_wait,
    c.EndWait: _end_wait,
    c.BeginWeigh: begin_weigh,
    c.EndWeigh: end_weigh,
    c.EndWeighing: end_weighing,
    c.EndAdjust: end_adjust,
    c.Choose: _choose,
    c.EndPart: _end_part,
    c.Skip: _skip,
    c.Redo: _redo,
    c.Correct: _correct,
    c.Note: _note,
    c.Pause: _pause,
    c.HandOver: _hand_over,
    c.Abort: _abort,
    c.ShowCustomer: _show_customer,
    c.SignOff: _sign_off,
}
