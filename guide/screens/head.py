"""Where am I: job, place, procedure, clock; the parts of the work and how many steps are done. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from guide.job.focus import Focus
from guide.job.state import SETTLED, JobState, Standing, current_step, holds
from guide.journal.event import Stamp
from guide.procedure.model import Part, Procedure, Step
from guide.screens import say
from guide.screens.paint import (
    Line,
    Lines,
    Role,
    Span,
    clean,
    line,
    quiet,
    rule,
    shorten,
    spread,
    strong,
    width_of,
)

MARKS = {
    Standing.TODO: "·",
    Standing.DONE: "✓",
    Standing.SKIPPED: "-",
    Standing.NOT_APPLICABLE: " ",
    Standing.RECHECK: "!",
}
"""Marks of a step, each explained where it stands by its place or a word beside it."""


WIDE = 110
"""From here on the procedure's whole identity stands in the head; below, it is one key away."""


def identity_words(procedure: Procedure) -> str:
    """Which text is followed: id, revision, the day it was approved, the beginning of its hash."""
    return (
        f"{clean(procedure.id)} rev {clean(procedure.revision)}, approved {clean(procedure.approved_on)}, "
        f"SHA-256 {procedure.sha256[:8]}"
    )


def head(state: JobState, focus: Focus, now: Stamp, width: int) -> Lines:
    """Two lines and a rule, or one line and a rule on a narrow terminal."""
    nature = state.opened.nature if state.opened else state.order.nature
    if width < 70:
        step = focus.step.id if focus.step else ""
        done, of = counted(state)
        left = line(strong(f" {state.job}"), f" {step}", quiet(f" {done}/{of}"))
        badge = line(Span(f" {nature[:8].upper()} ", Role.PRACTICE), " ") if nature != "real" else ()
        return (spread(left, (*badge, Span(f"{say.clock(now, seconds=False)} ")), width), rule(width))
    procedure = state.procedure
    identity = f" rev {clean(procedure.revision)} {procedure.sha256[:4]}   "
    if width >= WIDE:
        identity = f"  {shorten(identity_words(procedure), width - 38)}   "
    right: Line = (quiet(identity), Span(f"{say.clock(now)} "))
    room = width - width_of(right) - 14 if width >= WIDE else width - 52
    place = shorten(clean(say.title_of(state.order)), max(20, room))
    left = line(strong(f" {state.job}"), f"  {place}  ")
    room = width - width_of(left) - width_of(right) - 1
    title = quiet(shorten(clean(procedure.title), room)) if room > 8 else Span("")
    badge = line(Span(f" {nature.upper()} ", Role.PRACTICE), " ") if nature != "real" else ()
    return (spread(left, (title, *right), width), parts_line(state, width, badge), rule(width))


def counted(state: JobState) -> tuple[int, int]:
    """Steps settled, of the steps that apply on this path as far as the facts are known."""
    steps = [
        step
        for part in state.path()
        for step in part.steps
        if state.standing(step.id) is not Standing.NOT_APPLICABLE
        and (holds(state, step) or state.standing(step.id) in SETTLED)
    ]
    return sum(state.standing(step.id) in SETTLED for step in steps), len(steps)


def parts_line(state: JobState, width: int, badge: Line = ()) -> Line:
    """The parts with their marks; far ones give up their names where room is short."""
    done, of = counted(state)
    right: Line = (quiet(f"{done} of {of} done "), *badge)
    path = state.path()
    now = current_position(state)
    for named in (len(path), 3, 2, 1, 0):
        left = _parts(state, path, now, named)
        if width_of(left) + width_of(right) < width:
            break
    return spread(left, right, width)


def _parts(state: JobState, path: Sequence[Part], now: int, named: int) -> Line:
    spans: list[Span] = [Span(" ")]
    for position, part in enumerate(path):
        ended = part.id in state.ended_parts
        mark = "✓" if ended else "▶" if position == now else "·"
        if position == now:
            spans.append(strong(f"{mark} {clean(part.title).upper()}  "))
        elif abs(position - now) <= named:
            spans.append(Span(f"{mark} {clean(part.title)}  ", Role.PLAIN if ended else Role.QUIET))
        else:
            spans.append(quiet(f"{mark} "))
    return tuple(spans)


def current_position(state: JobState) -> int:
    """Which part of the path the work stands in; one past the last when all are ended."""
    path = state.path()
    step = current_step(state)
    for position, part in enumerate(path):
        if step in part.steps or (step is None and part.id not in state.ended_parts):
            return position
    return len(path)


def step_list(state: JobState, here: str, width: int, height: int) -> Lines:
    """The steps of the path with their marks, the current one in sight; for wide terminals."""
    rows: list[Line] = []
    at = 0
    now = current_position(state)
    for position, part in enumerate(state.path()):
        rows.append(line(strong(shorten(clean(part.title), width))))
        for step in part.steps:
            if step.id == here or (position == now and step is part.steps[0]):
                at = len(rows)
            rows.append(_step_line(state, step, width, here=step.id == here))
    start = max(0, min(at - height // 2, len(rows) - height))
    return tuple(rows[start : start + height])


def _step_line(state: JobState, step: Step, width: int, *, here: bool) -> Line:
    standing = state.standing(step.id)
    applies = holds(state, step) and standing is not Standing.NOT_APPLICABLE
    mark = "▶" if here else MARKS[standing]
    words = clean(step.do) if applies else "does not apply"
    text = shorten(f"{mark} {step.id:<5}{words}", width)
    if here:
        return line(strong(text))
    return line(quiet(text)) if standing is Standing.TODO or not applies else line(text)
