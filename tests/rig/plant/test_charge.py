"""What wrong charge does, against published bands (charging reference, section 6; ratios to right charge)."""

from itertools import pairwise

import pytest

from guide.refrigerant.thermal import COVERED
from guide.rig.plant import Metering, SteadyState
from tests.rig.plant.plants import ORIFICE, THERMOSTATIC, plant, running

F = 1.8
CHARGES = [0.6 + 0.02 * k for k in range(36)]


def cold(state: SteadyState) -> float:
    """Superheat [K], going on below nothing as liquid comes back."""
    return state.superheat_K if state.suction_quality >= 1.0 else -200.0 * (1.0 - state.suction_quality)


def wet(state: SteadyState) -> float:
    return state.subcooling_K if state.liquid_quality == 0.0 else -200.0 * state.liquid_quality


@pytest.mark.parametrize("refrigerant", COVERED)
def test_on_an_orifice_superheat_falls_and_subcooling_rises_with_every_bit_of_charge(
    refrigerant: str,
) -> None:
    states = [running(plant(refrigerant), charge) for charge in CHARGES]
    for less, more in pairwise(states):
        assert cold(more) < cold(less)
        assert wet(more) > wet(less)
        assert more.discharge_Pa > less.discharge_Pa


@pytest.mark.parametrize("refrigerant", COVERED)
def test_a_valve_holds_superheat_while_subcooling_rises(refrigerant: str) -> None:
    of = plant(refrigerant, THERMOSTATIC)
    charges = [charge for charge in CHARGES if charge < 1.25]
    states = [running(of, charge) for charge in charges]
    for less, more in pairwise(states):
        assert cold(more) < cold(less) + 0.01
        assert wet(more) > wet(less)
    held = [state.superheat_K for charge, state in zip(charges, states, strict=True) if charge > 0.89]
    assert max(held) - min(held) < 1.0


@pytest.mark.parametrize(
    ("metering", "charge", "low", "high"),
    [
        (ORIFICE, 0.9, 0.90, 0.99), (ORIFICE, 0.8, 0.78, 0.92), (ORIFICE, 0.7, 0.62, 0.85),
        (THERMOSTATIC, 0.9, 0.93, 1.00), (THERMOSTATIC, 0.8, 0.85, 0.95), (THERMOSTATIC, 0.7, 0.74, 0.88),
    ],
)  # fmt: skip
def test_capacity_falls_with_charge_as_published(
    metering: Metering, charge: float, low: float, high: float
) -> None:
    of = plant(metering=metering)
    assert low <= running(of, charge).capacity_W / running(of).capacity_W <= high


@pytest.mark.parametrize(
    ("metering", "charge", "low", "high"),
    [
        (THERMOSTATIC, 0.9, 0.95, 1.00), (THERMOSTATIC, 0.8, 0.89, 0.97), (THERMOSTATIC, 0.7, 0.78, 0.92),
        (THERMOSTATIC, 1.1, 0.94, 1.01), (THERMOSTATIC, 1.2, 0.90, 1.00),
        (ORIFICE, 1.1, 0.94, 1.01), (ORIFICE, 1.2, 0.90, 1.00),
    ],
)  # fmt: skip
def test_efficiency_follows_charge_as_published(
    metering: Metering, charge: float, low: float, high: float
) -> None:
    of = plant(metering=metering)
    assert low <= running(of, charge).cop / running(of).cop <= high


@pytest.mark.parametrize("metering", [ORIFICE, THERMOSTATIC])
def test_power_falls_a_little_when_undercharged(metering: Metering) -> None:
    of = plant(metering=metering)
    full, few = running(of), running(of, 0.7)
    assert 0.90 <= (few.compressor_W + few.fans_W) / (full.compressor_W + full.fans_W) <= 1.0


def test_slopes_at_right_charge_lie_in_their_bands() -> None:
    few, many = running(plant(), 0.98), running(plant(), 1.02)
    assert -1.5 <= (many.superheat_K - few.superheat_K) * F / 4.0 <= -0.5
    assert 0.1 <= (many.subcooling_K - few.subcooling_K) * F / 4.0 <= 0.5
    of = plant(metering=THERMOSTATIC)
    few, many = running(of, 0.98), running(of, 1.02)
    assert abs(many.superheat_K - few.superheat_K) * F / 4.0 <= 0.2
    assert 0.4 <= (many.subcooling_K - few.subcooling_K) * F / 4.0 <= 0.8


def test_the_knee_of_a_valve_is_near_four_fifths_of_the_charge() -> None:
    of = plant(metering=THERMOSTATIC)
    assert running(of, 0.84).opening < 0.97
    assert running(of, 0.75).opening == 1.0
    assert running(of, 0.75).superheat_K > running(of, 0.84).superheat_K + 3.0


def test_half_the_condenser_air_costs_what_was_published() -> None:
    for metering in (ORIFICE, THERMOSTATIC):
        of = plant(metering=metering)
        few, full = running(of, outdoor_air=0.5), running(of)
        assert 0.91 <= few.capacity_W / full.capacity_W <= 0.97
        assert 0.75 <= few.cop / full.cop <= 0.86


@pytest.mark.parametrize("share", [0.6, 0.8])
def test_less_indoor_air_costs_what_the_published_polynomial_says(share: float) -> None:
    published = 0.718664047 + 0.41797409 * share - 0.136638137 * share**2  # Cutler et al., NREL/TP-5500-56354
    for metering in (ORIFICE, THERMOSTATIC):
        of = plant(metering=metering)
        ratio = running(of, indoor_air=share).capacity_W / running(of).capacity_W
        assert ratio == pytest.approx(published, abs=0.035)
