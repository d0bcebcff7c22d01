"""A plant made from rated numbers does what they say."""

from dataclasses import replace

import pytest

from guide.refrigerant.thermal import COVERED, NoThermal
from guide.rig.plant import BadRating, Metering, design, steady_state, usual
from tests.rig.plant.plants import ELECTRONIC, ORIFICE, THERMOSTATIC, at, plant, running

every = pytest.mark.parametrize("refrigerant", COVERED)
metered = pytest.mark.parametrize("metering", list(Metering))


@every
@metered
@pytest.mark.parametrize("capacity_W", [5_000.0, 17_500.0, 70_000.0])
def test_the_rated_point_is_what_was_asked_for(
    refrigerant: str, metering: Metering, capacity_W: float
) -> None:
    of = plant(refrigerant, metering, capacity_W)
    state = running(of)
    assert state.superheat_K == pytest.approx(of.rated.superheat_K, abs=0.01)
    assert state.subcooling_K == pytest.approx(of.rated.subcooling_K, abs=0.01)
    assert state.evaporating_K == pytest.approx(of.rated.evaporating_K, abs=0.01)
    assert state.condensing_K == pytest.approx(of.rated.condensing_K, abs=0.01)
    assert state.capacity_W == pytest.approx(capacity_W, rel=1e-4)
    assert state.charge_kg == pytest.approx(of.right_charge_kg, abs=0.0005 * capacity_W / 11_000)


def test_a_usual_plant_of_three_tons_has_figures_like_those_on_nameplates() -> None:
    state, of = running(plant()), plant()
    assert 2.5 < of.right_charge_kg < 3.6
    assert 0.06 < state.flow_kg_per_s < 0.075
    assert 3.0 < state.cop < 3.6
    assert 340.0 < state.discharge_K < 355.0
    assert 0.65 < state.sensible_W / state.capacity_W < 0.80
    assert 284.0 < state.supply_db_K < 290.0


def test_size_scales_everything_but_what_gauges_show() -> None:
    small, large = plant(capacity_W=6_000.0), plant(capacity_W=60_000.0)
    assert large.right_charge_kg == pytest.approx(10.0 * small.right_charge_kg, rel=1e-6)
    few, many = running(small, 0.85), running(large, 0.85)
    assert many.superheat_K == pytest.approx(few.superheat_K, abs=0.01)
    assert many.suction_Pa == pytest.approx(few.suction_Pa, rel=1e-4)
    assert many.compressor_W == pytest.approx(10.0 * few.compressor_W, rel=1e-4)


@pytest.mark.parametrize("metering", [ORIFICE, THERMOSTATIC])
def test_a_known_charge_is_the_right_one_and_only_what_coils_hold_gives_way(metering: Metering) -> None:
    rated = replace(usual("R-410A", 11_000.0, metering), right_charge_kg=3.6)
    of = design(rated)
    assert of.right_charge_kg == pytest.approx(3.6)
    state = running(of)
    assert state.superheat_K == pytest.approx(rated.superheat_K, abs=0.01)
    assert state.subcooling_K == pytest.approx(rated.subcooling_K, abs=0.01)
    assert of.condenser_m3 > plant(metering=metering).condenser_m3


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"capacity_W": 10.0}, "capacity"),
        ({"superheat_K": 40.0}, "return air"),
        ({"subcooling_K": 15.0}, "outdoor air"),
        ({"subcooling_K": 0.0}, "above nothing"),
        ({"right_charge_kg": 0.3}, "does not fit"),
        ({"outdoor_m3_per_s": 0.3}, "outdoor coil"),
        ({"indoor_m3_per_s": 0.1}, "indoor coil"),
    ],
)
def test_rated_numbers_that_no_plant_has_are_refused_in_words(changes: dict[str, float], words: str) -> None:
    with pytest.raises(BadRating, match=words):
        design(replace(usual("R-410A", 11_000.0, ORIFICE), **changes))  # type: ignore[arg-type]


def test_a_refrigerant_without_figures_is_refused() -> None:
    with pytest.raises(NoThermal):
        usual("R-404A", 11_000.0, ORIFICE)


def test_an_electronic_valve_holds_its_superheat_closer_than_a_thermostatic_one() -> None:
    spread = {
        metering: [running(plant(metering=metering), charge).superheat_K for charge in (0.9, 1.0, 1.2)]
        for metering in (THERMOSTATIC, ELECTRONIC)
    }
    width = {metering: max(of) - min(of) for metering, of in spread.items()}
    assert width[ELECTRONIC] < 0.5 * width[THERMOSTATIC]


def test_a_state_shortly_before_gives_the_same_answer_as_none() -> None:
    of = plant("R-454B", THERMOSTATIC)
    before = running(of, 0.95)
    warm = steady_state(of, at(of, 0.9, outdoor_K=305.0), near=before)
    cold = steady_state(of, at(of, 0.9, outdoor_K=305.0))
    assert warm.suction_Pa == pytest.approx(cold.suction_Pa, rel=1e-4)
    assert warm.subcooling_K == pytest.approx(cold.subcooling_K, abs=0.01)
