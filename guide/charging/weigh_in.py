"""What a circuit takes when it is charged by weight: nameplate charge, line set, accessories."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from guide.charging.refusal import FigureError, finite
from guide.charging.wording import mass

NAMEPLATE_DIVISION_kg: Final = 0.028349523125
"""How far the nameplate's charge may be off: an ounce, to which it is printed (PROPOSED; one maker's FOUND
scale limit is the same)."""
LENGTH_SHARE: Final = 0.02
"""How far a paced or taped length of line may be off, as a share (PROPOSED)."""
ACCESSORY_SHARE: Final = 0.15
"""How far what an accessory adds may be off, as a share: an ounce of six (PROPOSED)."""
_COVERAGE: Final = math.sqrt(3.0)
"""A limit's half-width over the standard uncertainty it stands for, evenly spread (JCGM 100, 4.3.7)."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a charge [kg], how far it may be off at most [kg], and where it is from."""

    name: str
    kg: float
    limit_kg: float
    source: str


@dataclass(frozen=True, slots=True)
class Charge:
    """A charge to weigh in, part by part [kg]; `uncertainty_kg` is expanded, with a factor of two."""

    parts: tuple[Part, ...]
    total_kg: float
    uncertainty_kg: float

    def words(self) -> tuple[str, ...]:
        """One line a part and one for the total."""
        lines = [f"{part.name}: {mass(part.kg)}, {part.source}" for part in self.parts]
        return (*lines, f"to weigh in: {mass(self.total_kg)} ± {mass(self.uncertainty_kg)}")


def line_set_allowance_kg(
    length_m: float, adder_kg_per_m: float, *, covered_m: float, covered_adder_kg_per_m: float | None = None
) -> float:
    """What a line set asks beyond the factory charge [kg]; negative where it is shorter than covered.

    The maker's adder times the whole length, less what the factory charge covers: `covered_m` of line at
    `covered_adder_kg_per_m`, the same adder unless the factory counted on another size (FOUND, makers'
    installation manuals, as in the charging reference).

    Raises:
        FigureError: a figure is below zero or not finite.
    """
    base = adder_kg_per_m if covered_adder_kg_per_m is None else covered_adder_kg_per_m
    for name, value in (
        ("The line set's length", length_m),
        ("The adder", adder_kg_per_m),
        ("The covered length", covered_m),
        ("The adder of the covered line", base),
    ):
        if finite(name, value) < 0.0:
            raise FigureError(f"{name} must not be below zero, not {value:g}: check what was entered")
    return adder_kg_per_m * length_m - base * covered_m


def line_set_limit_kg(
    length_m: float, adder_kg_per_m: float, adder_limit_kg_per_m: float, *, covered_m: float
) -> float:
    """How far a line set's allowance may be off at most [kg].

    An adder that is off is off for what the factory covered too, so only the difference of the lengths
    counts; the length itself is off by a share.
    """
    by_adder = abs(finite("The length", length_m) - finite("The covered length", covered_m))
    by_length = LENGTH_SHARE * length_m * finite("The adder", adder_kg_per_m)
    return math.hypot(by_adder * finite("The adder's limit", adder_limit_kg_per_m), by_length)


def weigh_in_charge_kg(nameplate_charge_kg: float, allowance_kg: float = 0.0) -> float:
    """The charge to weigh into an empty circuit [kg].

    Raises:
        FigureError: a figure is not finite, or nothing would be left to weigh in.
    """
    total = finite("The nameplate charge", nameplate_charge_kg) + finite("The allowance", allowance_kg)
    if total <= 0.0:
        raise FigureError(f"The charge to weigh in would be {total:g} kg: check charge and line set")
    return total


def charge(parts: Sequence[Part], *, scale_division_kg: float, weighings: int = 1) -> Charge:
    """The charge of all its parts, with its uncertainty: each limit evenly spread, and the scale at both
    readings.

    `weighings` is how many cylinders it takes; each is read before and after, half a division off at most
    (JCGM 100).

    Raises:
        FigureError: a figure is not finite or a limit below zero, or nothing would be left to weigh in.
    """
    total = 0.0
    variance = 2 * max(1, weighings) * (finite("The scale's division", scale_division_kg) / 2) ** 2 / 3
    for part in parts:
        total += finite(part.name, part.kg)
        if finite(part.name, part.limit_kg) < 0.0:
            raise FigureError(f"{part.name} can't be off by {part.limit_kg:g} kg: check what was entered")
        variance += (part.limit_kg / _COVERAGE) ** 2
    return Charge(tuple(parts), weigh_in_charge_kg(total), 2 * math.sqrt(variance))
