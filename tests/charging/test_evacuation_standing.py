"""A circuit that stands under vacuum, judged from curves whose truth is known."""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.refusal import FigureError
from guide.charging.standing_fit import fit, thinned
from guide.charging.standing_test import Ask, Doubt, Finding, Standing, Water, judge
from guide.charging.water_vapor import MICRON_Pa, vapor_pressure_Pa

ASK = Ask(900.0, 700 * MICRON_Pa, 200 * MICRON_Pa)
"""A quarter of an hour, at most 700 micron, a rise of at most 200 (FOUND, charging reference 4.2)."""


def _samples(
    truth: Callable[[float], float],
    seconds: float,
    seed: int = 0,
    *,
    noise: float = 2.0,
    every_s: float = 5.0,
) -> list[tuple[float, float]]:
    """What a gauge that shows whole microns and wavers by `noise` micron reads of `truth` [micron]."""
    dice = random.Random(seed)
    times = [every_s * step for step in range(int(seconds / every_s) + 1)]
    return [(t, max(0.0, float(round(truth(t) + dice.gauss(0.0, noise)))) * MICRON_Pa) for t in times]


def _rise(start: float, leak_per_min: float, gives: float, tau_s: float) -> Callable[[float], float]:
    return lambda t: start + leak_per_min * t / 60.0 + gives * -math.expm1(-t / tau_s)


TIGHT = _rise(400, 0.0, 40, 300)
WET = _rise(400, 0.0, 1000, 300)
LEAKING = _rise(400, 40.0, 40, 200)


def _per_min(standing: Standing) -> tuple[float, float, float]:
    assert standing.fit is not None
    leak = standing.fit.leak_Pa_per_s
    return tuple(value * 60.0 / MICRON_Pa for value in (leak.best, leak.low, leak.high))  # type: ignore[return-value]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(
    ("truth", "finding"),
    [
        (TIGHT, Finding.TIGHT),
        (_rise(250, 0.0, 0, 300), Finding.TIGHT),
        (_rise(300, 0.0, 120, 90), Finding.TIGHT),
        (WET, Finding.WET),
        (_rise(300, 0.0, 3000, 500), Finding.WET),
        (LEAKING, Finding.LEAKING),
        (_rise(400, 200.0, 40, 200), Finding.LEAKING),
        (_rise(400, 20.0, 40, 300), Finding.LEAKING),
    ],
)
def test_the_whole_hold_tells_what_it_is(
    truth: Callable[[float], float], finding: Finding, seed: int
) -> None:
    assert judge(_samples(truth, 900, seed), ASK).finding is finding


@pytest.mark.parametrize("seed", range(4))
def test_evening_out_before_slow_moisture_is_not_taken_for_a_leak(seed: int) -> None:
    """Two levellings after one another look like a bend and a straight climb for the first minutes."""

    def truth(t: float) -> float:
        return 400 + 60 * -math.expm1(-t / 60) + 900 * -math.expm1(-t / 900)

    for seconds in (200, 300, 480, 900, 1800):
        assert judge(_samples(truth, seconds, seed), ASK).finding in {Finding.UNKNOWN, Finding.WET}


@pytest.mark.parametrize("truth", [TIGHT, WET, LEAKING])
def test_nothing_is_known_in_the_first_minutes(truth: Callable[[float], float]) -> None:
    said = judge(_samples(truth, 120), ASK)

    assert said.finding is Finding.UNKNOWN
    assert said.doubt is Doubt.SHORT


def test_a_hold_never_passes_before_its_time_and_says_what_is_left() -> None:
    said = judge(_samples(TIGHT, 600), ASK)

    assert said.finding is Finding.TIGHT
    assert said.left_s == 300.0
    assert said.longer_s == 0.0


def test_an_unclear_hold_runs_on_by_half_its_time() -> None:
    slow = _rise(300, 0.0, 1500, 1500)
    said = judge(_samples(slow, 400), Ask(300.0, 700 * MICRON_Pa, 200 * MICRON_Pa))

    assert said.finding is Finding.UNKNOWN
    assert said.doubt is Doubt.ALIKE
    assert said.longer_s == 150.0


def test_the_rate_of_a_leak_is_found_with_its_range() -> None:
    best, low, high = _per_min(judge(_samples(LEAKING, 900), ASK))

    assert low <= 40.0 <= high
    assert best == pytest.approx(40.0, abs=1.5)
    assert high - low < 6.0


def test_the_range_of_a_leak_holds_the_truth_nearly_always() -> None:
    """Two standard deviations of one figure: 19 of 20; widened by what tau leaves open."""
    missed = 0
    for seed in range(40):
        _, low, high = _per_min(judge(_samples(_rise(400, 25.0, 100, 240), 900, seed), ASK))
        missed += not low <= 25.0 <= high
    assert missed <= 4


def test_the_level_of_moisture_is_found_with_its_range() -> None:
    found = judge(_samples(WET, 1200), ASK).fit
    assert found is not None

    level = found.level_Pa
    assert level.low <= 1400 * MICRON_Pa <= level.high
    assert level.best == pytest.approx(1400 * MICRON_Pa, rel=0.02)


def test_a_leak_says_its_rate_a_litre_and_when_it_passes_the_limit() -> None:
    """CALCULATED: 40 micron a minute are 0.0889 Pa/s: 8.9e-5 Pa m3/s a litre."""
    said = judge(_samples(_rise(400, 15.0, 0, 200), 900), ASK)

    assert said.finding is Finding.LEAKING
    assert said.leak_Pa_m3_per_s() == pytest.approx(15 * MICRON_Pa / 60 * 1e-3, rel=0.05)
    assert said.leak_Pa_m3_per_s(5e-3) == pytest.approx(5 * said.leak_Pa_m3_per_s())
    assert said.over
    assert said.over_in_s is None
    early = judge(_samples(_rise(400, 15.0, 0, 200), 700), ASK)
    assert early.over_in_s == pytest.approx(100.0, abs=30.0)


def test_a_hold_over_its_limit_may_end_as_not_held() -> None:
    assert judge(_samples(WET, 300), ASK).over
    assert not judge(_samples(TIGHT, 300), ASK).over


def test_a_wet_circuit_that_may_leak_as_well_says_so() -> None:
    assert judge(_samples(_rise(400, 30.0, 800, 300), 600), ASK).leak_open


@pytest.mark.parametrize(
    ("level_micron", "coldest_F", "water"),
    [
        (1400.0, None, Water.DAMP),
        (4300.0, None, Water.ICE),
        (12_000.0, None, Water.LIQUID),
        (12_000.0, 60.0, Water.LIQUID),
        (5500.0, 90.0, Water.DAMP),
    ],
)
def test_the_level_says_which_water_it_is(level_micron: float, coldest_F: float | None, water: Water) -> None:
    """Vapour pressure of water at 60 °F 13260 micron, at 90 °F 36151 (charging reference 4.3, CALCULATED)."""
    coldest = None if coldest_F is None else (coldest_F + 459.67) / 1.8
    ask = Ask(900.0, 700 * MICRON_Pa, 200 * MICRON_Pa, coldest)

    said = judge(_samples(_rise(400, 0.0, level_micron - 400, 200), 900), ask)

    assert said.finding is Finding.WET
    assert said.water is water


def test_a_pressure_that_falls_is_no_standing_test() -> None:
    said = judge(_samples(_rise(500, -10.0, 0, 100), 900), ASK)

    assert said.finding is Finding.UNKNOWN
    assert said.doubt is Doubt.FALLING


@pytest.mark.parametrize("samples", [[], [(0.0, 60.0)], [(0.0, 60.0), (900.0, 62.0)], [(0.0, math.nan)]])
def test_two_values_tell_no_leak_from_moisture(samples: list[tuple[float, float]]) -> None:
    said = judge(samples, ASK)

    assert said.finding is Finding.UNKNOWN
    assert said.doubt is Doubt.FEW
    with pytest.raises(FigureError):
        said.leak_Pa_m3_per_s()


@settings(max_examples=120, deadline=None)
@given(
    st.lists(st.tuples(st.floats() | st.floats(0.0, 2e3), st.floats() | st.floats(0.0, 500.0)), max_size=120),
    st.floats(1.0, 7200.0),
)
def test_no_values_break_the_judgement(samples: list[tuple[float, float]], hold_s: float) -> None:
    said = judge(samples, Ask(hold_s, 93.0, 27.0))

    assert said.left_s <= hold_s
    if said.fit is not None:
        leak, level = said.fit.leak_Pa_per_s, said.fit.level_Pa
        assert 0.0 <= leak.low <= leak.high
        assert leak.best <= leak.high * (1 + 1e-9) + 1e-12
        assert level.low <= level.high
    if said.finding is Finding.TIGHT:
        assert not said.over


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.floats(50.0, 600.0), st.floats(0.0, 60.0), st.floats(60.0, 600.0))
def test_a_circuit_without_a_leak_is_never_called_leaking(
    seed: int, start: float, noise_tenths: float, tau_s: float
) -> None:
    truth = _rise(start, 0.0, 20 * noise_tenths, tau_s)

    assert judge(_samples(truth, 900, seed, every_s=10.0), ASK).finding is not Finding.LEAKING


def _any_circuit(kind: Finding, dice: random.Random) -> tuple[Callable[[float], float], float, float]:
    """A curve of a kind at random, the noise [micron] and the pace [s] of its gauge."""
    start, evens, quick = dice.uniform(150, 480), dice.uniform(0, 80), dice.uniform(20, 200)
    gives, slow = dice.uniform(800, 4500), dice.uniform(120, 900)
    leak = math.exp(dice.uniform(math.log(15), math.log(500)))

    def truth(t: float) -> float:
        level = start + evens * -math.expm1(-t / quick)
        if kind is Finding.WET:
            return level + gives * -math.expm1(-t / slow)
        return level + leak * t / 60 if kind is Finding.LEAKING else level

    return truth, dice.choice((0.5, 1.0, 2.0, 4.0)), dice.choice((1.0, 2.0, 5.0, 10.0))


def _named(kind: Finding, count: int, seconds: float) -> dict[Finding, int]:
    dice = random.Random(f"{kind} {seconds}")
    found = dict.fromkeys(Finding, 0)
    for seed in range(count):
        truth, noise, every_s = _any_circuit(kind, dice)
        found[judge(_samples(truth, seconds, seed, noise=noise, every_s=every_s), ASK).finding] += 1
    return found


@pytest.mark.parametrize("kind", [Finding.TIGHT, Finding.WET, Finding.LEAKING])
def test_circuits_at_random_are_rightly_named_at_the_end_of_the_hold_and_never_wrongly(kind: Finding) -> None:
    early, late = _named(kind, 40, 600.0), _named(kind, 40, 900.0)

    assert late[kind] >= 36
    assert late[kind] + late[Finding.UNKNOWN] == 40
    assert early[kind] + early[Finding.UNKNOWN] == 40


@pytest.mark.exhaustive
@pytest.mark.parametrize("kind", [Finding.TIGHT, Finding.WET, Finding.LEAKING])
def test_of_a_thousand_circuits_hardly_one_is_wrongly_named(kind: Finding) -> None:
    found = _named(kind, 1000, 900.0)

    assert found[kind] >= 960
    assert found[kind] + found[Finding.UNKNOWN] >= 995


@pytest.mark.parametrize("ask", [Ask(0.0), Ask(-1.0), Ask(60.0, math.nan), Ask(60.0, None, math.inf)])
def test_a_hold_that_is_none_is_refused(ask: Ask) -> None:
    with pytest.raises(FigureError):
        judge([(0.0, 50.0)], ask)


def test_long_series_are_thinned_and_keep_their_ends() -> None:
    points = thinned((float(t), 50.0 + t) for t in range(5000))

    assert len(points) <= 90
    assert points[0] == (0.0, 50.0)
    assert points[-1] == (4999.0, 5049.0)
    assert fit(points[:4]) is None
    assert fit([(0.0, 1.0)] * 9) is None


def test_water_at_the_coldest_part_holds_its_pressure() -> None:
    """Damp walls of a circuit at 40 °F and liquid water there end at 6296 micron (reference 4.3)."""
    level = vapor_pressure_Pa((40 + 459.67) / 1.8) / MICRON_Pa
    ask = Ask(900.0, 700 * MICRON_Pa, None, (40 + 459.67) / 1.8)

    said = judge(_samples(_rise(400, 0.0, level - 400, 240), 900), ask)

    assert (said.finding, said.water) == (Finding.WET, Water.LIQUID)
