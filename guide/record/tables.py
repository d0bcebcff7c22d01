"""A job's events, readings, moves and rounds as CSV (RFC 4180), safe to open in a spreadsheet.

Numbers stand as numbers in SI, pressures absolute, the unit in the column's name; text goes through
`guide.escape.for_cell`, so that no cell can be taken for a formula.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from decimal import Decimal

from guide.escape import for_cell
from guide.job import payloads as p
from guide.job.state import JobState
from guide.journal.event import Event
from guide.record.figures import Figures, local_time
from guide.record.narrate import Text, narrate, step_of
from guide.units import Kind, kind_of

Cell = str | int | Decimal | None

_COLUMNS = {
    Kind.TEMPERATURE: "value_K", Kind.TEMPERATURE_DIFFERENCE: "value_K", Kind.PRESSURE: "value_Pa",
    Kind.PRESSURE_DIFFERENCE: "value_Pa", Kind.MASS: "value_kg", Kind.LENGTH: "value_m",
    Kind.DURATION: "value_s",
}  # fmt: skip
_VALUES = tuple(dict.fromkeys(_COLUMNS.values()))


_BEHIND_SEPARATOR = re.compile(r"([;|\t][\s\"'“”‘’]*)([=+@-])")
"""Where a spreadsheet set to another separator than the comma would begin a cell, and find a formula."""


def csv_bytes(heads: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """A table as RFC 4180 has it: CRLF, every text quoted, quotes doubled, UTF-8."""
    lines = [",".join(map(_cell, heads))]
    lines += [",".join(map(_cell, row)) for row in rows]
    return ("\r\n".join(lines) + "\r\n").encode()


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, int):
        return str(value)
    return '"' + _BEHIND_SEPARATOR.sub(r"\1'\2", for_cell(value)).replace('"', '""') + '"'


def tables(state: JobState, events: Sequence[Event], text: Text) -> dict[str, bytes]:
    """The tables of a job by file name.

    Raises:
        BadBody: an event is not of its form.
    """
    payloads = [p.read_payload(event.kind, event.body) for event in events]
    figures = Figures.of(state.order)
    return {
        "events.csv": csv_bytes(
            ("seq", "job_seq", "utc", "local_time", "by", "kind", "step", "what"),
            (
                (
                    e.seq,
                    e.job_seq,
                    e.stamp.utc,
                    local_time(e.stamp),
                    e.by,
                    e.kind,
                    step_of(payload),
                    narrate(payload, state.procedure, figures, text),
                )
                for e, payload in zip(events, payloads, strict=True)
            ),
        ),
        "readings.csv": csv_bytes(
            ("seq", "step", "channel", *_VALUES, "typed", "unit", "source", "instrument"),
            (
                (
                    entry.seq,
                    entry.step,
                    entry.channel,
                    *_by_kind(entry.value),
                    entry.value.typed,
                    entry.value.unit,
                    entry.value.source,
                    entry.value.instrument or "",
                )
                for entry in state.entries
            ),
        ),
        "moves.csv": csv_bytes(
            (
                "seq",
                "step",
                "utc",
                "local_time",
                "cylinder",
                "before_kg",
                "after_kg",
                "into_system_kg",
                "observed",
            ),
            (
                (
                    move.seq,
                    move.step,
                    move.at.utc,
                    local_time(move.at),
                    move.cylinder,
                    move.before.si if move.before else None,
                    move.after.si,
                    move.into_system_kg,
                    "yes" if move.observed else "no",
                )
                for move in state.moves
            ),
        ),
        "rounds.csv": _rounds(state),
    }


def _by_kind(value: p.ReadingValue) -> tuple[Decimal | None, ...]:
    column = _COLUMNS[kind_of(value.unit)]
    return tuple(value.si if name == column else None for name in _VALUES)


_FIGURES = (
    "minutes_since_change", "net_charged_kg", "dew_K", "bubble_K", "superheat_K",
    "superheat_uncertainty_K", "subcooling_K", "subcooling_uncertainty_K", "target_superheat_K",
    "target_superheat_uncertainty_K", "target_subcooling_K", "tolerance_K", "uncertainty_K",
)  # fmt: skip


def _rounds(state: JobState) -> bytes:
    rows = []
    for done in state.rounds:
        a = done.read.assessment
        row: list[Cell] = [done.seq, done.read.step, done.read.number, done.at.utc, local_time(done.at)]
        row += [getattr(a, name) for name in _FIGURES]
        row += [a.verdict, a.action, a.amount_kg, a.suspect or "", " ".join(a.reasons)]
        rows.append(row)
    heads = (
        "seq",
        "step",
        "round",
        "utc",
        "local_time",
        *_FIGURES,
        "verdict",
        "action",
        "amount_kg",
        "suspect",
        "reasons",
    )
    return csv_bytes(heads, rows)
