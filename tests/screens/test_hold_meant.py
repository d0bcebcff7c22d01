"""What a stream says of a hold that runs, in words on the sheet, beside the curve and at every size."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from textual.pilot import Pilot

from guide.instruments.readings import Readings
from guide.screens.following import Following
from guide.screens.paint import plain, width_of
from guide.screens.settings import System
from guide.screens.sheet import sheet
from guide.screens.unit_system import in_system
from tests.screens.driving import app_of, at, sees, shown
from tests.screens.small_job import Desk
from tests.screens.test_sheet import view_of
from tests.screens.vacuum_job import (
    Told,
    drawn,
    draws_again,
    lay_vacuum,
    pass_time,
    pressed,
    pulled,
    stands,
    stream_of,
)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return lay_vacuum(tmp_path / "data")


def _rise(gives: float, leak_per_min: float) -> Callable[[float], dict[str, float]]:
    return lambda t: {
        "system_vacuum": 400
        + gives * -math.expm1(-t / 240)
        + leak_per_min * t / 60
        + 1.5 * math.sin(t * t)  # what a gauge wavers by
    }


def _followed(desk: Desk, seconds: float, says: Callable[[float], dict[str, float]]) -> Following:
    feed, readings = stream_of(desk)
    following = Following()
    readings.board(desk.work.state.order)

    def listen() -> None:
        readings.poll()
        following.hear(readings, desk.work.state, desk.work.focus().step)

    pass_time(desk, feed, seconds, says, listen)
    return following


def _said(desk: Desk, following: Following, system: System = System.ORDER) -> str:
    return " ".join(following.said(in_system(desk.work.state, system), desk.work.focus().step))


def test_a_dry_and_tight_circuit_is_so_only_so_far_before_its_time(desk: Desk) -> None:
    stands(desk)
    said = _said(desk, _followed(desk, 600, _rise(40, 0)))

    assert said.startswith("DRY AND TIGHT SO FAR: 43")
    assert ", at its end 4" in said
    assert said.endswith("5 min are left, and it is not passed before.")


def test_a_leak_says_how_fast_it_climbs(desk: Desk) -> None:
    stands(desk)
    said = _said(desk, _followed(desk, 850, _rise(40, 40)))

    assert said.startswith("LEAKING: climbs by 40 micron a minute (")
    assert "mbar L/s a litre of circuit" in said
    assert "It stands above the 600 micron allowed: it may end as not held." in said


def test_moisture_says_where_it_levels_off_and_what_it_is(desk: Desk) -> None:
    stands(desk)
    said = _said(desk, _followed(desk, 850, _rise(1000, 0)))

    assert said.startswith("WET: levels off near 1")
    assert "Moisture, or refrigerant out of the oil: break with dry nitrogen, pump again." in said


def test_an_unclear_hold_is_told_to_run_on(desk: Desk) -> None:
    stands(desk)
    said = _said(desk, _followed(desk, 950, lambda t: {"system_vacuum": 400 + 500 * -math.expm1(-t / 2400)}))

    assert said.startswith("NOT YET KNOWN, 56") or said.startswith("NOT YET KNOWN, 57")
    assert "Let it stand for 7 min 30 s more before you judge it." in said


def test_a_metric_technician_reads_pascals(desk: Desk) -> None:
    stands(desk)
    said = _said(desk, _followed(desk, 850, _rise(40, 40)), System.SI)

    assert said.startswith("LEAKING: climbs by 5.")
    assert "Pa a minute" in said
    assert "micron" not in said


def test_a_question_where_the_gauge_comes_to_is_helped_by_what_it_shows(desk: Desk) -> None:
    following = _followed(desk, 900, lambda t: {"system_vacuum": 4200 + 20_000 * math.exp(-t / 60)})
    step = desk.work.focus().step
    assert _said(desk, following).startswith("HELD UP, by ice or wet oil: it stays at 4200 micron")

    desk.clock.advance(60)
    drawn(desk)
    state = desk.work.state

    assert following.said(state, desk.work.focus().step)[0].startswith("HELD UP")
    assert following.said(state, step) == (), "what came before something was logged is not of now"


def test_a_pull_down_that_water_holds_up_says_so(desk: Desk) -> None:
    drawn(desk)
    following = _followed(desk, 1100, lambda t: {"system_vacuum": 17_500 + 7000 * math.exp(-t / 60)})
    said = _said(desk, following)

    assert said.startswith("HELD UP BY WATER: it stays at 17500 micron, as water at 68 °F would.")
    assert "Liquid water boils there." in said


def test_a_pull_down_that_falls_says_when_it_is_there(desk: Desk) -> None:
    drawn(desk)
    said = _said(desk, _followed(desk, 600, lambda t: {"system_vacuum": 24_000 * math.exp(-t / 300)}))

    assert said.startswith("STILL FALLING: 3248 micron, 20 % a minute, 500 micron in about 9 min")
    assert "Water that is left freezes at this pressure" in said


def test_a_stage_of_several_evacuations_goes_down_to_where_nitrogen_sweeps(desk: Desk) -> None:
    """Two of three evacuations go to 1500 to 2500 micron (FOUND, charging reference 4.2)."""
    draws_again(desk)
    said = _said(desk, _followed(desk, 850, lambda t: {"system_vacuum": 1500 + 20_000 * math.exp(-t / 120)}))

    assert said.startswith("LOW ENOUGH for a sweep with nitrogen: 15")
    assert "carries air and vapour out with it, but no liquid water" in said


def test_a_hold_under_nitrogen_says_what_is_expected_and_which_leak_would_not_show(desk: Desk) -> None:
    pressed(desk)
    said = _said(desk, _followed(desk, 1800, lambda t: {"test_pressure": 294.0, "gas_temperature": 65.0}))

    assert said.startswith("Now 294.0 psig, 293.8 psig expected at this temperature: +0.2 psi ± 0.5 psi.")
    assert "A smaller fall than 0.5 psi would not show: by now a leak of" in said


@pytest.mark.parametrize("size", [(80, 24), (60, 16), (40, 12), (120, 40)])
def test_the_headline_stands_on_the_sheet_where_there_is_room(desk: Desk, size: tuple[int, int]) -> None:
    stands(desk)
    following = _followed(desk, 850, _rise(40, 40))
    view = view_of(desk.work, meant=following.said(desk.work.state, desk.work.focus().step))

    rows = sheet(view, *size)

    assert len(rows) == size[1]
    assert all(width_of(row) <= size[0] for row in rows)
    assert "LEAKING: climbs" in " ".join(plain(rows).split())
    assert "KEEP the circuit" in plain(rows)


def test_the_headline_gives_way_before_anything_that_is_asked(desk: Desk) -> None:
    stands(desk)
    desk.clock.advance(901)
    long = ("LEAKING: climbs by 40 micron a minute (39 to 41). Wet as well.", "x " * 300)
    view = view_of(desk.work, meant=long)

    rows = plain(sheet(view, 40, 12))

    assert "▶" in rows


def _page_follows(pilot: Pilot[Path | None], desk: Desk) -> tuple[Told, Readings]:
    feed, readings = stream_of(desk)
    readings.board(desk.work.state.order)
    app_of(pilot).readings = readings
    return feed, readings


async def test_the_page_follows_the_stream_through_a_hold_and_draws_it_with_the_words(desk: Desk) -> None:
    stands(desk)
    async with at(desk) as pilot:
        feed, _ = _page_follows(pilot, desk)
        page = app_of(pilot).screen
        pass_time(desk, feed, 700, _rise(40, 40), page._tick)  # type: ignore[attr-defined]
        await sees(pilot, "LEAKING: climbs by")
        await pilot.press("escape", "i")
        await sees(pilot, "Vacuum in the system", "LEAKING: climbs by")
        await pilot.press("enter")
        await sees(pilot, "KEEP the circuit shut")


async def test_without_a_stream_nothing_more_stands_there(desk: Desk) -> None:
    pulled(desk)
    async with at(desk) as pilot:
        await sees(pilot, "KEEP the circuit shut")
        assert "NOT YET KNOWN" not in shown(app_of(pilot))
