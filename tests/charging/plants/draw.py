"""One pretend system, drawn at random from published bands by its own seed.

Every range names where it comes from: FOUND, MEMORY, CALCULATED, PROPOSED as in the charging reference (its
sections in brackets). Nothing here was fitted to what the advice does; the bands were set first and stay.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from guide.charging.round import Accuracy, Appliance, Metering
from guide.charging.target import target_by_table
from guide.charging.uncertainty import PA_PER_PSI
from guide.charging.wording import K_PER_F, from_F
from guide.refrigerant.catalogue import find
from guide.refrigerant.saturation import curve

REFRIGERANTS = ("R-410A", "R-410A", "R-32", "R-454B", "R-407C")
FURTHEST_PERCENT = 35.0
_NAMEPLATE_kg = (1.5, 9.0)  # about 1.5 to 10 tons at 0.8 to 1 kg a ton (PROPOSED)
# Share of the approach for 1 % of charge. Power grows by 6 % at 130 % and falls by 4 % at 70 % (CALCULATED,
# the NIST coefficients, FOUND [6.1]); at 1.3 % of power for 1 °F (MEMORY) and an approach near 20 °F that is
# 0.008 and 0.005; taken from half of the one to 1.5 of the other.
_CONDENSING_SHARE = (0.0025, 0.012)

# Two classes of instruments of the published propagation table [8]: the Title 24 limits (FOUND), and ± 0.5
# psi with ± 0.5 °F. The limit is taken as two standard deviations of a constant error.
FINE = {
    "suction_pressure_Pa": Accuracy(0.5 * PA_PER_PSI),
    "liquid_pressure_Pa": Accuracy(0.5 * PA_PER_PSI),
    **{
        name: Accuracy(0.5 * K_PER_F)
        for name in (
            "suction_line_K",
            "liquid_line_K",
            "indoor_db_K",
            "indoor_wb_K",
            "supply_db_K",
            "outdoor_db_K",
        )
    },
}
# FOUND limits [8], pressures in Pa; a thermometer's 0.1 % of reading is left out.
TITLE_24_LIMITS = {
    **dict.fromkeys(FINE, 1.3 * K_PER_F),
    "suction_pressure_Pa": 3.5 * PA_PER_PSI,
    "liquid_pressure_Pa": 7.0 * PA_PER_PSI,
}


@dataclass(frozen=True)
class Weather:
    """The air at the start [°F], and how far it wanders about that in an hour (standard deviation)."""

    outdoor_F: float
    indoor_F: float
    wet_bulb_F: float
    outdoor_wander_F: float
    wet_bulb_wander_F: float


@dataclass(frozen=True)
class Slopes:
    """How the figures answer charge, in °F for 1 % of nameplate, and how that bends.

    `bend`: by how much of itself the slope of the leading figure changes over 30 % of charge.
    `condensing`: by what share of itself the condensing temperature's distance from outdoor air grows.
    """

    leading: float
    bend: float
    other: float
    condensing: float
    evaporating: float
    split: float
    knee_percent: float
    beyond_knee: float


@dataclass(frozen=True)
class Plant:
    """A drawn system: what it is, how it answers, and what is measured with."""

    seed: int
    appliance: Appliance
    weather: Weather
    slopes: Slopes
    start_percent: float
    superheat_off_F: float  # from the table at the right charge (orifice); the superheat itself (valve)
    subcooling_F: float  # at the right charge
    approach_F: float  # condensing over outdoor air
    design_difference_F: float  # return air over evaporating
    split_off_F: float
    lag_minutes: float
    noise_share: float  # of the instruments' limits, standard deviation from round to round
    fine: bool
    standing_read: bool

    @property
    def orifice(self) -> bool:
        return self.appliance.metering is Metering.FIXED_ORIFICE


def draw(seed: int, *, faulty: bool = False) -> Plant:
    """Draw the system of a seed; a faulty one has nearly the right charge: the fault is the trouble."""
    rng = random.Random(seed)
    orifice = rng.random() < 0.5
    weather = _weather(rng)
    refrigerant = find(rng.choice(REFRIGERANTS))
    subcooling_F = rng.uniform(6.0, 12.0) if orifice else rng.uniform(8.0, 14.0)  # PROPOSED, about 10 °F
    fine = rng.random() < 0.5
    low_kg, high_kg = _NAMEPLATE_kg
    appliance = Appliance(
        curve=curve(refrigerant.designation),
        safety_group=refrigerant.safety_group,
        metering=Metering.FIXED_ORIFICE if orifice else Metering.THERMOSTATIC_VALVE,
        nameplate_charge_kg=round(low_kg * (high_kg / low_kg) ** rng.random(), 2),
        site_pressure_Pa=101325.0,
        target_subcooling_K=None if orifice else subcooling_F * K_PER_F,
        accuracies=dict(FINE) if fine else {},
    )
    target_F = (_target_K(weather) or 0.0) / K_PER_F
    # The air that heats the suction line must be warmer by more than the superheat asked for.
    least_difference_F = target_F + rng.uniform(5.0, 12.0) + 0.6 * (weather.wet_bulb_F - 67.0)
    start = rng.uniform(-3.0, 3.0) if faulty else rng.uniform(-FURTHEST_PERCENT, FURTHEST_PERCENT)
    return Plant(
        seed=seed,
        appliance=appliance,
        weather=weather,
        slopes=_orifice_slopes(rng) if orifice else _valve_slopes(rng),
        start_percent=start,
        # "Superheat at target charge: table ± 2 °F" [6.5, PROPOSED]; a valve's usual setting (MEMORY).
        superheat_off_F=rng.gauss(0.0, 0.7) if orifice else rng.uniform(7.0, 14.0),
        subcooling_F=subcooling_F,
        approach_F=rng.uniform(15.0, 28.0),  # 30 °F for older equipment FOUND [3], newer less (MEMORY)
        design_difference_F=max(
            rng.uniform(30.0, 40.0), least_difference_F if orifice else 0.0
        ),  # 35 ± 5 °F FOUND [3]
        split_off_F=min(2.5, max(-2.5, rng.gauss(0.0, 1.0))),  # inside the ± 3 °F of Title 24 FOUND [1.1]
        lag_minutes=rng.uniform(2.0, 7.0),  # PROPOSED, with 15 min of waiting FOUND [5]
        noise_share=rng.uniform(0.05, 0.20),  # PROPOSED
        fine=fine,
        standing_read=rng.random() < 0.5,
    )


def _weather(rng: random.Random) -> Weather:
    """Weather in which the superheat method is valid with something to spare, for both kinds alike."""
    while True:
        outdoor_F, wet_F = rng.uniform(65.0, 110.0), rng.uniform(58.0, 71.0)
        # Return air is wetter when warmer; it stays inside the makers' 70 to 80 °F (FOUND [2]).
        indoor_F = min(77.5, max(72.5, 77.5 + 0.8 * (wet_F - 67.0) + rng.uniform(-2.0, 2.0)))
        weather = Weather(outdoor_F, indoor_F, wet_F, rng.uniform(0.0, 1.5), rng.uniform(0.0, 0.4))
        target_K = _target_K(weather)
        if target_K is not None and target_K > 8.5 * K_PER_F:
            return weather


def _target_K(weather: Weather) -> float | None:
    return target_by_table(from_F(weather.wet_bulb_F), from_F(weather.outdoor_F)).value_K


def _orifice_slopes(rng: random.Random) -> Slopes:
    return Slopes(
        leading=rng.uniform(0.5, 1.5),  # PROPOSED [6.4]
        bend=rng.uniform(-0.4, 0.4),  # PROPOSED
        other=rng.uniform(0.1, 0.5),  # PROPOSED [6.4]
        condensing=rng.uniform(*_CONDENSING_SHARE),
        evaporating=rng.uniform(0.1, 0.35),  # sign FOUND [7], size PROPOSED
        split=rng.uniform(0.05, 0.2),  # sign FOUND [7], size PROPOSED
        knee_percent=0.0,
        beyond_knee=0.0,
    )


def _valve_slopes(rng: random.Random) -> Slopes:
    return Slopes(
        leading=rng.uniform(0.4, 0.8),  # PROPOSED [6.4]
        bend=rng.uniform(-0.4, 0.4),  # PROPOSED
        other=rng.uniform(-0.2, 0.2),  # PROPOSED [6.4]
        condensing=rng.uniform(*_CONDENSING_SHARE),
        evaporating=rng.uniform(0.0, 0.05),
        split=rng.uniform(0.0, 0.1),
        knee_percent=rng.uniform(-25.0, -15.0),  # "about 80 % charge" [6.4], below it steep
        beyond_knee=rng.uniform(0.8, 1.5),  # PROPOSED: as an orifice, which the open valve then is
    )
