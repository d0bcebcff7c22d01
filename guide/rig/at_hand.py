"""What every act at a simulated unit asks first: on which side, how far, what presses there. SI."""

from __future__ import annotations

from typing import Final

from guide.errors import ChargewrightError
from guide.rig.acts import Handling
from guide.rig.fluid import passes_kg_per_s
from guide.rig.hookup import SIDES
from guide.rig.hoses import HAND_m2
from guide.rig.unit_state import UnitState

PRESSES_Pa: Final = 20_000.0
"""How far above the air something has to press before it is felt: about 3 psi (PROPOSED)."""
RELEASE_S: Final = 5.0
"""How long refrigerant blows before a person shuts the valve again (PROPOSED)."""


class CannotBeDone(ChargewrightError):
    """An act that hands can't do as things stand: why, and what would come first."""


def pressing_Pa(state: UnitState) -> float:
    """What presses in the circuit most."""
    return max(state.side_Pa(side, state.now_s) for side in SIDES)


def blown_kg(state: UnitState, side: str) -> float:
    """What blows out of the circuit at a hand valve before it is shut again."""
    pressure = state.side_Pa(side, state.now_s)
    weight = density(state, pressure, liquid=side == "high" and state.has_liquid())
    area = max(state.set.hand[side], 0.3) * HAND_m2
    return RELEASE_S * passes_kg_per_s(area, weight, pressure - state.scenario.site_pressure_Pa)


def side_of(handling: Handling) -> str:
    """The side an act is about.

    Raises:
        CannotBeDone: it names none.
    """
    if handling.at not in SIDES:
        raise CannotBeDone(f"{handling.act.value}: on which side? low or high, not {handling.at[:40]!r}")
    return handling.at


def amount_of(handling: Handling) -> float:
    """How far a valve is opened; all the way where nothing is said.

    Raises:
        CannotBeDone: outside 0 to 1.
    """
    amount = 1.0 if handling.amount is None else handling.amount
    if not 0.0 <= amount <= 1.0:
        raise CannotBeDone(f"{handling.act.value}: how far goes from 0 to 1, not {amount:g}")
    return amount


def density(state: UnitState, pressure_Pa: float, *, liquid: bool) -> float:
    """Density of what stands at a port [kg/m3]."""
    if liquid:
        return state.fluid.liquid_kg_per_m3(state.outdoor_K)
    return state.fluid.vapour_mass_kg(1.0, state.outdoor_K, pressure_Pa)
