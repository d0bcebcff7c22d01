"""What the pages of practice look like: pictures kept beside the tests, one a page.

After a wanted change: `pytest tests/screens/test_practice_pictures.py --snapshot-update`, then look at them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.screen import Screen

from guide.rig.happenings import Happening, Kind
from guide.screens.app import ChargewrightApp
from guide.screens.home import Home
from guide.screens.paint import quiet
from guide.screens.practice_beside import Beside
from guide.screens.practice_cycle import CyclePage, cycles_picture
from guide.screens.practice_debrief import Debrief
from guide.screens.practice_lessons import BeginRun, Conclude, Lessons
from guide.screens.practice_page import PracticePage
from guide.screens.practice_reading import ReadOn
from guide.screens.practice_trainees import WhoLearns
from guide.screens.practice_trainer import Assign, OneTrainee, SignOff, Trainees
from guide.screens.practice_words import card_paragraphs, score_paragraphs, stop_paragraphs
from guide.screens.settings import Light
from tests.screens.driving import app_of, sees, settle, shown
from tests.screens.practice_stand_in import CARD, StandInCoach, StandInDesk, StandInTrainerDesk
from tests.screens.small_job import PASSPHRASE
from tests.screens.test_pictures import SnapCompare


async def nowhere(*_: object) -> None:
    """Leads nowhere."""


class OnePage(ChargewrightApp):
    """The program with one page of practice in front."""

    def __init__(self, make: Callable[[], Screen[None]]) -> None:
        super().__init__(Path("data"), nature="practice", bounce_s=-1.0, tick_s=3600.0)
        self._make = make

    async def _open(self) -> None:
        await self.push_screen(self._make())


@pytest.fixture
def desk(tmp_path: Path) -> StandInDesk:
    desk = StandInDesk(tmp_path / "kit")
    desk.enter("kit", "Kit Learner", PASSPHRASE)
    return desk


def sheet(desk: StandInDesk, help_: str) -> PracticePage:
    return PracticePage(desk.begin("first", help_, 4711))


def after(*words: str, keys: Sequence[str] = ()) -> Callable[[Pilot[Path | None]], object]:
    async def ready(pilot: Pilot[Path | None]) -> None:
        await settle(
            pilot, lambda: not isinstance(pilot.app.screen, Home) and "PRACTICE" in shown(app_of(pilot))
        )
        for key in keys:
            await pilot.press(key)
            await pilot.pause(0.2)
        await sees(pilot, *words)

    return ready


SMALL_AND_USUAL = [(40, 12), (80, 24)]


def named(size: tuple[int, int]) -> str:
    return f"{size[0]}x{size[1]}"


def test_who_learns(snap_compare: SnapCompare, desk: StandInDesk) -> None:
    page = OnePage(lambda: WhoLearns(desk.trainees(), desk.enter, nowhere))
    assert snap_compare(page, terminal_size=(80, 24), run_before=after("WHO LEARNS?"))


def test_the_lessons(snap_compare: SnapCompare, desk: StandInDesk) -> None:
    page = OnePage(lambda: Lessons("Kit Learner", desk.lessons(), (), nowhere, said=quiet("")))
    assert snap_compare(page, terminal_size=(80, 24), run_before=after("LESSONS"))


@pytest.mark.parametrize("size", SMALL_AND_USUAL, ids=named)
def test_a_lesson_before_it_begins(snap_compare: SnapCompare, size: tuple[int, int]) -> None:
    page = OnePage(
        lambda: ReadOn(CARD.title, card_paragraphs(CARD), nowhere, accept="begin a run", back=nowhere)
    )
    assert snap_compare(page, terminal_size=size, run_before=after("After this lesson"))


def test_how_a_run_begins(snap_compare: SnapCompare) -> None:
    page = OnePage(lambda: BeginRun(CARD, lambda *_: NotImplemented, nowhere, nowhere))
    assert snap_compare(page, terminal_size=(80, 24), run_before=after("BEGIN THE RUN"))


@pytest.mark.parametrize("size", SMALL_AND_USUAL, ids=named)
def test_the_sheet_of_a_run(snap_compare: SnapCompare, desk: StandInDesk, size: tuple[int, int]) -> None:
    page = OnePage(lambda: sheet(desk, "none"))
    ready = after("What do you wear?", "You see: goggles", keys=("f4", "enter", "enter"))
    assert snap_compare(page, terminal_size=size, run_before=ready)


@pytest.mark.parametrize("size", SMALL_AND_USUAL, ids=named)
def test_at_the_unit(snap_compare: SnapCompare, desk: StandInDesk, size: tuple[int, int]) -> None:
    page = OnePage(lambda: sheet(desk, "fill"))
    ready = after("AT THE UNIT", "Air got in", keys=("f3", "1", "enter"))
    assert snap_compare(page, terminal_size=size, run_before=ready)


def test_at_the_unit_in_the_sun(snap_compare: SnapCompare, desk: StandInDesk) -> None:
    page = OnePage(lambda: sheet(desk, "fill"))

    async def ready(pilot: Pilot[Path | None]) -> None:
        page.use(replace(page.settings, light=Light.SUN))
        await sees(pilot, "J-0001")
        await pilot.press("f3")
        await sees(pilot, "AT THE UNIT")

    assert snap_compare(page, terminal_size=(80, 24), run_before=ready)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        (("escape",), "also F3"),
        (("escape", "k"), "HOW FAST DOES TIME RUN?"),
        (("escape", "q", "2", "enter"), "1 of 3 taken"),
    ],
    ids=["acts", "clock", "hint"],
)
def test_what_stands_behind_esc(
    snap_compare: SnapCompare, desk: StandInDesk, keys: tuple[str, ...], words: str
) -> None:
    page = OnePage(lambda: sheet(desk, "none"))
    assert snap_compare(page, terminal_size=(80, 24), run_before=after(words, keys=keys))


def test_which_step_comes_next(snap_compare: SnapCompare, desk: StandInDesk) -> None:
    page = OnePage(lambda: sheet(desk, "choose"))
    assert snap_compare(page, terminal_size=(80, 24), run_before=after("WHAT DO YOU DO NEXT?"))


@pytest.mark.parametrize("size", SMALL_AND_USUAL, ids=named)
def test_a_run_that_is_over_before_its_time(snap_compare: SnapCompare, size: tuple[int, int]) -> None:
    why = StandInCoach().stopped(Happening(Kind.WORKED_LIVE, 60.0))
    page = OnePage(lambda: ReadOn("STOP", stop_paragraphs(why), nowhere, accept="to the score", grave=True))
    assert snap_compare(page, terminal_size=size, run_before=after("STOP"))


def test_the_conclusion(snap_compare: SnapCompare, desk: StandInDesk) -> None:
    asked = StandInCoach.conclusion
    page = OnePage(lambda: Conclude(*asked, lambda _: None, nowhere))
    assert snap_compare(page, terminal_size=(80, 24), run_before=after("YOUR CONCLUSION"))


def test_the_score(snap_compare: SnapCompare, desk: StandInDesk) -> None:
    scored = desk.score(desk.begin("first", "none", 1))
    page = OnePage(lambda: ReadOn("SCORE: Read the vacuum", score_paragraphs(scored), nowhere))
    assert snap_compare(page, terminal_size=(80, 24), run_before=after("SCORE"))


@pytest.mark.parametrize("keys", [(), ("2", "enter")], ids=["asked", "answered"])
def test_looking_back(snap_compare: SnapCompare, desk: StandInDesk, keys: tuple[str, ...]) -> None:
    questions = desk.questions(desk.begin("first", "none", 1))
    page = OnePage(lambda: Debrief(questions, lambda _: None, nowhere))
    assert snap_compare(page, terminal_size=(80, 24), run_before=after("LOOK BACK", keys=keys))


@pytest.mark.parametrize("size", SMALL_AND_USUAL, ids=named)
def test_the_cycle_inside_the_unit(
    snap_compare: SnapCompare, desk: StandInDesk, size: tuple[int, int]
) -> None:
    picture = cycles_picture(desk.begin("first", "none", 1).unit.cycles(), american=True)
    assert picture is not None
    page = OnePage(lambda: CyclePage(picture, nowhere))
    assert snap_compare(page, terminal_size=size, run_before=after("the cycle"))


@pytest.mark.parametrize("size", SMALL_AND_USUAL, ids=named)
def test_both_runs(snap_compare: SnapCompare, desk: StandInDesk, size: tuple[int, int]) -> None:
    rows = desk.beside(desk.begin("first", "none", 1))
    page = OnePage(lambda: Beside(rows, nowhere))
    assert snap_compare(page, terminal_size=size, run_before=after("2 of 3", keys=("down",)))


TRAINER = StandInTrainerDesk()
KIT = TRAINER.trainees()[0]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Trainees(TRAINER), "Kit Learner (kit)"),
        (lambda: OneTrainee(TRAINER, KIT), "assign a lesson"),
        (lambda: Assign(TRAINER, KIT, TRAINER.lessons("kit"), nowhere), "Which lesson?"),
        (lambda: SignOff(TRAINER, KIT, TRAINER.lessons("kit"), nowhere), "SIGN OFF"),
    ],
    ids=["trainees", "one", "assign", "sign-off"],
)
def test_the_trainers_pages(snap_compare: SnapCompare, make: Callable[[], Screen[None]], words: str) -> None:
    assert snap_compare(OnePage(make), terminal_size=(80, 24), run_before=after(words))


def test_a_page_below_the_least_size_says_so(snap_compare: SnapCompare) -> None:
    page = OnePage(lambda: ReadOn(CARD.title, card_paragraphs(CARD), nowhere))

    async def ready(pilot: Pilot[Path | None]) -> None:
        await sees(pilot, "This window is 38 x 10")
        assert "After this lesson" not in shown(page)

    assert snap_compare(page, terminal_size=(38, 10), run_before=ready)
