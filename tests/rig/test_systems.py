"""Random systems give physical states or say why there is none; `python -m tests.rig.systems` runs 10,000."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from statistics import median

import pytest

from guide.rig.plant import NoSteadyState, SteadyState, balance, steady_state
from tests.rig.systems import (
    MOST_ENERGY_SHARE,
    Found,
    MOST_MASS_kg,
    System,
    draw_system,
    report,
    run,
    unbalanced,
    unphysical,
)

SAMPLE, SEED = 150, 11


@pytest.fixture(scope="module")
def found() -> Found:
    return run(SAMPLE, SEED)


def test_no_system_crashes_and_none_is_unphysical(found: Found) -> None:
    assert found.count == SAMPLE
    assert found.wrong == []


def test_heat_mass_and_entropy_are_kept_by_every_state(found: Found) -> None:
    assert found.worst_energy_share <= MOST_ENERGY_SHARE
    assert found.worst_mass_kg <= MOST_MASS_kg
    assert found.least_entropy_W_per_K >= -1e-3


def test_most_systems_run_and_every_other_says_why_not(found: Found) -> None:
    assert found.solved >= 0.6 * SAMPLE
    assert all(len(reason.split()) >= 3 for reason in found.none)


def test_the_same_state_comes_out_from_elsewhere(found: Found) -> None:
    assert found.again >= 3


def test_a_steady_state_is_a_matter_of_a_millisecond(found: Found) -> None:
    # Measured about a third of this; the rest is for a busy machine.
    assert median(found.cold_s) <= 0.003


def test_a_system_of_one_seed_is_always_the_same() -> None:
    one, again = draw_system(5), draw_system(5)
    assert one == again
    assert draw_system(6) != one


def test_what_is_not_physical_is_told() -> None:
    """The judge itself: a state with one figure bent is found out."""
    system, state = next(_solved())
    assert list(unphysical(system, state)) == []
    for bent in (
        replace(state, capacity_W=-state.capacity_W),
        replace(state, suction_Pa=state.liquid_Pa * 1.1),
        replace(state, flow_kg_per_s=float("nan")),
        replace(state, suction_quality=1.2),
        replace(state, discharge_K=state.suction_line_K - 5.0),
    ):
        assert list(unphysical(system, bent)) != []
    sums = balance(system.made, system.at, state)
    assert list(unbalanced(sums)) == []
    assert list(unbalanced(replace(sums, mass_kg=0.002))) != []
    assert list(unbalanced(replace(sums, energy_share=0.01))) != []


def test_the_property_library_finds_the_same_temperatures_and_no_entropy_lost_either() -> None:
    """CoolProp 8 (LIBRARY) on the points of states of pure refrigerants."""
    from CoolProp.CoolProp import PropsSI

    looked = 0
    for system, state in _solved():
        name = system.made.rated.refrigerant.replace("-", "")
        if name not in {"R32", "R22", "R134a"} or system.at.gas_Pa > 0.0:
            continue  # beside foreign gas a pressure isn't the refrigerant's alone
        looked += 1
        temperature_K, entropy = (
            {
                place: PropsSI(letter, "P", point.pressure_Pa, "H", point.enthalpy, name)
                for place, point in state.points.items()
            }
            for letter in ("T", "S")
        )
        assert abs(temperature_K["suction"] - state.suction_line_K) < 0.5, system.seed
        assert abs(temperature_K["discharge"] - state.discharge_K) < 1.0, system.seed
        assert abs(temperature_K["condenser outlet"] - state.liquid_line_K) < 0.5, system.seed
        shell = state.shell_W / state.flow_kg_per_s / system.at.outdoor_K
        assert entropy["discharge"] - entropy["suction"] + shell > 0.0, system.seed
        assert entropy["evaporator inlet"] - entropy["condenser outlet"] > 0.0, system.seed
    assert looked >= 15


def test_the_report_counts_every_system(found: Found) -> None:
    words = "\n".join(report(found))
    assert f"{SAMPLE} systems, {found.solved} solved" in words
    assert "0 wrong" in words


def _solved() -> Iterator[tuple[System, SteadyState]]:
    for seed in range(100, 200):
        system = draw_system(seed)
        try:
            yield system, steady_state(system.made, system.at)
        except NoSteadyState:
            continue
