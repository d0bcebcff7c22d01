"""The pictures a job has so far: the charging path, then every channel that was read more than once. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from guide.job.hold_meaning import Heard, followed_of
from guide.job.series import charging_path, traces
from guide.job.state import JobState, current_step
from guide.journal.event import Event
from guide.screens import say
from guide.screens.chart import Picture
from guide.screens.chart_series import charging_picture, trace_picture
from guide.screens.cycle_picture import cycle_picture_of
from guide.screens.settings import System
from guide.screens.unit_system import in_unit
from guide.units import COMPOUND_MASS

_NOTHING: Final[Heard] = MappingProxyType({})


def pictures(
    state: JobState, events: Sequence[Event], system: System = System.ORDER, heard: Heard = _NOTHING,
    meant: tuple[str, ...] = (),
) -> tuple[Picture, ...]:  # fmt: skip
    """Pictures of a job's readings, the one that matters most first.

    `heard` is what a stream brought since, `meant` what it says of the hold or pull-down that runs: its
    headline stands beside the curve.

    Raises:
        BadBody: an event is not of its form.
        UnitError: a channel was written in a unit that does not fit it.
    """
    found = []
    path = charging_path(state)
    if path is not None:
        american = say.temperature_unit(state.rounds[-1].read.readings) == "F"
        found.append(charging_picture(path, american=american))
        drawn = cycle_picture_of(state, american=american)
        found += [drawn] if drawn is not None else []
    step = current_step(state)
    followed = followed_of(step) if step is not None else None
    live = {followed: heard[followed]} if followed is not None and followed in heard else None
    for trace in traces(events, live):
        if len(trace.logged) > 1 or trace.live:
            unit = None if system is System.ORDER or trace.vacuum else in_unit(trace.unit, system)
            unit = "oz" if unit == COMPOUND_MASS else unit
            site = float(state.order.site_pressure_Pa)
            picture = trace_picture(trace, site_pressure_Pa=site, unit=unit)
            if trace.channel == followed and meant:
                picture = replace(picture, heads=(picture.heads[0], meant[0], *picture.heads[1:]))
            found.append(picture)
    return tuple(found)
