"""Which cylinder stands on the scale of the simulated system, and how much it still gives or takes."""

from __future__ import annotations

import math
from typing import Final, Literal

from guide.errors import ChargewrightError
from guide.job.order import Cylinder, Order
from guide.rig.port import Plant

# Cylinders of about 12 litres; all PROPOSED. What a recovery cylinder takes stays under 80 % of it as liquid.
FULL_kg: Final = 14.5
"""Gross weight of a new cylinder: itself and 25 lb of refrigerant."""
LEFT_IN_IT_kg: Final = 3.5
"""Gross weight at which nothing more comes out of it."""
EMPTY_kg: Final = 7.0
"""Gross weight of an empty recovery cylinder."""
TAKES_kg: Final = 9.0
"""How much an empty recovery cylinder takes."""
WORTH_WHILE_kg: Final = 0.05

Way = Literal["in", "out"]


class NoCylinder(ChargewrightError):
    """The order has no cylinder that would do."""


def stand(plant: Plant, order: Order, cylinder: str) -> None:
    """Put a cylinder on the scale; a new one as its contents on the order say."""
    known = order.cylinder(cylinder)
    plant.put_on_scale(cylinder, _empty_kg(known) if known is not None and _for_recovery(known) else FULL_kg)


def _empty_kg(known: Cylinder | None) -> float:
    """What an empty recovery cylinder weighs: as its collar says, where the order gives that."""
    collar = known.collar if known is not None else None
    return EMPTY_kg if collar is None else collar.tare_kg + collar.heel_kg


def room_kg(plant: Plant, order: Order, cylinder: str, way: Way) -> float:
    """How much a cylinder still gives (in) or takes (out) [kg]; it stands on the scale afterwards."""
    stand(plant, order, cylinder)
    return room_of_kg(plant, order, cylinder, way)


def room_of_kg(plant: Plant, order: Order, cylinder: str, way: Way) -> float:
    """The same of the cylinder that stands on the scale."""
    gross_kg = plant.read("cylinder_weight")
    if way == "in":
        return gross_kg - LEFT_IN_IT_kg
    known = order.cylinder(cylinder)
    stop_at = known.stop_at_kg(order.refrigerant.designation, order.scale_division.si) if known else None
    return min(_empty_kg(known) + TAKES_kg, math.inf if stop_at is None else float(stop_at)) - gross_kg


def of_kind(order: Order, way: Way) -> tuple[str, ...]:
    """The order's cylinders of its refrigerant to charge from (in) or to recover into (out)."""
    return tuple(
        each.id
        for each in order.cylinders
        if each.refrigerant == order.refrigerant.designation and _for_recovery(each) == (way == "out")
    )


def fitting(plant: Plant, order: Order, way: Way) -> str:
    """The order's first cylinder for this way that still gives or takes something; it is put on the scale.

    Raises:
        NoCylinder: there is none.
    """
    fit = of_kind(order, way)
    kind = "an empty one for recovery" if way == "out" else "one to charge from"
    if not fit:
        raise NoCylinder(f"the order has no cylinder of {order.refrigerant.designation} that is {kind}")
    for each in fit:
        if room_kg(plant, order, each, way) > WORTH_WHILE_kg:
            return each
    spent = "full" if way == "out" else "used up"
    raise NoCylinder(f"{', '.join(fit)} {'is' if len(fit) == 1 else 'are'} {spent}; name {kind} more")


def _for_recovery(cylinder: Cylinder) -> bool:
    return cylinder.contents in {"empty", "recovered"}
