"""One rig, drawn by its own seed: a system computed from physics, its weather, instruments and trouble.

Weather, instruments, their errors, lag and noise are drawn as for the plants of straight lines
(`tests/charging/plants/draw.py`); what those draw as slopes comes from the steady plant here. The right
charge is where the true figure meets its target at the weather of the day: superheat the table's on an
orifice, subcooling the maker's on a valve. Nothing here was set by what the advice does with it.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from guide.charging.round import Metering
from guide.charging.target import target_by_table
from guide.charging.uncertainty import PA_PER_PSI
from guide.charging.wording import K_PER_F, from_F
from guide.refrigerant.catalogue import find
from guide.refrigerant.saturation import curve
from guide.rig.plant import (
    BadRating,
    Conditions,
    Design,
    NoSteadyState,
    Rated,
    SteadyState,
    design,
    steady_state,
    usual,
)
from guide.rig.plant import Metering as Device
from tests.charging.plants import draw as drawing
from tests.charging.plants.draw import Plant, Weather
from tests.charging.plants.faults import (
    DIRTY_CONDENSER,
    HEALTHY,
    LOW_AIRFLOW,
    NON_CONDENSABLES,
    RESTRICTION,
    SYSTEM_FAULTS,
    VALVE_LEAK,
    Shift,
    draw_fault,
)

REFRIGERANTS: Final = ("R-410A", "R-410A", "R-32", "R-454B", "R-22", "R-407C", "R-134a")
CAPACITY_W: Final = (5_000.0, 35_000.0)
"""1.5 to 10 tons, as far as split systems are charged by superheat or subcooling at all (PROPOSED)."""
_SEARCHED: Final = (0.7, 1.3)
_GAS_RUNNING_Pa: Final = 3.5e5
_GAS_AT_REST_Pa: Final = 1.3e5
"""Partial pressures of as much air as a circuit holds that was never evacuated: on the high side of the
running machine as much as lowers COP as published (CALCULATED, `tests/evidence/plant_faults.py`), at rest one
atmosphere in what liquid leaves free (CALCULATED, 13 litres with 2.7 of liquid in a 3-ton split)."""
_HALVINGS: Final = 22


class NoRig(Exception):
    """This seed gives no system that runs, or none with a right charge at its weather; says why."""


@dataclass(frozen=True)
class Trouble:
    """What is wrong with a rig beside its charge, as the plant takes it; `grade` 0 to 1."""

    grade: float = 0.0
    indoor_air: float = 1.0
    outdoor_air: float = 1.0
    fouling: float = 1.0
    restriction_Pa: float = 0.0
    gas_Pa: float = 0.0
    valve_leak: float = 0.0


SOUND: Final = Trouble()


@dataclass(frozen=True)
class Rig:
    """A drawn rig: `plant` for its weather, instruments and start, `made` for its physics."""

    plant: Plant
    made: Design
    trouble: Trouble
    shift: Shift

    def state(self, charge_percent: float, weather: Weather, near: SteadyState | None = None) -> SteadyState:
        """The steady state with a charge error [%] of the nameplate; `near`: the state before.

        Raises:
            NoSteadyState: the machine would not run so, and why.
        """
        return steady(self.made, self.trouble, 1.0 + charge_percent / 100.0, weather, near)


def draw_rig(seed: int, fault: str | None = None) -> Rig:
    """Draw the rig of a seed; with a fault its charge is nearly right.

    Raises:
        NoRig: no right charge at this weather, or it does not run as it stands.
    """
    rng = random.Random(f"rig {seed}")
    drawn = drawing.draw(seed, faulty=fault is not None)
    metering = drawn.appliance.metering
    if metering is Metering.THERMOSTATIC_VALVE and rng.random() < 0.4:
        metering = Metering.ELECTRONIC_VALVE
    refrigerant = find(rng.choice(REFRIGERANTS))
    try:
        made = design(_rated(rng, refrigerant.designation, Device(metering.value)))
    except BadRating as bad:
        raise NoRig(f"rated figures of no unit: {bad}") from bad
    orifice = metering is Metering.FIXED_ORIFICE
    target_F = _target_F(drawn.weather) if orifice else made.rated.subcooling_K / K_PER_F
    right = right_share(made, drawn.weather, target_F, orifice=orifice)
    appliance = replace(
        drawn.appliance,
        curve=curve(refrigerant.designation),
        safety_group=refrigerant.safety_group,
        metering=metering,
        nameplate_charge_kg=round(made.right_charge_kg, 2),
        target_subcooling_K=None if orifice else made.rated.subcooling_K,
    )
    plant = replace(
        drawn,
        appliance=appliance,
        start_percent=100.0 * (right * (1.0 + drawn.start_percent / 100.0) - 1.0),
        subcooling_F=made.rated.subcooling_K / K_PER_F,
    )
    trouble, shift = _trouble(fault, rng, plant)
    rig = Rig(plant, made, trouble, shift)
    try:
        rig.state(plant.start_percent, plant.weather)
    except NoSteadyState as none:
        raise NoRig(f"does not run as it stands: {none}") from none
    return rig


def steady(
    made: Design, trouble: Trouble, charge: float, weather: Weather, near: SteadyState | None = None
) -> SteadyState:
    """The steady state at a share of the nameplate charge.

    Raises:
        NoSteadyState: the machine would not run so, and why.
    """
    return steady_state(
        made,
        Conditions(
            charge_kg=charge * made.right_charge_kg,
            indoor_db_K=from_F(weather.indoor_F),
            indoor_wb_K=from_F(weather.wet_bulb_F),
            outdoor_K=from_F(weather.outdoor_F),
            site_pressure_Pa=101325.0,
            indoor_air=trouble.indoor_air,
            outdoor_air=trouble.outdoor_air,
            fouling=trouble.fouling,
            restriction_Pa=trouble.restriction_Pa,
            gas_Pa=trouble.gas_Pa,
            valve_leak=trouble.valve_leak,
        ),
        near,
    )


def bare_superheat_F(state: SteadyState) -> float:
    """Superheat; below zero the percent of liquid that comes with the vapour."""
    if state.suction_quality < 1.0:
        return -100.0 * (1.0 - state.suction_quality)
    return state.superheat_K / K_PER_F


def bare_subcooling_F(state: SteadyState) -> float:
    """Subcooling; below zero the percent of vapour that comes with the liquid."""
    if state.subcooling_K > 0.0:
        return state.subcooling_K / K_PER_F
    return -100.0 * state.liquid_quality


def right_share(made: Design, weather: Weather, target_F: float, *, orifice: bool) -> float:
    """The share of the nameplate charge at which the figure meets its target, by halving.

    Raises:
        NoRig: it does not within 30 % of the nameplate.
    """

    near: SteadyState | None = None

    def wanting_F(share: float) -> float:
        nonlocal near
        near = state = steady(made, SOUND, share, weather, near)
        return bare_superheat_F(state) - target_F if orifice else target_F - bare_subcooling_F(state)

    low, high = _runs_at(wanting_F, *_SEARCHED)
    if not wanting_F(low) > 0.0 > wanting_F(high):
        raise NoRig("no charge meets the target at this weather")
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if wanting_F(middle) > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _runs_at(wanting_F: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    """The widest part of the searched range, in steps of 5 %, at whose ends the machine runs."""
    ends = []
    for start, step in ((low, 0.05), (high, -0.05)):
        share = start
        while True:
            try:
                wanting_F(share)
            except NoSteadyState as none:
                share += step
                if not _SEARCHED[0] <= share <= _SEARCHED[1]:
                    raise NoRig(f"runs at no charge: {none}") from none
            else:
                break
        ends.append(share)
    return ends[0], ends[1]


def _target_F(weather: Weather) -> float:
    value_K = target_by_table(from_F(weather.wet_bulb_F), from_F(weather.outdoor_F)).value_K
    assert value_K is not None
    return value_K / K_PER_F


def _rated(rng: random.Random, refrigerant: str, device: Device) -> Rated:
    """A nameplate: its size, and rated figures about the usual ones, none better known than so (PROPOSED)."""
    low_W, high_W = CAPACITY_W
    usual_one = usual(refrigerant, low_W * (high_W / low_W) ** rng.random(), device)
    orifice = device is Device.ORIFICE
    # "Table ± 2 °F" for superheat at the right charge, a valve's usual setting, about 10 °F of subcooling: as
    # the plants of straight lines are drawn.
    superheat_F = 12.0 + rng.gauss(0.0, 0.7) if orifice else rng.uniform(7.0, 14.0)
    subcooling_F = rng.uniform(6.0, 12.0) if orifice else rng.uniform(8.0, 14.0)
    return replace(
        usual_one,
        evaporating_K=usual_one.evaporating_K + rng.uniform(-2.0, 1.0) * K_PER_F,
        condensing_K=from_F(95.0 + max(subcooling_F + 7.0, rng.uniform(15.0, 25.0))),
        superheat_K=superheat_F * K_PER_F,
        subcooling_K=subcooling_F * K_PER_F,
    )


def _trouble(fault: str | None, rng: random.Random, plant: Plant) -> tuple[Trouble, Shift]:
    """A trouble of a size that makes a call-out (PROPOSED), from its mildest at grade 0 to 1."""
    if fault is None:
        return SOUND, HEALTHY
    grade = rng.random()

    def graded(mild: float, strong: float) -> float:
        return mild + grade * (strong - mild)

    if fault not in SYSTEM_FAULTS:
        designation = plant.appliance.curve.designation
        return Trouble(grade), draw_fault(fault, rng, orifice=plant.orifice, refrigerant=designation)
    if fault == LOW_AIRFLOW:
        return Trouble(grade, indoor_air=graded(0.7, 0.4)), Shift(fault)
    if fault == DIRTY_CONDENSER:
        return Trouble(grade, outdoor_air=graded(0.75, 0.5), fouling=graded(0.75, 0.5)), Shift(fault)
    if fault == RESTRICTION:
        # As a share of the pressure between the sides, which a restriction of any refrigerant stands in.
        between_Pa = plant.appliance.curve.bubble_pressure_Pa(from_F(115.0))
        between_Pa -= plant.appliance.curve.dew_pressure_Pa(from_F(45.0))
        return Trouble(grade, restriction_Pa=graded(0.25, 0.8) * between_Pa), Shift(fault)
    if fault == NON_CONDENSABLES:
        size = graded(0.3, 1.0)
        return Trouble(grade, gas_Pa=size * _GAS_RUNNING_Pa), Shift(
            fault, gas_psi=size * _GAS_AT_REST_Pa / PA_PER_PSI
        )
    assert fault == VALVE_LEAK
    return Trouble(grade, valve_leak=graded(0.12, 0.35)), Shift(fault)
