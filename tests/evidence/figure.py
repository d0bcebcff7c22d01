"""One figure of ours beside one from outside, as the evidence table holds it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

# FOUND: read in a published copy; LIBRARY: computed by a registry library; CALCULATED: worked out from a
# published formula or from FOUND data; MEMORY: recalled, not read.
Mark = Literal["FOUND", "LIBRARY", "CALCULATED", "MEMORY"]


@dataclass(frozen=True, slots=True)
class Row:
    """A quantity, our figure, the outside figure, both in `unit`, and by how much they may differ.

    `quantity` names everything that fixes the value ("R-410A, dew pressure at 40 °F"): no two rows share it
    and the source. What stands before the first comma groups the rows. `tolerance` is absolute, in `unit`,
    and says what the outside figure is good for (its last printed digit, its stated accuracy). `source`
    begins with the short name that figures of one source share; " - " and the address or the clause may
    follow.
    """

    quantity: str
    ours: float
    outside: float
    unit: str
    tolerance: float
    source: str
    mark: Mark

    @property
    def difference(self) -> float:
        """Our figure less the outside one, in `unit`."""
        return self.ours - self.outside

    @property
    def agrees(self) -> bool:
        """Whether the two lie within the tolerance of each other; never true of a NaN."""
        return abs(self.difference) <= self.tolerance
