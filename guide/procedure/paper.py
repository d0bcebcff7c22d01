"""The paper copy of a procedure: the same words with blanks, for the day the battery dies."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from guide.procedure.model import (
    Adjust,
    ChangeLimit,
    ChannelAsk,
    Choose,
    Confirm,
    Limit,
    OrderFigure,
    Part,
    Procedure,
    Proof,
    Reading,
    Sign,
    Step,
    Wait,
    Weigh,
)
from guide.procedure.phrase import (
    change_words,
    condition_words,
    duration_words,
    entry_words,
    figure_words,
    limit_words,
)

WIDTH = 78
_BLANK = "________"
_ROUNDS_ON_PAPER = 4
_WEIGHINGS_ON_PAPER = 3


def to_text(procedure: Procedure) -> str:
    """The whole procedure as plain text, at most 78 columns: hazards before each step, blanks, initials."""
    lines = [*_head(procedure)]
    for number, part in enumerate(procedure.parts, start=1):
        lines += _part(part, str(number))
    lines += _part(procedure.on_abort, "A")
    lines += ["", "SOURCES"]
    for key, text in procedure.sources:
        lines += _wrapped(f"{key}: ", text)
    lines += ["", f"{procedure.id}, revision {procedure.revision}, sha256 {procedure.sha256[:16]}"]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _head(procedure: Procedure) -> Iterator[str]:
    yield procedure.title.upper()
    yield f"{procedure.id}, revision {procedure.revision}, file {procedure.sha256[:16]}"
    if procedure.status == "approved":
        yield from _wrapped("Approved: ", f"{procedure.approved_on}, {procedure.approved_by}")
    else:
        yield "DRAFT - not approved"
    yield ""
    yield f"Job {_BLANK}{_BLANK}  Date {_BLANK}{_BLANK}  Technician {_BLANK}{_BLANK}"
    yield ""
    yield "APPLIES ONLY TO"
    for condition in procedure.applies:
        yield from _wrapped("  - ", condition_words(condition))
    yield ""
    yield "AT HAND BEFORE THE FIRST STEP"
    for need in procedure.needs:
        yield from _wrapped("  [ ] ", need)
    for entry in procedure.needs_order:
        yield from _wrapped("  [ ] ", f"In the order: {entry_words(entry)}")
    yield ""
    yield from _wrapped(
        "",
        "Values are copied into the program afterwards as copied from paper, with both times. Hazards stand "
        "before their step. A step marked HOLD is neither skipped nor bypassed.",
    )


def _part(part: Part, number: str) -> Iterator[str]:
    yield ""
    yield "=" * WIDTH
    yield f"{number}  {part.title.upper()}"
    for step in part.steps:
        yield from _step(step)
    yield ""
    yield f"Part {number} ended: time {_BLANK}  initials {_BLANK}"


def _step(step: Step) -> Iterator[str]:
    yield ""
    if step.when:
        yield from _wrapped("  IF ", "; AND ".join(condition_words(one) for one in step.when) + ", THEN")
    for hazard in step.hazards:
        yield from _wrapped(f"  !! {hazard.word}: ", hazard.text)
    hold = "  HOLD" if step.hold else ""
    yield from _wrapped(f"{step.id:<6}[ ] ", step.do + hold)
    if step.why:
        yield from _wrapped("         why: ", step.why)
    for line in _blanks(step.proof):
        yield from _wrapped("         ", line)
    yield f"         time {_BLANK}  initials {_BLANK}"


def _blanks(proof: Proof) -> Iterator[str]:
    match proof:
        case Confirm():
            yield proof.ask
            for answer in proof.accept:
                yield f"( ) {answer}"
            for answer in proof.refuse:
                yield f"( ) {answer}  -> STOP"
            if proof.refuse:
                yield f"STOP means: {proof.if_refused}"
        case Reading():
            yield from _values(proof.channels, _BLANK)
            yield from _limits(proof.limits)
        case Wait():
            yield f"At least {duration_words(proof.at_least_s)}.  Begin {_BLANK}  end {_BLANK}"
            yield from _values(proof.channels, f"begin {_BLANK}  end {_BLANK}")
            yield from _limits(proof.limits)
            yield from _changes(proof.changes)
        case Weigh():
            yield from _weighings(proof)
        case Adjust():
            tolerance = f" Tolerance {proof.tolerance.typed}." if proof.tolerance is not None else ""
            yield f"By {proof.method}.{tolerance} Wait {duration_words(proof.settle_s)} after each move."
            yield from _values(proof.channels, "  ".join([_BLANK] * _ROUNDS_ON_PAPER))
            for what in (proof.method.capitalize(), "Target", "Weight before", "Weight after"):
                yield f"{what}: {'  '.join([_BLANK] * _ROUNDS_ON_PAPER)}"
        case Choose():
            yield f"{proof.ask} The first that applies:"
            for option in proof.options:
                facts = "; AND ".join(condition_words(one) for one in option.when)
                yield f"( ) {option.key}: {option.text}" + (f"  (IF {facts})" if facts else "")
            yield f"Another one, because {_BLANK}{_BLANK}{_BLANK}"
        case Sign():
            yield proof.meaning
            yield f"Name {_BLANK}{_BLANK}{_BLANK}  signature {_BLANK}{_BLANK}{_BLANK}"


def _weighings(proof: Weigh) -> Iterator[str]:
    way = "into the system" if proof.direction == "in" else "out of the system"
    yield f"Refrigerant {way}."
    if proof.target is not None:
        yield f"To move: {figure_words(proof.target)} {_BLANK}"
    for _ in range(_WEIGHINGS_ON_PAPER if proof.repeat else 1):
        yield f"Cylinder {_BLANK}  before {_BLANK}  after {_BLANK}  moved {_BLANK}"
    if proof.repeat:
        yield f"Moved in all {_BLANK}"


def _values(channels: tuple[ChannelAsk, ...], blank: str) -> Iterator[str]:
    for ask in channels:
        yield f"{ask.ask} [{ask.unit}]: {blank}"


def _limits(limits: tuple[Limit, ...]) -> Iterator[str]:
    for limit in limits:
        # what the order says is not known on paper
        blank = f" {_BLANK}" if isinstance(limit.value, OrderFigure) else ""
        yield f"Limit: {limit_words(limit)}{blank} ({limit.source})"


def _changes(changes: tuple[ChangeLimit, ...]) -> Iterator[str]:
    for change in changes:
        yield f"Limit: {change_words(change)} ({change.source}). Change {_BLANK}"


def _wrapped(start: str, text: str) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=start, subsequent_indent=" " * min(len(start), 20), break_long_words=True
    ) or [start]
