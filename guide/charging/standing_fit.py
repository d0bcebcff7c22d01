"""The rise of a circuit that stands under vacuum, fitted with a leak and with moisture, and how sure each is.

P(t) = P0 + L t + A (1 - exp(-t / tau)), A = Peq - P0 (PROPOSED model, charging reference, section 4.3): L is
what a leak adds in time, A what moisture gives off until it levels. For a given tau the rest is linear: least
squares over a grid of tau, no L and no A below zero. The ranges are those of the profile of squares: every
value for which some tau leaves at most chi-square 6 more than the best: 4 for two standard deviations of one
figure (Press et al., Numerical Recipes, section 15.6, MEMORY), the rest for the gaps of the grid (PROPOSED).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from guide.charging.water_vapor import MICRON_Pa

LEAST_NOISE_Pa: Final = 1.0 * MICRON_Pa
NOISE_SHARE: Final = 0.004
FEW: Final = 12
"""A micron gauge wavers by a micron or 0.4 % of its reading, whichever is more (PROPOSED); more values than
a dozen show their own scatter, and the share falls with the root of their number."""
MOST_POINTS: Final = 90
_STEP: Final = 1.22
_TAUS_S: Final = tuple(45.0 * _STEP**step for step in range(21))
"""45 s to 40 min; damp oil was given 3 to 10 min (charging reference, section 4.3, PROPOSED)."""
_HIGHEST_Pa: Final = 1e6
_LONGEST_S: Final = 1e10
_CHI: Final = 6.0
_CHI_CLIMB: Final = 9.0
"""Three standard deviations before a climb counts that nothing that levels explains (PROPOSED)."""


@dataclass(frozen=True, slots=True)
class Range:
    """A figure, and between which values it lies."""

    best: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Fit:
    """The rise as fitted: all in Pa, Pa/s and s, counted from the first value.

    `bends` says that a straight climb alone does not explain it, `climbs` that levelling alone does not: not
    even two levellings after one another, a quick one (the pressure evens out) and a slow one (moisture).
    """

    start_Pa: float
    leak_Pa_per_s: Range
    level_Pa: Range
    tau_s: float
    now_Pa: float
    rate_now_Pa_per_s: float
    noise_Pa: float
    span_s: float
    bends: bool
    climbs: bool
    explanations: tuple[tuple[float, float, float, float], ...] = ()
    """P0, L, A, tau of everything that explains it, the best first."""

    def at(self, seconds: float) -> Range:
        """The pressure at a time from the first value on [Pa], by every explanation that is left."""
        found = [
            p0 + leak * seconds + a * -math.expm1(-seconds / tau) for p0, leak, a, tau in self.explanations
        ]
        spread = 2.0 * self.noise_Pa
        return Range(found[0], min(found) - spread, max(found) + spread)


def thinned(samples: Iterable[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """At most `MOST_POINTS` pairs of time [s] and pressure [Pa], in their order, means of short stretches.

    The first and the last stay as they are; times count from the first. What is no number or no pressure
    that a vacuum begins from (below zero, above 10 bar) is left out.
    """
    kept = sorted((t, p) for t, p in samples if abs(t) <= _LONGEST_S and 0.0 <= p <= _HIGHEST_Pa)
    if not kept:
        return ()
    first, span = kept[0][0], kept[-1][0] - kept[0][0]
    if len(kept) <= MOST_POINTS or span <= 0.0:
        return tuple((t - first, p) for t, p in kept[-MOST_POINTS:])
    bins: dict[int, list[tuple[float, float]]] = {}
    for t, p in kept[1:-1]:
        bins.setdefault(min(MOST_POINTS - 3, int((t - first) / span * (MOST_POINTS - 2))), []).append((t, p))
    means = (
        (sum(t for t, _ in each) / len(each), sum(p for _, p in each) / len(each)) for each in bins.values()
    )
    return tuple((t - first, p) for t, p in (kept[0], *means, kept[-1]))


def fit(points: Sequence[tuple[float, float]]) -> Fit | None:
    """The rise of points as `thinned` gives them, or None where they are too few to tell anything (5)."""
    if len(points) < 5 or points[-1][0] - points[0][0] <= 0.0:
        return None
    at = _at_taus(points, _TAUS_S)
    for step in (_STEP, _STEP**0.25):
        middle = min(at, key=lambda one: one.squares).tau
        at += _at_taus(points, [middle * step ** (part / 4.0) for part in range(-4, 5) if part])
    straight = _solved(points, _TAUS_S[0], leak=True, bend=False)
    best = min(at, key=lambda one: one.squares)
    highest = max(p for _, p in points)
    # what no explanation could follow, a fall, must not pass for noise
    free = min(_solved(points, tau, leak=True, bend=True).squares for tau in _TAUS_S)
    noise = max(
        LEAST_NOISE_Pa,
        NOISE_SHARE * highest * min(1.0, math.sqrt(FEW / len(points))),
        math.sqrt(free / max(1, len(points) - 4)),
    )
    left = [one for one in at if one.worse_than(best, noise) <= _CHI]
    leaks = [bound for one in left for bound in one.leak_range(best, noise)]
    levels = [bound for one in left for bound in one.level_range(best, noise)]
    span = points[-1][0]
    kept = (best, *(one for one in left if one is not best))
    return Fit(
        start_Pa=best.p0,
        leak_Pa_per_s=Range(best.leak, max(0.0, min(leaks)), max(0.0, *leaks)),
        level_Pa=Range(best.p0 + best.a, min(levels), max(levels)),
        tau_s=best.tau,
        now_Pa=best.at(span),
        rate_now_Pa_per_s=best.leak + best.a / best.tau * math.exp(-span / best.tau),
        noise_Pa=noise,
        span_s=span,
        bends=straight.worse_than(best, noise) > _CHI,
        climbs=(_two_levellings(points) - best.squares) / (noise * noise) > _CHI_CLIMB,
        explanations=tuple((one.p0, one.leak, one.a, one.tau) for one in kept),
    )


@dataclass(frozen=True, slots=True)
class _Solved:
    tau: float
    p0: float
    leak: float
    a: float
    squares: float
    leak_var: float
    """Variance of the leak for a noise of 1."""
    level_var: float

    def at(self, seconds: float) -> float:
        return self.p0 + self.leak * seconds + self.a * -math.expm1(-seconds / self.tau)

    def worse_than(self, best: _Solved, noise: float) -> float:
        return (self.squares - best.squares) / (noise * noise)

    def leak_range(self, best: _Solved, noise: float) -> tuple[float, float]:
        half = noise * math.sqrt(self.leak_var * max(0.0, _CHI - self.worse_than(best, noise)))
        return self.leak - half, self.leak + half

    def level_range(self, best: _Solved, noise: float) -> tuple[float, float]:
        half = noise * math.sqrt(self.level_var * max(0.0, _CHI - self.worse_than(best, noise)))
        return self.p0 + self.a - half, self.p0 + self.a + half


def _at_taus(points: Sequence[tuple[float, float]], taus: Sequence[float]) -> list[_Solved]:
    """The best fit for each tau without a leak or a give-off below zero."""
    found = []
    for tau in taus:
        one = _solved(points, tau, leak=True, bend=True)
        if one.leak < 0.0 or one.a < 0.0:
            lesser = (
                _solved(points, tau, leak=True, bend=False),
                _solved(points, tau, leak=False, bend=True),
                _solved(points, tau, leak=False, bend=False),
            )
            allowed = (each for each in lesser if each.leak >= 0.0 and each.a >= 0.0)
            one = min(allowed, key=lambda each: each.squares)
        found.append(one)
    return found


def _two_levellings(points: Sequence[tuple[float, float]]) -> float:
    """The least squares that two levellings leave, neither of them downward."""
    columns = [[-math.expm1(-t / tau) for t, _ in points] for tau in _TAUS_S]
    centred = [[value - sum(column) / len(column) for value in column] for column in columns]
    mean = sum(p for _, p in points) / len(points)
    above = [p - mean for _, p in points]
    total = math.fsum(value * value for value in above)
    dots = [_dot(column, column) for column in centred]
    withs = [_dot(column, above) for column in centred]
    least = total
    for i, quick in enumerate(centred):
        if withs[i] > 0.0 and dots[i] > 0.0:
            least = min(least, total - withs[i] ** 2 / dots[i])
        for j in range(i + 1, len(centred)):
            both = _dot(quick, centred[j])
            whole = dots[i] * dots[j] - both * both
            if whole <= 1e-12 * dots[i] * dots[j]:
                continue
            a = (dots[j] * withs[i] - both * withs[j]) / whole
            b = (dots[i] * withs[j] - both * withs[i]) / whole
            if a >= 0.0 and b >= 0.0:
                least = min(least, total - a * withs[i] - b * withs[j])
    return max(0.0, least)


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return sum(a * b for a, b in zip(one, other, strict=True))


def _solved(points: Sequence[tuple[float, float]], tau: float, *, leak: bool, bend: bool) -> _Solved:
    """Least squares of P0 and what else is taken, by the normal equations around the means."""
    count = len(points)
    rows = [(t, -math.expm1(-t / tau), p) for t, p in points]
    mt, mb, mp = (sum(row[i] for row in rows) / count for i in range(3))
    stt = sum((t - mt) ** 2 for t, _, _ in rows)
    sbb = sum((b - mb) ** 2 for _, b, _ in rows)
    stb = sum((t - mt) * (b - mb) for t, b, _ in rows)
    stp = sum((t - mt) * (p - mp) for t, _, p in rows)
    sbp = sum((b - mb) * (p - mp) for _, b, p in rows)
    slope = a = leak_var = a_var = both = 0.0
    whole = stt * sbb - stb * stb
    if leak and bend and whole > 1e-12 * stt * sbb:
        slope, a = (sbb * stp - stb * sbp) / whole, (stt * sbp - stb * stp) / whole
        leak_var, a_var, both = sbb / whole, stt / whole, -stb / whole
    elif leak and stt > 0.0:
        slope, leak_var = stp / stt, 1.0 / stt
    elif bend and sbb > 0.0:
        a, a_var = sbp / sbb, 1.0 / sbb
    p0 = mp - slope * mt - a * mb
    squares = sum((p - p0 - slope * t - a * b) ** 2 for t, b, p in rows)
    # the level is mean + a (1 - mean bend) - slope * mean time
    level_var = 1.0 / count + a_var * (1.0 - mb) ** 2 + leak_var * mt * mt - 2.0 * both * (1.0 - mb) * mt
    return _Solved(tau, p0, slope, a, squares, leak_var, max(0.0, level_var))
