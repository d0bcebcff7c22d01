"""The charging loop as a picture: superheat, subcooling and the target's band against net refrigerant moved.

The figures tell themselves apart by shape and by words, not by colour.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from guide.record.content import Plot, PlotPoint
from guide.record.layout import HAIR, INK, PALE, SOFT, Box, Dot, Mark, Path, Text, centred, flush_right
from guide.record.lettering import BOLD, PLAIN, width

HEIGHT: Final = 178.0
_KG_AN_OUNCE: Final = 0.45359237 / 16
_SIZE: Final = 7.0


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where data stand on the page."""

    left: float
    right: float
    bottom: float
    top: float
    low_x: float
    high_x: float
    low_y: float
    high_y: float

    def x(self, value: float) -> float:
        """Place of an amount."""
        return self.left + (value - self.low_x) / (self.high_x - self.low_x) * (self.right - self.left)

    def y(self, value: float) -> float:
        """Place of a temperature difference."""
        return self.bottom + (value - self.low_y) / (self.high_y - self.low_y) * (self.top - self.bottom)


def step_for(span: float, most: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides a span into at most so many parts."""
    raw = max(span, 1e-9) / most
    power = 10.0 ** math.floor(math.log10(raw))
    return next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= raw * (1 - 1e-9))


def draw(plot: Plot, left: float, right: float, top: float) -> list[Mark]:
    """The marks of a plot in a strip of `HEIGHT` below `top`; nothing where no figure was reached."""
    x_factor = 1 / _KG_AN_OUNCE if plot.american else 1.0
    y_factor = 1.8 if plot.american else 1.0
    mass, degree = ("oz", "°F") if plot.american else ("kg", "K")
    values = [
        y_factor * value
        for point in plot.points
        for value in (point.superheat_K, point.subcooling_K, *_band(plot, point))
        if value is not None
    ]
    if not values:
        return []
    nets = [x_factor * point.net_kg for point in plot.points]
    x_step = step_for(max(max(nets) - min(nets), 2.0 if plot.american else 0.05), 8)
    y_step = step_for(max(max(values) - min(values), 1.0), 6)
    frame = _Frame(
        left + 34,
        right - 8,
        top - HEIGHT + 30,
        top - 22,
        math.floor(min(nets) / x_step - 0.5) * x_step,
        math.ceil(max(nets) / x_step + 0.5) * x_step,
        math.floor(min(values) / y_step) * y_step,
        math.ceil(max(values) / y_step + 0.2) * y_step,
    )
    marks: list[Mark] = _axes(frame, x_step, y_step, f"net refrigerant into the system [{mass}]", degree)
    for point in plot.points:
        band = [y_factor * value for value in _band(plot, point) if value is not None]
        if band:
            x, low, high = frame.x(x_factor * point.net_kg), frame.y(band[0]), frame.y(band[1])
            marks.append(Box(x - 7, low, 14, high - low, fill=PALE, frame=HAIR))
            middle = (low + high) / 2
            marks.append(Path(((x - 7, middle), (x + 7, middle)), SOFT, 0.6, dashed=True))
    marks += _series(plot, frame, x_factor, y_factor, lambda point: point.subcooling_K, square=True)
    marks += _series(plot, frame, x_factor, y_factor, lambda point: point.superheat_K, square=False)
    return marks + _numbers(plot, frame, x_factor, y_factor) + _legend(plot, left + 34, top - 9)


def _band(plot: Plot, point: PlotPoint) -> tuple[float | None, float | None]:
    if point.target_K is None:
        return (None, None)
    return (point.target_K - plot.tolerance_K, point.target_K + plot.tolerance_K)


def _axes(frame: _Frame, x_step: float, y_step: float, x_label: str, degree: str) -> list[Mark]:
    marks: list[Mark] = []
    for index in range(round((frame.high_y - frame.low_y) / y_step) + 1):
        value = frame.low_y + index * y_step
        y = frame.y(value)
        marks.append(Path(((frame.left, y), (frame.right, y)), HAIR, 0.25))
        marks.append(
            flush_right(_number(value, y_step), frame.left - 4, y - 2.4, font=PLAIN, size=_SIZE, ink=SOFT)
        )
    for index in range(round((frame.high_x - frame.low_x) / x_step) + 1):
        value = frame.low_x + index * x_step
        x = frame.x(value)
        marks.append(Path(((x, frame.bottom), (x, frame.bottom - 3)), SOFT, 0.4))
        marks.append(centred(_number(value, x_step), x, frame.bottom - 11, font=PLAIN, size=_SIZE, ink=SOFT))
    marks.append(
        Path(((frame.left, frame.top), (frame.left, frame.bottom), (frame.right, frame.bottom)), SOFT, 0.6)
    )
    marks.append(flush_right(x_label, frame.right, frame.bottom - 21, font=PLAIN, size=_SIZE, ink=SOFT))
    marks.append(flush_right(degree, frame.left - 4, frame.top + 6, font=PLAIN, size=_SIZE, ink=SOFT))
    return marks


def _number(value: float, step: float) -> str:
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    return f"{round(value, digits) + 0.0:.{digits}f}"


def _series(
    plot: Plot, frame: _Frame, x_factor: float, y_factor: float, figure: Callable[[PlotPoint], float | None],
    *, square: bool,
) -> list[Mark]:  # fmt: skip
    points = [
        (frame.x(x_factor * point.net_kg), frame.y(y_factor * value))
        for point in plot.points
        if (value := figure(point)) is not None
    ]
    marks: list[Mark] = [Path(tuple(points), SOFT if square else INK, 0.7)] if len(points) > 1 else []
    for x, y in points:
        marks.append(Box(x - 2.2, y - 2.2, 4.4, 4.4, fill=1.0, frame=SOFT) if square else Dot(x, y, 2.4))
    return marks


def _numbers(plot: Plot, frame: _Frame, x_factor: float, y_factor: float) -> list[Mark]:
    """Round numbers at the judged figure; those of rounds at one place stand side by side.

    Where refrigerant had been taken out since the round before, the number stands below the point.
    """
    places: dict[tuple[int, int, bool], list[str]] = {}
    where: dict[tuple[int, int, bool], tuple[float, float]] = {}
    back, last = False, plot.points[0].net_kg if plot.points else 0.0
    for point in plot.points:
        back = point.net_kg < last or (back and point.net_kg == last)
        last = point.net_kg
        value = point.superheat_K if plot.judged == "superheat" else point.subcooling_K
        if value is None:
            continue
        x, y = frame.x(x_factor * point.net_kg), frame.y(y_factor * value)
        low = back and y - 12 > frame.bottom
        key = (round(x / 8), round(y / 8), low)
        places.setdefault(key, []).append(str(point.number))
        where.setdefault(key, (x, y))
    return [
        centred(
            _listed(numbers),
            where[key][0],
            where[key][1] + (-11 if key[2] else 5),
            font=BOLD,
            size=_SIZE,
            ink=INK,
        )
        for key, numbers in places.items()
    ]


def _listed(numbers: list[str]) -> str:
    return ", ".join(numbers) if len(numbers) <= 4 else f"{numbers[0]}–{numbers[-1]}"


def _legend(plot: Plot, x: float, y: float) -> list[Mark]:
    marks: list[Mark] = [Dot(x + 3, y + 2.4, 2.4)]
    x += 9
    entries = ["superheat", "subcooling", f"target ± tolerance ({plot.judged})", "numbers: rounds"]
    for index, words in enumerate(entries):
        marks.append(Text(x, y, words, PLAIN, _SIZE, INK))
        x += width(words, PLAIN, _SIZE) + 16
        if index == 0:
            marks.append(Box(x - 4, y + 0.2, 4.4, 4.4, fill=1.0, frame=SOFT))
            x += 5
        elif index == 1:
            marks.append(Box(x - 6, y - 1, 9, 7, fill=PALE, frame=HAIR))
            x += 7
    return marks
