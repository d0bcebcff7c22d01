"""A split air conditioner in steady cooling: from a few rated numbers to any charge and weather.

`rated.usual` and `design.design` make a plant, `solve.steady_state` finds how it runs in given `Conditions`,
`balance.balance` checks heat, entropy and mass. No clock, no chance, no terminal.
"""

from guide.rig.plant.balance import Balance, balance
from guide.rig.plant.conditions import BadConditions, Conditions
from guide.rig.plant.design import BadRating, Design, design
from guide.rig.plant.rated import Metering, Rated, usual
from guide.rig.plant.solve import Cause, NoSteadyState, steady_state
from guide.rig.plant.state import SteadyState

__all__ = [
    "BadConditions", "BadRating", "Balance", "Cause", "Conditions", "Design", "Metering", "NoSteadyState",
    "Rated", "SteadyState", "balance", "design", "steady_state", "usual",
]  # fmt: skip
