"""One figure of the simulated plant beside a published one, as the validation table holds it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

# FOUND: read in a published copy; CALCULATED: worked out from published coefficients or laws; MEMORY:
# recalled, not read; PROPOSED: our judgement of what published figures allow.
Mark = Literal["FOUND", "CALCULATED", "MEMORY", "PROPOSED"]


@dataclass(frozen=True, slots=True)
class Compared:
    """What the model gives, what was published, and the band in which the model counts as agreeing.

    `group` and `quantity` together name a row once and for all ("Charge, thermostatic valve" and "capacity
    at 80 % of charge, ratio to right charge"). `measured` is None where only a direction or a band was
    published. The band [`low`, `high`] is closed, in `unit`, infinite where only one side is bounded;
    `band` says in a few words why it is that wide. `source` says what `measured` comes from, with its mark.
    """

    group: str
    quantity: str
    model: float
    measured: float | None
    low: float
    high: float
    unit: str
    band: str
    source: str
    mark: Mark

    @property
    def key(self) -> str:
        """Group and quantity: what no two rows share."""
        return f"{self.group}: {self.quantity}"

    @property
    def difference(self) -> float | None:
        """The model's figure less the published one, in `unit`."""
        return None if self.measured is None else self.model - self.measured

    @property
    def inside(self) -> bool:
        """Whether the model lies in the band; never true of a NaN."""
        return math.isfinite(self.model) and self.low <= self.model <= self.high


def around(measured: float, by: float) -> tuple[float, float]:
    """The band of `by` to each side."""
    return measured - by, measured + by
