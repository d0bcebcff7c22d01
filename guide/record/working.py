"""Sections of a record that hold figures: refrigerant moved, rounds of the charging loop, readings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from guide.job import payloads as p
from guide.job.state import JobState, Move, RoundDone
from guide.procedure.channels import CHANNELS
from guide.procedure.model import Adjust
from guide.record.content import Plot, PlotPoint, Section, Table
from guide.record.figures import Figures, local_time, utc_time
from guide.record.weighed import charge_parts, fill_limits, room
from guide.record.worked import timed_holds, weighings

_ROUND_CHANNELS = (
    ("suction_pressure", "suction"), ("suction_line", "suction line"), ("liquid_pressure", "liquid"),
    ("liquid_line", "liquid line"), ("indoor_wb", "return wb"), ("indoor_db", "return db"),
    ("supply_db", "supply db"), ("outdoor_db", "outdoor db"),
)  # fmt: skip


def balance(state: JobState, payloads: Sequence[p.Payload], figures: Figures) -> Section:
    """What crossed the scale, cylinder by cylinder, against the nameplate."""
    nameplate = state.order.nameplate_charge.si
    net = state.net_charged_kg()
    moves = Table(
        title="Moves",
        heads=("event", "local time", "UTC", "cylinder", "before", "after", "into the system", "observed"),
        shares=(0.06, 0.225, 0.085, 0.10, 0.14, 0.14, 0.16, 0.09),
        rows=tuple(_move_row(move, figures) for move in state.moves),
        none="No refrigerant crossed the scale.",
    )
    cylinders = Table(
        title="Cylinders",
        heads=("cylinder", "contents", "first weight", "last weight", "net out of the cylinder"),
        shares=(0.15, 0.2, 0.2, 0.2, 0.25),
        rows=tuple(_cylinder_rows(state, figures)),
        none="No cylinder stood on the scale.",
    )
    return Section(
        title="Refrigerant balance",
        pairs=(
            ("Into the system", _or_none(state.charged_kg(), figures)),
            ("Out of the system", _or_none(state.recovered_kg(), figures)),
            ("Net into the system", figures.mass(net, signed=True)),
            (
                "Nameplate charge",
                f"{figures.mass(nameplate)}; the net is {net / nameplate * 100:+.1f} % of it",
            ),
            *room(state.order),
        ),
        tables=(
            moves,
            cylinders,
            *weighings(state, payloads, figures),
            *charge_parts(state, figures),
            *fill_limits(state.order, payloads, figures),
        ),
    )


def _or_none(kg: Decimal, figures: Figures) -> str:
    return figures.mass(kg) if kg else "none"


def _move_row(move: Move, figures: Figures) -> tuple[str, ...]:
    return (
        str(move.seq),
        local_time(move.at),
        utc_time(move.at),
        move.cylinder,
        figures.reading(move.before) if move.before else "–",
        figures.reading(move.after),
        figures.mass(move.into_system_kg, signed=True),
        "yes" if move.observed else "NO",
    )


def _cylinder_rows(state: JobState, figures: Figures) -> Iterator[tuple[str, ...]]:
    for name in dict.fromkeys(move.cylinder for move in state.moves):
        moves = [move for move in state.moves if move.cylinder == name]
        known = state.order.cylinder(name)
        first = moves[0].before
        net = sum((move.into_system_kg for move in moves), Decimal(0))
        yield (
            name,
            known.contents if known else "not on the order",
            figures.reading(first) if first else "–",
            figures.reading(moves[-1].after),
            figures.mass(net, signed=True),
        )


def charging(state: JobState, figures: Figures) -> tuple[Section, ...]:
    """The rounds of the charging loop with their plot; nothing where there was no loop."""
    if not state.rounds:
        return ()
    last = state.rounds[-1].read.assessment
    by_superheat = _by_superheat(state)
    used = [
        (channel, head)
        for channel, head in _ROUND_CHANNELS
        if any(value.channel == channel for r in state.rounds for value in r.read.readings)
    ]
    share = 0.80 / max(1, len(used))
    measured = Table(
        title="What was read",
        heads=("round", "settled", *(head for _, head in used)),
        shares=(0.08, 0.12, *(share for _ in used)),
        rows=tuple(_measured_row(done, [c for c, _ in used], figures) for done in state.rounds),
    )
    judged = Table(
        title="What it means",
        heads=("round", "net in", "superheat", "subcooling", "target", "verdict", "advice"),
        shares=(0.07, 0.18, 0.14, 0.14, 0.14, 0.15, 0.18),
        rows=tuple(_judged_row(done, figures, by_superheat=by_superheat) for done in state.rounds),
    )
    ended = state.loop_ended.outcome if state.loop_ended else "not ended"
    versions = state.opened.versions if state.opened else None
    source = "the maker's figure" if state.order.target_superheat or not by_superheat else ""
    if not source and state.order.target_table is not None:
        source = f"the maker's table: {state.order.target_table.source}"
    if not source and versions is not None:
        source = f"table {versions.target_table}"
    figure = "superheat" if by_superheat else "subcooling"
    return (
        Section(
            title="Charging loop",
            pairs=(
                ("Judged by", figure),
                ("Target's source", source),
                ("Tolerance", f"± {figures.difference(last.tolerance_K)}"),
                ("Ended", ended),
            ),
            plot=_plot(state, figures, last),
            tables=(measured, judged),
        ),
    )


def _by_superheat(state: JobState) -> bool:
    try:
        proof = state.procedure.step(state.rounds[-1].read.step).proof
    except KeyError:
        return state.order.metering.value == "fixed orifice"
    return not isinstance(proof, Adjust) or proof.method.value == "superheat"


def _plot(state: JobState, figures: Figures, last: p.Assessment) -> Plot:
    by_superheat = _by_superheat(state)
    points = []
    for done in state.rounds:
        a = done.read.assessment
        target = a.target_superheat_K if by_superheat else a.target_subcooling_K
        points.append(
            PlotPoint(
                done.read.number,
                float(a.net_charged_kg),
                None if a.superheat_K is None else float(a.superheat_K),
                None if a.subcooling_K is None else float(a.subcooling_K),
                None if target is None else float(target),
            )
        )
    judged = "superheat" if by_superheat else "subcooling"
    return Plot(judged, float(last.tolerance_K), tuple(points), figures.american)


def _measured_row(done: RoundDone, channels: Sequence[str], figures: Figures) -> tuple[str, ...]:
    by_channel = {value.channel: value for value in done.read.readings}
    return (
        str(done.read.number),
        f"{done.read.assessment.minutes_since_change} min",
        *(figures.reading(by_channel[c]) if c in by_channel else "–" for c in channels),
    )


def _judged_row(done: RoundDone, figures: Figures, *, by_superheat: bool) -> tuple[str, ...]:
    a = done.read.assessment
    target = a.target_superheat_K if by_superheat else a.target_subcooling_K
    target_spread = a.target_superheat_uncertainty_K if by_superheat else None
    advice = a.action + (f" {figures.mass(a.amount_kg)}" if a.amount_kg else "")
    return (
        str(done.read.number),
        figures.mass(a.net_charged_kg, signed=True),
        figures.spread(a.superheat_K, a.superheat_uncertainty_K),
        figures.spread(a.subcooling_K, a.subcooling_uncertainty_K),
        figures.spread(target, target_spread),
        a.verdict.upper() + (f": {a.suspect}" if a.suspect else ""),
        advice,
    )


def readings(state: JobState, payloads: Sequence[p.Payload], figures: Figures) -> Section:
    """Every reading outside the charging loop with the limits it was held against."""
    rows: list[tuple[str, ...]] = []
    for payload in payloads:
        if isinstance(payload, p.Read | p.WaitBegun | p.WaitEnded):
            when = {p.WaitBegun: "start", p.WaitEnded: "end"}.get(type(payload), "")
            verdicts = () if isinstance(payload, p.WaitBegun) else payload.verdicts
            rows += [_reading_row(payload.step, when, r, verdicts, figures) for r in payload.readings]
    reasons = tuple((str(r.read.number), " ".join(r.read.assessment.reasons) or "–") for r in state.rounds)
    answers = tuple(
        (step.id, step.do, state.answers[step.id].seen)
        for part in (*state.procedure.parts, state.procedure.on_abort)
        for step in part.steps
        if step.id in state.answers
    )
    return Section(
        title="Readings, answers, reasons",
        tables=(
            Table(
                title="Readings outside the charging loop",
                heads=("step", "what", "value", "limit", "verdict"),
                shares=(0.14, 0.34, 0.16, 0.22, 0.14),
                rows=tuple(rows),
            ),
            *timed_holds(payloads, figures),
            Table(
                title="Answers: what was seen",
                heads=("step", "action", "seen"),
                shares=(0.14, 0.56, 0.30),
                rows=answers,
            ),
            Table(
                title="Reasons given with the advice of each round",
                heads=("round", "reasons"),
                shares=(0.08, 0.92),
                rows=reasons,
                none="There was no charging loop.",
            ),
        ),
    )


def _reading_row(
    step: str, when: str, value: p.ReadingValue, verdicts: Sequence[p.LimitVerdict], figures: Figures
) -> tuple[str, ...]:
    own = [v for v in verdicts if v.channel == value.channel]
    channel = CHANNELS.get(value.channel)
    label = channel.label if channel else value.channel
    return (
        step,
        f"{label} ({when})" if when else label,
        figures.reading(value),
        "; ".join(figures.limit(v, value.unit) for v in own) or "–",
        "; ".join(v.verdict.upper() for v in own) or "–",
    )
