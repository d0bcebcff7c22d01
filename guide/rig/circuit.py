"""A circuit while it is open to other things than refrigerant: nitrogen, a vacuum, water, leaks.

Everything is a closed formula of the time since the last act, so that it does not matter in how many
pieces time passes. SI: Pa absolute, K, s.

The standing vacuum is the PROPOSED model of the charging reference, section 4.3:
P(t) = P0 + L t/V + (Peq - P0)(1 - exp(-t/tau)), with Peq 1000 to 5000 micron for damp oil and tau 3 to
10 min. Nitrogen is a real gas of constant volume (`guide.charging.nitrogen`). The other figures are PROPOSED.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from guide.charging.nitrogen import HIGHEST_Pa, density_mol_m3, pressure_of
from guide.charging.water_vapor import MICRON_Pa

PUMP_FLOOR_Pa: Final = 120.0 * MICRON_Pa
"""What the pump reaches at the far point of a dry and tight circuit."""
PULL_DOWN_TAU_S: Final = 150.0
EVENING_OUT_Pa: Final = 40.0 * MICRON_Pa
"""How far a dry and tight circuit rises once the pump is shut off: its pressure evens out."""
RISE_TAU_S: Final = 300.0
DRYING_TAU_S: Final = 2400.0
WET_SHARE_AT_THE_PUMP: Final = 0.04
"""How much of the water's pressure the gauge still sees while the pump draws."""
LEAK_S_AT_THE_PUMP: Final = 3.0
"""How many seconds of its leak stand in the circuit while the pump draws."""
TAKEN_UP_S: Final = 1800.0
"""How fast dry nitrogen that stands in the circuit takes water up."""
TAKEN_UP_SHARE: Final = 0.4
"""How much of the water one filling of dry nitrogen takes along at most."""
MUCH_ABOVE: Final = 1.05
"""From which share of the site's pressure a gas in the circuit is nitrogen, not the air it stood open to."""


class Inside(StrEnum):
    """What is in the circuit."""

    REFRIGERANT = "refrigerant"
    NITROGEN = "nitrogen"
    VACUUM = "vacuum"


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is wrong with a circuit once it is opened: leaks [Pa/s], and water by its pressure [Pa]."""

    nitrogen_leak_Pa_per_s: float = 0.0
    vacuum_leak_Pa_per_s: float = 0.0
    damp_Pa: float = 0.0


SOUND: Final = Trouble()


class Circuit:
    """What is in the circuit and at which pressure, while that is not its refrigerant.

    `ambient_K` gives the temperature of the circuit's gas [K] at a moment [s].
    """

    def __init__(
        self, *, site_pressure_Pa: float, ambient_K: Callable[[float], float], trouble: Trouble = SOUND
    ) -> None:
        self.trouble = trouble
        self.inside = Inside.REFRIGERANT
        self.now_s = 0.0
        self.pumping = False
        self._site_Pa = site_pressure_Pa
        self._ambient_K = ambient_K
        self._since_s = 0.0
        self._since_Pa = site_pressure_Pa
        self._wet_Pa = trouble.damp_Pa
        self._dense_mol_m3: float | None = None
        self._nitrogen_at: tuple[float, float] = (math.nan, math.nan)

    def pass_time(self, seconds: float) -> None:
        """Let time pass."""
        self.now_s += seconds

    @property
    def gas_temperature_K(self) -> float:
        """The temperature of the circuit's gas [K]."""
        return self._ambient_K(self.now_s)

    @property
    def pressure_Pa(self) -> float:
        """The pressure of nitrogen or of the vacuum [Pa]; that of refrigerant is the plant's to say."""
        passed = self.now_s - self._since_s
        if self.inside is Inside.NITROGEN:
            lost = self.trouble.nitrogen_leak_Pa_per_s * passed
            return max(min(self._since_Pa, self._site_Pa), self._nitrogen_Pa(self.gas_temperature_K) - lost)
        if self.pumping:
            floor = self._floor_Pa()
            return floor + (self._since_Pa - floor) * math.exp(-passed / PULL_DOWN_TAU_S)
        level = max(self._since_Pa + EVENING_OUT_Pa, self._wet_Pa)
        risen = (level - self._since_Pa) * (1.0 - math.exp(-passed / RISE_TAU_S))
        leaked = self.trouble.vacuum_leak_Pa_per_s * passed
        return min(self._site_Pa, self._since_Pa + risen + leaked)

    @property
    def gas_Pa(self) -> float:
        """How much of the pressure is nitrogen or air and not water [Pa]."""
        if self.inside is Inside.NITROGEN:
            return self.pressure_Pa
        return max(0.0, self.pressure_Pa - self._wet_now_Pa())

    @property
    def wet_Pa(self) -> float:
        """What the water in the circuit would come to by itself [Pa]."""
        return self._wet_now_Pa()

    @property
    def leaks(self) -> bool:
        """Whether somebody who looks for a leak finds one."""
        return self.trouble.nitrogen_leak_Pa_per_s > 0 or self.trouble.vacuum_leak_Pa_per_s > 0

    def fill_with_nitrogen(self, to_Pa: float) -> None:
        """Bring dry nitrogen in, or let some of it out, until the gauge shows `to_Pa`."""
        self._set(Inside.NITROGEN, to_Pa)

    def open_to_air(self) -> None:
        """Let out whatever presses: the circuit stands at the pressure of the site."""
        self._set(Inside.NITROGEN, self._site_Pa)

    def pump_on(self) -> None:
        """Open the pump's valve, the pump running; an open valve stays open."""
        if self.pumping:
            return
        self._set(Inside.VACUUM, self._site_Pa if self.inside is Inside.REFRIGERANT else self.pressure_Pa)
        self.pumping = True

    def shut_off(self) -> None:
        """Close the valve between pump and circuit; a closed one stays closed."""
        if self.pumping:
            self._set(Inside.VACUUM, self.pressure_Pa)

    def let_in(self, gas_Pa: float) -> None:
        """A little gas comes into the vacuum: `gas_Pa` is how far it lifts the pressure."""
        self._set(self.inside, min(self._site_Pa, self.pressure_Pa + gas_Pa), pumping=self.pumping)

    def dampen(self, wet_Pa: float) -> None:
        """Water comes in: by how much it lifts the pressure the circuit comes to by itself."""
        self._set(self.inside, self.pressure_Pa, pumping=self.pumping)
        self._wet_Pa += wet_Pa

    def fill_with_refrigerant(self) -> None:
        """Refrigerant comes in: from here on the plant's charge says the pressure."""
        self._set(Inside.REFRIGERANT, self._site_Pa)

    def mend(self) -> None:
        """Let the nitrogen out, find the leaks and close them. Only pumping takes water out."""
        now = self._site_Pa if self.inside is Inside.NITROGEN else self.pressure_Pa
        self._set(self.inside, now, pumping=self.pumping)
        self.trouble = Trouble(damp_Pa=self.trouble.damp_Pa)

    def _nitrogen_Pa(self, temperature_K: float) -> float:
        """The pressure of the nitrogen that was shut in, at another temperature of the same volume."""
        # asked several times a moment, and the density only changes when gas comes or goes
        if self._nitrogen_at[0] != temperature_K:
            self._nitrogen_at = (temperature_K, self._of_nitrogen_Pa(temperature_K))
        return self._nitrogen_at[1]

    def _of_nitrogen_Pa(self, temperature_K: float) -> float:
        since_K = self._ambient_K(self._since_s)
        if temperature_K == since_K or not 0.0 < self._since_Pa <= HIGHEST_Pa:
            return self._since_Pa * temperature_K / since_K
        if self._dense_mol_m3 is None:
            self._dense_mol_m3 = density_mol_m3(self._since_Pa, since_K)
        return pressure_of(self._dense_mol_m3, temperature_K).Pa

    def _floor_Pa(self) -> float:
        return (
            PUMP_FLOOR_Pa
            + WET_SHARE_AT_THE_PUMP * self._wet_now_Pa()
            + LEAK_S_AT_THE_PUMP * self.trouble.vacuum_leak_Pa_per_s
        )

    def _wet_now_Pa(self) -> float:
        passed = self.now_s - self._since_s
        if self.pumping:
            return self._wet_Pa * math.exp(-passed / DRYING_TAU_S)
        if self.inside is Inside.NITROGEN and self._since_Pa > MUCH_ABOVE * self._site_Pa:
            return self._wet_Pa * (1.0 - TAKEN_UP_SHARE * (1.0 - math.exp(-passed / TAKEN_UP_S)))
        return self._wet_Pa

    def _set(self, inside: Inside, pressure_Pa: float, *, pumping: bool = False) -> None:
        self._wet_Pa = self._wet_now_Pa()
        self.inside, self.pumping = inside, pumping
        self._since_s, self._since_Pa = self.now_s, pressure_Pa
        self._dense_mol_m3, self._nitrogen_at = None, (math.nan, math.nan)
