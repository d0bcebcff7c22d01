"""Flow through a fixed orifice (short tube), choked by the liquid that flashes in it.

Form and coefficients: Payne and O'Neal, short-tube correlations for R-410A (ASHRAE Transactions 1999) and
R-407C (1998); Kim and O'Neal for R-22 (1994) and, with Yuan, R-134a (1994): FOUND in a public academic heat
pump model (rachelspitler/HPSim, src/ShortTube.f90), not checked against the papers. R-32 and R-454B use
R-410A's with their own critical point: no published set was found (PROPOSED).

Two departures. The term of subcooling has an infinite slope at none where its power is below 1; a hundredth
added inside the power mends that. A mixture before the orifice counts with its own density instead of the
published factor, which jumps where the first bubble appears.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt
from typing import Final

LENGTH_TO_DIAMETER: Final = 8.0
DIAMETER_TO_REFERENCE: Final = 1.0
_SOFT: Final = 0.01
_LEAST_SHARE: Final = 0.02


@dataclass(frozen=True, slots=True)
class Coefficients:
    """b1 to b11 of the correlation, worked out for one length and diameter ratio."""

    constant: float
    subcooling: float
    pressure_power: float
    subcooling_power: float
    pressure: float
    pressure_alone_power: float
    evaporator: float


def _coefficients(*b: float) -> Coefficients:
    shape = b[7] * exp(b[8] * DIAMETER_TO_REFERENCE * LENGTH_TO_DIAMETER ** b[9])
    return Coefficients(b[0] + shape, b[1] * LENGTH_TO_DIAMETER ** b[3], b[2], b[4], b[5], b[6], b[10])


_R410A: Final = _coefficients(
    0.874805831, 3.131470913, -0.214726407, 0.083394737, 0.901559277, -0.020574536, 0.944446846,
    -0.418400083, -0.025322802, 2.33507746, 0.068890172,
)  # fmt: skip
COEFFICIENTS: Final = {
    "R-410A": _R410A,
    "R-32": _R410A,
    "R-454B": _R410A,
    "R-407C": _coefficients(
        0.963034325, 4.286408416, -0.278235435, -0.043090943, 0.916226528, 0.071794702, 0.499098698,
        -0.208417565, -0.034680678, 1.844061084, -0.091235910,
    ),
    "R-22": _coefficients(1.005, 5.7367, -0.485, -0.179, 0.9948, 0.268, 2.716, -0.226, -0.021, 2.0, -0.092),
    "R-134a": _coefficients(
        1.0156, 10.0612, -0.3296, -0.1758, 1.0831, 0.0, 0.0, -0.1802, -0.00214, 2.9596, -0.0745
    ),
}  # fmt: skip


def flow_per_area(
    coefficients: Coefficients,
    *,
    before_Pa: float,
    subcooling_K: float,
    bubble_K: float,
    bubble_K_per_ln: float,
    density: float,
    after_Pa: float,
    critical_Pa: float,
    critical_K: float,
) -> float:
    """Mass flow [kg/s] through a square metre of orifice.

    `bubble_K`, `bubble_K_per_ln`: bubble point under the pressure before it and its slope over the logarithm
    of pressure; `subcooling_K` not negative; `density` of what comes to it [kg/m3].
    """
    share = before_Pa / critical_Pa
    cold = subcooling_K / critical_K
    # Saturation pressure of the liquid's temperature, ln P being straight in 1/T.
    flash_Pa = before_Pa * exp(
        -bubble_K * bubble_K / bubble_K_per_ln * (1.0 / (bubble_K - subcooling_K) - 1.0 / bubble_K)
    )
    ln_share = log(share)
    choked_Pa = flash_Pa * (
        coefficients.constant
        + coefficients.subcooling
        * exp(coefficients.pressure_power * ln_share)
        * cold
        * (cold + _SOFT) ** (coefficients.subcooling_power - 1.0)
        + coefficients.pressure * exp(coefficients.pressure_alone_power * ln_share)
        + coefficients.evaporator * (1.0 - after_Pa / critical_Pa)
    )
    drop_Pa = before_Pa - max(choked_Pa, after_Pa)
    least_Pa = _LEAST_SHARE * before_Pa
    if drop_Pa < 2.0 * least_Pa:  # runs out softly above nothing
        drop_Pa = least_Pa * exp(drop_Pa / least_Pa - 2.0) + least_Pa
    return sqrt(2.0 * density * drop_Pa)
