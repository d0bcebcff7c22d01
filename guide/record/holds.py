"""Vacuum and timed holds as a section of the record: one chart a channel, against time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from guide.job.series import Trace, drawing_unit, trace, traces
from guide.journal.event import Event
from guide.record.content import Section, TimeChart, TimePoint
from guide.record.figures import Figures, local_time
from guide.units import from_si

_MOST_POINTS = 400


def holds(events: Sequence[Event], figures: Figures) -> tuple[Section, ...]:
    """The section with vacuum curves and the trends of timed holds; nothing where there were none.

    A vacuum makes one curve from two logged values on, any other channel that is held one too; where steps
    hold it to limits, one a step.

    Raises:
        BadBody: an event is not of its form.
    """
    shown: list[Trace] = []
    for one in traces(events):
        if one.vacuum and len(one.logged) > 1:
            shown.append(one)
        elif one.held:
            # where limits of several steps would lie over one another each step is drawn by itself
            shown += _by_step(one, events) if one.bounds else [one]
    if not shown:
        return ()
    lines = ["Values that are in the log, with the time that passed since the first of each."]
    if not all(one.vouched for one in shown):
        lines.append("A restart of the computer lies between some: there only the wall clock tells the time.")
    return (
        Section(
            title="Vacuum and timed holds",
            lines=(" ".join(lines),),
            charts=tuple(_chart(one, figures) for one in shown),
        ),
    )


def _by_step(one: Trace, events: Sequence[Event]) -> Iterator[Trace]:
    """A channel's values of each step that holds it, with the limits of that step alone."""
    steps = dict.fromkeys(sample.step for sample in one.logged if sample.phase)
    for step in steps:
        mine = [event for event in events if event.body.get("step") == step]
        part = trace(mine, one.channel)
        if part is not None and part.held:
            yield part


def _chart(one: Trace, figures: Figures) -> TimeChart:
    unit = drawing_unit(one)

    def value(si: float) -> float:
        return float(from_si(si, unit, site_pressure_Pa=figures.site_pressure_Pa))

    return TimeChart(
        title=f"{one.label}, from {local_time(one.began)}",
        unit=unit,
        points=tuple(TimePoint(s.seconds, value(s.si), s.phase) for s in one.logged[-_MOST_POINTS:]),
        limits=tuple((bound.bound, value(bound.si)) for bound in one.bounds),
        log=one.vacuum,
    )
