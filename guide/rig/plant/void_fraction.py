"""How much of a boiling or condensing tube is vapour, and so what mass it holds.

Vapour runs ahead of liquid by a slip that grows with the ratio of their densities to a power. Zivi's least
entropy gives the power 1/3 (MEMORY: Zivi 1964), Hughmark's table of measured holdup gives mean densities in
between that correspond to 0.36 to 0.48 of the form used here (MEMORY table, CALCULATED). The form is
void = x / (x + (1 - x) S) with S = (vapour density / liquid density)^n, so a smaller n holds more liquid.
`SLIP` was tuned once, with what `rated.py` names, so that superheat at right charge follows the published
target table and a valve's capacity and power at wrong charge a published correlation (NIST TN 1848).
"""

from __future__ import annotations

from math import log
from typing import Final

SLIP: Final = 0.415
_THIN: Final = 1e-4


def mean_density(quality_1: float, quality_2: float, liquid: float, vapour: float) -> float:
    """Mean density [kg/m3] of a tube whose share of vapour changes evenly from one quality to another.

    `liquid`, `vapour`: densities of the saturated phases [kg/m3].
    """
    slip: float = (vapour / liquid) ** SLIP
    b = 1.0 - slip
    change = quality_2 - quality_1
    if -_THIN < change < _THIN:
        middle = 0.5 * (quality_1 + quality_2)
        void = middle / (slip + b * middle)
    else:
        void = 1.0 / b - slip / (b * b * change) * log((slip + b * quality_2) / (slip + b * quality_1))
    return void * vapour + (1.0 - void) * liquid
