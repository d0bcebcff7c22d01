"""One feature of a system beside what a sound, rightly charged system shows, and on which side it lies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum


class Sign(StrEnum):
    """On which side of normal a figure lies."""

    LOW = "low"
    NORMAL = "normal"
    HIGH = "high"


class Feature(StrEnum):
    """What is looked at. The first seven are the columns of the published rule table."""

    EVAPORATING = "evaporating temperature"
    SUPERHEAT = "superheat"
    CONDENSING = "condensing temperature"
    SUBCOOLING = "subcooling"
    DISCHARGE = "discharge line temperature"
    CONDENSER_RISE = "temperature rise of the condenser's air"
    SPLIT = "temperature split of the indoor air"
    PRESSURE_RATIO = "pressure ratio"
    STANDING = "pressure at rest"
    SIDES_AT_REST = "difference of the two gauges at rest"
    AIRFLOW = "indoor airflow"
    ANSWER = "answer of superheat to charge"


SHARES = frozenset({Feature.AIRFLOW, Feature.ANSWER})
"""Features that are shares of what is usual; all others are temperatures or the logarithm of a ratio."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """One figure beside the figure of a sound system; K, or a plain number for ratio and shares.

    `low` and `high` are the ends of what is expected (equal where it is one value), `band` the half width
    of normal around it, `uncertainty` the limit of the instruments. For the weighing: `usual` is where sound
    systems lie on average and `spread` their standard deviation; no trouble takes the figure below `floor` or
    above `ceiling`.
    """

    feature: Feature
    value: float
    low: float
    high: float
    band: float
    uncertainty: float
    sentence: str
    usual: float
    spread: float
    floor: float = -math.inf
    ceiling: float = math.inf

    @property
    def off(self) -> float:
        """How far outside of what is expected the figure lies, in bands: beyond ± 1 it is a sign."""
        outside = self.value - min(max(self.value, self.low), self.high)
        return outside / math.hypot(self.band, self.uncertainty)

    @property
    def sign(self) -> Sign:
        """The side on which the figure lies."""
        return Sign.HIGH if self.off >= 1.0 else Sign.LOW if self.off <= -1.0 else Sign.NORMAL
