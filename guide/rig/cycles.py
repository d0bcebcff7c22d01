"""The cycle of a simulated unit as it settles with what is in it, and of a sound one rightly charged."""

from __future__ import annotations

from dataclasses import dataclass

from guide.rig.plant import SteadyState
from guide.rig.troubles import Troubles


@dataclass(frozen=True, slots=True)
class Corners:
    """What gauges and clamps without any error would read at the four corners [Pa absolute, K]."""

    suction_Pa: float
    suction_line_K: float
    discharge_K: float
    liquid_Pa: float
    liquid_line_K: float


@dataclass(frozen=True, slots=True)
class Cycles:
    """Both cycles of one unit in one weather; None where it would not run."""

    refrigerant: str
    now: Corners | None
    right: Corners | None


def corners(state: SteadyState) -> Corners:
    """The corners of a steady state; what the condenser holds of other gas shows in the liquid's pressure."""
    return Corners(
        suction_Pa=state.suction_Pa,
        suction_line_K=state.suction_line_K,
        discharge_K=state.discharge_K,
        liquid_Pa=state.liquid_Pa,
        liquid_line_K=state.liquid_line_K,
    )


SOUND = Troubles()
"""Nothing wrong: what `Cycles.right` is computed with."""
