"""A value set right afterwards: the first one stays, and what was proven by it is judged again."""

from __future__ import annotations

from dataclasses import replace

from guide.job import commands as c
from guide.job import limits
from guide.job import payloads as p
from guide.job.doubt import doubtful
from guide.job.focus import Refused
from guide.job.state import Entry, JobState, Standing, beyond_fails
from guide.job.weighing import moved_after
from guide.procedure.model import ChannelAsk, Reading, Step, Wait


def correct(state: JobState, command: c.Correct, _now: c.Now) -> tuple[p.Payload, ...]:
    """The correction; and the step is to be done again where the new value does not meet its limit."""
    entry = _entry(state, command)
    if entry.value.si == command.new.si:
        raise Refused("the new value is the old one")
    if entry.value.channel != command.new.channel:
        raise Refused("a correction keeps its channel")
    corrected = p.Corrected(
        step=entry.step,
        of_seq=entry.seq,
        channel=entry.channel,
        old=entry.value,
        new=command.new,
        moved_kg=moved_after(state, entry, command.new),
        reason=command.reason,
    )
    step = _no_longer_proven(state, entry, command.new)
    if step is None:
        return (corrected,)
    if state.weighing is not None or state.waiting is not None:
        raise Refused(
            f"with that value step {step.id} is to be done again: finish what is running (a weighing or a "
            "wait) first"
        )
    return corrected, p.Redone(step=step.id, reason=command.reason, recheck=doubtful(state, step))


def _entry(state: JobState, command: c.Correct) -> Entry:
    for entry in state.entries:
        if entry.seq == command.of_seq and entry.channel == command.channel:
            return entry
    raise Refused(f"event {command.of_seq} has no entry {command.channel} to correct")


def _no_longer_proven(state: JobState, entry: Entry, new: p.ReadingValue) -> Step | None:
    """The step of an open job that was done by this value and is not with the new one, or None.

    What a reading fails already, nothing was proven by; an amendment changes no work.
    """
    if state.amending or not beyond_fails(state):
        return None
    step = next((step for part in state.path() for step in part.steps if step.id == entry.step), None)
    if step is None or state.standing(step.id) is not Standing.DONE:
        return None
    if not isinstance(step.proof, Reading | Wait):
        return None
    after = tuple(replace(each, value=new) if each is entry else each for each in state.entries)
    return None if _met(state, step, after) else step


def _met(state: JobState, step: Step, entries: tuple[Entry, ...]) -> bool:
    """Whether the values that a reading or hold was last done with meet its limits."""
    proof = step.proof
    assert isinstance(proof, Reading | Wait)
    seqs = sorted({entry.seq for entry in entries if entry.step == step.id})
    if not seqs or not (proof.limits or (isinstance(proof, Wait) and proof.changes)):
        return True
    end = _values(entries, seqs[-1], proof.channels)
    if isinstance(proof, Reading):
        verdicts = limits.verdicts(proof.limits, end, state.order)
    else:
        verdicts = limits.of_hold(proof, _values(entries, seqs[-2], proof.channels), end, state.order)
    return all(verdict.verdict != "fail" for verdict in verdicts)


def _values(
    entries: tuple[Entry, ...], seq: int, asked: tuple[ChannelAsk, ...]
) -> tuple[p.ReadingValue, ...]:
    channels = {ask.channel for ask in asked}
    return tuple(each.value for each in entries if each.seq == seq and each.channel in channels)
