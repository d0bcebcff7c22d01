"""Which steps have to be worked again once an earlier one is done again."""

from __future__ import annotations

from collections.abc import Set as AbstractSet

from guide.job.state import JobState, Standing, named_rules
from guide.procedure.model import Adjust, Choose, Condition, Confirm, Reading, Step, Wait


def doubtful(state: JobState, step: Step) -> tuple[str, ...]:
    """The steps that redoing `step` throws into doubt.

    Measurements and hold points after it in its part; every branch taken on a fact that a doubtful step
    sets; every step that such a fact ruled out. The first rules of the walk knew of measurements only.
    """
    later = _after(state, step)
    if not named_rules(state):
        measured = [other.id for other in later if _measured(other) and _done(state, other)]
        return (*measured, *(other.id for other in _path(state) if _ruled_out(state, other, _sets(step))))
    again = {other.id for other in later if _done(state, other) and (_measured(other) or _seen(other))}
    while True:
        facts = {fact for other in _path(state) if other.id in {*again, step.id} for fact in _sets(other)}
        more = {
            other.id
            for other in _path(state)
            if other is not step and (_ruled_out(state, other, facts) or _branched_on(state, other, facts))
        }
        if more <= again:
            return tuple(other.id for other in _path(state) if other.id in again)
        again |= more


def _path(state: JobState) -> list[Step]:
    return [step for part in state.path() for step in part.steps]


def _after(state: JobState, step: Step) -> tuple[Step, ...]:
    part = next(part for part in state.path() if step in part.steps)
    return part.steps[part.steps.index(step) + 1 :]


def _done(state: JobState, step: Step) -> bool:
    return state.standing(step.id) is Standing.DONE


def _measured(step: Step) -> bool:
    return isinstance(step.proof, Reading | Wait | Adjust)


def _seen(step: Step) -> bool:
    return step.hold and isinstance(step.proof, Confirm)


def _sets(step: Step) -> frozenset[str]:
    fact = getattr(step.proof, "fact", None)
    return frozenset() if fact is None else frozenset({fact})


def _names(conditions: tuple[Condition, ...], facts: AbstractSet[str]) -> bool:
    return any(condition.fact in facts for condition in conditions)


def _ruled_out(state: JobState, step: Step, facts: AbstractSet[str]) -> bool:
    return state.standing(step.id) is Standing.NOT_APPLICABLE and _names(step.when, facts)


def _branched_on(state: JobState, step: Step, facts: AbstractSet[str]) -> bool:
    return (
        isinstance(step.proof, Choose)
        and _done(state, step)
        and any(_names(option.when, facts) for option in step.proof.options)
    )
