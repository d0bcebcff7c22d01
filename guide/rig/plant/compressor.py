"""A hermetic compressor: swept flow, work against an isentropic one, heat lost from its shell.

Shapes: volumetric efficiency falls straight with the pressure ratio, overall efficiency (motor included) has
a flat top near a ratio of 2.7, as scroll compressors for air conditioning do (PROPOSED figures; the plant's
curves hardly hang on them). The isentropic end state comes from the tables of entropy.
Wet suction goes on smoothly: the volume of the mixture, the entropy of the mixture.
"""

from __future__ import annotations

from math import log
from typing import Final, NamedTuple

from guide.refrigerant.thermal import Saturated, Thermal

VOLUMETRIC: Final = 0.985
VOLUMETRIC_PER_RATIO: Final = 0.018
EFFICIENCY: Final = 0.70
BEST_RATIO: Final = 2.7
EFFICIENCY_FALL: Final = 0.43  # 1 / (1 + 0.43 ln²) is about 1 - 0.30 / 0.70 ln² and never negative
SHELL_LOSS: Final = 0.07
_LEAST_VOLUMETRIC: Final = 0.3
_GUESS_EXPONENT: Final = 0.10


class Compression(NamedTuple):
    """Flow [kg/s], heat content behind [J/kg], power [W], heat from the shell [W], volume before [m3/kg]."""

    flow_kg_per_s: float
    discharge_enthalpy: float
    power_W: float
    shell_W: float
    suction_volume: float


def compress(
    fluid: Thermal,
    *,
    swept_m3_per_s: float,
    suction_Pa: float,
    suction_enthalpy: float,
    at_suction: Saturated,
    discharge_Pa: float,
    leak: float,
) -> Compression:
    """What the compressor does between two pressures [Pa]; `leak`: share of swept flow that slips back."""
    dew = at_suction.vapour_enthalpy
    if suction_enthalpy >= dew:
        volume = fluid.vapour_volume(suction_Pa, suction_enthalpy)
        entropy = fluid.vapour_entropy(suction_Pa, suction_enthalpy)
    else:
        wet = (dew - suction_enthalpy) / (dew - at_suction.liquid_enthalpy)
        volume = (1.0 - wet) / at_suction.vapour_density + wet / at_suction.liquid_density
        entropy = fluid.vapour_entropy(suction_Pa, dew) - (dew - suction_enthalpy) / at_suction.dew_K
    ratio = discharge_Pa / suction_Pa
    ratio = max(ratio, 1.05)
    ln = log(ratio)
    work = suction_Pa * volume * (ratio**_GUESS_EXPONENT - 1.0) / _GUESS_EXPONENT
    # One step of Newton's method from a good guess: at constant pressure heat is temperature times entropy.
    guess = suction_enthalpy + work
    work -= fluid.vapour_K(discharge_Pa, guess) * (fluid.vapour_entropy(discharge_Pa, guess) - entropy)
    off = log(ratio / BEST_RATIO)
    efficiency = EFFICIENCY / (1.0 + EFFICIENCY_FALL * off * off)
    volumetric = max(VOLUMETRIC - VOLUMETRIC_PER_RATIO * (ratio - 1.0), _LEAST_VOLUMETRIC)
    swept = volumetric * swept_m3_per_s / volume
    power = swept * max(work, suction_Pa * volume * 0.5 * ln) / efficiency
    flow = swept * (1.0 - leak)
    return Compression(
        flow, suction_enthalpy + (1.0 - SHELL_LOSS) * power / flow, power, SHELL_LOSS * power, volume
    )
