"""Where the refrigerant is: the coils say what they hold, this says what lines, shell and oil hold."""

from __future__ import annotations

from math import exp
from typing import Final

OIL_SHARE: Final = 0.08
OIL_SHARE_FLOODED: Final = 0.15
OIL_FADES_OVER_K: Final = 12.0 / 1.8
"""Mass share in hot oil, how much more where wet vapour comes back, and how fast that fades (PROPOSED)."""


def in_oil_kg(oil_kg: float, superheat_K: float) -> float:
    """Refrigerant dissolved in the compressor's oil [kg], the more the less superheat comes back.

    Mass shares of 8 % in hot oil and 23 % where wet vapour comes back (PROPOSED shape; it brings the slope
    of superheat over charge and the reaction to a dirty condenser where published data have them).
    """
    share = OIL_SHARE + OIL_SHARE_FLOODED * exp(-max(superheat_K, 0.0) / OIL_FADES_OVER_K)
    return oil_kg * share / (1.0 - share)
