"""How much a litre of liquid refrigerant weighs: a shipped table, no property library.

`guide/refrigerant/density_fit.py` makes the table (CALCULATED, CoolProp, nominal composition, bubble point),
and the tests hold it against the library. Mixture models differ from printed tables by about 1 %.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from types import MappingProxyType
from typing import Final

from guide.errors import ChargewrightError

NODES_C: Final = tuple(range(-10, 61, 5))
"""Temperatures [°C] at which the table gives a density; 25 °C is 77 °F and 55 °C is 131 °F."""
_STEP_K: Final = 5.0
_SLACK_K: Final = 0.01


class NoDensity(ChargewrightError):
    """A refrigerant or a temperature for which the table holds no liquid density."""


@dataclass(frozen=True, slots=True)
class LiquidDensity:
    """Liquid density of one refrigerant; `densities` [kg/m3] at the first nodes of the table.

    `estimated`: a pair of its components has no fitted interaction, a mixing rule stands in for it.
    """

    designation: str
    estimated: bool
    bridged: bool
    densities: tuple[float, ...]

    def at(self, temperature_K: float) -> float:
        """Density [kg/m3] of the liquid at its bubble point, interpolated by a cubic through four nodes.

        Raises:
            NoDensity: the temperature is outside the table, or there is no liquid at it.
        """
        celsius = temperature_K - 273.15
        last = NODES_C[len(self.densities) - 1]
        if not NODES_C[0] - _SLACK_K <= celsius <= last + _SLACK_K:
            raise NoDensity(
                f"{self.designation}: liquid density at {celsius:.1f} °C is not known, "
                f"only from {NODES_C[0]} to {last} °C; go by the cylinder's label"
            )
        position = (celsius - NODES_C[0]) / _STEP_K
        first = max(0, min(int(position) - 1, len(self.densities) - 4))
        points = range(first, min(first + 4, len(self.densities)))
        total = 0.0
        for i in points:
            weight = 1.0
            for j in points:
                if j != i:
                    weight *= (position - j) / (i - j)
            total += weight * self.densities[i]
        return total


def liquid_density(designation: str) -> LiquidDensity:
    """The table's row of a refrigerant, by its ASHRAE designation with hyphen.

    Raises:
        NoDensity: the table has none.
    """
    row = _table().get(designation)
    if row is None:
        raise NoDensity(
            f"no liquid density of {designation[:24]!r} is known, so no fill limit can be worked out; "
            "go by the cylinder's label"
        )
    return row


def known() -> tuple[str, ...]:
    """Every designation of the table."""
    return tuple(_table())


@lru_cache(maxsize=1)
def _table() -> Mapping[str, LiquidDensity]:
    file = resources.files("guide.refrigerant") / "liquid_density.csv"
    try:
        lines = file.read_text(encoding="utf-8").splitlines()
    except OSError as error:
        raise NoDensity("the table of liquid densities is missing; install the program again") from error
    rows: dict[str, LiquidDensity] = {}
    for line in lines:
        if line.startswith("#") or line.startswith("designation,"):
            continue
        designation, words, *figures = line.split(",")
        densities = []
        for figure in figures:
            if not figure:
                break
            densities.append(float(figure))
        rows[designation] = LiquidDensity(
            designation, "estimated" in words, "bridged" in words, tuple(densities)
        )
    return MappingProxyType(rows)
