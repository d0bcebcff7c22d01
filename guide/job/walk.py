"""The walk: which command may follow which state, and what it makes happen.

`decide` is pure: the same state, command and moment give the same events. It refuses in words a
person can act on; it never completes a step by itself.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, Literal

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.correcting import correct
from guide.job.doubt import doubtful
from guide.job.elapsed import elapsed
from guide.job.ending import abort, end_part, show_customer, sign_off
from guide.job.evolve import apply
from guide.job.focus import Refused, at_step
from guide.job.reading import begin_wait, end_wait, read
from guide.job.state import (
    SETTLED,
    JobState,
    Standing,
    current_step,
    focus_step_id,
    holds,
    refrigerant_may_move,
)
from guide.job.weighing import begin_weigh, end_adjust, end_weigh, end_weighing, unexplained
from guide.procedure.model import Choose as ChooseProof
from guide.procedure.model import Confirm, Option, Sign


def decide(state: JobState, command: c.Command, now: c.Now) -> tuple[p.Payload, ...]:
    """The events that a command makes happen.

    Raises:
        Refused: it can't be followed here; the message says what would do.
    """
    if isinstance(command, c.Open):
        return _open(state, command.opened, now)
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
    if state.stopped is not None:
        raise Refused("this run is over; begin the lesson again")
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


def _open(state: JobState, opened: p.Opened, now: c.Now) -> tuple[p.Payload, ...]:
    if state.opened is not None:
        raise Refused("this job is open already")
    if opened.lesson is not None and opened.nature == "real":
        raise Refused("real work is no run of a lesson; lessons belong to practice")
    _require_no_past_due(state, opened, now)
    return _with_not_applicable(state, (opened,), now)


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
        for step in part.steps:
            if step.id == command.step:
                if state.standing(step.id) not in {Standing.DONE, Standing.SKIPPED}:
                    raise Refused(f"step {step.id} has not been done yet")
                return (p.Redone(step=step.id, reason=command.reason, recheck=doubtful(state, step)),)
    raise Refused(f"there is no step {command.step} on this path")


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


def _practise(state: JobState, command: c.Practise, _now: c.Now) -> tuple[p.Payload, ...]:
    if state.opened is None or state.opened.lesson is None:
        raise Refused("that belongs to the run of a lesson; this job is none")
    return (command.practised,)


_HANDLERS: dict[type[Any], Callable[[JobState, Any, c.Now], tuple[p.Payload, ...]]] = {
    c.Acknowledge: _acknowledge,
    c.Answer: _answer,
    c.Read: read,
    c.BeginWait: begin_wait,
    c.EndWait: end_wait,
    c.BeginWeigh: begin_weigh,
    c.EndWeigh: end_weigh,
    c.EndWeighing: end_weighing,
    c.EndAdjust: end_adjust,
    c.Choose: _choose,
    c.EndPart: end_part,
    c.Skip: _skip,
    c.Redo: _redo,
    c.Correct: correct,
    c.Note: _note,
    c.Pause: _pause,
    c.HandOver: _hand_over,
    c.Abort: abort,
    c.ShowCustomer: show_customer,
    c.SignOff: sign_off,
    c.Practise: _practise,
}
