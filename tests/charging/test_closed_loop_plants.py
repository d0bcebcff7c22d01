"""The closed-loop benchmark on a seeded sample; `python -m tests.charging.campaign` runs as many as wanted.

The plants' bands are published or PROPOSED ones (`plants/draw.py`, `plants/faults.py`), drawn up before the
advice ran on them; neither side was tuned to the other.
"""

from __future__ import annotations

from statistics import median

import pytest

from guide.charging.round import Action
from tests.charging.campaign import (
    Healthy,
    caught,
    faulty_lines,
    healthy_lines,
    named,
    ninety_fifth,
    refusal_lines,
    refused,
    run_faulty,
    run_healthy,
)
from tests.charging.plants.draw import draw
from tests.charging.plants.faults import FAULTS, NON_CONDENSABLES, READING_FAULTS
from tests.charging.plants.loop import Ending, as_advised

HEALTHY, FAULTY, SEED = 400, 270, 7


@pytest.fixture(scope="module")
def healthy() -> Healthy:
    return run_healthy(HEALTHY, SEED)


@pytest.fixture(scope="module")
def faulty() -> dict[str, list[Ending]]:
    return run_faulty(FAULTY, SEED)


def share(what: list[bool]) -> float:
    return sum(what) / len(what)


def test_what_is_called_done_lies_inside_the_tolerance(healthy: Healthy) -> None:
    """As read always; by the true figures, which nobody on site knows, in 98 of 100."""
    done = [e for e in healthy.advised if e.done]
    assert all(e.read_inside for e in done)
    assert share([e.inside for e in done]) >= 0.98
    fixed = [e for e in healthy.fixed if e.done]
    assert share([e.inside for e in done]) > share([e.inside for e in fixed])


def test_hardly_any_overshoots_beyond_the_band_and_none_floods_the_compressor(healthy: Healthy) -> None:
    assert share([e.overshoot_F > e.tolerance_F for e in healthy.advised]) <= 0.01
    assert not any(e.flooded for e in healthy.advised)


def test_it_takes_about_as_few_increments_as_the_caps_allow_and_half_of_the_fixed_rules(
    healthy: Healthy,
) -> None:
    """A third of the fixed rule's is out of reach on small systems: their caps are about 2 oz themselves."""
    pairs = [
        (ours.moves, fixed.moves, fewest)
        for ours, fixed, fewest in zip(healthy.advised, healthy.fixed, healthy.fewest, strict=True)
        if ours.done and fixed.done
    ]
    ours, fixed, fewest = ([each[i] for each in pairs] for i in range(3))
    assert median(ours) <= 0.75 * median(fixed)
    assert sum(ours) <= 0.5 * sum(fixed)
    assert ninety_fifth(ours) <= ninety_fifth(fixed) / 3
    assert sum(ours) <= 1.35 * sum(fewest)


def test_few_systems_without_a_trouble_are_refused(healthy: Healthy) -> None:
    assert share([refused(e) for e in healthy.advised]) <= 0.03, refusal_lines(healthy)


def test_a_trouble_that_is_not_charge_is_seldom_answered_with_charge(faulty: dict[str, list[Ending]]) -> None:
    endings = [e for some in faulty.values() for e in some]
    assert set(faulty) == set(FAULTS)
    assert share([abs(e.moved_percent) <= 5.0 for e in endings]) >= 0.85


def test_troubles_are_caught_and_most_are_rightly_named(faulty: dict[str, list[Ending]]) -> None:
    """Nine of ten is the aim; what no reading tells apart (a gauge a little off zero) stays below it."""
    of_the_system = [(f, e) for f, some in faulty.items() for e in some if f not in READING_FAULTS]
    everything = [(f, e) for f, some in faulty.items() for e in some]
    words = "\n".join(faulty_lines(faulty))
    assert share([caught(e) for _, e in everything]) >= 0.87, words
    assert share([named(f, e) for f, e in of_the_system]) >= 0.85, words


def test_what_was_not_read_at_rest_is_asked_for_where_it_tells_gas_from_charge() -> None:
    found = run_faulty(180, SEED, at_rest=False)
    in_vain = run_faulty(180, SEED, at_rest=False, rests_when_asked=False)
    gas, never = found[NON_CONDENSABLES], in_vain[NON_CONDENSABLES]
    assert share([caught(e) for e in gas]) >= share([caught(e) for e in never]) + 0.3
    assert share([caught(e) for some in found.values() for e in some]) >= 0.78


def test_a_system_of_one_seed_always_ends_alike() -> None:
    assert as_advised(draw(42)) == as_advised(draw(42))
    assert draw(42) != draw(43)


def test_the_figures_are_printed_beside_the_fixed_rule(
    healthy: Healthy, faulty: dict[str, list[Ending]]
) -> None:
    words = "\n".join([*healthy_lines(healthy), *faulty_lines(faulty), *refusal_lines(healthy)])
    assert "fixed 2 oz" in words
    assert all(fault in words for fault in FAULTS)


@pytest.mark.exhaustive
def test_a_large_campaign_keeps_the_same_bounds() -> None:
    found = run_healthy(5000, 100)
    done = [e for e in found.advised if e.done]
    assert share([e.inside for e in done]) >= 0.985
    assert share([e.overshoot_F > e.tolerance_F for e in found.advised]) <= 0.01
    assert not any(e.flooded for e in found.advised)
    assert all(e.action in {Action.DONE, Action.STOP} for e in found.advised)
