"""Heat content, density and entropy of a refrigerant from shipped tables, in about a microsecond each.

Temperatures [K], pressures [Pa absolute], heat [J/kg], entropy [J/(kg K)], density [kg/m3]. The zero points
of heat and entropy are the property library's: only differences mean anything.

Between the rows of the table (`thermal_file.py`) lies a cubic spline in the logarithm of pressure; from the
saturated state outward a polynomial in the heat added or taken, whose coefficients are splines too.
`thermal_fit.py` makes the tables from an open property library, which the program does not load for these
figures; the tests hold them against it over the range. Errors (CALCULATED, tests): saturation 0.01 K, vapour
0.06 K and 0.1 % of density, liquid 0.05 K and 0.1 % below 70 % of the critical pressure.

A pressure outside the table is taken as the table's end.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from importlib import resources
from math import exp, log
from typing import Final, NamedTuple

from guide.refrigerant.thermal_file import (
    HEAT_SCALE,
    MOST_SUPERHEAT_K,
    POWERS,
    SATURATED,
    NoThermal,
    Table,
    read_table,
)

__all__ = ["COVERED", "NoThermal", "Saturated", "Thermal", "thermal"]

COVERED: Final = ("R-410A", "R-32", "R-454B", "R-22", "R-407C", "R-134a")
"""The refrigerants that have a table."""

_PER_HEAT: Final = 1.0 / HEAT_SCALE
_CLOSE_K: Final = 1e-7
_LEAST_HEAT: Final = 800.0
"""Fewer J/(kg K) than vapour or liquid of any of them takes: where the search for a heat content begins."""
_MOST_STEPS: Final = 30

Cell = tuple[float, float, float, float]


class Saturated(NamedTuple):
    """Liquid at its bubble point and vapour at its dew point under one pressure. SI."""

    bubble_K: float
    dew_K: float
    liquid_enthalpy: float
    vapour_enthalpy: float
    liquid_density: float
    vapour_density: float
    bubble_K_per_ln: float
    """Slope of the bubble point over the logarithm of pressure."""


class Thermal:
    """The figures of one refrigerant; see the module for units, range and errors."""

    __slots__ = (
        "_away", "_both", "_last", "_leaving", "_ln_lowest", "_ln_most", "_most", "_per_ln", "_saturated",
        "critical_K", "critical_Pa", "designation", "highest_Pa", "lowest_Pa",
    )  # fmt: skip

    def __init__(self, table: Table) -> None:
        self.designation: Final = table.designation
        self.critical_Pa: Final = table.critical_Pa
        self.critical_K: Final = table.critical_K
        self.lowest_Pa: Final = table.lowest_Pa
        self.highest_Pa: Final = table.highest_Pa
        cells = len(table.rows) - 1
        self._last = cells - 1
        self._ln_lowest = log(table.lowest_Pa)
        self._per_ln = cells / (log(table.highest_Pa) - self._ln_lowest)
        self._ln_most = float(cells)
        columns = [spline(column) for column in zip(*table.rows, strict=True)]
        first = len(SATURATED)
        self._saturated = columns[:first]
        self._leaving = [columns[at : at + POWERS] for at in range(first, len(columns), POWERS)]
        self._both = _flat(columns[:6])
        # For each figure: heat and figure at saturation, then the powers from the highest down.
        self._away = [
            _flat([columns[2 + which // 3], columns[saturated], *reversed(self._leaving[which])])
            for which, saturated in enumerate((0, 4, 6, 1, 5, 7))
        ]
        self._most = [self._heat_at_most(exp(self._ln_lowest + i / self._per_ln)) for i in range(cells)]

    def _heat_at_most(self, pressure_Pa: float) -> float:
        hottest = self.vapour_enthalpy_at(pressure_Pa, self.dew_K(pressure_Pa) + MOST_SUPERHEAT_K)
        return (hottest - self.vapour_enthalpy(pressure_Pa)) * _PER_HEAT

    def _place(self, pressure_Pa: float) -> tuple[int, float]:
        at = (log(pressure_Pa) - self._ln_lowest) * self._per_ln
        if at <= 0.0:
            return 0, 0.0
        if at >= self._ln_most:
            return self._last, 1.0
        cell = int(at)
        return cell, at - cell

    def saturated(self, pressure_Pa: float) -> Saturated:
        """Both saturated states under a pressure."""
        i, d = self._place(pressure_Pa)
        (
            b0, b1, b2, b3, w0, w1, w2, w3, l0, l1, l2, l3,
            v0, v1, v2, v3, p0, p1, p2, p3, q0, q1, q2, q3,
        ) = self._both[i]  # fmt: skip
        return Saturated(
            b0 + d * (b1 + d * (b2 + d * b3)),
            w0 + d * (w1 + d * (w2 + d * w3)),
            l0 + d * (l1 + d * (l2 + d * l3)),
            v0 + d * (v1 + d * (v2 + d * v3)),
            exp(p0 + d * (p1 + d * (p2 + d * p3))),
            exp(q0 + d * (q1 + d * (q2 + d * q3))),
            (b1 + d * (2.0 * b2 + d * 3.0 * b3)) * self._per_ln,
        )

    def _one(self, column: int, pressure_Pa: float) -> float:
        i, d = self._place(pressure_Pa)
        a, b, c, e = self._saturated[column][i]
        return a + d * (b + d * (c + d * e))

    def bubble_K(self, pressure_Pa: float) -> float:
        """Temperature at which liquid begins to boil."""
        return self._one(0, pressure_Pa)

    def dew_K(self, pressure_Pa: float) -> float:
        """Temperature at which vapour begins to condense."""
        return self._one(1, pressure_Pa)

    def bubble_Pa(self, temperature_K: float) -> float:
        """Pressure of saturated liquid at a temperature, no further than the table reaches."""
        return self._pressure(0, temperature_K)

    def dew_Pa(self, temperature_K: float) -> float:
        """Pressure of saturated vapour at a temperature, no further than the table reaches."""
        return self._pressure(1, temperature_K)

    def _pressure(self, column: int, temperature_K: float) -> float:
        cells = self._saturated[column]
        low, high = 0, len(cells)
        while high - low > 1:
            middle = (low + high) // 2
            if cells[middle][0] <= temperature_K:
                low = middle
            else:
                high = middle
        a, b, c, e = cells[low]
        d = 0.5
        for _ in range(_MOST_STEPS):
            step = (a + d * (b + d * (c + d * e)) - temperature_K) / (b + d * (2.0 * c + d * 3.0 * e))
            d = min(max(d - step, 0.0), 1.0)
            if abs(step) < 1e-12:
                break
        return exp(self._ln_lowest + (low + d) / self._per_ln)

    def liquid_enthalpy(self, pressure_Pa: float) -> float:
        """Heat content of liquid at its bubble point."""
        return self._one(2, pressure_Pa)

    def vapour_enthalpy(self, pressure_Pa: float) -> float:
        """Heat content of vapour at its dew point."""
        return self._one(3, pressure_Pa)

    def liquid_density(self, pressure_Pa: float) -> float:
        """Density of liquid at its bubble point."""
        return exp(self._one(4, pressure_Pa))

    def vapour_density(self, pressure_Pa: float) -> float:
        """Density of vapour at its dew point."""
        return exp(self._one(5, pressure_Pa))

    def _figure(self, which: int, pressure_Pa: float, enthalpy: float) -> float:
        """A figure of liquid (0 temperature, 1 ln density, 2 entropy) or of vapour (3, 4, 5)."""
        at = (log(pressure_Pa) - self._ln_lowest) * self._per_ln
        if at <= 0.0:
            i, d = 0, 0.0
        elif at >= self._ln_most:
            i, d = self._last, 1.0
        else:
            i = int(at)
            d = at - i
        (
            h0, h1, h2, h3, s0, s1, s2, s3, a0, a1, a2, a3,
            b0, b1, b2, b3, c0, c1, c2, c3, e0, e1, e2, e3, f0, f1, f2, f3,
        ) = self._away[which][i]  # fmt: skip
        heat = enthalpy - h0 - d * (h1 + d * (h2 + d * h3))
        # Vapour hotter than the polynomials were made for goes straight on.
        y = min(heat * _PER_HEAT, self._most[i])
        return (
            s0 + d * (s1 + d * (s2 + d * s3))
            + heat * (
                f0 + d * (f1 + d * (f2 + d * f3))
                + y * (
                    e0 + d * (e1 + d * (e2 + d * e3))
                    + y * (
                        c0 + d * (c1 + d * (c2 + d * c3))
                        + y * (b0 + d * (b1 + d * (b2 + d * b3)) + y * (a0 + d * (a1 + d * (a2 + d * a3))))
                    )
                )
            )
        )  # fmt: skip

    def vapour_K(self, pressure_Pa: float, enthalpy: float) -> float:
        """Temperature of superheated vapour of a heat content."""
        return self._figure(3, pressure_Pa, enthalpy)

    def vapour_volume(self, pressure_Pa: float, enthalpy: float) -> float:
        """Volume [m3/kg] of superheated vapour of a heat content."""
        return exp(-self._figure(4, pressure_Pa, enthalpy))

    def vapour_entropy(self, pressure_Pa: float, enthalpy: float) -> float:
        """Entropy of superheated vapour of a heat content; at the dew point that of saturated vapour."""
        return self._figure(5, pressure_Pa, enthalpy)

    def subcooled_K(self, pressure_Pa: float, enthalpy: float) -> float:
        """Temperature of subcooled liquid of a heat content."""
        return self._figure(0, pressure_Pa, enthalpy)

    def subcooled_density(self, pressure_Pa: float, enthalpy: float) -> float:
        """Density of subcooled liquid of a heat content."""
        return exp(self._figure(1, pressure_Pa, enthalpy))

    def liquid_entropy(self, pressure_Pa: float, enthalpy: float) -> float:
        """Entropy of subcooled liquid of a heat content; at the bubble point that of saturated liquid."""
        return self._figure(2, pressure_Pa, enthalpy)

    def vapour_enthalpy_at(self, pressure_Pa: float, temperature_K: float) -> float:
        """Heat content of superheated vapour at a temperature."""
        return self._enthalpy_at(3, 1, pressure_Pa, temperature_K)

    def subcooled_enthalpy_at(self, pressure_Pa: float, temperature_K: float) -> float:
        """Heat content of subcooled liquid at a temperature."""
        return self._enthalpy_at(0, 0, pressure_Pa, temperature_K)

    def temperature_K(self, pressure_Pa: float, enthalpy: float) -> float:
        """Temperature of whatever phase has this heat content; a mixture straight from bubble to dew."""
        both = self.saturated(pressure_Pa)
        if enthalpy >= both.vapour_enthalpy:
            return self.vapour_K(pressure_Pa, enthalpy)
        if enthalpy <= both.liquid_enthalpy:
            return self.subcooled_K(pressure_Pa, enthalpy)
        share = (enthalpy - both.liquid_enthalpy) / (both.vapour_enthalpy - both.liquid_enthalpy)
        return both.bubble_K + share * (both.dew_K - both.bubble_K)

    def entropy(self, pressure_Pa: float, enthalpy: float) -> float:
        """Entropy of whatever phase has this heat content; in a mixture by the share of vapour."""
        both = self.saturated(pressure_Pa)
        if enthalpy >= both.vapour_enthalpy:
            return self.vapour_entropy(pressure_Pa, enthalpy)
        if enthalpy <= both.liquid_enthalpy:
            return self.liquid_entropy(pressure_Pa, enthalpy)
        share = (enthalpy - both.liquid_enthalpy) / (both.vapour_enthalpy - both.liquid_enthalpy)
        return (1.0 - share) * self._one(6, pressure_Pa) + share * self._one(7, pressure_Pa)

    def quality(self, pressure_Pa: float, enthalpy: float) -> float:
        """Share of vapour by mass, 0 for subcooled liquid and 1 for superheated vapour."""
        liquid, vapour = self._one(2, pressure_Pa), self._one(3, pressure_Pa)
        return min(max((enthalpy - liquid) / (vapour - liquid), 0.0), 1.0)

    def first_kelvin_per_heat(self, pressure_Pa: float) -> tuple[float, float, float, float]:
        """How temperature begins to leave saturation: K per J/kg and its change per J/kg.

        Liquid first, whose heat counts negative as it is taken; then vapour.
        """
        i, d = self._place(pressure_Pa)
        l0, l1, l2, l3 = self._leaving[0][0][i]
        m0, m1, m2, m3 = self._leaving[0][1][i]
        v0, v1, v2, v3 = self._leaving[3][0][i]
        w0, w1, w2, w3 = self._leaving[3][1][i]
        return (
            l0 + d * (l1 + d * (l2 + d * l3)),
            (m0 + d * (m1 + d * (m2 + d * m3))) * _PER_HEAT,
            v0 + d * (v1 + d * (v2 + d * v3)),
            (w0 + d * (w1 + d * (w2 + d * w3))) * _PER_HEAT,
        )

    def _enthalpy_at(self, which: int, column: int, pressure_Pa: float, temperature_K: float) -> float:
        i, d = self._place(pressure_Pa)

        def figure(cells: Sequence[Cell]) -> float:
            a, b, c, e = cells[i]
            return a + d * (b + d * (c + d * e))

        away_K = temperature_K - figure(self._saturated[column])
        powers = [figure(cells) for cells in self._leaving[which]]
        # Close to saturation heat warms little, further away more: begin with what it takes far away.
        heat = away_K * _LEAST_HEAT
        for _ in range(_MOST_STEPS):
            y = heat * _PER_HEAT
            gain = slope = 0.0
            for power in reversed(powers):
                slope = slope * y + gain
                gain = gain * y + power
            off_K = heat * gain - away_K
            if abs(off_K) < _CLOSE_K:
                break
            heat -= off_K / (gain + y * slope)
        return figure(self._saturated[3 if which >= 3 else 2]) + heat


def _flat(columns: Sequence[Sequence[Cell]]) -> tuple[tuple[float, ...], ...]:
    """For each cell the coefficients of all columns in one row, which is the quickest to read."""
    return tuple(tuple(number for cell in cells for number in cell) for cells in zip(*columns, strict=True))


def spline(values: Sequence[float]) -> tuple[Cell, ...]:
    """Cubic spline through evenly spaced values, straight in curvature at both ends (not-a-knot).

    One (value, slope, curvature / 2, third / 6) for each cell, its coordinate running from 0 to 1
    (MEMORY: any text on splines).
    """
    count = len(values)
    # Slopes m: m[k-1] + 4 m[k] + m[k+1] = 3 (y[k+1] - y[k-1]), at an end m[0] + 2 m[1] = (5 d0 + d1) / 2.
    upper, right = [0.0] * count, [0.0] * count
    first, second = values[1] - values[0], values[2] - values[1]
    upper[0], right[0] = 2.0, 0.5 * (5.0 * first + second)
    for k in range(1, count - 1):
        pivot = 4.0 - upper[k - 1]
        upper[k] = 1.0 / pivot
        right[k] = (3.0 * (values[k + 1] - values[k - 1]) - right[k - 1]) / pivot
    last, before = values[-1] - values[-2], values[-2] - values[-3]
    slopes = [0.0] * count
    slopes[-1] = (0.5 * (5.0 * last + before) - 2.0 * right[-2]) / (1.0 - 2.0 * upper[-2])
    for k in range(count - 2, -1, -1):
        slopes[k] = right[k] - upper[k] * slopes[k + 1]
    return tuple(
        (y0, m0, 3.0 * (y1 - y0) - 2.0 * m0 - m1, 2.0 * (y0 - y1) + m0 + m1)
        for y0, y1, m0, m1 in zip(values[:-1], values[1:], slopes[:-1], slopes[1:], strict=True)
    )


@lru_cache(maxsize=len(COVERED))
def thermal(designation: str) -> Thermal:
    """The figures of a refrigerant, its table read once.

    Raises:
        NoThermal: it has no table.
    """
    if designation not in COVERED:
        raise NoThermal(
            f"heat and density of {designation} are not known, only of {', '.join(COVERED)}: "
            "choose one of these"
        )
    file = resources.files("guide.refrigerant") / "thermal_tables" / f"{designation}.json"
    try:
        data = file.read_bytes()
    except OSError as error:
        raise NoThermal(f"table of {designation}: file missing; install the program again") from error
    return Thermal(read_table(data, designation))
