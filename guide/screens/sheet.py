"""The step sheet: a job's state as the lines of one screen. Pure.

From the top: where am I, what can hurt me, what do I do, what proves it, what was logged, what the
numbers say, the balance, the keys. Head, message, numbers and keys keep their places; the middle
gives way (see `guide.screens.place`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from guide.job.focus import Focus, Front
from guide.job.state import JobState, focus_step_id
from guide.journal.event import Stamp
from guide.procedure.model import Adjust
from guide.screens.chart import Picture, chart
from guide.screens.figures import balance, figures
from guide.screens.filling import Filling
from guide.screens.head import WIDE, head, step_list
from guide.screens.large import large_lines, shown_large
from guide.screens.looking import looked_at
from guide.screens.mode import Mode, Turn
from guide.screens.paint import (
    BLANK,
    Line,
    Lines,
    Role,
    Span,
    beside,
    clean,
    cut,
    line,
    paragraph,
    quiet,
    rule,
    strong,
    width_of,
)
from guide.screens.panel import Panel, panel_lines
from guide.screens.place import Lead, place, warning_pages
from guide.screens.settings import Detail
from guide.screens.small import LEAST_HEIGHT, LEAST_WIDTH, too_small

_LEFT = 78
_READ_ON = frozenset({Mode.CUSTOMER, Mode.SIGN, Mode.RESUME, Mode.CLOSED})
"""Where the page keys read on what stands above the fields."""
_SILENCE = Span("")
_NO_LEAD = Lead()
LOW = 16
"""Fewer lines than this, and every one of them counts."""


@dataclass(frozen=True, slots=True)
class View:
    """Everything the sheet shows."""

    state: JobState
    focus: Focus
    turn: Turn
    filling: Filling
    now: Stamp
    said: Span = _SILENCE
    """The last thing the program said: logged when, refused why."""
    lead: Lead = _NO_LEAD
    panel: Panel | None = None
    looking: str | None = None
    busy: str = ""
    playing: bool = False
    detail: Detail = Detail.STANDARD
    large: bool = False
    page: int = 0
    """Which page of a long warning."""
    elsewhere: str = ""
    """What other open jobs wait for."""
    weight_now: Decimal | None = None
    """What the scale says at this moment [kg], where a feed tells it."""
    meant: tuple[str, ...] = ()
    """What a stream says of a hold or a pull-down so far, its headline first."""
    drawn: Picture | None = None
    """A picture of readings in the place of the middle."""


def sheet(view: View, width: int, height: int) -> Lines:
    """The whole screen, exactly `height` lines of at most `width` cells."""
    if width < LEAST_WIDTH or height < LEAST_HEIGHT:
        return too_small(width, height)
    top = head(view.state, view.focus, view.now, width)
    if view.elsewhere:
        top = (*top[:-1], rule(width, view.elsewhere))
    bottom = _bottom(view, width, height)
    said = _said(view, width, height)
    room = height - len(top) - len(bottom) - len(said)
    if width >= WIDE:
        right = step_list(view.state, _here(view), width - _LEFT - 3, room)
        middle = beside(_middle(view, _LEFT, room), right, _LEFT, room)
    else:
        middle = _middle(view, width, room)
    return tuple(cut(row, width) for row in (*top, *middle, *said, *bottom))


def warning_left(view: View, width: int, height: int) -> int:
    """Pages of the warning in front that come after the one shown."""
    if view.focus.front is not Front.HAZARD or view.focus.step is None or width < LEAST_WIDTH:
        return 0
    room = height - sum(
        len(part)
        for part in (
            head(view.state, view.focus, view.now, width),
            _bottom(view, width, height),
            _said(view, width, height),
        )
    )
    pages = warning_pages(
        view.focus.step, view.focus.hazard or 0, min(width, _LEFT) if width >= WIDE else width, room
    )
    return max(0, len(pages) - 1 - view.page)


def _here(view: View) -> str:
    return view.looking or focus_step_id(view.state)


def _middle(view: View, width: int, room: int) -> Lines:
    if view.panel is not None:
        return panel_lines(view.panel, width, room)
    if view.drawn is not None:
        return _filled(chart(view.drawn, width, room), room)
    if view.looking is not None:
        return looked_at(view.state, view.looking, focus_step_id(view.state), width, room)
    if view.large:
        numbers = shown_large(view.state, view.focus.front, view.turn, view.weight_now)
        if numbers:
            rows = large_lines(view.state, view.turn, view.filling, numbers, width=width, height=room)
            if rows:
                return rows
    return place(
        view.state,
        view.focus,
        view.turn,
        view.filling,
        lead=view.lead,
        width=width,
        height=room,
        detail=view.detail,
        page=view.page,
        meant=view.meant,
    )


def _filled(rows: Lines, height: int) -> Lines:
    return (*rows, *([BLANK] * (height - len(rows))))[:height]


def _said(view: View, width: int, height: int) -> Lines:
    """The message line; a refusal may take three. A low window keeps no line for what is not said."""
    low = height < LOW
    if view.busy:
        return (line(strong(f" {view.busy}")),)
    if not view.said.text:
        return () if low else (BLANK,)
    return paragraph(clean(view.said.text), width, indent=1, hang=3, role=view.said.role)[: 2 if low else 3]


def _bottom(view: View, width: int, height: int) -> Lines:
    keys = keys_line(view, width)
    if height < 20 or width < 60:
        small: list[Line] = []
        if view.state.rounds and _numbers_matter(view) and height >= 16:
            small += figures(view.state, width)
        return (*small, rule(width), keys)
    shown = figures(view.state, width) if _numbers_matter(view) and not view.large else ()
    return (*shown, rule(width), balance(view.state, width), keys)


def _numbers_matter(view: View) -> bool:
    """Whether the newest round is what the person looks at now."""
    if view.focus.front in {Front.CUSTOMER, Front.SIGN, Front.AMEND, Front.WEIGHING}:
        return True
    return view.focus.step is not None and isinstance(view.focus.step.proof, Adjust)


def keys_line(view: View, width: int) -> Line:
    """The keys that do something now."""
    pairs: list[tuple[str, str]]
    if view.playing:
        pairs = [("any key", "take over")]
    elif view.panel is not None:
        panel = view.panel
        if panel.reads:
            pairs = [("Enter", "back"), ("↑↓", "read on")]
        else:
            pairs = [
                ("Enter", panel.accept),
                ("↑↓", "pick" if _picks(panel.filling) else "fields"),
                ("Esc", "back"),
            ]
    elif view.drawn is not None:
        pairs = [("Enter", "back"), ("↑↓", "next picture")]
    elif view.looking is not None:
        pairs = [("↑↓", "look further"), ("Enter", "back to your place")]
    else:
        pairs = _work_keys(view, width)
    return fitting_keys(pairs, width)


_SHORT = MappingProxyType(
    {
        "look around": "look", "fields, look around": "look", "look further": "look",
        "back to your place": "back", "next picture": "next", "take over": "take over",
    }
)  # fmt: skip
"""What a key's words become where there is no room; whatever Enter would do becomes "accept"."""


def fitting_keys(pairs: Sequence[tuple[str, str]], width: int) -> Line:
    """A line of keys; where room is short long words go first, then the keys between first and last."""
    short = [(key, words if len(words) <= 8 else _SHORT.get(words, "accept")) for key, words in pairs]
    least = [(short[0][0], "ok"), *short[1:]]
    row: Line = ()
    for shown, gap in (
        (list(pairs), "  "), (short, "  "), (short, " "), (least, " "), ([*short[:1], *short[-1:]], " "),
    ):  # fmt: skip
        spans = [
            span
            for key, words in shown
            for span in (Span(f" {key} ", Role.KEY), Span(f" {words}"), Span(gap))
        ]
        row = line(" ", *spans[:-1])
        if width_of(row) <= width:
            break
    return cut(row, width)


def _work_keys(view: View, width: int) -> list[tuple[str, str]]:
    filling, turn = view.filling, view.turn
    pairs: list[tuple[str, str]] = []
    if turn.accept:
        more = filling.asks and filling.at + 1 < len(filling.asks)
        pairs.append(("Enter", "next" if more else turn.accept))
    if view.lead.words and turn.mode in _READ_ON:
        pairs.append(("PgDn", "read on"))
    elif _picks(filling):
        pairs += [("↑↓", "pick"), ("←→", "look around")] if width >= 60 else [("↑↓", "pick")]
    elif len(filling.asks) > 1:
        pairs += [("↑↓", "fields, look around")]
    else:
        pairs += [("↑↓", "look around")]
    pairs.append(("Esc", "more"))
    return pairs


def _picks(filling: Filling) -> bool:
    return filling.active is not None and bool(filling.active.choices)


def said_logged(clock: str, words: str = "") -> Span:
    """What is said once the commit has returned."""
    return Span(f"logged {clock}" + (f"  {words}" if words else ""), Role.STRONG)


def said_not_logged(reason: str) -> Span:
    """What is said when it did not reach the disk."""
    return Span(f"NOT LOGGED - {reason}", Role.DANGER)


def said_refused(reason: str) -> Span:
    """What is said when the walk refuses."""
    return Span(f"! {reason}", Role.FAULT)


def said_plain(words: str) -> Span:
    """Anything else that is said."""
    return quiet(words)
