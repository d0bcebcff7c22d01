"""Tables of a record about work that takes its time: weighings towards a target, holds judged by a change."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Final

from guide.job import payloads as p
from guide.job.state import JobState
from guide.procedure.channels import CHANNELS
from guide.record.content import Table
from guide.record.figures import Figures, span

_LEAST_kg: Final = Decimal("0.0001")
"""Less than a charging scale shows."""


def weighings(state: JobState, payloads: Sequence[p.Payload], figures: Figures) -> tuple[Table, ...]:
    """What each step that takes several weighings moved, against its target; nothing where there was none."""
    rows = tuple(
        _weighing(state, payload, figures, corrected=_corrected_since(payload.step, payloads[at + 1 :]))
        for at, payload in enumerate(payloads)
        if isinstance(payload, p.WeighingFinished)
    )
    if not rows:
        return ()
    return (
        Table(
            title="Weighings by step",
            heads=("step", "action", "moved", "target", "moved less target"),
            shares=(0.12, 0.34, 0.18, 0.18, 0.18),
            rows=rows,
        ),
    )


def _corrected_since(step: str, later: Sequence[p.Payload]) -> bool:
    return any(isinstance(x, p.Corrected) and x.step == step and x.moved_kg is not None for x in later)


def _weighing(
    state: JobState, finished: p.WeighingFinished, figures: Figures, *, corrected: bool
) -> tuple[str, ...]:
    target = finished.target_kg
    return (
        finished.step,
        state.procedure.step(finished.step).do,
        figures.mass(finished.moved_kg)
        + ("; a weight was corrected since, see the moves" if corrected else ""),
        "–" if target is None else figures.mass(target),
        "–" if target is None else _off(finished.moved_kg - target, figures),
    )


def _off(kg: Decimal, figures: Figures) -> str:
    return figures.mass(kg, signed=True) if abs(kg) >= _LEAST_kg else "nothing"


def held(payloads: Sequence[p.Payload], figures: Figures) -> str:
    """The last hold of each step that is judged by a change, in words; empty where there was none."""
    found: dict[str, str] = {}
    for payload in payloads:
        if not isinstance(payload, p.WaitEnded):
            continue
        end = {value.channel: value for value in payload.readings}
        for verdict in payload.verdicts:
            value = end.get(verdict.channel)
            if verdict.change is None or value is None:
                continue
            channel = CHANNELS.get(verdict.channel)
            found[payload.step] = (
                f"step {payload.step}: {channel.label if channel else verdict.channel}, "
                f"{figures.reading(value)} after {span(payload.elapsed_s)}, changed by "
                f"{figures.change(verdict.change, value.unit)}: {verdict.verdict.upper()}"
            )
    return "; ".join(found.values())


def timed_holds(payloads: Sequence[p.Payload], figures: Figures) -> tuple[Table, ...]:
    """Holds that are judged by a change or that failed early; nothing where there was none."""
    rows: list[tuple[str, ...]] = []
    leaks: list[tuple[str, ...]] = []
    begun: p.WaitBegun | None = None
    for payload in payloads:
        if isinstance(payload, p.WaitBegun):
            begun = payload
        elif isinstance(payload, p.WaitEnded) and begun is not None:
            rows += _hold(begun, payload, figures)
            leaks += _leaks(payload, figures)
    if not rows:
        return ()
    shown = Table(
        title="Timed holds: which leak they could have shown, for each litre of the circuit",
        heads=("step", "what", "held", "smallest change", "as a leak", "leaks at most"),
        shares=(0.1, 0.26, 0.16, 0.16, 0.16, 0.16),
        rows=tuple(leaks),
    )
    return (
        Table(
            title="Timed holds: what changed",
            heads=("step", "held", "what", "start", "expected", "end", "change", "may", "verdict"),
            shares=(0.08, 0.12, 0.17, 0.11, 0.11, 0.11, 0.1, 0.1, 0.1),
            rows=tuple(rows),
        ),
        *((shown,) if leaks else ()),
    )


def _hold(begun: p.WaitBegun, ended: p.WaitEnded, figures: Figures) -> Iterator[tuple[str, ...]]:
    held = span(ended.elapsed_s) + (" of " + span(begun.at_least_s) if ended.early else "")
    start = {value.channel: value for value in begun.readings}
    end = {value.channel: value for value in ended.readings}
    changes = [verdict for verdict in ended.verdicts if verdict.change is not None]
    for verdict in changes:
        first, last, change = start.get(verdict.channel), end.get(verdict.channel), verdict.change
        if first is None or last is None or change is None:
            continue
        channel = CHANNELS.get(verdict.channel)
        expected = last.model_copy(update={"si": last.si - change})
        unit, spread = last.unit, figures.change(verdict.uncertainty, last.unit, signed=False)
        yield (
            ended.step,
            held,
            channel.label if channel else verdict.channel,
            figures.reading(first),
            figures.rounded(expected),
            figures.reading(last),
            f"{figures.change(change, unit)} ± {spread}",
            figures.limit(verdict, unit),
            verdict.verdict.upper(),
        )
    if ended.early and not changes:
        yield (ended.step, held, "ended early: it had failed", *("–",) * 5, "FAIL")


def _leaks(ended: p.WaitEnded, figures: Figures) -> Iterator[tuple[str, ...]]:
    """What the two readings of a hold say of a leak: a change within its uncertainty can't be told from none.

    All that was lost (gained, under vacuum) is taken for a leak, with the uncertainty on top: moisture and
    what evens out only make it look larger.
    """
    end = {value.channel: value for value in ended.readings}
    for verdict in ended.verdicts:
        value, change = end.get(verdict.channel), verdict.change
        if value is None or change is None or verdict.uncertainty <= 0 or ended.elapsed_s <= 0:
            continue
        lost = max(Decimal(0), change if verdict.bound == "at most" else -change)
        channel = CHANNELS.get(verdict.channel)
        yield (
            ended.step,
            channel.label if channel else verdict.channel,
            span(ended.elapsed_s),
            figures.change(verdict.uncertainty, value.unit, signed=False),
            _litre(verdict.uncertainty, ended.elapsed_s),
            _litre(lost + verdict.uncertainty, ended.elapsed_s),
        )


def _litre(pressure_Pa: Decimal, seconds: int) -> str:
    """A change of pressure over a time as a leak a litre: 1 Pa L/s is 0.01 mbar L/s (CALCULATED)."""
    return f"{pressure_Pa / seconds / 100:.1e} mbar L/s"
