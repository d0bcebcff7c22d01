"""What the pages look like: pictures kept beside the tests, one a promise.

After a wanted change: `pytest tests/screens/test_pictures.py --snapshot-update`, then look at them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Protocol

import pytest
from textual.app import App
from textual.pilot import Pilot

from guide.job import commands as c
from guide.journal.port import SimulatedClock
from guide.screens.app import ChargewrightApp
from guide.screens.job_page import JobPage
from guide.screens.settings import Light
from tests.screens.driving import DeskApp, sees, settle, shown, types
from tests.screens.opened_job import holding, lay_opened, of_gas, weighed
from tests.screens.small_job import (
    START,
    Desk,
    Stage,
    begin_weighing,
    lay,
    read_round,
    to_the_end,
    to_the_loop,
)


class SnapCompare(Protocol):
    def __call__(
        self,
        app: App[Path | None],
        *,
        terminal_size: tuple[int, int],
        run_before: Callable[[Pilot[Path | None]], object],
    ) -> bool: ...


SIZES = [(40, 12), (80, 24), (120, 36)]


def _nothing(_desk: Desk) -> None:
    """A job just opened: its first warning."""


def _reading(desk: Desk) -> None:
    for hazard in (0, 1):
        desk.work.do(c.Acknowledge("1.1", hazard))
    desk.work.do(c.Answer("1.1", "goggles and gloves"))


def _advised(desk: Desk) -> None:
    to_the_loop(desk)
    read_round(desk)


def _weighing(desk: Desk) -> None:
    _advised(desk)
    begin_weighing(desk)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_a_hold_as_its_values_are_typed(
    snap_compare: SnapCompare, tmp_path: Path, size: tuple[int, int]
) -> None:
    desk = lay_opened(tmp_path / "data")
    holding(desk)
    desk.clock.advance(3601)

    async def ready(pilot: Pilot[Path | None]) -> None:
        await sees(pilot, "TIME IS UP")
        await types(pilot, "196", "enter")
        await types(pilot, "80")
        await sees(pilot, "NOT HELD")

    app = DeskApp(desk)
    assert snap_compare(app, terminal_size=size, run_before=ready)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_a_weigh_in_towards_its_target(
    snap_compare: SnapCompare, tmp_path: Path, size: tuple[int, int]
) -> None:
    desk = lay_opened(tmp_path / "data")
    holding(desk)
    desk.clock.advance(3601)
    desk.work.do(c.EndWait("1.2", of_gas("199.9psig", "80F")))
    weighed(desk, "1.3", "in", "N-14", "24lb0oz", "20lb0oz")

    async def ready(pilot: Pilot[Path | None]) -> None:
        await sees(pilot, "weigh on, same or new cylinder")

    app = DeskApp(desk)
    assert snap_compare(app, terminal_size=size, run_before=ready)


STAGES: dict[str, Stage] = {
    "warning": _nothing,
    "reading": _reading,
    "round": to_the_loop,
    "advice": _advised,
    "weighing": _weighing,
    "review": to_the_end,
}


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("stage", STAGES)
def test_the_sheet(snap_compare: SnapCompare, tmp_path: Path, stage: str, size: tuple[int, int]) -> None:
    desk = lay(tmp_path / "data")
    STAGES[stage](desk)

    async def ready(pilot: Pilot[Path | None]) -> None:
        await settle(pilot, lambda: isinstance(pilot.app.screen, JobPage) and "J-0007" in shown(app))

    app = DeskApp(desk)
    assert snap_compare(app, terminal_size=size, run_before=ready)


@pytest.mark.parametrize("size", SIZES[:2], ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("large", [False, True], ids=["whole", "large"])
def test_the_sheet_in_the_sun(
    snap_compare: SnapCompare, tmp_path: Path, size: tuple[int, int], large: bool
) -> None:
    desk = lay(tmp_path / "data")
    _advised(desk)

    async def ready(pilot: Pilot[Path | None]) -> None:
        app.use(replace(app.settings, light=Light.SUN, large=large))
        await sees(pilot, "J-0007")
        await pilot.press("tab")
        if large:
            await sees(pilot, "█")

    app = DeskApp(desk)
    assert snap_compare(app, terminal_size=size, run_before=ready)


@pytest.mark.parametrize("light", Light)
def test_the_acts_behind_esc(snap_compare: SnapCompare, tmp_path: Path, light: Light) -> None:
    desk = lay(tmp_path / "data")
    _advised(desk)

    async def ready(pilot: Pilot[Path | None]) -> None:
        app.use(replace(app.settings, light=light))
        await sees(pilot, "J-0007")
        await pilot.press("escape")
        await sees(pilot, "MORE: a letter")

    app = DeskApp(desk)
    assert snap_compare(app, terminal_size=(80, 24), run_before=ready)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_without_colour_words_marks_and_places_are_left(
    snap_compare: SnapCompare, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    desk = lay(tmp_path / "data")
    _advised(desk)

    async def ready(pilot: Pilot[Path | None]) -> None:
        await sees(pilot, "J-0007")

    app = DeskApp(desk)
    assert snap_compare(app, terminal_size=size, run_before=ready)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_the_first_page(
    snap_compare: SnapCompare, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    monkeypatch.chdir(tmp_path)
    desk = lay(Path("data"), nature="practice")
    desk.bench.close()

    async def ready(pilot: Pilot[Path | None]) -> None:
        await sees(pilot, "J-0007")

    clock = SimulatedClock(START, boot="simulated")
    app = ChargewrightApp(Path("data"), nature="practice", clock=clock, run="run-2", tick_s=3600.0)
    assert snap_compare(app, terminal_size=size, run_before=ready)


def test_the_quick_look(snap_compare: SnapCompare, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)

    async def ready(pilot: Pilot[Path | None]) -> None:
        await sees(pilot, "No open job.")
        await pilot.press("q")
        await sees(pilot, "QUICK LOOK")
        await pilot.press("5", "enter", "enter", *"118", "enter", *"54", "enter")
        await sees(pilot, "superheat")

    app = ChargewrightApp(Path("data"), tick_s=3600.0)
    assert snap_compare(app, terminal_size=(80, 24), run_before=ready)
