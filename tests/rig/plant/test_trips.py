"""When a plant can't run steadily it says why."""

from dataclasses import replace

import pytest

from guide.rig.plant import BadConditions, Cause, Conditions, Metering, NoSteadyState
from guide.rig.plant.rated import from_F
from tests.rig.plant.plants import ELECTRONIC, THERMOSTATIC, at, plant, running


@pytest.mark.parametrize("metering", [THERMOSTATIC, ELECTRONIC])
@pytest.mark.parametrize("charge", [1.45, 1.5, 1.6, 2.0])
def test_far_too_much_charge_behind_a_valve_opens_the_high_pressure_switch(
    metering: Metering, charge: float
) -> None:
    with pytest.raises(NoSteadyState, match="high-pressure switch") as raised:
        running(plant(metering=metering), charge)
    assert raised.value.cause is Cause.HIGH_PRESSURE
    assert raised.value.reason == str(raised.value)


def test_hardly_any_outdoor_air_on_a_hot_day_opens_the_high_pressure_switch() -> None:
    with pytest.raises(NoSteadyState) as raised:
        running(plant(), outdoor_air=0.2, outdoor_K=from_F(110.0))
    assert raised.value.cause is Cause.HIGH_PRESSURE


@pytest.mark.parametrize("metering", list(Metering))
@pytest.mark.parametrize("charge", [0.0, 0.05, 0.15])
def test_next_to_no_charge_does_not_run(metering: Metering, charge: float) -> None:
    with pytest.raises(NoSteadyState) as raised:
        running(plant(metering=metering), charge)
    assert raised.value.cause in (Cause.LOW_PRESSURE, Cause.NO_LIQUID)


def test_a_valve_stuck_almost_shut_opens_the_low_pressure_switch() -> None:
    with pytest.raises(NoSteadyState) as raised:
        running(plant(metering=THERMOSTATIC), valve_stuck=0.02)
    assert raised.value.cause is Cause.LOW_PRESSURE


@pytest.mark.parametrize(
    "changes",
    [
        {"charge_kg": -1.0}, {"charge_kg": float("nan")}, {"outdoor_K": 400.0}, {"indoor_air": 0.0},
        {"valve_stuck": 1.5}, {"indoor_wb_K": 301.0}, {"gas_Pa": -1.0},
    ],
)  # fmt: skip
def test_conditions_that_nothing_can_be_in_are_refused(changes: dict[str, float]) -> None:
    with pytest.raises(BadConditions):
        replace(at(plant()), **changes)


def test_air_that_would_hold_less_than_no_water_is_refused() -> None:
    with pytest.raises(BadConditions, match="dry air"):
        running(plant(), indoor_db_K=320.0, indoor_wb_K=270.0)


def test_conditions_between_two_others_lie_between() -> None:
    one, other = Conditions(1.0, 300.0, 290.0, 310.0), Conditions(3.0, 302.0, 292.0, 320.0, gas_Pa=4e5)
    middle = one.between(other, 0.5)
    assert (middle.charge_kg, middle.outdoor_K, middle.gas_Pa) == (2.0, 315.0, 2e5)
