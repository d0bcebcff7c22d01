"""Water under a pump, and what a pull-down says of it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.evacuation import PullDown, Pumping, judge, sweep_share
from guide.charging.refusal import FigureError
from guide.charging.water_vapor import TRIPLE_K, MICRON_Pa, TRIPLE_Pa, dry_above_K, freezes, vapor_pressure_Pa

ROOM_K = 294.26


def _pull(
    start_micron: float, floor_micron: float, *, tau_s: float = 150.0, seconds: int = 900
) -> list[tuple[float, float]]:
    return [
        (t, (floor_micron + (start_micron - floor_micron) * math.exp(-t / tau_s)) * MICRON_Pa)
        for t in range(0, seconds + 1, 10)
    ]


def _found(
    samples: list[tuple[float, float]], target_micron: float = 500.0, coldest_K: float = ROOM_K
) -> Pumping:
    return judge(samples, target_micron * MICRON_Pa, coldest_K=coldest_K)


def test_liquid_and_ice_meet_at_the_triple_point() -> None:
    """IAPWS R14-08: 273.16 K, 611.657 Pa (FOUND in two libraries)."""
    assert vapor_pressure_Pa(TRIPLE_K) == pytest.approx(TRIPLE_Pa, rel=2e-5)
    assert vapor_pressure_Pa(math.nextafter(TRIPLE_K, 0.0)) == pytest.approx(TRIPLE_Pa, rel=1e-9)


@settings(max_examples=200, deadline=None)
@given(st.floats(150.0, 619.0), st.floats(0.01, 1.0))
def test_warmer_water_has_the_higher_pressure(temperature: float, more: float) -> None:
    assert vapor_pressure_Pa(temperature + more) > vapor_pressure_Pa(temperature)


@settings(max_examples=100, deadline=None)
@given(st.floats(155.0, 615.0))
def test_a_pressure_leads_back_to_the_temperature_of_its_water(temperature: float) -> None:
    assert dry_above_K(vapor_pressure_Pa(temperature)) == pytest.approx(temperature, abs=2e-3)


def test_water_freezes_below_4588_micron() -> None:
    assert freezes(4580 * MICRON_Pa)
    assert not freezes(4600 * MICRON_Pa)


@pytest.mark.parametrize("temperature", [149.0, 621.0, math.nan, -5.0])
def test_temperatures_that_no_circuit_has_are_refused(temperature: float) -> None:
    with pytest.raises(FigureError):
        vapor_pressure_Pa(temperature)


@pytest.mark.parametrize("pressure", [0.0, -1.0, 1e9, 1e-9, math.inf])
def test_pressures_of_no_water_are_refused(pressure: float) -> None:
    with pytest.raises(FigureError):
        dry_above_K(pressure)


def test_a_gauge_that_falls_says_when_the_target_comes() -> None:
    """CALCULATED: a plain exponential of 600 s time constant from 50000 micron is at 500 after 2763 s."""
    said = _found(_pull(50_000, 0, tau_s=600.0, seconds=1200))

    assert said.finding is PullDown.FALLING
    assert said.falls_per_min == pytest.approx(0.1, rel=1e-3)
    assert said.left_s == pytest.approx(600 * math.log(100) - 1200, rel=1e-3)


def test_a_gauge_below_the_target_is_low_enough() -> None:
    assert _found(_pull(5000, 200)).finding is PullDown.REACHED


def test_a_gauge_that_stops_at_the_pressure_of_water_shows_water() -> None:
    """18791 micron at 70 °F: charging reference 4.3, CALCULATED. Boiling cools it by some degrees."""
    said = _found(_pull(100_000, 17_500, seconds=1800))

    assert said.finding is PullDown.WATER
    assert not said.freezing
    assert said.dry_above_K == pytest.approx(ROOM_K - 1.2, abs=1.5)


def test_a_gauge_that_stops_just_below_the_triple_point_shows_ice() -> None:
    said = _found(_pull(100_000, 4300, seconds=1800))

    assert said.finding is PullDown.ICE
    assert said.freezing


@pytest.mark.parametrize("floor", [60_000.0, 600.0])
def test_a_gauge_that_stops_where_no_water_is_is_held_up_by_something_else(floor: float) -> None:
    assert _found(_pull(100_000, floor, seconds=2400)).finding is PullDown.STALLED


def test_nothing_is_known_from_a_moment() -> None:
    assert judge([], 70.0, coldest_K=ROOM_K).finding is PullDown.UNKNOWN
    assert _found(_pull(50_000, 40_000, seconds=40)).finding is PullDown.UNKNOWN
    assert _found([(0.0, math.nan), (1.0, -5.0)]).finding is PullDown.UNKNOWN


@settings(max_examples=100, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats() | st.floats(0.0, 1e5), st.floats() | st.floats(0.0, 1e6)),
        max_size=60,
    )
)
def test_no_values_break_the_judgement(samples: list[tuple[float, float]]) -> None:
    assert isinstance(_found(samples), Pumping)


def test_each_sweep_leaves_the_share_of_its_pressures() -> None:
    """CALCULATED: 1500 micron against 2 psig at sea level: 0.17 % a sweep; three sweeps, its third power."""
    low, high = 1500 * MICRON_Pa, 101_325 + 2 * 6894.757

    assert sweep_share(low, high, 1) == pytest.approx(0.001737, rel=1e-3)
    assert sweep_share(low, high, 3) == pytest.approx(0.001737**3, rel=3e-3)


@pytest.mark.parametrize(("low", "high", "times"), [(200.0, 100.0, 1), (0.0, 1e5, 1), (200.0, 1e5, 0)])
def test_a_sweep_that_is_none_is_refused(low: float, high: float, times: int) -> None:
    with pytest.raises(FigureError):
        sweep_share(low, high, times)
