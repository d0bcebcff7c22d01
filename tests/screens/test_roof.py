"""The sheet on a roof: small windows, sun, other units, more or less said, large numbers, several jobs."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.job import commands as c
from guide.job.payloads import ReadingValue
from guide.procedure.model import Hazard, HazardWord
from guide.rig.orders import demonstration_order
from guide.screens.filling import Filling
from guide.screens.large import block_rows
from guide.screens.paint import plain, width_of
from guide.screens.palette import SUN
from guide.screens.settings import FILE, Detail, Light, Settings, System, keep_settings, read_settings
from guide.screens.sheet import View, sheet, warning_left
from guide.screens.turn import turn
from guide.screens.unit_system import in_system
from guide.screens.waits import waits
from tests.screens.driving import app_of, at, sees, settle, shown, types
from tests.screens.small_job import (
    ROUND,
    Desk,
    begin_weighing,
    lay,
    read_round,
    to_the_end,
    to_the_loop,
)  # fmt: skip
from tests.screens.test_sheet import view_of, words_of

LONG = "Never open the valve while " + "the compressor runs and nobody stands at the switch, " * 12 + "END."


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return lay(tmp_path / "data")


def with_long_warning(desk: Desk) -> None:
    procedure = desk.work.state.procedure
    part = procedure.parts[0]
    step = replace(part.steps[0], hazards=(Hazard(HazardWord.DANGER, LONG),))
    parts = (replace(part, steps=(step, *part.steps[1:])), *procedure.parts[1:])
    desk.work.state = replace(desk.work.state, procedure=replace(procedure, parts=parts))


def metric(desk: Desk) -> View:
    state = in_system(desk.work.state, System.SI)
    focus, now = desk.work.focus(), desk.work.now().stamp
    asked = turn(state, focus, now, system=System.SI)
    return View(state, focus, asked, Filling.of(asked.asks, state.order.site_pressure_Pa), now)


async def test_a_warning_longer_than_the_window_is_acknowledged_only_after_its_last_line(desk: Desk) -> None:
    with_long_warning(desk)
    async with at(desk, (40, 12)) as pilot:
        await sees(pilot, "DANGER", "page 1 of ", "It goes on")
        seen = ""
        for _ in range(30):
            seen += " " + " ".join(shown(app_of(pilot)).split())
            if "Read it, then Enter" in seen:
                break
            assert desk.work.state.acknowledged == frozenset()
            before = shown(app_of(pilot))
            await pilot.press("enter")
            await settle(pilot, lambda before=before: shown(app_of(pilot)) != before)  # type: ignore[misc]
        assert "END." in seen
        await pilot.press("enter")
        await settle(pilot, lambda: bool(desk.work.state.acknowledged))


@pytest.mark.parametrize("size", [(40, 12), (60, 16), (80, 24), (120, 36)])
def test_every_word_of_a_long_warning_is_on_one_of_its_pages(desk: Desk, size: tuple[int, int]) -> None:
    with_long_warning(desk)
    view = view_of(desk.work)
    left = warning_left(view, *size)
    said = " ".join(words_of(sheet(replace(view, page=page), *size)) for page in range(left + 1))
    assert all(said.count(word) >= LONG.count(word) for word in ("compressor", "switch,", "END."))


def test_at_40_by_12_what_is_asked_is_in_sight_at_every_front(desk: Desk) -> None:
    to_the_end(desk)
    text = words_of(sheet(view_of(desk.work), 40, 12))
    assert "SHOW the customer" in text
    assert "Enter" in text
    assert "Esc" in text


async def test_at_40_by_12_the_customer_s_page_shows_departures_answers_and_keys(
    desk: Desk,
) -> None:
    desk.work.do(c.Note(desk.work.keep("seen at eight"), late=True))
    to_the_end(desk)
    async with at(desk, (40, 12)) as pilot:
        await sees(pilot, "1 DEPARTURE", "late entry", "SHOW the customer", "PgDn", "Enter", "Esc")
        for answer in ("types a name", "is not present", "refuses"):
            assert answer in shown(app_of(pilot))
        await pilot.press(*["pagedown"] * 6)
        await sees(pilot, "What you sign: every event", "SHOW the customer")


def test_the_sun_knows_black_and_white_only_bold_and_with_heavy_lines() -> None:
    assert {ink.text for ink in SUN.values()} | {ink.ground for ink in SUN.values()} == {"#000000", "#ffffff"}
    assert all(ink.bold for ink in SUN.values())


def test_metric_units_ask_and_show_everywhere_and_leave_what_was_typed(desk: Desk) -> None:
    to_the_loop(desk)
    assert "barg" in words_of(sheet(metric(desk), 80, 24))
    read_round(desk)
    text = words_of(sheet(metric(desk), 80, 24))
    assert "8.15 barg" in text
    assert "14.4 °C" in text
    assert "kg" in text
    assert "psig" not in text
    assert "superheat 10.0 ± 1.1" in text
    assert desk.work.state.entries[1].value.typed == ROUND["suction_pressure"]
    assert in_system(desk.work.state, System.SI).entries[1].value.typed == ROUND["suction_pressure"]


async def test_a_switch_of_units_keeps_the_unit_of_what_was_typed(desk: Desk) -> None:
    to_the_loop(desk)
    async with at(desk) as pilot:
        await types(pilot, "118.2", "enter")
        await sees(pilot, "▶ Suction line")
        await pilot.press("escape", "u", "escape", "u")
        await sees(pilot, "118.2psig", "°C")
        page = app_of(pilot).screen
        assert page._filling.quantity("suction_pressure").unit == "psig"  # type: ignore[attr-defined]


def test_short_says_less_and_teaching_more_of_the_same_step(desk: Desk) -> None:
    for hazard in (0, 1):
        desk.work.do(c.Acknowledge("1.1", hazard))
    texts = {d: words_of(sheet(view_of(desk.work, detail=d), 80, 24)) for d in Detail}
    assert "why:" not in texts[Detail.SHORT]
    assert "why: One drop is enough." in texts[Detail.STANDARD]
    assert "easily wrong:" in texts[Detail.TEACHING]
    for text in texts.values():
        assert "WARNING Liquid refrigerant freezes" in text
        assert "1.1 WEAR eye protection" in text


@pytest.mark.parametrize("size", [(40, 12), (80, 24)])
def test_large_numbers_show_blocks_the_field_and_what_to_do(desk: Desk, size: tuple[int, int]) -> None:
    to_the_loop(desk)
    read_round(desk)
    text = plain(sheet(view_of(desk.work, large=True), *size))
    assert "█" in text
    assert "SUPERHEAT °F" in text
    assert "ADD 2.5 oz" in text
    assert "[" in text
    begin_weighing(desk)
    text = plain(sheet(view_of(desk.work, large=True), *size))
    assert "CLOSE THE VALVE AT lb oz" in text
    assert "█" in text
    desk.work.do(c.EndWeigh("2.2", weight("21lb14.5oz")))
    text = plain(sheet(view_of(desk.work, large=True), *size))
    assert "LEFT TO WAIT" in text


def weight(typed: str) -> ReadingValue:
    from tests.screens.small_job import value

    return value("cylinder_weight", typed)


@given(st.text(alphabet="0123456789.:-+ x", max_size=9), st.integers(0, 130), st.integers(0, 30))
@settings(max_examples=150, deadline=None)
def test_blocks_never_leave_their_room(text: str, width: int, height: int) -> None:
    rows = block_rows(text, width, height)
    assert len(rows) <= height
    assert all(len(row) <= width for row in rows)


def test_every_digit_has_a_shape_of_its_own() -> None:
    shapes = {block_rows(digit, 40, 5) for digit in "0123456789.:-+"}
    assert len(shapes) == 14


def test_how_pages_look_is_kept_in_the_folder_and_a_spoilt_file_does_no_harm(tmp_path: Path) -> None:
    chosen = Settings(Light.SUN, System.SI, Detail.SHORT, large=True)
    assert keep_settings(tmp_path, chosen)
    assert read_settings(tmp_path) == chosen
    assert not keep_settings(tmp_path / "nowhere", chosen)
    for spoilt in (b"", b"[]", b'{"light": 7}', b"\xff\xfe", b"[" * 5000):
        (tmp_path / FILE).write_bytes(spoilt)
        assert read_settings(tmp_path) == Settings()


async def test_a_second_job_is_one_key_away_and_each_keeps_its_wait(tmp_path: Path) -> None:
    desk = lay(tmp_path / "data")
    to_the_loop(desk)
    read_round(desk)
    begin_weighing(desk)
    desk.work.do(c.EndWeigh("2.2", weight("21lb14.5oz")))
    other = desk.bench.new_job(demonstration_order(), desk.technician)
    async with at(desk) as pilot:
        app = app_of(pilot)
        app.technician = desk.technician
        app.works[other.state.job] = other
        await sees(pilot, "15:00")
        await pilot.press("escape")
        await sees(pilot, "to another open job")
        await pilot.press("j")
        await sees(pilot, other.state.job, "J-0007 15:00 left")
        desk.clock.advance(901)
        app._ring()
        await pilot.press("up")
        await sees(pilot, "J-0007 TIME IS UP")
        assert waits(desk.work.state, desk.work.now().stamp) == "J-0007 TIME IS UP"


async def test_pictures_of_the_readings_are_behind_one_letter(desk: Desk) -> None:
    to_the_loop(desk)
    read_round(desk)
    async with at(desk) as pilot:
        await pilot.press("escape", "i")
        await sees(pilot, "superheat", "subcooling", "next picture")
        await pilot.press("enter")
        await sees(pilot, "advice  ADD")


def test_no_line_is_too_wide_in_any_look(desk: Desk) -> None:
    to_the_loop(desk)
    read_round(desk)
    for size in ((40, 12), (60, 16), (80, 24), (120, 36)):
        for detail in Detail:
            for large in (False, True):
                view = replace(metric(desk), detail=detail, large=large, elsewhere="J-0009 OPEN " * 8)
                lines = sheet(view, *size)
                assert len(lines) == size[1]
                assert all(width_of(row) <= size[0] for row in lines)
