"""After a run: the debrief, mastery and its dates, the own run beside the model run."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.rig.acts import Act
from guide.rig.faults import Fault
from guide.rig.happenings import Happening, Kind
from guide.rig.learning import shelf
from guide.rig.learning.debrief import FIRST_SIGNS, questions
from guide.rig.learning.lesson import TROUBLES, Item, Loss, Score
from guide.rig.learning.mastery import Stand, mastery
from guide.rig.learning.refresh import after
from guide.rig.learning.replay import rows, sides
from guide.rig.learning.score import score
from tests.rig.learning.stories import RIGHT, Story, ready

MONDAY = date(2026, 6, 1)


@dataclass(frozen=True)
class Before:
    """An earlier scored run."""

    day: date
    seed: int = 1
    help: str = "none"
    passed: bool = True
    safety: bool = True

    @property
    def utc(self) -> str:
        return f"{self.day.isoformat()}T12:00:00.000000Z"


def _mastered(*later: Before) -> list[Before]:
    return [Before(MONDAY, seed=1), Before(MONDAY, seed=2), *later]


def test_nothing_tried_something_tried_passed_once() -> None:
    assert mastery([], MONDAY).stand is Stand.NEW
    assert mastery([Before(MONDAY, passed=False)], MONDAY).stand is Stand.TRIED
    assert mastery([Before(MONDAY, help="choose")], MONDAY).stand is Stand.TRIED
    assert mastery([Before(MONDAY)], MONDAY).words() == "passed once"


@pytest.mark.parametrize(
    "runs",
    [
        [Before(MONDAY, seed=1), Before(MONDAY, seed=1)],
        [Before(MONDAY, seed=1), Before(MONDAY, seed=2, help="choose")],
        [Before(MONDAY, seed=1), Before(MONDAY, seed=2, safety=False)],
        [Before(MONDAY, seed=1), Before(MONDAY, seed=2, passed=False)],
    ],
)
def test_one_seed_twice_help_or_a_slip_of_safety_is_no_mastery(runs: list[Before]) -> None:
    assert mastery(runs, MONDAY).stand is Stand.PASSED_ONCE


def test_two_seeds_passed_without_help_are_mastery_with_a_refresh_a_week_later() -> None:
    stands = mastery(_mastered(), MONDAY)
    assert (stands.stand, stands.mastered_on, stands.seeds) == (Stand.MASTERED, MONDAY, (1, 2))
    assert stands.due == date(2026, 6, 8)
    assert mastery(_mastered(), date(2026, 6, 8)).words() == "refresh due since 2026-06-08"


def test_refreshing_on_time_falls_due_after_1_4_and_12_weeks_and_every_12_from_there() -> None:
    runs = _mastered()
    weeks = []
    for _ in range(5):
        due = mastery(runs, MONDAY).due
        assert due is not None
        weeks.append((due - MONDAY).days // 7)
        runs.append(Before(due, seed=7))
    assert weeks == [1, 4, 12, 24, 36]


def test_practising_before_its_date_leaves_the_date_where_it_is() -> None:
    early = _mastered(Before(MONDAY + timedelta(days=2), seed=5))
    assert mastery(early, MONDAY).due == date(2026, 6, 8)


def test_a_refresh_that_fails_brings_it_back_at_once_and_the_dates_begin_anew() -> None:
    failed = date(2026, 6, 30)
    runs = _mastered(Before(date(2026, 6, 8)), Before(failed, passed=False))
    assert mastery(runs, failed).stand is Stand.DUE
    assert mastery(runs, failed).due == failed
    again = [*runs, Before(failed + timedelta(days=1))]
    assert mastery(again, failed).due == failed + timedelta(days=8)


def test_after_a_long_gap_the_dates_begin_anew() -> None:
    late = MONDAY + timedelta(weeks=40)
    assert mastery(_mastered(Before(late)), late).due == late + timedelta(weeks=1)


@given(
    runs=st.lists(
        st.builds(
            Before, day=st.dates(MONDAY, MONDAY + timedelta(days=900)), seed=st.integers(1, 3),
            help=st.sampled_from(["none", "choose"]), passed=st.booleans(), safety=st.booleans(),
        ), max_size=25,
    )
)  # fmt: skip
def test_a_date_never_lies_before_the_last_good_run_and_what_is_mastered_stays_so(runs: list[Before]) -> None:
    ordered = sorted(runs, key=lambda run: run.day)
    since = None
    for count in range(len(ordered) + 1):
        stands = mastery(ordered[:count], MONDAY)
        if since is not None:
            assert stands.mastered_on == since
        since = stands.mastered_on
        if stands.due is not None and count and ordered[count - 1].help == "none":
            last = ordered[count - 1]
            good = last.passed and last.safety
            assert stands.due > last.day if good else stands.due == last.day
    assert [after(MONDAY, count) for count in range(9)] == sorted(after(MONDAY, count) for count in range(9))


# -- debrief -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("lesson_id", list(shelf.paths()))
def test_every_debrief_has_five_questions_with_a_model_answer(lesson_id: str) -> None:
    story = Story(ready(lesson_id))
    run = story.run(end=RIGHT)
    asked = questions(run, score(run))
    assert len(asked) == 5
    assert all(each.ask.endswith("?") and each.model.endswith(".") for each in asked)


def test_the_model_answers_come_from_what_truly_happened() -> None:
    story = Story(ready("add-by-superheat")).go().sign()
    air = Happening(Kind.AIR_IN, 600.0, 0.002)
    run = story.run(end=replace(RIGHT, air_kg=0.002), happenings=(air,))
    result = score(run)
    what, moved, why, sign, again = (each.model for each in questions(run, result))
    assert "Superheat within 5 dF" in what
    assert f"{float(run.state.net_charged_kg()) * 1000:.0f} g) went in in all" in moved
    assert "answers late" in why
    assert sign == FIRST_SIGNS["undercharge"]
    worst = max(result.losses, key=lambda loss: loss.points)
    assert worst.item is Item.AIR
    assert f"{worst.points} points for air kept out" in again
    assert f"(event {worst.seq})" in again


def test_what_was_not_safe_comes_before_what_cost_more() -> None:
    story = Story(ready("add-by-superheat"))
    result = Score(
        points=60, of=100, safety=False, passed=False,
        losses=(
            Loss(Item.CHARGE, 25, 9, 900.0, "Superheat was truly 31 dF."),
            Loss(Item.SAFETY, 15, 8, 840.0, "Stop. Liquid reached the compressor."),
        ),
    )  # fmt: skip
    again = questions(story.run(end=RIGHT), result)[-1].model
    assert again.startswith("Before all else: 15 points for safety in minute 14 (event 8). Stop.")


def test_a_run_without_a_loss_is_told_to_be_done_the_same_way() -> None:
    run = Story(ready("connect-tight")).go(part="connect").run()
    assert questions(run, score(run))[-1].model == "Nothing was lost: do it the same way."


def test_every_trouble_there_is_has_a_first_sign() -> None:
    assert set(TROUBLES) == {str(name) for name in FIRST_SIGNS}
    assert {fault.value for fault in Fault} <= set(TROUBLES)


# -- replay ------------------------------------------------------------------------------------------


def test_a_run_beside_itself_has_no_differences() -> None:
    run = Story(ready("connect-tight")).go(part="connect").run()
    shown = rows(run.state.procedure, run.told, run.told)
    assert all(row.differences == () and row.lost == 0 for row in shown)
    assert [row.step for row in shown][:3] == ["1.1", "1.2", "1.3"]


def test_what_was_left_undone_done_besides_and_lost_stands_at_its_step() -> None:
    model = Story(ready("connect-tight")).go(part="connect").run()
    own = Story(ready("connect-tight"), leave_out=frozenset({Act.SMELL_OUT, Act.START_PUMP})).go("4.14")
    own.clock.advance(600)
    run = own.go(part="connect").run()
    result = score(run)

    shown = {row.step: row for row in rows(run.state.procedure, run.told, model.told, result.losses)}

    assert shown["4.9"].differences == ("left undone: start the vacuum pump",)
    assert shown["4.9"].lost == 3
    assert shown["4.14"].differences == (
        "left undone: look for leaks with detector or bubbles",
        "10 min longer",
    )
    assert shown["4.14"].losses[0].item is Item.CLEANLINESS
    assert sum(row.lost for row in shown.values()) == sum(loss.points for loss in result.losses)


def test_steps_that_only_one_run_came_to_are_told() -> None:
    model = Story(ready("connect-tight")).go(part="connect").run()
    own = Story(ready("connect-tight")).go("4.11").run()
    shown = {row.step: row for row in rows(own.state.procedure, own.told, model.told)}
    assert shown["4.14"].differences == ("not done",)
    assert shown["4.14"].own is None
    back = {row.step: row for row in rows(own.state.procedure, model.told, own.told)}
    assert back["4.14"].differences == ("the model run has no such step",)


def test_values_and_hands_stand_at_the_step_they_were_for() -> None:
    run = Story(ready("add-by-superheat")).go("7.1").run()
    at = sides(run.told)
    assert [each.act for each in at["4.7"].hands] == [Act.JOIN, Act.JOIN]
    assert {value.channel for value in at["5.4"].values} == {
        "indoor_db", "indoor_wb", "supply_db", "outdoor_db",
    }  # fmt: skip
    assert "moved" in {value.channel for value in at["6.3"].values}
    assert at["5.3"].took_s >= 900.0
    assert at["3.1"].said == ("clean",)
