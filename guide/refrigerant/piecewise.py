"""Piecewise Chebyshev series: many digits from few numbers, evaluated in about a microsecond."""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Piecewise:
    """A function on `[breaks[0], breaks[-1]]`, one Chebyshev series for each piece between two breaks.

    Evaluated outside, the first or last piece goes on: the caller guards the range.
    """

    breaks: tuple[float, ...]
    series: tuple[tuple[float, ...], ...]
    _inner: tuple[float, ...]
    _powers: tuple[tuple[float, tuple[float, ...]], ...]

    @classmethod
    def of(cls, breaks: Sequence[float], series: Sequence[Sequence[float]]) -> "Piecewise":
        """Build from n + 1 rising breaks and n series of Chebyshev coefficients, lowest order first."""
        pieces = tuple(
            ((low + high) / 2, _powers_of(coefficients, (high - low) / 2))
            for low, high, coefficients in zip(breaks[:-1], breaks[1:], series, strict=True)
        )
        return cls(tuple(breaks), tuple(tuple(row) for row in series), tuple(breaks[1:-1]), pieces)

    def __call__(self, x: float) -> float:
        """The value at x."""
        middle, powers = self._powers[bisect_right(self._inner, x)]
        step = x - middle
        value = 0.0
        for power in powers:
            value = value * step + power
        return value

    def slope(self, x: float) -> float:
        """The first derivative at x."""
        middle, powers = self._powers[bisect_right(self._inner, x)]
        step = x - middle
        value = slope = 0.0
        for power in powers:
            slope = slope * step + value
            value = value * step + power
        return slope


def chebyshev_nodes(low: float, high: float, degree: int) -> tuple[float, ...]:
    """The degree + 1 extreme points of the Chebyshev polynomial on [low, high], from high down to low.

    Both ends are nodes, so that neighbouring pieces meet without a step.
    """
    middle, half = (low + high) / 2, (high - low) / 2
    inner = tuple(middle + half * math.cos(math.pi * k / degree) for k in range(1, degree))
    return (high, *inner, low)


def chebyshev_coefficients(values: Sequence[float]) -> tuple[float, ...]:
    """Coefficients of the series through values at `chebyshev_nodes`, lowest order first.

    Discrete cosine sum for extreme points (MEMORY: any text on Chebyshev interpolation).
    """
    n = len(values) - 1

    def coefficient(order: int) -> float:
        weighted = math.fsum(
            value * math.cos(math.pi * order * k / n) * (0.5 if k in (0, n) else 1.0)
            for k, value in enumerate(values)
        )
        return weighted * (1.0 if order in (0, n) else 2.0) / n

    return tuple(coefficient(order) for order in range(n + 1))


def _powers_of(coefficients: Sequence[float], half_width: float) -> tuple[float, ...]:
    """Chebyshev coefficients as powers of (x - middle), highest first, which Horner's rule wants."""
    previous, current = [1.0], [0.0, 1.0]
    total = [0.0] * max(len(coefficients), 2)
    for order, coefficient in enumerate(coefficients):
        row = previous if order == 0 else current
        for power, factor in enumerate(row):
            total[power] += coefficient * factor
        if order > 0:
            following = [0.0, *(2 * factor for factor in current)]
            for power, factor in enumerate(previous):
                following[power] -= factor
            previous, current = current, following
    return tuple(factor / half_width**power for power, factor in enumerate(total))[::-1]
