"""What the numbers say, and the balance of refrigerant: three lines and one. Pure."""

from __future__ import annotations

from decimal import Decimal

from guide.job import payloads as p
from guide.job.order import Order
from guide.job.state import JobState, RoundDone
from guide.screens import say
from guide.screens.paint import (
    BLANK,
    Line,
    Lines,
    clean,
    cut,
    line,
    pad,
    quiet,
    rule,
    shorten,
    spread,
    strong,
)

VERDICT_WORDS = {"pass": "IN TOLERANCE", "fail": "OUTSIDE", "undecided": "UNDECIDED"}
"""A verdict in words; undecided means nearer to the limit than the instruments can tell."""

ADVICE_WORDS = {"add": "ADD", "recover": "RECOVER", "wait": "WAIT", "done": "LEAVE IT", "stop": "STOP"}


def figures(state: JobState, width: int) -> Lines:
    """The newest round under a titled rule: low side, high side, target, verdict. Nothing without a round."""
    if not state.rounds:
        return ()
    done = state.rounds[-1]
    stale = any(move.seq > done.seq for move in state.moves)
    title = f"round {done.read.number}, {say.clock(done.at, seconds=False)}"
    if stale:
        title += ", before the last move"
    narrow = width < 78
    rows = _narrow(state, done, width) if narrow else _wide(state, done, width)
    return (rule(width, title), *rows)


def _parts(done: RoundDone, order: Order) -> tuple[dict[str, str], str]:
    unit = say.temperature_unit(done.read.readings)
    site = order.site_pressure_Pa
    return {value.channel: say.reading(value, site) for value in done.read.readings}, unit


def _figure(value: Decimal | None, spread_K: Decimal | None, unit: str) -> str:
    if value is None:
        return "not known"
    words = say.difference(value, unit)
    return words if spread_K is None else f"{words} ± {say.difference(spread_K, unit)}"


def _wide(state: JobState, done: RoundDone, width: int) -> Lines:
    got, unit = _parts(done, state.order)
    said = done.read.assessment

    def side(name: str, edge: str, edge_K: Decimal | None, *, figure: str, value: str) -> Line:
        left = line(
            quiet(pad(f" {name}", 9)),
            pad(got.get(f"{name}_pressure", "-"), 14),
            quiet(pad(edge, 7)),
            pad(say.temperature(edge_K, unit) if edge_K is not None else "-", 10),
            quiet("line "),
            pad(got.get(f"{name}_line", "-"), 9),
        )
        return spread(left, line(quiet(f"{figure} "), strong(pad(value, 11)), " "), width)

    superheat = _figure(said.superheat_K, said.superheat_uncertainty_K, unit)
    subcooling = _figure(said.subcooling_K, said.subcooling_uncertainty_K, unit)
    return (
        side("suction", "dew", said.dew_K, figure="superheat ", value=superheat),
        side("liquid", "bubble", said.bubble_K, figure="subcooling", value=subcooling),
        target_line(state, done, width),
    )


def target_line(state: JobState, done: RoundDone, width: int) -> Line:
    """Target, where it comes from, and the verdict."""
    got, unit = _parts(done, state.order)
    said = done.read.assessment
    verdict = line(strong(VERDICT_WORDS[said.verdict]), " ")
    if said.target_superheat_K is not None:
        words = _figure(said.target_superheat_K, said.target_superheat_uncertainty_K, unit)
        if state.order.target_superheat is not None:
            where = "given by the maker"
        else:
            whose = "table" if state.order.target_table is None else "maker's"
            where = f"{whose}: {got.get('indoor_wb', '-')} wet, {got.get('outdoor_db', '-')} out"
        left = line(quiet(" target superheat "), strong(words), quiet(f" ({where})"))
    elif said.target_subcooling_K is not None:
        words = _figure(said.target_subcooling_K, None, unit)
        left = line(quiet(" target subcooling "), strong(words), quiet(" (given by the maker)"))
    else:
        left = line(quiet(" no target"))
    return spread(left, verdict, width)


def _narrow(state: JobState, done: RoundDone, width: int) -> Lines:
    _, unit = _parts(done, state.order)
    said = done.read.assessment
    superheat = _figure(said.superheat_K, said.superheat_uncertainty_K, unit)
    target = say.difference(said.target_superheat_K, unit) if said.target_superheat_K is not None else None
    subcooling = _figure(said.subcooling_K, said.subcooling_uncertainty_K, unit)
    if target is None and said.target_subcooling_K is not None:
        words = line(
            quiet(" subcool "),
            strong(subcooling),
            quiet(f" of {say.difference(said.target_subcooling_K, unit)}"),
        )
    else:
        words = line(quiet(" superheat "), strong(superheat), quiet(f" of {target or '-'}"))
    return (spread(words, line(strong(VERDICT_WORDS[said.verdict].split()[0]), " "), width),)


def balance(state: JobState, width: int) -> Line:
    """What the job put into the system, the nameplate, and the cylinder as last weighed."""
    order = state.order
    net = say.amount(state.net_charged_kg(), order, sign=True)
    plate = say.nameplate(order)
    left = line(quiet(" into the system "), strong(net), quiet(" this job, nameplate "), plate)
    cylinder, weight = _cylinder(state)
    if width < 78:
        return cut(line(quiet(" in "), strong(net), quiet(" of "), plate), width)
    right = line(quiet(f"{shorten(clean(cylinder), 18)} "), weight, " ") if cylinder else BLANK
    return spread(left, right, width)


def _cylinder(state: JobState) -> tuple[str, str]:
    if state.weighing is not None:
        return state.weighing.begun.cylinder, "on the scale"
    if state.moves:
        last = state.moves[-1]
        return last.cylinder, say.weight(last.after.si, state.order)
    return "", ""


def advice(state: JobState, step_id: str, width: int) -> Lines:
    """The advice of the newest round of a step: what to do, and the first reason for it."""
    rounds = state.step_rounds(step_id)
    if not rounds:
        return ()
    said: p.Assessment = rounds[-1].read.assessment
    words = ADVICE_WORDS[said.action]
    if said.action in {"add", "recover"}:
        words += f" {say.amount(said.amount_kg, state.order)}"
    if said.suspect:
        words += f": {said.suspect}"
    return (line(quiet(" advice  "), strong(shorten(words, width - 10))),)
