"""The trainer's pages with real keys: records, assignments, sign-offs; and practice on the first page."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import date
from pathlib import Path

import pytest
from textual.pilot import Pilot

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson
from guide.rig.learning.shelf import OWN
from guide.rig.trainees.keeping import read_record
from guide.rig.trainees.roster import Roster
from guide.screens.app import ChargewrightApp
from guide.screens.home import home_filling
from guide.screens.practice_trainer import Trainees
from guide.screens.practice_training import RosterDesk, lesson_lines
from tests.screens.driving import app_of, sees, shown, types
from tests.screens.practice_stand_in import StandInTrainerDesk
from tests.screens.small_job import PASSPHRASE


@asynccontextmanager
async def trainer(
    desk: StandInTrainerDesk, tmp_path: Path, size: tuple[int, int] = (80, 24)
) -> AsyncIterator[Pilot[Path | None]]:
    """The program at the trainer's first page."""
    app = ChargewrightApp(tmp_path / "practice", nature="practice", bounce_s=-1.0, tick_s=3600.0)
    async with app.run_test(size=size) as pilot:
        await sees(pilot, "trainer: who learns")
        await app.push_screen(Trainees(desk))
        await sees(pilot, "TRAINER", "Kit Learner (kit)")
        yield pilot


async def test_a_record_is_read_and_one_comes_back(tmp_path: Path) -> None:
    async with trainer(StandInTrainerDesk(), tmp_path) as pilot:
        await pilot.press("enter")
        await sees(pilot, "TRAINER: Kit Learner", "what they showed")
        await pilot.press("r")
        await sees(pilot, "RECORD: Kit Learner", "first: mastered 2026-10-01")
        await pilot.press("escape", "escape")
        await sees(pilot, "Bo Starter (bo)")


async def test_a_lesson_is_assigned_on_a_seed_until_a_day(tmp_path: Path) -> None:
    desk = StandInTrainerDesk()
    async with trainer(desk, tmp_path) as pilot:
        await pilot.press("2", "enter", "a")
        await sees(pilot, "ASSIGN A LESSON TO Bo Starter", "Which lesson?")
        await pilot.press("2", "enter")
        await types(pilot, "12x", "enter", "enter", "enter")
        await sees(pilot, "! a whole number from 0")
        await pilot.press("backspace", "enter")
        await types(pilot, "soon", "enter", "enter")
        await sees(pilot, "! a day as year-month-day")
        await pilot.press("ctrl+u")
        await types(pilot, "2027-01-31", "enter")
        await types(pilot, "before the heat", "enter")
        await sees(pilot, "TRAINER: Bo Starter", "Assigned: second, seed 12, by 2027-01-31.")
    assert desk.assigned == [("bo", "second", 12, date(2027, 1, 31), "before the heat")]


async def test_what_is_not_mastered_is_refused_with_the_reason(tmp_path: Path) -> None:
    async with trainer(StandInTrainerDesk(), tmp_path) as pilot:
        await pilot.press("enter", "s")
        await sees(pilot, "SIGN OFF FOR Kit Learner", "they can do what the lesson asks")
        await pilot.press("2", "enter")
        await sees(pilot, "! second is not signed off: no run of it shows")
        await pilot.press("1", "enter")
        await sees(pilot, "Signed off: Read the vacuum, resting on J-0001.")


@pytest.fixture
def practice(tmp_path: Path) -> Path:
    """A practice folder with one trainee in it."""
    folder = tmp_path / "practice"
    Roster(folder).add("kit", "Kit Learner", PASSPHRASE)
    return folder


def test_an_assigned_lesson_stands_first_in_the_trainees_own_list(practice: Path) -> None:
    bench = Bench.open(practice, nature="practice")
    bench.enrol(KnownPerson("tom", "Tom Trainer", "none given"), PASSPHRASE)
    desk = RosterDesk(practice, bench.sign_in("tom", PASSPHRASE))
    bench.close()
    assert [each.id for each in desk.trainees()] == ["kit"]
    assert desk.lessons("kit")[0].standing == "not begun"
    desk.assign("kit", "too-much", 7, date(2027, 1, 31), "take your time")
    record = read_record(Roster(practice), "kit")
    first = lesson_lines(practice / OWN, record)[0]
    assert first.id == "too-much"
    assert "set by tom until 2027-01-31" in first.standing
    assert any("take your time" in words for words in desk.record("kit"))


def test_every_lesson_is_in_the_list_once_and_the_first_to_learn_comes_first(practice: Path) -> None:
    lines = lesson_lines(practice / OWN, read_record(Roster(practice), "kit"))
    names = [line.id for line in lines]
    assert names[0] == "connect-tight"
    assert len(names) == len(set(names)) >= 10


async def test_a_trainer_has_to_sign_in_with_keys_of_the_practice_journal(practice: Path) -> None:
    bench = Bench.open(practice, nature="practice")
    bench.enrol(KnownPerson("tom", "Tom Trainer", "none given"), PASSPHRASE)
    bench.close()
    app = ChargewrightApp(practice, nature="practice", bounce_s=-1.0, tick_s=3600.0)
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "trainer: who learns")
        await pilot.press("t")
        await sees(pilot, "WHO IS AT THE KEYBOARD?", "Tom Trainer")
        await types(pilot, PASSPHRASE, "enter")
        await sees(pilot, "TRAINER", "Kit Learner (kit)")
        await pilot.press("enter", "s")
        await sees(pilot, "SIGN OFF FOR Kit Learner", "Connect without losing")
        await pilot.press("enter")
        await sees(pilot, "is not signed off")


def test_lessons_stand_on_the_first_page_of_practice_only() -> None:
    def offered(nature: str) -> list[str]:
        active = home_filling((), loaded=True, nature=nature).active
        assert active is not None
        return [choice.value for choice in active.choices]

    assert offered("practice")[:2] == ["lessons", "trainer"]
    assert "lessons" not in offered("real")
    assert "lessons" not in offered("demonstration")


async def test_the_lessons_can_be_left_for_the_first_page(practice: Path) -> None:
    app = ChargewrightApp(practice, nature="practice", bounce_s=-1.0, tick_s=3600.0)
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "lessons on a simulated unit")
        await pilot.press("l")
        await sees(pilot, "WHO LEARNS?")
        await pilot.press("enter")
        await types(pilot, PASSPHRASE, "enter")
        await sees(pilot, "LESSONS", "Connect without losing")
        await pilot.press("escape")
        await sees(pilot, "WHAT NEXT?")
        assert app_of(pilot).practice.desk.who == ""
        assert "PRACTICE" in shown(app_of(pilot))
