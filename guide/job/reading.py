"""Readings entered: at a step, in a round of the charging loop, at both ends of a timed hold."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from guide.job import commands as c
from guide.job import limits
from guide.job import payloads as p
from guide.job.assess import assess_now
from guide.job.elapsed import elapsed, in_words
from guide.job.focus import Refused, at_step
from guide.job.state import JobState, beyond_fails
from guide.procedure.model import Adjust, ChannelAsk, Reading, Wait


def _checked(
    state: JobState,
    asked: Sequence[ChannelAsk],
    readings: tuple[p.ReadingValue, ...],
    before: Mapping[str, p.ReadingValue] = MappingProxyType({}),
) -> tuple[p.ReadingValue, ...]:
    fault = (
        limits.missing(asked, readings)
        or limits.implausible(asked, readings, state.order.site_pressure_Pa, before)
        or limits.beyond_instrument(asked, readings, state.order)
    )
    if fault:
        raise Refused(fault)
    return readings


def read(state: JobState, command: c.Read, now: c.Now) -> tuple[p.Payload, ...]:
    """Readings of a step, or a round of the charging loop."""
    step = at_step(state, command.step)
    if isinstance(step.proof, Reading):
        readings = _checked(state, step.proof.channels, command.readings)
        verdicts = limits.verdicts(step.proof.limits, readings, state.order, strict=beyond_fails(state))
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


def begin_wait(state: JobState, command: c.BeginWait, _now: c.Now) -> tuple[p.Payload, ...]:
    """A timed hold begins."""
    step = at_step(state, command.step)
    if not isinstance(step.proof, Wait):
        raise Refused(f"step {step.id} is not a wait")
    if state.waiting is not None:
        raise Refused("the wait is running already")
    readings = _checked(state, step.proof.channels, command.readings)
    return (p.WaitBegun(step=step.id, at_least_s=step.proof.at_least_s, readings=readings),)


def end_wait(state: JobState, command: c.EndWait, now: c.Now) -> tuple[p.Payload, ...]:
    """A timed hold ends: after its time, or before it when it has clearly failed."""
    step = at_step(state, command.step)
    if not isinstance(step.proof, Wait) or state.waiting is None:
        raise Refused("no wait is running at this step; start it first")
    passed = elapsed(state.waiting.at, now.stamp)
    left = state.waiting.begun.at_least_s - passed.seconds
    if left > 0 and not (command.readings and (step.proof.limits or step.proof.changes)):
        raise Refused(f"{in_words(math.ceil(left))} of the wait are left")
    readings = _checked(state, step.proof.channels, command.readings)
    verdicts = limits.of_hold(
        step.proof, state.hold_start(), readings, state.order, strict=beyond_fails(state)
    )
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
