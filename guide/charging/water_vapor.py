"""What water keeps in a vacuum: its vapour pressure over liquid and over ice, and the way back.

Liquid: Wagner and Pruss, the 1992 supplementary release of IAPWS (SR1-86), FOUND as computed by a library
of the registry. Ice: the IAPWS release R14-08 on melting and sublimation pressures, FOUND likewise. They meet
at the triple point within 0.002 %. Held against two other libraries in the tests.
"""

from __future__ import annotations

import math
from typing import Final

from guide.charging.refusal import FigureError, finite, positive

MICRON_Pa: Final = 0.133322387415
"""A thousandth of a millimetre of mercury [Pa] (charging reference, section 4.3)."""
TRIPLE_K: Final = 273.16
TRIPLE_Pa: Final = 611.657
"""Triple point of water (IAPWS R14-08, FOUND); 4588 micron. Below it liquid water freezes."""
COLDEST_K: Final = 150.0
HOTTEST_K: Final = 620.0

_CRITICAL_K: Final = 647.096
_CRITICAL_Pa: Final = 22.064e6
_LIQUID: Final = (
    (-7.85951783, 1.0), (1.84408259, 1.5), (-11.7866497, 3.0),
    (22.6807411, 3.5), (-15.9618719, 4.0), (1.80122502, 7.5),
)  # fmt: skip
_ICE: Final = ((-21.2144006, 0.00333333333), (27.3203819, 1.20666667), (-6.1059813, 1.70333333))


def vapor_pressure_Pa(temperature_K: float) -> float:
    """The pressure [Pa absolute] below which water at this temperature [K] boils, or ice sublimes.

    Raises:
        FigureError: the temperature lies outside 150 to 620 K.
    """
    if not COLDEST_K <= finite("The temperature of the water", temperature_K) <= HOTTEST_K:
        raise FigureError(
            f"The temperature of the water must lie between {COLDEST_K:g} and {HOTTEST_K:g} K, "
            f"not {temperature_K:g}: check what was entered"
        )
    if temperature_K < TRIPLE_K:
        ratio = temperature_K / TRIPLE_K
        return TRIPLE_Pa * math.exp(sum(a * ratio**b for a, b in _ICE) / ratio)
    rest = 1.0 - temperature_K / _CRITICAL_K
    power = sum(a * rest**b for a, b in _LIQUID)
    return _CRITICAL_Pa * math.exp(_CRITICAL_K / temperature_K * power)


def dry_above_K(pressure_Pa: float) -> float:
    """The temperature [K] above which neither water nor ice lasts at this pressure [Pa absolute].

    By halving, to a thousandth of a kelvin: the two curves rise all the way.

    Raises:
        FigureError: the pressure is not above zero, or is that of no water between 150 and 620 K.
    """
    positive("The pressure", pressure_Pa)
    low, high = COLDEST_K, HOTTEST_K
    if not vapor_pressure_Pa(low) <= pressure_Pa <= vapor_pressure_Pa(high):
        raise FigureError(f"No water between {low:g} and {high:g} K has {pressure_Pa:g} Pa: read it again")
    while high - low > 1e-3:
        middle = 0.5 * (low + high)
        if vapor_pressure_Pa(middle) < pressure_Pa:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def freezes(pressure_Pa: float) -> bool:
    """Whether liquid water under this pressure [Pa absolute] turns to ice while it boils.

    Raises:
        FigureError: the pressure is not a number.
    """
    return finite("The pressure", pressure_Pa) < TRIPLE_Pa
