"""Axes of a text chart: which range, which numbers stand at it, where a value falls. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

LARGEST: Final = 1e12
"""Values beyond this are drawn at it: no quantity of the trade comes near."""

SMALLEST_LOG: Final = 1e-3
"""Values at or below nothing have no logarithm and are drawn here."""


@dataclass(frozen=True, slots=True)
class Axis:
    """A range with the numbers that stand at it, rising; `log` where equal steps are equal ratios."""

    low: float
    high: float
    ticks: tuple[float, ...]
    labels: tuple[str, ...]
    log: bool = False

    def share(self, value: float) -> float:
        """Where a value falls, from 0 at the low end to 1 at the high end."""
        if self.log:
            low, high = math.log10(self.low), math.log10(self.high)
            place = (math.log10(max(value, SMALLEST_LOG)) - low) / (high - low)
        else:
            place = (value - self.low) / (self.high - self.low)
        return min(1.0, max(0.0, place))


def linear_axis(values: Sequence[float], most: int, *, least_span: float = 1.0) -> Axis:
    """An axis around values with at most `most` numbers (three at least), steps of 1, 2 or 5."""
    kept = _kept(values)
    low, high = min(kept), max(kept)
    span = max(high - low, least_span, 1e-3 * max(abs(low), abs(high)))
    middle = (low + high) / 2
    low, high = min(low, middle - span / 2), max(high, middle + span / 2)
    step = _step(span / max(1, most - 1))
    while True:
        first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
        if last - first + 1 <= max(3, most):  # below and above nothing there are always three
            break
        step = _step(step * 1.5)
    ticks = tuple(index * step for index in range(first, max(last, first + 1) + 1))
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    labels = tuple(_number(tick, digits) for tick in ticks)
    return Axis(ticks[0], ticks[-1], ticks, labels)


def thinned(axis: Axis, most: int) -> Axis:
    """The same range with at most `most` numbers: every so many, or only those at the ends."""
    count = len(axis.ticks)
    if count <= most:
        return axis
    every = next((n for n in range(2, count) if (count - 1) % n == 0 and (count - 1) // n < most), count - 1)
    return replace(axis, ticks=axis.ticks[::every], labels=axis.labels[::every])


def tight_axis(values: Sequence[float], most: int, *, least_span: float = 1.0) -> Axis:
    """As `linear_axis`, but the range ends where the values end and not at the next number."""
    whole = linear_axis(values, most, least_span=least_span)
    kept = _kept(values)
    low, high = min(kept), max(kept)
    if high - low < (whole.high - whole.low) / 4:
        return whole
    spare = 0.02 * (whole.high - whole.low)
    # finer steps where the coarse ones leave fewer than two numbers inside
    for more in range(4):
        finer = linear_axis(values, most + more, least_span=least_span) if more else whole
        shown = [
            (tick, label)
            for tick, label in zip(finer.ticks, finer.labels, strict=True)
            if low - spare <= tick <= high + spare
        ]
        if 2 <= len(shown) <= max(3, most):
            ticks, labels = zip(*shown, strict=True)
            return Axis(min(low, ticks[0]), max(high, ticks[-1]), ticks, labels)
    return whole


def log_axis(values: Sequence[float], most: int) -> Axis:
    """A logarithmic axis around values; numbers are 1, 2, 5 times powers of ten, or powers of ten only."""
    kept = [max(value, SMALLEST_LOG) for value in _kept(values)]
    grid = [factor * 10.0**power for power in range(-4, 14) for factor in (1, 2, 5)]
    first = max(index for index, value in enumerate(grid) if value <= min(kept) * (1 + 1e-9))
    last = min(index for index, value in enumerate(grid) if value >= max(kept) * (1 - 1e-9))
    while last - first < 3:
        first, last = max(0, first - 1), last + 1
    inside = grid[first : last + 1]
    ticks = inside
    if len(ticks) > max(2, most):
        first, last = first // 3 * 3, -(-last // 3) * 3
        ticks = grid[first : last + 1 : 3]
    every = 1
    while len(ticks[::every]) > max(2, most):
        every += 1
    shown = tuple(ticks[::every])
    return Axis(ticks[0], ticks[-1], shown, tuple(f"{tick:.12g}" for tick in shown), log=True)


def _kept(values: Sequence[float]) -> list[float]:
    kept = [min(LARGEST, max(-LARGEST, value)) for value in values if not math.isnan(value)]
    return kept or [0.0]


def _step(raw: float) -> float:
    """The next step of 1, 2 or 5 times a power of ten at or above a width."""
    power = 10.0 ** math.floor(math.log10(raw))
    return next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= raw * (1 - 1e-9))


def _number(value: float, digits: int) -> str:
    text = f"{round(value, digits) + 0.0:.{digits}f}"
    return text if len(text) <= 9 else f"{value:.7g}"
