"""Vacuum and timed holds as a section of the record: one chart a channel, against time."""

from __future__ import annotations

from collections.abc import Sequence

from guide.job.series import Trace, drawing_unit, traces
from guide.journal.event import Event
from guide.record.content import Section, TimeChart, TimePoint
from guide.record.figures import Figures, local_time
from guide.units import from_si

_MOST_POINTS = 400


def holds(events: Sequence[Event], figures: Figures) -> tuple[Section, ...]:
    """The section with vacuum curves and the trends of timed holds; nothing where there were none.

    A vacuum makes a curve from two logged values on; any other channel where a hold has a start and an end.

    Raises:
        BadBody: an event is not of its form.
    """
    shown = [one for one in traces(events) if len(one.logged) > 1 and (one.vacuum or one.held)]
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
