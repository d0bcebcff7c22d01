"""A drawn rig while it runs: the steady plant, a lag towards it, and what the instruments make of it."""

from __future__ import annotations

from guide.charging.wording import to_F
from guide.rig.plant import SteadyState
from tests.charging.plants.draw import Weather
from tests.charging.plants.running import Running, _normal_split_F
from tests.rig.campaigning.rigs import Rig, bare_subcooling_F, bare_superheat_F


class RigRunning(Running):
    """As `Running`, with the figures computed from physics.

    Every figure may raise `NoSteadyState`: the machine would have stopped by itself.
    """

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.moves = 0
        self._solved: tuple[tuple[float, Weather], SteadyState] | None = None
        super().__init__(rig.plant, rig.shift)

    def true(self) -> SteadyState:
        """The steady state with the present charge and air."""
        asked = (self.charge_percent, self.weather)
        if self._solved is None or self._solved[0] != asked:
            near = self._solved[1] if self._solved is not None else None
            self._solved = asked, self.rig.state(*asked, near)
        return self._solved[1]

    def gap_F(self) -> float:
        if self.plant.orifice:
            return self.bare_superheat_F() - self.target_F()
        return self.target_F() - bare_subcooling_F(self.true())

    def bare_superheat_F(self) -> float:
        return bare_superheat_F(self.true())

    def steady(self) -> dict[str, float]:
        state, air = self.true(), self.weather
        evaporating_F, condensing_F = to_F(state.evaporating_K), to_F(state.condensing_K)
        return {
            "evaporating": evaporating_F,
            "superheat": to_F(state.suction_line_K) - evaporating_F,
            "condensing": condensing_F,
            "subcooling": condensing_F - to_F(state.liquid_line_K),
            "split": air.indoor_F - to_F(state.supply_db_K) - _normal_split_F(air.indoor_F, air.wet_bulb_F),
        }

    def move(self, told_kg: float) -> None:
        self.moves += 1
        super().move(told_kg)
