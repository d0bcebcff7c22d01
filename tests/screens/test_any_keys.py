"""Any keys in any order: the sheet stays up, the log stays possible, the screen stays whole."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from textual.pilot import Pilot

from guide.job.evolve import fold
from guide.job.state import begin
from guide.screens.job_page import JobPage
from guide.screens.paint import width_of
from guide.screens.sheet import sheet
from tests.screens.driving import app_of, at, settle
from tests.screens.small_job import lay, read_round, to_the_loop

KEYS = [
    *["enter"] * 8, *["escape"] * 2, "up", "down", "left", "right", "pageup", "pagedown", "tab", "shift+tab",
    "backspace", "delete", "home", "end", "f1", "f2", "f9", "space", "full_stop", "minus", "equals_sign",
    *"123456789", *"0012", *"wntlcrspbgmehao", "ctrl+u",
]  # fmt: skip


def _job_page(pilot: Pilot[Path | None]) -> JobPage:
    page = app_of(pilot).screen
    assert isinstance(page, JobPage)
    return page


@pytest.mark.parametrize("seed", range(3))
async def test_no_sequence_of_keys_brings_the_sheet_down(tmp_path: Path, seed: int) -> None:
    dice = random.Random(seed)
    desk = lay(tmp_path / "data")
    if seed % 2:
        to_the_loop(desk)
        read_round(desk)
    async with at(desk) as pilot:
        page = _job_page(pilot)
        for _ in range(6):
            await pilot.press(*dice.choices(KEYS, k=25))
            await settle(pilot, page._keys.empty)
            desk.clock.advance(dice.choice([0, 60, 901]))
            if not page.is_current:
                break  # the keys found the way out: leaving is one of the acts
            for width, height in ((80, 24), (40, 12), (120, 36)):
                lines = sheet(page.view(), width, height)
                assert len(lines) == height
                assert all(width_of(row) <= width for row in lines)
    state = desk.work.state
    assert fold(begin(state.job, state.order, state.procedure), desk.bench.journal.events(state.job)) == state
