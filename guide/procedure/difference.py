"""What differs between two revisions of a procedure: steps added, removed, moved, changed, and in what.

A step is known again by its action line, wherever it stands; a step whose action line was reworded is
known by its likeness among the steps left over in the same part. A number that only follows from a step
added before is no change.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, fields
from difflib import SequenceMatcher
from enum import Enum
from typing import Final

from guide.procedure.model import (
    ChangeLimit,
    ChannelAsk,
    Condition,
    Hazard,
    Limit,
    Option,
    OrderFigure,
    Part,
    Procedure,
    Step,
)
from guide.procedure.phrase import ask_words, change_words, condition_words, figure_words, limit_words
from guide.units import Quantity

_ALIKE: Final = 0.6
"""From which likeness two action lines are the same step reworded (PROPOSED; 1 is the same text)."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One change: `kind` is added, removed, moved or changed; `where` a step's number or a key."""

    kind: str
    where: str
    what: str

    def __str__(self) -> str:
        return f"{self.kind:<8}{self.where:<16} {self.what}"


def differences(old: Procedure, new: Procedure) -> list[Difference]:
    """Every change from the old revision to the new one: the head first, then the steps in new order."""
    return [*_head(old, new), *_parts(old, new), *_steps(old, new)]


def _head(old: Procedure, new: Procedure) -> Iterator[Difference]:
    for name in ("id", "title", "revision", "status", "approved_on", "approved_by"):
        before, after = getattr(old, name), getattr(new, name)
        if before != after:
            yield Difference("changed", name.replace("_", " "), _from_to(before, after))
    for name in ("applies", "needs", "needs_order"):
        for kind, what in _list_changes(_words(getattr(old, name)), _words(getattr(new, name))):
            yield Difference(kind, name.replace("_", " "), what)
    before, after = dict(old.sources), dict(new.sources)
    for key in {**before, **after}:
        if key not in after:
            yield Difference("removed", "source", f"{key}: {before[key]}")
        elif key not in before:
            yield Difference("added", "source", f"{key}: {after[key]}")
        elif before[key] != after[key]:
            yield Difference("changed", "source", f"{key}: {_from_to(before[key], after[key])}")


def _parts(old: Procedure, new: Procedure) -> Iterator[Difference]:
    before = {part.id: part for part in (*old.parts, old.on_abort)}
    after = {part.id: part for part in (*new.parts, new.on_abort)}
    for name, part in before.items():
        if name not in after:
            yield Difference("removed", f"part {name}", part.title)
        elif part.title != after[name].title:
            yield Difference("changed", f"part {name}", f"title: {_from_to(part.title, after[name].title)}")
    for name, part in after.items():
        if name not in before:
            yield Difference("added", f"part {name}", part.title)
    kept = [name for name in before if name in after]
    if kept != [name for name in after if name in before]:
        order = ", ".join(name for name in after if name in before)
        yield Difference("moved", "parts", f"the parts that both have now come as: {order}")


_Placed = tuple[str, Step]


def _placed(procedure: Procedure) -> list[_Placed]:
    """Each step with the id of its part, the abort path last."""
    parts: tuple[Part, ...] = (*procedure.parts, procedure.on_abort)
    return [(part.id, step) for part in parts for step in part.steps]


def _steps(old: Procedure, new: Procedure) -> Iterator[Difference]:
    before, after = _placed(old), _placed(new)
    partner = _partners(before, after)
    in_order = _still_in_order(partner)
    for at, (part, step) in enumerate(after):
        was = partner.get(at)
        if was is None:
            yield Difference("added", step.id, step.do)
            continue
        old_part, old_step = before[was]
        where = step.id if step.id == old_step.id else f"{step.id} (was {old_step.id})"
        if part != old_part:
            yield Difference("moved", where, f"from part {old_part} to part {part}: {step.do}")
        elif at not in in_order:
            yield Difference("moved", where, step.do)
        for what in _step_changes(old_step, step):
            yield Difference("changed", where, what)
    taken = set(partner.values())
    for at, (_, step) in enumerate(before):
        if at not in taken:
            yield Difference("removed", step.id, step.do)


def _partners(before: list[_Placed], after: list[_Placed]) -> dict[int, int]:
    """Which old step each new one is: same words first, those of the same part before others."""
    partner: dict[int, int] = {}
    free = set(range(len(before)))

    def pair(*, by_part: bool) -> None:
        waiting: dict[object, list[int]] = defaultdict(list)
        for at in sorted(free):
            part, step = before[at]
            waiting[(part, step.do) if by_part else step.do].append(at)
        for at, (part, step) in enumerate(after):
            found = waiting[(part, step.do) if by_part else step.do] if at not in partner else []
            if found:
                partner[at] = found.pop(0)
                free.discard(partner[at])

    pair(by_part=True)
    pair(by_part=False)
    likenesses = sorted(
        (
            (_likeness(before[was][1], step), -at, -was)
            for at, (part, step) in enumerate(after)
            if at not in partner
            for was in free
            if before[was][0] == part
        ),
        reverse=True,
    )
    for likeness, at, was in likenesses:
        if likeness >= _ALIKE and -at not in partner and -was in free:
            partner[-at] = -was
            free.discard(-was)
    return partner


def _likeness(one: Step, other: Step) -> float:
    return SequenceMatcher(None, one.do, other.do, autojunk=False).ratio()


def _still_in_order(partner: dict[int, int]) -> set[int]:
    """The new steps that come one after another as they did: the longest such row."""
    before: dict[int, int] = {}  # the step ahead of each in the best row that ends with it
    ends: list[int] = []  # for each length of a row, the step with the smallest old place that ends one
    for at in sorted(partner):
        length = bisect_left(ends, partner[at], key=lambda end: partner[end])
        if length:
            before[at] = ends[length - 1]
        ends[length : length + 1] = [at]
    row: set[int] = set()
    last = ends[-1] if ends else None
    while last is not None:
        row.add(last)
        last = before.get(last)
    return row


def _step_changes(old: Step, new: Step) -> Iterator[str]:
    for name in ("do", "why", "hold"):
        before, after = getattr(old, name), getattr(new, name)
        if before != after:
            yield f"{name}: {_from_to(before, after)}"
    for name in ("hazards", "when"):
        yield from _field_changes(name, getattr(old, name), getattr(new, name))
    before, after = old.proof, new.proof
    if type(before) is not type(after):
        yield f"proof: {_from_to(_kind(before), _kind(after))}"
        return
    for field in fields(after):
        yield from _field_changes(
            f"{_kind(after)} {field.name}", getattr(before, field.name), getattr(after, field.name)
        )


def _field_changes(name: str, before: object, after: object) -> Iterator[str]:
    if before == after:
        return
    if isinstance(before, tuple) and isinstance(after, tuple):
        for kind, what in _list_changes(_words(before), _words(after)):
            yield f"{name}: {kind} {what}"
    else:
        yield f"{name}: {_from_to(_word(before), _word(after))}"


def _list_changes(before: list[str], after: list[str]) -> Iterator[tuple[str, str]]:
    """What came and went; where nothing did, the order."""
    gone = [each for each in before if each not in after]
    come = [each for each in after if each not in before]
    for each in gone:
        yield "removed", each
    for each in come:
        yield "added", each
    if not gone and not come and before != after:
        yield "moved", f"now: {'; '.join(after)}"


def _words(values: tuple[object, ...]) -> list[str]:
    return [_word(value) for value in values]


def _word(value: object) -> str:  # noqa: PLR0911 - one line for each thing a procedure is made of
    match value:
        case Condition():
            return condition_words(value)
        case Hazard():
            return f"{value.word}: {value.text}"
        case ChannelAsk():
            return ask_words(value)
        case Limit():
            return f"{limit_words(value)} ({value.source})"
        case ChangeLimit():
            return f"{change_words(value)} ({value.source})"
        case Option():
            facts = "; and ".join(condition_words(one) for one in value.when)
            return f"{value.key}: {value.text}" + (f" (if {facts})" if facts else "")
        case OrderFigure():
            return figure_words(value)
        case Quantity():
            return value.typed
        case Enum():
            return str(value.value)
        case None:
            return ""
        case _:
            return str(value)


def _kind(proof: object) -> str:
    return type(proof).__name__.lower()


def _from_to(before: object, after: object) -> str:
    return f"{_quoted(before)} -> {_quoted(after)}"


def _quoted(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f'"{value}"' if value != "" else "nothing"
