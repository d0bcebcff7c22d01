"""Rules for the logic of a procedure: every step can be reached, decided and left.

A condition is judged on sets of values: what the procedure applies to, what earlier steps can have
answered. So an impossible condition shows at the desk and not on the roof.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from guide.procedure.facts import FACTS
from guide.procedure.model import (
    Adjust,
    Choose,
    Condition,
    Confirm,
    Procedure,
    Sign,
    Step,
)
from guide.procedure.strict_yaml import Path
from guide.procedure.wording import Complaint, steps_with_paths, texts_of

STEP_NUMBER: Final = re.compile(r"\bsteps? ([0-9A]+\.[0-9]+)", re.IGNORECASE)
"""Words that point to another step by its number."""


@dataclass(frozen=True, slots=True)
class _Known:
    """What may be true of a fact: its possible values (none: any text), and when it is set at all."""

    values: frozenset[str]
    given: tuple[Condition, ...] = ()
    by_step: str = ""


def _facts_of_order(procedure: Procedure) -> dict[str, _Known]:
    """The order's facts, narrowed by what the procedure applies to."""
    known = {name: _Known(frozenset(fact.values)) for name, fact in FACTS.items()}
    for condition in procedure.applies:
        if condition.fact in known:
            known[condition.fact] = _Known(_narrowed(known[condition.fact].values, condition))
    return known


def _narrowed(values: frozenset[str], condition: Condition) -> frozenset[str]:
    named = frozenset(condition.values)
    if condition.negated:
        return values - named
    return values & named if values else named


def _facts_along(procedure: Procedure) -> Iterator[tuple[Path, Step, Mapping[str, _Known]]]:
    """Each step with what can be known when it begins. The abort path knows the order's facts only."""
    of_order = _facts_of_order(procedure)
    known = dict(of_order)
    for path, part, step in steps_with_paths(procedure):
        on_abort = part is procedure.on_abort
        yield path, step, of_order if on_abort else known
        if not on_abort:
            name, values = _set_by(step)
            if name:
                known[name] = _Known(values, step.when, step.id)


def _set_by(step: Step) -> tuple[str, frozenset[str]]:
    if isinstance(step.proof, Choose):
        return step.proof.fact, frozenset(option.key for option in step.proof.options)
    if isinstance(step.proof, Confirm) and step.proof.fact is not None:
        return step.proof.fact, frozenset(step.proof.accept)
    return "", frozenset()


def _conditions(
    path: Path, step: Step
) -> Iterator[tuple[Path, tuple[Condition, ...], tuple[Condition, ...]]]:
    """The condition lists of a step with the conditions that hold around them."""
    yield (*path, "when"), step.when, ()
    if isinstance(step.proof, Choose):
        for at, option in enumerate(step.proof.options):
            yield (*path, "choose", "options", at, "when"), option.when, step.when


def facts_can_be_known(procedure: Procedure) -> Iterator[Complaint]:
    """A condition refers to a fact of the order, or to one that an earlier step has set for certain."""
    for at, condition in enumerate(procedure.applies):
        if condition.fact not in FACTS:
            yield ("applies", at), f"fact '{condition.fact}' comes with no order; known: {', '.join(FACTS)}"
    for path, step, known in _facts_along(procedure):
        for place, conditions, around in _conditions(path, step):
            for at, condition in enumerate(conditions):
                fact = known.get(condition.fact)
                if fact is None:
                    yield (
                        (*place, at),
                        f"fact '{condition.fact}' can't be known at step {step.id}; "
                        "name a fact of the order, or one an earlier step sets",
                    )
                elif not _implied(fact.given, (*conditions, *around)):
                    yield (
                        (*place, at),
                        f"fact '{condition.fact}' is set by step {fact.by_step}, which may not be worked; "
                        f"repeat the conditions of {fact.by_step} here",
                    )


def _implied(given: Iterable[Condition], here: tuple[Condition, ...]) -> bool:
    return all(any(_implies(one, wanted) for one in here) for wanted in given)


def _implies(one: Condition, wanted: Condition) -> bool:
    if one.fact != wanted.fact or one.negated != wanted.negated:
        return False
    mine, theirs = set(one.values), set(wanted.values)
    return theirs <= mine if one.negated else mine <= theirs


def values_exist(procedure: Procedure) -> Iterator[Complaint]:
    """A condition names values that the fact can have, letter for letter."""
    full = {name: _Known(frozenset(fact.values)) for name, fact in FACTS.items()}
    yield from _strange_values(("applies",), procedure.applies, full)
    for path, step, known in _facts_along(procedure):
        for place, conditions, _ in _conditions(path, step):
            at_step = {**known, **full}
            yield from _strange_values(place, conditions, at_step)


def _strange_values(
    place: Path, conditions: tuple[Condition, ...], known: Mapping[str, _Known]
) -> Iterator[Complaint]:
    for at, condition in enumerate(conditions):
        fact = known.get(condition.fact)
        if fact is None or not fact.values:
            continue
        for value in condition.values:
            if value not in fact.values:
                yield (
                    (*place, at),
                    f"'{value}' is no value of '{condition.fact}'; it has: {', '.join(sorted(fact.values))}",
                )


def steps_can_be_reached(procedure: Procedure) -> Iterator[Complaint]:
    """No step or option waits for something that can't be."""
    for path, step, known in _facts_along(procedure):
        if not _possible(step.when, known):
            yield (*path, "when"), f"step {step.id} can never be reached; correct its conditions or remove it"
        if not isinstance(step.proof, Choose):
            continue
        always = ""
        for at, option in enumerate(step.proof.options):
            place = (*path, "choose", "options", at)
            if always:
                yield (
                    place,
                    f"option '{option.key}' of step {step.id} is never offered: '{always}' before it always "
                    "applies; put the option without conditions last",
                )
            elif not _possible((*step.when, *option.when), known):
                yield (
                    place,
                    f"option '{option.key}' of step {step.id} can never apply; correct its conditions",
                )
            if not option.when:
                always = always or option.key


def _possible(conditions: tuple[Condition, ...], known: Mapping[str, _Known]) -> bool:
    left: dict[str, frozenset[str]] = {}
    for condition in conditions:
        fact = known.get(condition.fact)
        if fact is None:
            continue  # told by facts_can_be_known
        if not fact.values and (condition.negated or condition.fact not in left):
            if not condition.negated:
                left[condition.fact] = frozenset(condition.values)
            continue
        left[condition.fact] = _narrowed(left.get(condition.fact, fact.values), condition)
        if not left[condition.fact]:
            return False
    return True


def choices_have_a_fallback(procedure: Procedure) -> Iterator[Complaint]:
    """The last option of a branch always applies, so that there is always a way on; keys are unique."""
    for path, _, step in steps_with_paths(procedure):
        if not isinstance(step.proof, Choose):
            continue
        options = step.proof.options
        if options[-1].when:
            yield (
                (*path, "choose", "options", len(options) - 1),
                f"step {step.id} has no fallback; let the last option stand without 'when'",
            )
        if len({option.key for option in options}) != len(options):
            yield (*path, "choose", "options"), f"two options of step {step.id} have one key; rename one"


def ids_follow_the_parts(procedure: Procedure) -> Iterator[Complaint]:
    """Part 4 has steps 4.1, 4.2, ... without gaps, the abort path A.1, A.2, ...; part names are unique."""
    seen: set[str] = set()
    parts = [(("parts", at), str(at + 1), part) for at, part in enumerate(procedure.parts)]
    for place, prefix, part in [*parts, (("on_abort",), "A", procedure.on_abort)]:
        if part.id in seen:
            yield (*place, "id"), f"part '{part.id}' stands twice; give each part a name of its own"
        seen.add(part.id)
        for at, step in enumerate(part.steps):
            wanted = f"{prefix}.{at + 1}"
            if step.id != wanted:
                yield (*place, "steps", at, "id"), f"step '{step.id}' stands where {wanted} belongs; renumber"


def references_exist(procedure: Procedure) -> Iterator[Complaint]:
    """Words that point to a step by its number point to one that exists."""
    ids = {step.id for _, _, step in steps_with_paths(procedure)}
    for path, _, step in steps_with_paths(procedure):
        for place, text in texts_of(step):
            for number in STEP_NUMBER.findall(text):
                if number not in ids:
                    yield (
                        (*path, *place),
                        f"step {step.id} points to step {number}, which is none; correct it",
                    )


def facts_are_set_once(procedure: Procedure) -> Iterator[Complaint]:
    """A step's fact has a name of its own: it hides no fact of the order and none of an earlier step."""
    seen: dict[str, str] = {}
    for path, _, step in steps_with_paths(procedure):
        name, _values = _set_by(step)
        if not name:
            continue
        if name in FACTS:
            yield path, f"step {step.id} sets '{name}', a fact of the order; choose another name"
        elif name in seen:
            yield path, f"step {step.id} sets '{name}' again, first set by {seen[name]}; choose another name"
        seen.setdefault(name, step.id)


def ends_with_a_signature(procedure: Procedure) -> Iterator[Complaint]:
    """The last step of the work is the signature, and there is only one; the abort path has none."""
    *before, (last_path, _, last) = [
        entry for entry in steps_with_paths(procedure) if entry[1] is not procedure.on_abort
    ]
    if not isinstance(last.proof, Sign) or last.when:
        yield last_path, f"the last step {last.id} is no signature for every case; end with one 'sign' step"
    for path, _, step in before:
        if isinstance(step.proof, Sign):
            yield path, f"step {step.id} signs before the end; keep one signature, the last step"
    for number, step in enumerate(procedure.on_abort.steps):
        if isinstance(step.proof, Sign | Adjust):
            yield ("on_abort", "steps", number), f"step {step.id} has no place on the abort path; remove it"
