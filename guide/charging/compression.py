"""How hot the discharge line of a sound compressor gets, near enough to see that one is far off.

The gas is taken along T2 = T1 · (p2/p1)^m. The exponents stand for a compressor of 70 % isentropic
efficiency that loses 7 % of its work through the shell, from 45 °F saturated suction and 12 °F superheat to
115 °F condensing (CALCULATED with CoolProp 8; the efficiency and the loss PROPOSED, as in the plant
prototype of the reference, whose 170, 201, 179 and 165 °F for the first, second, third and fifth they give
within 7 °F).
"""

from __future__ import annotations

EXPONENTS = {
    "R-410A": 0.191,
    "R-32": 0.235,
    "R-454B": 0.204,
    "R-22": 0.197,
    "R-407C": 0.162,
    "R-134a": 0.139,
}
_OTHERWISE = 0.19  # the middle of those above (PROPOSED); the normal band is wide


def discharge_K(refrigerant: str, *, suction_K: float, pressure_ratio: float) -> float:
    """Return the discharge line's temperature [K] for gas of `suction_K` compressed by `pressure_ratio`.

    A ratio below 1 counts as 1: nothing is compressed then.
    """
    exponent: float = EXPONENTS.get(refrigerant, _OTHERWISE)
    heated: float = suction_K * max(1.0, pressure_ratio) ** exponent
    return heated
