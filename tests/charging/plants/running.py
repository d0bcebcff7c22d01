"""A drawn system while it runs: steady figures, the lag towards them, and what the instruments make of it."""

from __future__ import annotations

import math
import random
from dataclasses import replace

from guide.charging.round import Round
from guide.charging.target import target_by_table
from guide.charging.uncertainty import PA_PER_PSI
from guide.charging.wording import K_PER_F, from_F
from guide.refrigerant.saturation import Curve, curve
from tests.charging.plants.draw import TITLE_24_LIMITS, Plant
from tests.charging.plants.faults import HEALTHY, Shift

_CHANNELS = (
    "suction_pressure_Pa",
    "suction_line_K",
    "liquid_pressure_Pa",
    "liquid_line_K",
    "indoor_db_K",
    "indoor_wb_K",
    "supply_db_K",
    "outdoor_db_K",
)
_MOVE_ERROR_kg = 0.006  # hose and hand, standard deviation (PROPOSED)
_SOFT_F = 1.0


class Running:
    """Keeps charge, weather and lag; figures in °F."""

    def __init__(self, plant: Plant, shift: Shift = HEALTHY, *, seed: int = 0) -> None:
        self.plant = plant
        self.shift = shift
        self._rng = random.Random(f"{plant.seed}/{seed}")
        self.net_kg = 0.0
        self.rest_read = plant.standing_read
        self.charge_percent = plant.start_percent
        self.minutes = 20.0
        self.weather = plant.weather
        self._errors = {name: self._rng.gauss(0.0, 0.5) for name in _CHANNELS}
        self._state = self.steady()

    def target_F(self) -> float:
        """The figure that is charged to, by the true air: superheat on an orifice, subcooling on a valve."""
        if not self.plant.orifice:
            return self.plant.subcooling_F
        target = target_by_table(from_F(self.weather.wet_bulb_F), from_F(self.weather.outdoor_F))
        return target.value_K / K_PER_F if target.value_K is not None else math.nan

    def gap_F(self) -> float:
        """How far the true steady figure lies on the side that wants refrigerant; no floor at zero."""
        steady = self.steady()
        if self.plant.orifice:
            return self.bare_superheat_F() - self.target_F()
        return self.target_F() - steady["subcooling"]

    def bare_superheat_F(self) -> float:
        """Steady superheat without its floor at zero: below it, liquid reaches the compressor."""
        plant, x = self.plant, self.charge_percent
        if plant.orifice:
            slopes = plant.slopes
            right_F = self.target_F() + plant.superheat_off_F
            return right_F - slopes.leading * (x + slopes.bend * x * abs(x) / 60.0) + self.shift.superheat
        # The band of a valve's superheat is published "near nominal" [6.4]: taken up to 15 % off.
        superheat_F = plant.superheat_off_F - plant.slopes.other * min(15.0, max(-15.0, x))
        short = max(0.0, plant.slopes.knee_percent - x)
        return superheat_F + plant.slopes.beyond_knee * short + self.shift.superheat

    def steady(self) -> dict[str, float]:
        """Where the figures settle with the present charge and air."""
        plant, x, slopes = self.plant, self.charge_percent, self.plant.slopes
        evaporating = (
            self.weather.indoor_F
            - plant.design_difference_F
            + 0.6 * (self.weather.wet_bulb_F - 67.0)
            + slopes.evaporating * (x if x < 0.0 else 0.4 * x)
            + self.shift.evaporating
        )
        if plant.orifice:
            subcooling = plant.subcooling_F + slopes.other * x
        else:
            subcooling = plant.subcooling_F + slopes.leading * (x + slopes.bend * x * abs(x) / 60.0)
        # A condenser that holds more liquid has less area left to condense with (PROPOSED).
        approach = max(plant.approach_F * (1.0 + slopes.condensing * x), 5.0 + 0.8 * subcooling)
        condensing = self.weather.outdoor_F + approach + self.shift.condensing
        subcooling += self.shift.subcooling
        # No suction line is warmer than the air that heats it, no liquid line colder than what cools it.
        most_superheat = self.weather.indoor_F - 1.0 - evaporating
        most_subcooling = condensing - self.weather.outdoor_F - 1.0
        split = plant.split_off_F + self.shift.split + slopes.split * min(0.0, x)
        return {
            "evaporating": evaporating,
            "superheat": _between(self.bare_superheat_F(), most_superheat),
            "condensing": condensing,
            "subcooling": _between(subcooling, most_subcooling),
            "split": split,
        }

    def move(self, told_kg: float) -> None:
        """Move what was told, a little more or less; the scale says what was told."""
        self.net_kg += told_kg
        moved_kg = told_kg + self._rng.gauss(0.0, _MOVE_ERROR_kg)
        self.charge_percent += 100.0 * moved_kg / self.plant.appliance.nameplate_charge_kg
        self.minutes = 0.0

    def run(self, minutes: float) -> None:
        """Let time pass: the figures follow, the air wanders."""
        self.minutes += minutes
        start, now, kept = self.plant.weather, self.weather, math.exp(-minutes / 60.0)
        fresh = math.sqrt(1.0 - kept * kept)
        self.weather = replace(
            now,
            outdoor_F=start.outdoor_F
            + kept * (now.outdoor_F - start.outdoor_F)
            + fresh * self._rng.gauss(0.0, start.outdoor_wander_F),
            wet_bulb_F=start.wet_bulb_F
            + kept * (now.wet_bulb_F - start.wet_bulb_F)
            + fresh * self._rng.gauss(0.0, start.wet_bulb_wander_F),
        )
        left = math.exp(-minutes / self.plant.lag_minutes)
        for name, end in self.steady().items():
            self._state[name] = end + (self._state[name] - end) * left

    def read(self) -> Round:
        """What the instruments show now."""
        state = self._state
        real: Curve = self.plant.appliance.curve
        if self.shift.other_refrigerant is not None:
            real = curve(self.shift.other_refrigerant)
        evaporating, condensing = from_F(state["evaporating"]), from_F(state["condensing"])
        indoor, wet, outdoor = self.weather.indoor_F, self.weather.wet_bulb_F, self.weather.outdoor_F
        suction_line = state["evaporating"] + state["superheat"]
        liquid_line = state["condensing"] - state["subcooling"]
        suction_line += self.shift.clamp_share * (max(outdoor, indoor) - suction_line)
        if self.shift.swapped:
            suction_line, liquid_line = liquid_line, suction_line
        true = {
            "suction_pressure_Pa": real.dew_pressure_Pa(evaporating) + self.shift.gauge_psi * PA_PER_PSI,
            "suction_line_K": from_F(suction_line),
            "liquid_pressure_Pa": real.bubble_pressure_Pa(condensing),
            "liquid_line_K": from_F(liquid_line),
            "indoor_db_K": from_F(indoor),
            "indoor_wb_K": from_F(wet),
            "supply_db_K": from_F(indoor - _normal_split_F(indoor, wet) - state["split"]),
            "outdoor_db_K": from_F(outdoor),
        }
        shown = {name: value + self._error(name) for name, value in true.items()}
        return Round(
            net_charged_kg=self.net_kg, minutes_since_change=self.minutes, **shown, **self._standing(real)
        )

    def _standing(self, real: Curve) -> dict[str, float]:
        """Pressures with the machine off and everything at outdoor temperature."""
        if not self.rest_read:
            return {}
        outdoor_F = self.plant.weather.outdoor_F
        low = real.dew_pressure_Pa(from_F(outdoor_F)) + self.shift.gas_psi * PA_PER_PSI
        high = real.bubble_pressure_Pa(from_F(outdoor_F)) + self.shift.gas_psi * PA_PER_PSI
        return {
            "standing_low_Pa": low
            + self.shift.gauge_psi * PA_PER_PSI
            + self._constant_error("suction_pressure_Pa"),
            "standing_high_Pa": high + self._constant_error("liquid_pressure_Pa"),
            "standing_ambient_K": from_F(outdoor_F) + self._constant_error("outdoor_db_K"),
        }

    def _error(self, channel: str) -> float:
        return self._constant_error(channel) + self._rng.gauss(
            0.0, self.plant.noise_share * self._limit(channel)
        )

    def _constant_error(self, channel: str) -> float:
        return self._errors[channel] * self._limit(channel)

    def _limit(self, channel: str) -> float:
        if self.plant.fine:
            return self.plant.appliance.accuracies[channel].fixed
        return TITLE_24_LIMITS[channel]


def _between(value_F: float, most_F: float) -> float:
    """Round the corner at zero and at the most that the air allows."""
    above = _SOFT_F * math.log1p(math.exp(min(60.0, value_F / _SOFT_F)))
    return most_F - _SOFT_F * math.log1p(math.exp(min(60.0, (most_F - above) / _SOFT_F)))


def _normal_split_F(dry_F: float, wet_F: float) -> float:
    """The fit of Table RA3.2-3 [1.3], MEMORY, valid 70 to 84 and 50 to 76 °F."""
    dry_F = min(max(dry_F, 70.0), 84.0)
    return -70.000941 + 0.544203869 * dry_F + 2.19570816 * wet_F - 0.0228100701 * wet_F * wet_F
