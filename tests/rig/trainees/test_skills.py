"""A skill is shown when every lesson that asks for it is mastered, and says who signed it off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from guide.rig.trainees.skills import Skill, skills
from tests.rig.trainees.desk import LESSON, Desk, set_up

TODAY = date(2026, 11, 4)
OTHER = replace(LESSON, id="another", objectives=LESSON.objectives[:1])


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = set_up(tmp_path / "practice")
    yield made
    made.bench.close()


def _by_name(desk: Desk, day: date = TODAY) -> dict[str, Skill]:
    return {each.name: each for each in skills(desk.record(), [LESSON, OTHER], day)}


def test_a_skill_is_shown_when_every_lesson_that_asks_for_it_is_mastered(desk: Desk) -> None:
    assert {each.name: each.shown for each in _by_name(desk).values()} == {
        "connecting": False, "leak testing": False,
    }  # fmt: skip
    desk.passes(7, 8)
    found = _by_name(desk)
    assert (found["connecting"].lessons, found["connecting"].mastered) == (
        (LESSON.id, "another"), (LESSON.id,),
    )  # fmt: skip
    assert (found["connecting"].shown, found["leak testing"].shown) == (False, True)
    assert found["connecting"].words() == "connecting: mastered 1 of 2 lessons"


def test_what_falls_due_is_no_longer_shown_and_a_sign_off_names_its_trainer(desk: Desk) -> None:
    desk.passes(7, 8)
    desk.sign_off(days=1)
    due = _by_name(desk, date(2027, 1, 1))["leak testing"]
    assert (due.shown, due.due, due.signed_off) == (False, (LESSON.id,), ((LESSON.id, "tess"),))
    assert due.words() == (
        "leak testing: mastered 0 of 1 lessons, refresh due in connect-clean, "
        "signed off: connect-clean by tess"
    )


def test_a_sign_off_counts_for_the_skills_it_names_also_when_no_lesson_asks_for_them_now(desk: Desk) -> None:
    desk.passes(7, 8)
    desk.sign_off(days=1)
    found = {each.name: each for each in skills(desk.record(), [OTHER], TODAY)}
    assert found["leak testing"].lessons == ()
    assert found["leak testing"].signed_off == ((LESSON.id, "tess"),)
