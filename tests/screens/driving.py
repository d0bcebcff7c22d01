"""An app on a given desk, and keys pressed one by one."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from textual.pilot import Pilot

from guide.screens.app import ChargewrightApp
from guide.screens.canvas import Canvas
from guide.screens.job_page import JobPage
from guide.screens.paint import plain
from tests.screens.small_job import Desk


class DeskApp(ChargewrightApp):
    """Opens on the desk's job, without bounce guard and without a ticking clock."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(Path("data"), nature="demonstration", bounce_s=-1.0, tick_s=3600.0)
        self._desk = desk

    async def _open(self) -> None:
        self.bench = self._desk.bench
        await self.push_screen(JobPage(self._desk.bench, self._desk.technician, self._desk.work))


@asynccontextmanager
async def at(desk: Desk, size: tuple[int, int] = (80, 24)) -> AsyncIterator[Pilot[Path | None]]:
    """The desk's job on a terminal of this size, its sheet painted."""
    app = DeskApp(desk)
    async with app.run_test(size=size) as pilot:
        await settle(pilot, lambda: isinstance(app.screen, JobPage) and bool(shown(app)))
        yield pilot


def app_of(pilot: Pilot[Path | None]) -> ChargewrightApp:
    """The app a pilot drives."""
    assert isinstance(pilot.app, ChargewrightApp)
    return pilot.app


def shown(app: ChargewrightApp) -> str:
    """The text on the screen."""
    for canvas in app.screen.query(Canvas):
        return plain(canvas.lines)
    return ""


async def settle(pilot: Pilot[Path | None], condition: Callable[[], bool], tries: int = 800) -> None:
    """Wait until a condition holds."""
    for _ in range(tries):
        if condition():
            return
        await pilot.pause(0.01)
    raise AssertionError(f"never came true; the screen shows:\n{shown(app_of(pilot))}")


async def sees(pilot: Pilot[Path | None], *words: str) -> None:
    """Wait until the screen shows all these words."""
    app = app_of(pilot)
    await settle(pilot, lambda: all(word in shown(app) for word in words))


async def types(pilot: Pilot[Path | None], text: str, *keys: str) -> None:
    """Type a text character by character, then press keys."""
    names = {" ": "space", ".": "full_stop", "-": "minus", "'": "apostrophe"}
    await pilot.press(*(names.get(character, character) for character in text), *keys)
