"""The pictures a job has so far: the charging path, then every channel that was read more than once. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from guide.job.series import charging_path, traces
from guide.job.state import JobState
from guide.journal.event import Event
from guide.screens import say
from guide.screens.chart import Picture
from guide.screens.chart_series import charging_picture, trace_picture
from guide.screens.settings import System
from guide.screens.unit_system import in_unit
from guide.units import COMPOUND_MASS


def pictures(state: JobState, events: Sequence[Event], system: System = System.ORDER) -> tuple[Picture, ...]:
    """Pictures of a job's readings, the one that matters most first.

    Raises:
        BadBody: an event is not of its form.
        UnitError: a channel was written in a unit that does not fit it.
    """
    found = []
    path = charging_path(state)
    if path is not None:
        american = say.temperature_unit(state.rounds[-1].read.readings) == "F"
        found.append(charging_picture(path, american=american))
    for trace in traces(events):
        if len(trace.logged) > 1:
            unit = None if system is System.ORDER or trace.vacuum else in_unit(trace.unit, system)
            unit = "oz" if unit == COMPOUND_MASS else unit
            site = float(state.order.site_pressure_Pa)
            found.append(trace_picture(trace, site_pressure_Pa=site, unit=unit))
    return tuple(found)
