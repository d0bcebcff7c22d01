"""One channel against time as a picture: a vacuum on a logarithmic scale, anything else on a plain one.

Values of a timed hold stand as squares and are joined by a thick line, others as dots; each of the newest
carries its number, so that the picture can be read without measuring it.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

from guide.record.content import TimeChart
from guide.record.layout import HAIR, INK, SOFT, Box, Dot, Mark, Path, Text, centred, flush_right
from guide.record.lettering import BOLD, PLAIN, printable, width
from guide.record.plot import step_for

HEIGHT: Final = 150.0
_SIZE: Final = 7.0
_LEAST_LOG: Final = 1.0
"""Below one unit a vacuum is drawn at one: no field gauge tells them apart (common practice, no source)."""


def draw(chart: TimeChart, left: float, right: float, top: float) -> list[Mark]:
    """The marks of a chart in a strip of `HEIGHT` below `top`."""
    scale = _Scale(chart)
    per, time_unit = (3600.0, "h") if chart.points[-1].seconds > 3 * 3600 else (60.0, "min")
    span = max(chart.points[-1].seconds - chart.points[0].seconds, 60.0) / per
    start = chart.points[0].seconds / per
    x0, x1, y0, y1 = left + 40, right - 30, top - HEIGHT + 30, top - 22

    def x(seconds: float) -> float:
        return x0 + (seconds / per - start) / span * (x1 - x0)

    def y(value: float) -> float:
        return y0 + scale.share(value) * (y1 - y0)

    marks: list[Mark] = [Text(left, top - 9, printable(chart.title), BOLD, _SIZE + 1, INK)]
    for value, words in scale.ticks():
        marks.append(Path(((x0, y(value)), (x1, y(value))), HAIR, 0.25))
        marks.append(flush_right(words, x0 - 4, y(value) - 2.4, font=PLAIN, size=_SIZE, ink=SOFT))
    step = step_for(span, 8)
    for index in range(math.ceil(start / step - 1e-9), math.floor((start + span) / step + 1e-9) + 1):
        place = x(index * step * per)
        marks.append(Path(((place, y0), (place, y0 - 3)), SOFT, 0.4))
        marks.append(centred(f"{index * step:g}", place, y0 - 11, font=PLAIN, size=_SIZE, ink=SOFT))
    marks.append(Path(((x0, y1), (x0, y0), (x1, y0)), SOFT, 0.6))
    marks.append(flush_right(printable(chart.unit), x0 - 4, y1 + 6, font=PLAIN, size=_SIZE, ink=SOFT))
    marks.append(
        flush_right(f"time from the first value [{time_unit}]", x1, y0 - 21, font=PLAIN, size=_SIZE, ink=SOFT)
    )
    for _, limit in chart.limits:
        marks.append(Path(((x0, y(limit)), (x1, y(limit))), INK, 0.6, dashed=True))
    if chart.limits:
        said = "dashed: " + "; ".join(f"{bound} {round(limit, 2):g}" for bound, limit in chart.limits[:4])
        marks.append(
            flush_right(printable(f"{said} {chart.unit}"), x1, top - 9, font=PLAIN, size=_SIZE, ink=INK)
        )
    for one, other in pairwise(chart.points):
        held = one.phase == "start" and other.phase == "end"
        ends = ((x(one.seconds), y(one.value)), (x(other.seconds), y(other.value)))
        marks.append(Path(ends, INK if held else SOFT, 1.6 if held else 0.6))
    free = x0
    for point in chart.points:
        px, py = x(point.seconds), y(point.value)
        held = point.phase in {"start", "end"}
        marks.append(Box(px - 2.4, py - 2.4, 4.8, 4.8, fill=1.0, frame=INK) if held else Dot(px, py, 2.2))
        words = f"{point.value:.5g} {point.phase}".strip()
        if px >= free:
            room = width(words, PLAIN, _SIZE)
            from_x = min(px + 3, right - room)
            below = py + 12 > y1 + 10
            at = py - 10 if below else py + 5
            marks.append(Box(from_x - 0.5, at - 1, room + 1, _SIZE, fill=1.0))
            marks.append(Text(from_x, at, words, PLAIN, _SIZE, INK))
            free = from_x + room + 4
    return marks


class _Scale:
    """The range of values and the numbers that stand at it."""

    def __init__(self, chart: TimeChart) -> None:
        values = [point.value for point in chart.points] + [limit for _, limit in chart.limits]
        self._log = chart.log
        if chart.log:
            logs = [math.log10(max(value, _LEAST_LOG)) for value in values]
            self._low = math.floor(min(logs))
            self._high = max(math.ceil(max(logs)), self._low + 1)
        else:
            step = step_for(max(max(values) - min(values), 0.02 * max(map(abs, values)), 1.0), 5)
            self._step = step
            self._low = math.floor(min(values) / step - 0.2)
            self._high = max(math.ceil(max(values) / step + 0.2), self._low + 1)

    def share(self, value: float) -> float:
        """Where a value falls, 0 to 1."""
        place = math.log10(max(value, _LEAST_LOG)) if self._log else value / self._step
        return min(1.0, max(0.0, (place - self._low) / (self._high - self._low)))

    def ticks(self) -> list[tuple[float, str]]:
        """Values and their numbers, rising."""
        if not self._log:
            return [(i * self._step, f"{i * self._step:.6g}") for i in range(self._low, self._high + 1)]
        factors = (1, 2, 5) if self._high - self._low <= 2 else (1,)
        values = [f * 10.0**power for power in range(self._low, self._high + 1) for f in factors]
        return [(value, f"{value:.6g}") for value in values if value <= 10.0**self._high * (1 + 1e-9)]
