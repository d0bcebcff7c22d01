"""Points on their way down: what a slip costs, and how the points of an item run out."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from guide.rig.learning.lesson import Item, Loss, Rubric
from guide.rig.learning.run import Told

ALL: int = 1_000
"""More than any item carries: all that is left of it."""


@dataclass(frozen=True, slots=True)
class Slip:
    """Something that costs points, before it is known how many its item has left."""

    item: Item
    points: int
    told: Told
    words: str


def settle(rubric: Rubric, slips: Iterable[Slip]) -> tuple[Loss, ...]:
    """The losses that slips come to, in the order of the events; no item loses more than it carries.

    Where an item runs out, the earlier events have lost its points.
    """
    left = {each.item: each.points for each in rubric.items}
    losses = []
    for slip in sorted(slips, key=lambda slip: (slip.told.seq, slip.item.value, slip.words)):
        points = min(slip.points, left.get(slip.item, 0))
        if points <= 0:
            continue
        left[slip.item] -= points
        losses.append(Loss(slip.item, points, slip.told.seq, slip.told.at_s, slip.words))
    return tuple(losses)


def share_lost(amount: float, free: float, everything: float) -> float:
    """Which share of an item an amount costs: none up to `free`, all of it from `everything` on."""
    if everything <= free:
        return float(amount > free)
    return min(1.0, max(0.0, (amount - free) / (everything - free)))


def points_for(share: float, carried: int) -> int:
    """A share of an item's points, rounded up: whatever is lost shows."""
    return math.ceil(share * carried - 1e-9)
