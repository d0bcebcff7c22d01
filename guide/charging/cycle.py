"""The vapor-compression cycle that readings describe, as states in a pressure-enthalpy diagram. Pure.

Pressure losses in the coils and lines are not seen by two gauges and are left out: the diagram is the
textbook's four-cornered one (common practice, no source), drawn through what was read.
"""

from __future__ import annotations

from dataclasses import dataclass

from guide.charging.compression import discharge_K
from guide.charging.round import Meaning, Round
from guide.refrigerant.thermal import Thermal


@dataclass(frozen=True, slots=True)
class Corner:
    """One state [Pa absolute, J/kg]."""

    pressure_Pa: float
    enthalpy: float


@dataclass(frozen=True, slots=True)
class Cycle:
    """The four corners: into the compressor, out of it, into the metering device, out of it.

    `discharge_read` is False where nobody read the discharge line and a sound compressor was assumed.
    """

    suction: Corner
    discharge: Corner
    liquid: Corner
    mixture: Corner
    discharge_read: bool

    @property
    def corners(self) -> tuple[Corner, ...]:
        """All four, in the order the refrigerant takes them."""
        return (self.suction, self.discharge, self.liquid, self.mixture)


def cycle(thermal: Thermal, now: Round) -> Cycle | None:
    """The cycle of one round of readings; None where one of the four it needs was not read or can't be.

    A suction line at or below dew counts as saturated vapour and a liquid line at or above bubble as
    saturated liquid: how much of the other there is, no gauge and clamp can tell.
    """
    low, high = now.suction_pressure_Pa, now.liquid_pressure_Pa
    if low is None or high is None or now.suction_line_K is None or now.liquid_line_K is None:
        return None
    if not thermal.lowest_Pa <= low < high <= thermal.highest_Pa:
        return None
    return _through(
        thermal, low, high,
        superheat_K=max(0.0, now.suction_line_K - thermal.dew_K(low)),
        subcooling_K=max(0.0, thermal.bubble_K(high) - now.liquid_line_K),
        discharge_line_K=now.discharge_line_K,
    )  # fmt: skip


def wanted_cycle(thermal: Thermal, now: Round, meaning: Meaning) -> Cycle | None:
    """The same at the same two pressures, with the target's superheat and subcooling where there is one.

    None where there is no target, or no cycle. What the pressures would be at the right charge, readings
    do not tell.
    """
    if meaning.target_superheat_K is None and meaning.target_subcooling_K is None:
        return None
    is_now = cycle(thermal, now)
    low, high = now.suction_pressure_Pa, now.liquid_pressure_Pa
    if is_now is None or low is None or high is None:
        return None
    superheat_K, subcooling_K = meaning.target_superheat_K, meaning.target_subcooling_K
    assert now.suction_line_K is not None
    assert now.liquid_line_K is not None
    return _through(
        thermal, low, high,
        superheat_K=max(0.0, now.suction_line_K - thermal.dew_K(low)) if superheat_K is None else superheat_K,
        subcooling_K=(
            max(0.0, thermal.bubble_K(high) - now.liquid_line_K) if subcooling_K is None else subcooling_K
        ),
        discharge_line_K=None,
    )  # fmt: skip


def _through(
    thermal: Thermal, low: float, high: float, *, superheat_K: float, subcooling_K: float,
    discharge_line_K: float | None,
) -> Cycle:  # fmt: skip
    suction_K = thermal.dew_K(low) + superheat_K
    suction = Corner(low, thermal.vapour_enthalpy_at(low, suction_K))
    least_K = thermal.dew_K(high)
    read = discharge_line_K is not None and discharge_line_K > least_K
    assumed_K = discharge_K(thermal.designation, suction_K=suction_K, pressure_ratio=high / low)
    hot_K = discharge_line_K if read and discharge_line_K is not None else max(assumed_K, least_K)
    discharge = Corner(high, thermal.vapour_enthalpy_at(high, hot_K))
    liquid_h = thermal.subcooled_enthalpy_at(high, thermal.bubble_K(high) - subcooling_K)
    return Cycle(suction, discharge, Corner(high, liquid_h), Corner(low, liquid_h), read)
