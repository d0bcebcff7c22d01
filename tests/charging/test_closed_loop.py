"""Following the advice on simple systems ends inside the tolerance, from either side, without overshoot."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from itertools import pairwise

import pytest

from guide.charging import increment
from guide.charging.advice import REST_FIRST, advise
from guide.charging.meaning import interpret
from guide.charging.round import Action, Advice, Appliance, Round
from guide.charging.wording import K_PER_F
from tests.charging.linear_plant import LinearPlant, moved_kg, orifice_unit, readings, valve_unit

PLANTS = {
    "orifice, answers weakly": LinearPlant(orifice_unit(), 0.5, 0.1),
    "orifice, answers middling": LinearPlant(orifice_unit(), 1.0, 0.3),
    "orifice, answers strongly": LinearPlant(orifice_unit(), 1.5, 0.35),
    "orifice, steepest met": LinearPlant(orifice_unit(), 1.9, 0.35),
    "valve, answers weakly": LinearPlant(valve_unit(), 0.0, 0.4),
    "valve, answers strongly": LinearPlant(valve_unit(), 0.0, 0.8),
}
MOST_ROUNDS = 40


# CALCULATED with a physical prototype of a 3-ton R-410A split at 80/67/95 °F, reference rig_notes.md
# section 3: superheat and subcooling [°F] at charge errors of -30..+30 %; below zero reads as zero.
ERRORS_PERCENT = (-30.0, -20.0, -10.0, -5.0, 0.0, 5.0, 10.0, 20.0, 30.0)
ORIFICE_F = ((44, 35, 25, 19, 12, 6, 1, -7, -13), (-2, 1, 6, 8, 10, 12, 13, 17, 20))
VALVE_F = ((26, 14, 12, 12, 12, 12, 12, 11, 11), (-9, -4, 2, 6, 10, 14, 17, 25, 37))


@dataclass(frozen=True)
class BentPlant:
    """Superheat and subcooling along published curves with their bends."""

    appliance: Appliance
    curves_F: tuple[tuple[int, ...], tuple[int, ...]]

    def read(self, error_percent: float, net_charged_kg: float) -> Round:
        superheat_F, subcooling_F = (max(0.0, between(error_percent, curve)) for curve in self.curves_F)
        return readings(superheat_F=superheat_F, subcooling_F=subcooling_F, net_charged_kg=net_charged_kg)


def between(error_percent: float, curve_F: tuple[int, ...]) -> float:
    at = min(max(error_percent, ERRORS_PERCENT[0]), ERRORS_PERCENT[-1])
    for left, right in pairwise(range(len(curve_F))):
        low, high = ERRORS_PERCENT[left], ERRORS_PERCENT[right]
        if at <= high:
            return curve_F[left] + (curve_F[right] - curve_F[left]) * (at - low) / (high - low)
    raise AssertionError(error_percent)


def follow(
    plant: LinearPlant | BentPlant, start_percent: float, noise_F: float = 0.0
) -> tuple[Advice, list[float]]:
    """Do as told until it is done or stopped; return the last advice and the charge error [%] "
    "of every round."""
    rng = random.Random(7)
    rounds: list[Round] = []
    net_kg = 0.0
    errors = []
    for _ in range(MOST_ROUNDS):
        errors.append(start_percent + 100.0 * net_kg / plant.appliance.nameplate_charge_kg)
        now = plant.read(errors[-1], net_kg)
        assert now.suction_line_K is not None
        assert now.liquid_line_K is not None
        rounds.append(
            replace(
                now,
                suction_line_K=now.suction_line_K + rng.uniform(-noise_F, noise_F) * K_PER_F,
                liquid_line_K=now.liquid_line_K + rng.uniform(-noise_F, noise_F) * K_PER_F,
            )
        )
        advice = advise(plant.appliance, rounds)
        if REST_FIRST in advice.reasons:
            continue  # nobody rests it here: it is asked once and goes on
        if advice.action not in {Action.ADD, Action.RECOVER}:
            return advice, errors
        net_kg += moved_kg(advice)
    raise AssertionError(f"no end after {MOST_ROUNDS} rounds: {errors}")


def demand_no_overshoot(plant: LinearPlant | BentPlant, errors: list[float]) -> None:
    """From one side of the target no round ever lies beyond the tolerance on the other."""
    unit = plant.appliance
    tolerance_F = increment.tolerance_K(unit) / K_PER_F
    for error in errors:
        gap = increment.wanting_K(unit, interpret(unit, plant.read(error, 0.0)))
        assert gap is not None
        if error * errors[0] < 0.0:
            assert abs(gap) / K_PER_F <= tolerance_F, errors


def wanting_F(appliance: Appliance, advice: Advice) -> float:
    wanting = increment.wanting_K(appliance, advice.meaning)
    assert wanting is not None
    return wanting / K_PER_F


@pytest.mark.parametrize("start_percent", [-20.0, -12.0, -5.0, 0.0, 4.0, 11.0, 20.0])
@pytest.mark.parametrize("name", PLANTS)
def test_a_linear_system_ends_inside_the_tolerance_without_overshoot(name: str, start_percent: float) -> None:
    plant = PLANTS[name]
    advice, errors = follow(plant, start_percent)
    assert advice.action is Action.DONE, (advice.reasons, errors)
    assert abs(wanting_F(plant.appliance, advice)) <= increment.tolerance_K(plant.appliance) / K_PER_F
    demand_no_overshoot(plant, errors)
    assert len(errors) <= 10, errors


@pytest.mark.parametrize("start_percent", [-20.0, -8.0, 8.0, 20.0])
@pytest.mark.parametrize("name", PLANTS)
def test_noisy_readings_still_end_inside_the_tolerance(name: str, start_percent: float) -> None:
    plant = PLANTS[name]
    advice, errors = follow(plant, start_percent, noise_F=0.4)
    assert advice.action is Action.DONE, (advice.reasons, errors)
    assert abs(wanting_F(plant.appliance, advice)) <= increment.tolerance_K(plant.appliance) / K_PER_F


@pytest.mark.parametrize("start_percent", [-30.0, -20.0, -10.0, -3.0, 3.0, 10.0, 20.0, 30.0])
@pytest.mark.parametrize(
    "plant",
    [BentPlant(orifice_unit(), ORIFICE_F), BentPlant(valve_unit(), VALVE_F)],
    ids=["orifice", "valve"],
)
def test_a_system_with_bent_curves_ends_inside_the_tolerance_without_overshoot(
    plant: BentPlant, start_percent: float
) -> None:
    advice, errors = follow(plant, start_percent)
    assert advice.action is Action.DONE, (advice.reasons, errors)
    assert abs(wanting_F(plant.appliance, advice)) <= increment.tolerance_K(plant.appliance) / K_PER_F
    demand_no_overshoot(plant, errors)


def test_a_system_whose_charge_is_not_the_trouble_is_left_before_a_tenth_has_moved() -> None:
    dead = LinearPlant(replace(orifice_unit(), target_superheat_K=6.0 * K_PER_F), 0.0, 0.0)
    advice, errors = follow(dead, 0.0)
    assert advice.action is Action.STOP
    assert max(map(abs, errors)) <= 10.0
