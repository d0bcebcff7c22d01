"""Help: how it fades, which steps are put up for choice, what hints say and cost."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.job.state import SETTLED, JobState, current_step, holds
from guide.rig.acts import Act, Handling
from guide.rig.learning import shelf
from guide.rig.learning.choices import OTHERS, choices
from guide.rig.learning.fading import suggest
from guide.rig.learning.hint_costs import HINT_COSTS, HINT_NAMES
from guide.rig.learning.hints import hint, offer, taken
from guide.rig.learning.lesson import Help
from tests.rig.learning.stories import Story, ready


@dataclass(frozen=True)
class Before:
    """An earlier run."""

    help: str
    passed: bool
    safety: bool = True


@pytest.mark.parametrize(
    ("history", "next_level"),
    [
        ([], Help.WORKED),
        ([("worked", False)], Help.FILL),
        ([("fill", True)], Help.CHOOSE),
        ([("choose", True)], Help.NONE),
        ([("none", True)], Help.NONE),
        ([("choose", False)], Help.CHOOSE),
        ([("choose", False), ("choose", False)], Help.FILL),
        ([("fill", False), ("choose", False)], Help.CHOOSE),
        ([("none", False), ("none", False)], Help.CHOOSE),
    ],
)
def test_the_next_level_follows_how_the_last_ones_went(
    history: list[tuple[str, bool]], next_level: Help
) -> None:
    lesson = ready("connect-tight").lesson
    assert suggest(lesson, [Before(*each) for each in history]) is next_level


def test_a_level_that_a_lesson_does_not_allow_is_never_suggested() -> None:
    lesson = replace(ready("connect-tight").lesson, helps=(Help.CHOOSE, Help.NONE))
    assert suggest(lesson, []) is Help.CHOOSE
    assert suggest(lesson, [Before("choose", passed=False)] * 2) is Help.CHOOSE
    assert suggest(lesson, [Before("choose", passed=True)]) is Help.NONE


def test_after_a_run_that_was_not_safe_there_is_more_help_at_once() -> None:
    lesson = ready("connect-tight").lesson
    assert suggest(lesson, [Before("none", passed=False, safety=False)]) is Help.CHOOSE
    assert suggest(lesson, [Before("worked", passed=False, safety=False)]) is Help.FILL


@settings(deadline=None)
@given(lesson_id=st.sampled_from(list(shelf.paths())), seed=st.integers(0, 10_000), steps=st.integers(0, 25))
def test_the_next_step_stands_among_others_that_could_come_and_a_seed_decides_the_order(
    lesson_id: str, seed: int, steps: int
) -> None:
    story = _stories(lesson_id)
    states = _STATES[lesson_id]
    state = states[min(steps, len(states) - 1)]
    put_up = choices(state, seed)
    right = current_step(state)
    assert story.lesson.lesson.id == lesson_id
    assert put_up == choices(state, seed)
    assert right is not None
    assert right in put_up
    assert len(put_up) == OTHERS + 1
    assert len({step.do for step in put_up}) == len(put_up)
    for step in put_up:
        assert state.standing(step.id) not in SETTLED
        assert holds(state, step)


def test_the_right_step_does_not_always_stand_in_the_same_place() -> None:
    lesson = ready("connect-tight")
    state = Story(lesson).work.state
    right = current_step(state)
    assert right is not None
    assert {choices(state, seed).index(right) for seed in range(40)} == {0, 1, 2, 3}


_STORIES: dict[str, Story] = {}
_STATES: dict[str, list[JobState]] = {}


def _stories(lesson_id: str) -> Story:
    if lesson_id not in _STORIES:
        story = Story(ready(lesson_id))
        states = [story.work.state]
        for _ in range(25):
            story.player.step()
            states.append(story.work.state)
        _STORIES[lesson_id] = story
        _STATES[lesson_id] = [state for state in states if current_step(state) is not None]
    return _STORIES[lesson_id]


@pytest.mark.parametrize("lesson_id", list(shelf.paths()))
def test_every_step_of_every_lesson_has_three_hints_that_say_different_things(lesson_id: str) -> None:
    lesson = ready(lesson_id)
    for _, step in lesson.procedure.steps():
        three = hint(lesson.lesson, step).all()
        assert all(three)
        assert len(set(three)) == 3


def test_a_lessons_own_hint_goes_before_what_the_step_says() -> None:
    lesson = ready("connect-tight")
    step = lesson.procedure.step("4.10")
    assert hint(lesson.lesson, step) == lesson.lesson.hints["4.10"]
    assert hint(lesson.lesson, lesson.procedure.step("4.12")).pointer == "Look at the hand valves first."


def test_the_answer_names_what_hands_do_and_the_rule_names_limits_and_hazards() -> None:
    lesson = ready("connect-tight")
    opening = hint(lesson.lesson, lesson.procedure.step("4.8"), (Handling(Act.OPEN_HAND_VALVE, "low", 0.1),))
    assert "By hand: open the low-side hand valve a crack." in opening.answer
    assert "Hose vacuum at most" in opening.rule
    charging = hint(ready("too-much").lesson, ready("too-much").procedure.step("7.3"))
    assert charging.rule


def test_hints_are_offered_in_order_with_their_price() -> None:
    assert [offer(count) for count in range(4)] == [
        "hint: the pointer, costs 1 point", "hint: the rule, costs 2 points",
        "hint: the answer, costs 4 points", "no more hints here",
    ]  # fmt: skip
    assert len(HINT_COSTS) == len(HINT_NAMES)


def test_what_was_taken_is_counted_by_step_from_the_log() -> None:
    story = Story(ready("connect-tight"))
    story.practise("hint", "pointer", step="4.9")
    story.practise("hint", "rule", step="4.9")
    story.practise("hint", "pointer", step="4.10")
    told = story.run().told
    assert (taken(told, "4.9"), taken(told, "4.10"), taken(told, "4.11")) == (2, 1, 0)
