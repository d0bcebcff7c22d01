"""Weighings that repeat towards a target, and holds judged by what changed, on the sheet."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from guide.job import commands as c
from guide.job import payloads as p
from guide.screens.paint import plain
from guide.screens.settings import System
from guide.screens.sheet import sheet
from guide.screens.unit_system import in_system
from tests.screens.driving import app_of, at, sees, shown, types
from tests.screens.opened_job import holding, lay_opened, of_gas, weighed
from tests.screens.small_job import Desk, value
from tests.screens.test_sheet import view_of, words_of


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return lay_opened(tmp_path / "data")


async def test_a_recovery_takes_another_cylinder_or_is_finished(desk: Desk) -> None:
    async with at(desk) as pilot:
        await sees(pilot, "1.1", "Weight before")
        await types(pilot, "20 0", "enter")
        await sees(pilot, "RECOVER into R-3")
        await types(pilot, "27 8", "enter")
        await sees(pilot, "Out of the system 7 lb 8.0 oz so far.", "weigh on", "this step is finished")
        await pilot.press("2", "enter")
        await sees(pilot, "1.2", "KEEP the circuit", "read at its start")
    assert desk.work.state.recovered_kg() > 3


async def test_a_weigh_in_counts_down_to_its_target_and_short_of_it_asks_why(desk: Desk) -> None:
    holding(desk)
    desk.clock.advance(3601)
    desk.work.do(c.EndWait("1.2", of_gas("199.9psig", "80F")))
    # nameplate 8 lb and 25 ft of line at 0.6 oz each: 8 lb 15 oz
    assert "8 lb 15.0 oz" in words_of(sheet(view_of(desk.work), 40, 12))
    weighed(desk, "1.3", "in", "N-14", "24lb0oz", "20lb0oz")
    async with at(desk) as pilot:
        await sees(pilot, "8 lb 15.0 oz wanted, 4 lb 15.0 oz", "weigh on")
        await pilot.press("1", "enter", "enter")
        await sees(pilot, "▶ Weight before")
        await types(pilot, "20 0", "enter")
        await sees(pilot, "CLOSE it at 15 lb 1.0 oz")
        await pilot.press("escape", "z")
        await sees(pilot, "CLOSE THE VALVE AT", "█")
        await pilot.press("escape", "z")
        await types(pilot, "16 0", "enter")
        await sees(pilot, "8 lb 15.0 oz wanted, 15.0 oz")
        await pilot.press("2", "enter")
        await sees(pilot, "END THE WEIGHINGS", "Why")
        await types(pilot, "pressures are equal", "enter")
        await sees(pilot, "logged", "END OF PART")


@pytest.mark.parametrize("size", [(80, 24), (40, 12)])
async def test_a_hold_shows_its_start_what_may_change_and_what_the_typed_values_come_to(
    desk: Desk, size: tuple[int, int]
) -> None:
    holding(desk)
    async with at(desk, size) as pilot:
        await sees(pilot, "at 09:42: Test pressure", "200.0 psig", "80.0 °F")
        if size[0] == 80:
            assert "may fall by at most 2 psi" in " ".join(shown(app_of(pilot)).split())
            assert "at its end at most 250" in " ".join(shown(app_of(pilot)).split())
        desk.clock.advance(3601)
        await pilot.press("tab")
        await sees(pilot, "TIME IS UP")
        await types(pilot, "196", "enter")
        await types(pilot, "70")
        # 214.7 psia at 80 °F; at 70 °F 214.7 * 529.67 / 539.67 = 210.7 psia, 196.0 psig (CALCULATED)
        await sees(pilot, "HOLDS", "▶ Gas in the system")
        if size[0] == 80:
            # real nitrogen lies a tenth below the ideal gas
            told = " ".join(shown(app_of(pilot)).split())
            assert re.search(r"19(5\.9|6\.0) psig expected", told)
        await pilot.press("backspace", "backspace")
        await types(pilot, "80")
        await sees(pilot, "NOT HELD", "▶ Gas in the system")
        assert "-4.0 psi" in " ".join(shown(app_of(pilot)).split())


async def test_a_hold_that_clearly_fails_ends_before_its_time_and_one_that_holds_does_not(desk: Desk) -> None:
    holding(desk)
    desk.clock.advance(600)
    async with at(desk) as pilot:
        await sees(pilot, "50:00")
        await pilot.press("escape", "g")
        await sees(pilot, "BEFORE ITS TIME")
        await types(pilot, "199.9", "enter")
        await types(pilot, "80", "enter")
        await sees(pilot, "! 50 min of the wait are left")
        await sees(pilot, "50:00")
        await pilot.press("escape", "g")
        await types(pilot, "150", "enter")
        await types(pilot, "80", "enter")
        await sees(pilot, "NOT HELD", "read at its start")
    assert desk.work.state.waiting is None


def test_the_end_of_a_hold_says_for_how_long_nobody_was_at_the_program(desk: Desk) -> None:
    from guide.screens.job_page import JobPage

    holding(desk)
    desk.clock.advance(600)
    desk.work.do(c.Pause(desk.work.keep("break")))
    desk.clock.advance(1800)
    desk.work.do(c.Resume(desk.work.person, check_of(desk)))
    desk.clock.advance(1300)
    page = JobPage(desk.bench, desk.technician, desk.work)
    text = words_of(sheet(page.view(), 80, 24))
    assert "TIME IS UP. Nobody was at the program for 30 min of it. Read again now:" in text


def check_of(desk: Desk) -> p.CylinderCheck | None:
    from guide.job.state import refrigerant_may_move

    if not refrigerant_may_move(desk.work.state):
        return None
    return p.CylinderCheck(cylinder="R-3", weight=value("cylinder_weight", "27lb8oz"), valve="closed")


def test_a_hold_is_told_in_the_units_that_were_chosen(desk: Desk) -> None:
    holding(desk)
    view = view_of(desk.work)
    text = plain(sheet(view, 80, 24))
    assert "200.0 psig" in text
    from dataclasses import replace

    metric = replace(view, state=in_system(desk.work.state, System.SI))
    assert "13.79 barg" in words_of(sheet(metric, 80, 24))
