"""A timed hold on the sheet: what it began with, what must hold, what the values typed so far come to. Pure.

The judgement is `guide.job.limits.of_hold`, the same that is logged; here it is only looked at beforehand.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.job.elapsed import in_words
from guide.job.limits import of_hold
from guide.job.state import JobState, beyond_fails
from guide.journal.event import Event
from guide.procedure.model import OrderFigure, Step, Wait
from guide.record.figures import Figures
from guide.screens import say
from guide.screens.filling import Filling
from guide.screens.limits_said import label
from guide.screens.mode import Mode, Turn
from guide.screens.paint import Lines, Role, clean, line, paragraph, shorten, strong
from guide.units import Quantity, UnitError, show, usual_digits

_WORST = ("fail", "undecided", "pass")
_SO = {"pass": "HOLDS", "undecided": "UNDECIDED, too near", "fail": "NOT HELD"}


def hold_lines(state: JobState, step: Step, filling: Filling, width: int, tight: int) -> Lines:
    """What belongs to a hold that runs at this step: its start, what may change, what it comes to now."""
    waiting = state.waiting
    if waiting is None or waiting.begun.step != step.id or not isinstance(step.proof, Wait):
        return ()
    stand = 7 if width >= 60 else 1
    rows: Lines = ()
    if tight < 5:
        for words in began(state):
            rows += paragraph(words, width, indent=stand, hang=stand + 2, role=Role.QUIET)
    sentences = come_to(state, step, filling, brief=tight >= 4)
    if sentences and tight >= 5:
        rows += (line(" " * stand, strong(shorten(sentences[0], width - stand))),)
    elif sentences:
        for words in sentences:
            rows += paragraph(words, width, indent=stand, hang=stand + 2, role=Role.STRONG)
    elif tight < 3:
        for words in must(state, step.proof):
            rows += paragraph(words, width, indent=stand, hang=stand + 2, role=Role.QUIET)
    return rows


def began(state: JobState) -> tuple[str, ...]:
    """What the hold that runs was begun with, in a line; nothing where nothing was read."""
    waiting, site = state.waiting, state.order.site_pressure_Pa
    if waiting is None or not waiting.begun.readings:
        return ()
    values = (f"{label(r.channel).split(',')[0]} {say.reading(r, site)}" for r in waiting.begun.readings)
    return (clean(f"at {say.clock(waiting.at, seconds=False)}: {', '.join(values)}"),)


def must(state: JobState, proof: Wait) -> Iterator[str]:
    """What has to be so at the end of a hold, a line each."""
    for limit in proof.limits:
        figure = limit.value if isinstance(limit.value, OrderFigure) else None
        value = state.order.figure(figure) if figure else limit.value
        typed = clean(value.typed) if isinstance(value, Quantity) else "a figure that the order does not give"
        yield f"at its end {limit.bound.value} {typed}: {label(limit.channel)}"
    for change in proof.changes:
        more = ", temperature taken out" if change.gas_temperature else ""
        bound = f"may {change.drift.value} by at most {say.typed_difference(change.at_most)}{more}"
        yield f"{bound}: {label(change.channel)}"


def come_to(state: JobState, step: Step, filling: Filling, *, brief: bool = False) -> tuple[str, ...]:
    """A sentence a verdict of the hold that runs, the worst first, once every value is typed."""
    if state.waiting is None or not isinstance(step.proof, Wait):
        return ()
    return tuple(_come_to(state, step.proof, state.waiting.begun.readings, filling, brief=brief))


def _come_to(
    state: JobState, proof: Wait, start: tuple[p.ReadingValue, ...], filling: Filling, *, brief: bool
) -> Iterator[str]:
    now = _typed(filling)
    if {asked.channel for asked in proof.channels} != now.keys() or not now:
        return
    try:
        verdicts = of_hold(proof, start, tuple(now.values()), state.order, strict=beyond_fails(state))
    except ChargewrightError as error:
        yield clean(str(error))
        return
    figures = Figures.of(state.order)
    for verdict in sorted(verdicts, key=lambda each: (_WORST.index(each.verdict), each.change is None)):
        value = now[verdict.channel]
        if brief:
            what = "" if verdict.change is None else f" {figures.change(verdict.change, value.unit)}"
            yield f"{_SO[verdict.verdict].split(',')[0]}{what}: {figures.limit(verdict, value.unit)}"
            continue
        uncertainty = figures.change(verdict.uncertainty, value.unit, signed=False)
        so = f"{_SO[verdict.verdict]}: {figures.limit(verdict, value.unit)}"
        if verdict.change is None:
            yield f"{say.reading(value, state.order.site_pressure_Pa)} ± {uncertainty}. {so}"
            continue
        against = _expected(state, value, verdict, start)
        yield f"change {figures.change(verdict.change, value.unit)} ± {uncertainty}{against}. {so}"


def _expected(
    state: JobState, value: p.ReadingValue, verdict: p.LimitVerdict, start: tuple[p.ReadingValue, ...]
) -> str:
    """What a closed gas would show now, where the start was carried to another temperature."""
    assert verdict.change is not None
    expected = value.si - verdict.change
    if any(each.channel == value.channel and each.si == expected for each in start):
        return ""
    shown = show(
        expected, value.unit, digits=usual_digits(value.unit), site_pressure_Pa=state.order.site_pressure_Pa
    )
    return f" from the {shown} expected at this temperature"


def _typed(filling: Filling) -> dict[str, p.ReadingValue]:
    """The values in the fields that can be read as quantities."""
    found = {}
    for ask in filling.asks:
        try:
            value = filling.quantity(ask.key)
        except UnitError:
            continue
        found[ask.key] = p.ReadingValue(
            channel=ask.key, si=value.si, unit=value.unit, typed=value.typed, source="typed"
        )
    return found


def unwatched_s(events: Iterable[Event]) -> int:
    """How long nobody was at the program since the newest hold began [s], by what was logged."""
    away = 0
    for event in events:
        if event.kind == p.WaitBegun.KIND:
            away = 0
        elif event.kind == p.Resumed.KIND:
            resumed = p.read_payload(event.kind, event.body)
            assert isinstance(resumed, p.Resumed)
            away += resumed.away_s
    return away


def with_unwatched(asked: Turn, away_s: int) -> Turn:
    """The turn of a hold, saying for how long of it nobody was at the program."""
    if asked.mode not in {Mode.WAITING, Mode.WAIT_END} or not away_s:
        return asked
    words = f"Nobody was at the program for {in_words(away_s)} of it."
    call, mark, last = asked.call.rpartition("TIME IS UP.")
    return replace(asked, call=f"{call}{mark} {words}{last}" if mark else f"{asked.call} {words}")
