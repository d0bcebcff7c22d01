"""What is learned of a system, and that no step is likelier to overshoot than stated."""

from __future__ import annotations

import random
from dataclasses import replace
from decimal import Decimal
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging import increment
from guide.charging.advice import advise
from guide.charging.increment import LEAST_DIVISIONS, Aim, next_amount_kg, overshoot_chance, would_help
from guide.charging.response import (
    Response,
    Sample,
    estimate,
    expected_slope_K_per_kg,
)
from guide.charging.round import RULES, Accuracy, Action, Appliance, Metering
from guide.charging.silence import does_not_answer
from guide.charging.wording import K_PER_F
from guide.refrigerant.saturation import curve
from tests.charging.linear_plant import orifice_unit, readings, valve_unit

UNITS = st.sampled_from([orifice_unit(), valve_unit()])


def percent_kg(unit: Appliance) -> float:
    return unit.nameplate_charge_kg / 100.0


def history(unit: Appliance, *entries: tuple[float, float], limit_F: float = 2.0) -> list[Sample]:
    """Samples of (charge moved in % of nameplate, wanting in °F)."""
    return [
        Sample(percent * percent_kg(unit), figure_F * K_PER_F, uncertainty_K=limit_F * K_PER_F)
        for percent, figure_F in entries
    ]


def slope_F(unit: Appliance, response: Response) -> float:
    return response.slope_K_per_kg * percent_kg(unit) / K_PER_F


def test_before_the_first_move_the_published_bands_are_what_is_believed() -> None:
    for unit, low_F, high_F in ((orifice_unit(), 0.5, 1.5), (valve_unit(), 0.4, 0.8)):
        believed = estimate(unit, history(unit, (0.0, 9.0)))
        assert slope_F(unit, believed) == pytest.approx((low_F + high_F) / 2.0)
        sd_F = believed.slope_sd_K_per_kg * percent_kg(unit) / K_PER_F
        assert slope_F(unit, believed) - 1.5 * sd_F == pytest.approx(low_F)


def test_a_sharper_refrigerant_and_one_not_named_are_expected_as_such() -> None:
    ordinary, ordinary_sd = expected_slope_K_per_kg(orifice_unit())
    sharper, _ = expected_slope_K_per_kg(replace(orifice_unit(), curve=curve("R-32")))
    other, other_sd = expected_slope_K_per_kg(replace(orifice_unit(), curve=curve("R-134a")))
    assert sharper > ordinary
    assert (other, other_sd > ordinary_sd) == (ordinary, True)


def test_twice_the_charge_answers_half_as_much_a_kilogram() -> None:
    small, _ = expected_slope_K_per_kg(orifice_unit())
    large, _ = expected_slope_K_per_kg(replace(orifice_unit(), nameplate_charge_kg=6.4))
    assert small == pytest.approx(2.0 * large)


@pytest.mark.parametrize("true_F", [0.5, 1.0, 1.5, 1.9])
def test_the_answer_is_learned_from_the_moves_and_known_better_with_each(true_F: float) -> None:
    unit = orifice_unit()
    entries = [(float(p), 30.0 - true_F * p) for p in (0, 2, 7, 12, 17)]
    deviations = [estimate(unit, history(unit, *entries[:n])).slope_sd_K_per_kg for n in range(1, 6)]
    assert deviations[1] < deviations[0]
    assert deviations[4] < 0.6 * deviations[0]
    assert slope_F(unit, estimate(unit, history(unit, *entries))) == pytest.approx(true_F, abs=0.15)


def test_better_instruments_are_believed_sooner() -> None:
    unit = orifice_unit()
    entries = ((0.0, 20.0), (3.0, 15.5))
    coarse = estimate(unit, history(unit, *entries, limit_F=6.0))
    fine = estimate(unit, history(unit, *entries, limit_F=1.0))
    assert abs(slope_F(unit, fine) - 1.5) < abs(slope_F(unit, coarse) - 1.5)


def test_an_answer_far_outside_the_bands_is_followed_at_once() -> None:
    unit = orifice_unit()
    believed = estimate(unit, history(unit, (0.0, 20.0), (2.0, 12.0)))
    assert slope_F(unit, believed) > 2.5


def test_a_round_at_an_end_teaches_where_the_figure_stands_and_nothing_of_the_answer() -> None:
    unit = valve_unit()
    silent = [replace(each, mute_adding=True) for each in history(unit, (0.0, 10.0), (5.0, 10.0))]
    believed = estimate(unit, silent)
    assert slope_F(unit, believed) == pytest.approx(0.6)
    assert believed.wanting_K == pytest.approx(10.0 * K_PER_F)


def test_ends_where_a_figure_cannot_show_a_move_are_seen_in_the_readings() -> None:
    """Suction line as warm as the air, no full liquid line, wet suction, liquid line as cold as the air."""
    starved = readings(superheat_F=38.0, subcooling_F=0.0)  # 78 °F in a room of 80 °F
    full = readings(superheat_F=10.0, subcooling_F=14.0, bubble_F=110.0)  # 96 °F in air of 95 °F
    for unit, now, then in (
        (orifice_unit(), starved, replace(starved, net_charged_kg=0.2)),
        (valve_unit(), full, replace(full, net_charged_kg=-0.2)),
    ):
        # Nothing has changed after 6 % of charge: were it no end, it would be taken for no answer.
        advice = advise(unit, [now, then])
        assert "did not answer" not in advice.reasons[0]


@settings(deadline=None, max_examples=200)
@given(
    UNITS, st.floats(-35, 35), st.floats(0.2, 3.0), st.floats(0.0, 6.0), st.floats(0.001, 0.2),
    st.integers(1, 4), st.randoms(use_true_random=False),
)  # fmt: skip
def test_no_step_is_likelier_to_overshoot_than_stated_nor_beyond_its_caps(
    unit: Appliance, start_percent: float, slope: float, limit_F: float, division_kg: float,
    moves: int, rng: random.Random,
) -> None:  # fmt: skip
    unit = replace(unit, scale_division_kg=division_kg)
    tolerance_K = increment.tolerance_K(unit)
    bounds = Aim(tolerance_K, min(limit_F * K_PER_F / 2.0, tolerance_K / 1.96))
    entries = [(0.0, -slope * start_percent)]
    for _ in range(moves - 1):
        at = entries[-1][0] + rng.uniform(-5.0, 5.0)
        entries.append((at, -slope * (start_percent + at) + rng.uniform(-0.5, 0.5)))
    seen = history(unit, *entries, limit_F=limit_F)
    amount = next_amount_kg(unit, seen, bounds)
    assert amount >= 0
    assert amount % Decimal(str(division_kg)) == 0
    if not amount:
        return
    signed = float(amount) if seen[-1].wanting_K > 0.0 else -float(amount)
    assert overshoot_chance(estimate(unit, seen), bounds, signed) <= increment.OVERSHOOT_CHANCE + 1e-6
    assert amount >= LEAST_DIVISIONS * Decimal(str(division_kg))
    near = abs(seen[-1].wanting_K) <= 1.5 * tolerance_K
    share = 0.02 if near or moves == 1 else 0.05
    assert float(amount) <= share * unit.nameplate_charge_kg + 1e-9


def test_the_stated_chance_is_the_share_of_systems_that_do_overshoot() -> None:
    """Systems drawn from the belief itself; the share is counted, the chance computed."""
    rng = random.Random(4)
    believed = Response(4.0, 30.0, 0.09, -0.6, 25.0, 20.0, 0.2)
    bounds = Aim(2.5, 0.5)
    moved_kg = 0.17
    beyond = 0
    for _ in range(20_000):
        wanting = rng.gauss(0.0, 0.3)
        slope = 30.0 - 0.6 / 0.09 * wanting + rng.gauss(0.0, (25.0 - 0.36 / 0.09) ** 0.5)
        slope += rng.gauss(0.0, 20.0 * moved_kg)
        after = 4.0 + wanting - slope * moved_kg + rng.gauss(0.0, 0.2) + rng.gauss(0.0, 0.5)
        beyond += after < -2.5
    assert beyond / 20_000 == pytest.approx(overshoot_chance(believed, bounds, moved_kg), abs=0.005)


def test_superheat_is_never_aimed_at_zero_to_come_nearer_a_low_target() -> None:
    unit = orifice_unit()
    seen = history(unit, (0.0, 3.0), limit_F=1.0)
    free = Aim(increment.tolerance_K(unit), 0.3)
    low = replace(free, superheat_K=2.0 * K_PER_F, superheat_sd_K=0.5 * K_PER_F)
    assert next_amount_kg(unit, seen, low) < next_amount_kg(unit, seen, free)


def test_a_coarse_figure_is_aimed_shorter_than_a_fine_one() -> None:
    unit = valve_unit()
    seen = history(unit, (0.0, 4.0), (1.0, 3.6), limit_F=1.0)
    fine = Aim(increment.tolerance_K(unit), 0.1)
    coarse = replace(fine, constant_sd_K=increment.tolerance_K(unit) / 1.96)
    chances = [overshoot_chance(estimate(unit, seen), aim, 0.15) for aim in (fine, coarse)]
    assert chances[0] < chances[1]


def test_a_move_inside_the_tolerance_is_made_only_where_it_raises_the_chance_to_be_inside() -> None:
    believed = Response(1.5 * K_PER_F, 0.56 / 0.032, 0.02, 0.0, 1.0, 1.0, 0.02)
    unit = orifice_unit()
    coarse, fine = Aim(increment.tolerance_K(unit), 1.0), Aim(increment.tolerance_K(unit), 0.2)
    inside = NormalDist(0.0, 1.0)
    assert inside.cdf(increment.tolerance_K(unit)) < 0.998
    assert would_help(believed, coarse, 0.04, adding=True)
    assert not would_help(believed, fine, 0.04, adding=True)
    assert not would_help(believed, coarse, 0.02, adding=True), "less than a hose may hold back"


@pytest.mark.parametrize("metering", [Metering.FIXED_ORIFICE, Metering.THERMOSTATIC_VALVE])
def test_silence_is_seen_before_a_tenth_has_moved_and_a_weak_answer_is_not_taken_for_it(
    metering: Metering,
) -> None:
    unit = orifice_unit() if metering is Metering.FIXED_ORIFICE else valve_unit()
    weakest_F = 0.5 if metering is Metering.FIXED_ORIFICE else 0.4
    rng = random.Random(11)
    silent, weak = 0, 0
    for _ in range(200):
        noise = [rng.gauss(0.0, 0.3) for _ in range(4)]
        moved = (0.0, 2.0, 5.5, 9.0)
        dead = [(m, 9.0 + n) for m, n in zip(moved, noise, strict=True)]
        alive = [(m, 9.0 - weakest_F * m + n) for m, n in zip(moved, noise, strict=True)]
        silent += does_not_answer(unit, history(unit, *dead))
        weak += any(does_not_answer(unit, history(unit, *alive[:n])) for n in range(2, 5))
    assert silent >= 199
    assert weak <= 2


def test_a_step_as_large_as_a_hose_full_of_liquid_says_so() -> None:
    small = replace(orifice_unit(), nameplate_charge_kg=2.0)
    large = replace(orifice_unit(), nameplate_charge_kg=9.0)
    now = readings(superheat_F=25.0, subcooling_F=6.0)
    assert any("hose full of liquid" in reason for reason in advise(small, [now]).reasons)
    assert not any("hose full of liquid" in reason for reason in advise(large, [now]).reasons)


def test_the_step_tells_what_it_should_move_and_the_chance_of_going_too_far() -> None:
    first = readings(superheat_F=25.0, subcooling_F=6.0)
    then = readings(superheat_F=22.0, subcooling_F=6.5, net_charged_kg=0.0637)
    unknown, known = advise(orifice_unit(), [first]), advise(orifice_unit(), [first, then])
    assert "isn't known yet" in unknown.reasons[1]
    assert known.reasons[1].startswith("From the answers so far this should move it by about")
    assert "2.5 % is allowed" in known.reasons[2]


def test_a_figure_that_still_moves_after_the_stated_minutes_is_waited_for() -> None:
    """The stated rule: two rounds at one charge agree within their repeatability or 0.4 of the tolerance."""
    unit = orifice_unit()
    first = readings(superheat_F=30.0, subcooling_F=5.0, minutes=15.0)
    moving = readings(superheat_F=25.0, subcooling_F=5.5, minutes=20.0)
    still = readings(superheat_F=29.0, subcooling_F=5.0, minutes=20.0)
    waiting = advise(unit, [first, moving])
    assert waiting.action is Action.WAIT
    assert "hasn't settled" in waiting.reasons[0]
    assert advise(unit, [first, still]).action is Action.ADD
    # Before the stated minutes a figure may move as it likes, and half an hour later it is the weather.
    early = replace(first, minutes_since_change=5.0)
    assert advise(unit, [early, moving]).action is Action.ADD
    assert advise(unit, [first, replace(moving, minutes_since_change=60.0)]).action is Action.ADD


def test_at_most_two_steps_are_spent_inside_the_tolerance() -> None:
    unit = orifice_unit()
    rounds = [
        readings(superheat_F=16.0 - 0.3 * n, subcooling_F=9.0, net_charged_kg=0.03 * n) for n in range(3)
    ]
    assert advise(unit, rounds[:1]).action is Action.ADD
    assert advise(unit, rounds).action is Action.DONE


def test_answers_that_changed_have_a_rule_name_of_their_own() -> None:
    assert RULES == "charging rules 2"


def test_superheat_at_its_floor_is_recovered_from_although_it_lies_inside_the_tolerance() -> None:
    """With a target of 6 °F, 2 °F is inside the tolerance, but may stand for any overcharge."""
    unit = replace(orifice_unit(), target_superheat_K=6.0 * K_PER_F)
    rounds = [readings(superheat_F=2.0, subcooling_F=15.0, net_charged_kg=-0.06 * n) for n in range(5)]
    assert advise(unit, rounds).action is Action.RECOVER


def test_a_bare_suction_sensor_is_insulated_before_anything_is_added_to_its_superheat() -> None:
    bare = replace(orifice_unit(), accuracies={"suction_line_K": Accuracy(0.5, insulated=False)})
    covered = replace(orifice_unit(), accuracies={"suction_line_K": Accuracy(0.5, insulated=True)})
    now = readings(superheat_F=25.0, subcooling_F=6.0)
    assert advise(bare, [now]).action is Action.WAIT
    assert "insulate" in advise(bare, [now]).reasons[0]
    assert advise(covered, [now]).action is Action.ADD


def test_a_right_charge_with_another_trouble_in_sight_says_so_before_the_leaving() -> None:
    """Condensing 33 °F over the outdoor air is too little to stop for, and no sign of a clean condenser."""
    plain = advise(valve_unit(), [readings()])
    odd = advise(valve_unit(), [readings(bubble_F=128.0)])
    assert (plain.action, odd.action) == (Action.DONE, Action.DONE)
    assert not any("Before you leave" in reason for reason in plain.reasons)
    assert any("Before you leave" in reason for reason in odd.reasons)
    assert odd.suspect is None
