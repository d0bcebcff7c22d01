"""The middle of the sheet: what can hurt me, what do I do, what proves it. Pure.

`place` tries itself airy first and gives things up in a fixed order until it fits: blank lines, the
reason why, the full text of warnings already read, the fields that are not active. The warning that
is unread, the action and the active field never go.
"""

from __future__ import annotations

from dataclasses import dataclass

from guide.job.focus import Focus, Front
from guide.job.state import JobState, Standing
from guide.procedure.model import Adjust, HazardWord, Step
from guide.screens.asking import asked_lines, squeezed
from guide.screens.figures import advice
from guide.screens.filling import Filling
from guide.screens.hold import hold_lines
from guide.screens.measuring import measured_words
from guide.screens.mode import Mode, Turn
from guide.screens.paint import (
    BLANK,
    Line,
    Lines,
    Role,
    Span,
    clean,
    line,
    listed,
    paragraph,
    quiet,
    shorten,
    spread,
    strong,
    wrap,
)
from guide.screens.settings import Detail
from guide.screens.teaching import common_errors
from guide.screens.turn import changed_since_round

_ROLES = {
    HazardWord.DANGER: Role.DANGER,
    HazardWord.WARNING: Role.WARNING,
    HazardWord.CAUTION: Role.CAUTION,
    HazardWord.NOTICE: Role.NOTICE,
}
_TIGHTEST = 6


@dataclass(frozen=True, slots=True)
class Lead:
    """Paragraphs above the fields (a recap, a review), and how far they are scrolled."""

    words: tuple[str, ...] = ()
    top: int = 0


def place(
    state: JobState,
    focus: Focus,
    turn: Turn,
    filling: Filling,
    *,
    lead: Lead,
    width: int,
    height: int,
    detail: Detail = Detail.STANDARD,
    page: int = 0,
    meant: tuple[str, ...] = (),
) -> Lines:
    """The middle in exactly so many lines; a warning too long for them is shown page by page."""
    if focus.front is Front.HAZARD and focus.step is not None:
        pages = warning_pages(focus.step, focus.hazard or 0, width, height)
        if len(pages) > 1:
            shown = min(page, len(pages) - 1)
            return _one_page(focus.step, focus.hazard or 0, pages, shown, width=width, height=height)
    rows: Lines = ()
    for tight in range(_TIGHTEST + 1):
        above = _above(
            state, focus, turn, filling, width=width, height=height, tight=tight, detail=detail, meant=meant
        )
        room = height - len(above)
        below = asked_lines(turn, filling, width, room, tight=tight, tightest=_TIGHTEST)
        led = _led(lead, width, height - len(above) - len(below), whole=tight < _TIGHTEST)
        rows = (*above, *led, *below)
        if len(rows) <= height:
            break
    else:
        if focus.front in {Front.STEP, Front.WEIGHING}:
            rows = squeezed(above, turn, filling, width, height)
    return (*rows, *([BLANK] * (height - len(rows))))[:height]


def _above(
    state: JobState, focus: Focus, turn: Turn, filling: Filling, *, width: int, height: int, tight: int,
    detail: Detail, meant: tuple[str, ...],
) -> Lines:  # fmt: skip
    gap: Lines = (BLANK,) if tight == 0 else ()
    step = focus.step
    if focus.front is Front.HAZARD and step is not None:
        return _unread(step, focus.hazard or 0, width, gap, tight)
    if focus.front is Front.PART_END and focus.part is not None:
        return _part(state, focus, width, height, tight)
    if step is None or focus.front not in {Front.STEP, Front.WEIGHING}:
        return ()
    read = read_hazards(step, width, tight)
    rows: Lines = (*read, *(gap if read else ()), *action(step, width, tight))
    if detail is not Detail.SHORT:
        rows += why(step, width, tight)
    if detail is Detail.TEACHING and tight <= 1:
        rows += _taught(step, width)
    rows += _refused(state, step, width)
    rows += _measured(state, step, width, tight)
    rows += hold_lines(state, step, filling, width, tight)
    rows += _meant(meant, width, tight)
    if isinstance(step.proof, Adjust) and not changed_since_round(state, step.id):
        # at the tightest the call below says the same
        twice = tight >= 4 and turn.mode in {Mode.ADVISED_MOVE, Mode.WEIGH_END}
        told = () if twice else advice(state, step.id, width)
        brief = 4 if detail is Detail.SHORT else tight
        said = (*told, *_reasons(state, step, turn, width, brief, most=height // 2))
        rows += (*gap, *said) if said else ()
    return rows


def _led(lead: Lead, width: int, room: int, *, whole: bool) -> Lines:
    """The paragraphs; at the tightest cut to the room there is, with a word that they go on."""
    rows = tuple(row for words in lead.words for row in listed(clean(words), width))
    if whole or len(rows) <= room:
        return rows
    room = max(1, room)
    top = max(0, min(lead.top, len(rows) - room))
    shown = rows[top : top + room]
    if top + room < len(rows) and room > 1:
        shown = (*shown[:-1], line(quiet(f"   … {len(rows) - top - room + 1} more lines: PgDn")))
    return shown


def warning_pages(step: Step, at: int, width: int, height: int) -> tuple[tuple[str, ...], ...]:
    """A warning's text as pages of lines; one page where it fits with its badge and its call."""
    pieces = wrap(clean(step.hazards[at].text), width - (11 if width >= 60 else 1) - 2)
    least = _unread(step, at, width, (), _TIGHTEST)
    if len(least) <= height:
        return (pieces,)
    each = max(1, height - 2)
    return tuple(pieces[start : start + each] for start in range(0, len(pieces), each))


def _one_page(
    step: Step, at: int, pages: tuple[tuple[str, ...], ...], page: int, *, width: int, height: int
) -> Lines:
    """One page of a long warning; its end is reached before it counts as read."""
    column = " " * (11 if width >= 60 else 1)
    badge = _badge(step.hazards[at].word, width)
    top = line(" ", badge, quiet(f" {step.id}, page {page + 1} of {len(pages)}"))
    last = page + 1 == len(pages)
    call = "Read it, then Enter." if last else "It goes on: Enter or PgDn."
    rows = (top, *(line(column, strong(piece)) for piece in pages[page]), line(column, call))
    return (*rows, *([BLANK] * (height - len(rows))))[:height]


def _taught(step: Step, width: int) -> Lines:
    """For somebody who learns: what is easily done wrong here."""
    stand = 7 if width >= 60 else 1
    return tuple(
        row
        for words in common_errors(step)[:3]
        for row in paragraph(f"easily wrong: {words}", width, indent=stand, hang=stand + 2, role=Role.QUIET)
    )


def _badge(word: HazardWord, width: int) -> Span:
    return Span(f" {word.value} " if width < 60 else f" {word.value:<8}", _ROLES[word])


def _unread(step: Step, at: int, width: int, gap: Lines, tight: int) -> Lines:
    """The warning that has to be read now; the action is named but stands back until then."""
    rows: list[Line] = list(read_hazards(step, width, tight, before=at))
    rows += gap
    hazard = step.hazards[at]
    column = 11 if width >= 60 else 1
    badge = _badge(hazard.word, width)
    pieces = wrap(clean(hazard.text), width - column - 2)
    if width >= 60:
        rows.append(line(" ", badge, " ", strong(pieces[0])))
        rows += [line(" " * column, strong(piece)) for piece in pieces[1:]]
    else:
        rows.append(line(badge))
        rows += [line(" ", strong(piece)) for piece in pieces]
    of = f" ({at + 1} of {len(step.hazards)})" if len(step.hazards) > 1 else ""
    call = f"Read it{of}. Enter says that you did." if width >= 60 else f"Read it{of}, then Enter."
    rows += [*gap, line(" " * column, call), *gap, *gap]
    then = f"then {step.id}  {clean(step.do)}"
    rows += paragraph(then, width, indent=1, hang=7, role=Role.QUIET)
    return tuple(rows)


def read_hazards(step: Step, width: int, tight: int, before: int | None = None) -> Lines:
    """Warnings that were read: they stay in sight above the action."""
    hazards = step.hazards if before is None else step.hazards[:before]
    if not hazards:
        return ()
    if tight >= 5:
        words = dict.fromkeys(hazard.word for hazard in hazards)
        badges = [span for word in words for span in (_badge(word, 40), Span(" "))]
        return (line(" ", *badges, quiet("read ✓")),)
    rows: list[Line] = []
    for hazard in hazards:
        badge = _badge(hazard.word, width)
        room = width - len(badge.text) - 10
        pieces = wrap(clean(hazard.text), room)
        if tight >= 3:
            pieces = (shorten(clean(hazard.text), room),)
        rows.append(spread(line(" ", badge, f" {pieces[0]}"), line(quiet("read ✓ ")), width))
        rows += [line(" " * (len(badge.text) + 2), piece) for piece in pieces[1:]]
    return tuple(rows)


def action(step: Step, width: int, tight: int = 0) -> Lines:
    """The step's number and its one action."""
    hold = line(strong("HOLD POINT ")) if step.hold else ()
    if width < 60 and tight >= 4:
        words = f"{step.id} {clean(step.do)}"
        return paragraph(f"HOLD {words}" if step.hold else words, width, role=Role.STRONG)
    if width < 60:
        rows = paragraph(f"{step.id} {clean(step.do)}", width, role=Role.STRONG)
        return (hold, *rows) if step.hold else rows
    pieces = wrap(clean(step.do), width - 8 - (12 if step.hold else 0))
    first = spread(line(" ", strong(f"{step.id:<6}"), strong(pieces[0])), hold, width)
    return (first, *(line(" " * 7, strong(piece)) for piece in pieces[1:]))


def why(step: Step, width: int, tight: int) -> Lines:
    """Why the step is done, as much of it as there is room for."""
    if not step.why or tight >= 3:
        return ()
    stand = 7 if width >= 60 else 1
    rows = paragraph(f"why: {clean(step.why)}", width, indent=stand, hang=stand + 5, role=Role.QUIET)
    if tight == 2 and len(rows) > 1:
        only = wrap(f"why: {clean(step.why)}", width - stand - 9)[0]
        return (line(" " * stand, quiet(f"{only} …")),)
    return rows


def _refused(state: JobState, step: Step, width: int) -> Lines:
    """What was answered here and keeps the step open, and what would do."""
    answered = state.answers.get(step.id)
    if answered is None or answered.accepted or state.standing(step.id) is not Standing.TODO:
        return ()
    advice_words = getattr(step.proof, "if_refused", "")
    words = f"You saw: {clean(answered.seen)}. {clean(advice_words)}"
    return paragraph(words, width, indent=7 if width >= 60 else 1, role=Role.FAULT)


def _measured(state: JobState, step: Step, width: int, tight: int) -> Lines:
    """What the readings before this step come to: the figures that it asks about."""
    stand = 7 if width >= 60 else 1
    return tuple(
        line(" " * stand, strong(shorten(words, width - stand)))
        for words in measured_words(state, step, brief=width < 60 or tight >= 3)
    )


def _meant(sentences: tuple[str, ...], width: int, tight: int) -> Lines:
    """What a stream says of a hold or a pull-down so far: its headline, the rest where there is room."""
    if not sentences or tight >= _TIGHTEST:
        return ()
    stand = 7 if width >= 60 else 1
    if tight >= 3:
        return (line(" " * stand, strong(shorten(sentences[0], width - stand))),)
    rows = paragraph(sentences[0], width, indent=stand, hang=stand + 2, role=Role.STRONG)
    for words in sentences[1:] if tight < 2 else ():
        rows += paragraph(words, width, indent=stand, hang=stand + 2, role=Role.QUIET)
    return rows


def _reasons(state: JobState, step: Step, turn: Turn, width: int, tight: int, *, most: int) -> Lines:
    """Why the advice is what it is: the deciding reason, and of the others as many as there is room for."""
    if turn.mode not in {Mode.ADVISED_MOVE, Mode.SETTLE, Mode.LOOP_END} or not state.step_rounds(step.id):
        return ()
    reasons = state.step_rounds(step.id)[-1].read.assessment.reasons
    if not reasons or tight >= 4:
        return ()
    first = paragraph(clean(reasons[0]), width, indent=9, role=Role.QUIET)
    if tight >= 2:
        return first[:2]
    rows = first
    for reason in reasons[1:]:
        more = paragraph(clean(reason), width, indent=9, role=Role.QUIET)
        if tight == 1 and len(rows) + len(more) > most:
            break
        rows += more
    return rows


def _part(state: JobState, focus: Focus, width: int, height: int, tight: int) -> Lines:
    """The end of a part: its steps and how they stand."""
    assert focus.part is not None
    part = focus.part
    standings = [state.standing(step.id) for step in part.steps]
    counts = ", ".join(
        f"{standings.count(standing)} {words}"
        for standing, words in (
            (Standing.DONE, "done"),
            (Standing.SKIPPED, "skipped"),
            (Standing.NOT_APPLICABLE, "do not apply"),
        )
        if standings.count(standing)
    )
    rows = [line(strong(f" END OF PART  {clean(part.title)}"), quiet(f"   {counts}"))]
    if tight >= 4:
        return tuple(rows)
    shown = [
        (step, standing)
        for step, standing in zip(part.steps, standings, strict=True)
        if standing is not Standing.NOT_APPLICABLE
    ]
    room = max(0, height - 4)
    for step, standing in shown[-room:]:
        mark = {Standing.DONE: "✓", Standing.SKIPPED: "- skipped:"}.get(standing, "·")
        rows.append(line(f"   {mark} ", shorten(f"{step.id}  {clean(step.do)}", width - 16)))
    return tuple(rows)
