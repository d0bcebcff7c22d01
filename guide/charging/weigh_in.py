"""What a circuit takes when it is charged by weight: the nameplate charge and what the line set adds."""

from __future__ import annotations

from guide.charging.refusal import FigureError, finite


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


def weigh_in_charge_kg(nameplate_charge_kg: float, allowance_kg: float = 0.0) -> float:
    """The charge to weigh into an empty circuit [kg].

    Raises:
        FigureError: a figure is not finite, or nothing would be left to weigh in.
    """
    total = finite("The nameplate charge", nameplate_charge_kg) + finite("The allowance", allowance_kg)
    if total <= 0.0:
        raise FigureError(f"The charge to weigh in would be {total:g} kg: check charge and line set")
    return total
