"""The sheet as lines: whatever the state, what matters is on it and it fits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from guide.job.focus import Front
from guide.job.work import Work
from guide.rig.orders import demonstration_order
from guide.rig.rehearsal import prepare
from guide.screens.filling import Filling
from guide.screens.paint import Lines, Role, plain, width_of
from guide.screens.place import Lead
from guide.screens.review import recap
from guide.screens.sheet import View, keys_line, said_not_logged, said_refused, sheet
from guide.screens.turn import turn
from tests.screens.small_job import begin_weighing, lay, read_round, to_the_loop

SIZES = [(80, 24), (120, 36), (40, 12), (60, 16), (200, 60), (40, 30), (100, 12)]


def view_of(work: Work, **more: object) -> View:
    state, focus, now = work.state, work.focus(), work.now().stamp
    asked = turn(state, focus, now)
    lead = Lead(recap(state, now) if focus.front is Front.RESUME else ())
    filling = Filling.of(asked.asks, state.order.site_pressure_Pa)
    return replace(View(state, focus, asked, filling, now, lead=lead), **more)  # type: ignore[arg-type]


def words_of(lines: Lines) -> str:
    return " ".join(plain(lines).split())


def squeezed(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture(scope="module")
def states(tmp_path_factory: pytest.TempPathFactory) -> list[View]:
    """Every state of the shipped procedure, worked by the simulated technician."""
    rehearsal = prepare(demonstration_order(), tmp_path_factory.mktemp("rehearsal"))

    def views() -> Iterator[View]:
        yield view_of(rehearsal.work)
        while rehearsal.player.step() is not None:
            yield view_of(rehearsal.work)

    try:
        return list(views())
    finally:
        rehearsal.close()


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_every_state_fills_the_screen_exactly_and_shows_warning_action_field_and_keys(
    states: list[View], width: int, height: int
) -> None:
    for view in states:
        lines = sheet(view, width, height)
        text = words_of(lines).replace("HOLD POINT ", "")
        where = f"{view.focus.front} {view.focus.step.id if view.focus.step else ''}\n{plain(lines)}"

        assert len(lines) == height, where
        assert all(width_of(row) <= width for row in lines), where
        assert "Enter" in text or not view.turn.accept, where
        assert "Esc" in text, where
        if width >= 110:
            continue  # two columns: the words of a sentence are not next to each other
        if view.focus.front is Front.HAZARD:
            assert view.focus.step is not None
            assert view.focus.hazard is not None
            hazard = view.focus.step.hazards[view.focus.hazard]
            assert f"{hazard.word.value} {hazard.text}" in text, where
        if view.focus.front is Front.STEP and view.focus.step is not None:
            assert squeezed(view.focus.step.do) in text, where
        active = view.filling.active
        if active is not None and not active.choices:
            assert any(span.role is Role.CURSOR for row in lines for span in row), where


def test_at_80_by_24_every_field_and_every_answer_is_in_sight(states: list[View]) -> None:
    for view in states:
        text = words_of(sheet(view, 80, 24))
        for ask in view.filling.asks:
            if len(view.filling.asks) > 1:
                assert squeezed(ask.label) in text
        active = view.filling.active
        for choice in active.choices if active else ():
            assert squeezed(choice.words) in text


def test_a_warning_comes_before_its_action_and_the_action_is_not_offered_until_it_is_read(
    states: list[View],
) -> None:
    warned = [view for view in states if view.focus.front is Front.HAZARD]
    assert warned
    for view in warned:
        assert not view.filling.asks
        step = view.focus.step
        assert step is not None
        text = words_of(sheet(view, 80, 24))
        assert text.index(step.hazards[view.focus.hazard or 0].text) < text.index(f"then {step.id}")


def test_the_procedure_s_identity_is_on_every_screen(states: list[View]) -> None:
    for view in states:
        procedure = view.state.procedure
        assert f"rev {procedure.revision} {procedure.sha256[:4]}" in words_of(sheet(view, 80, 24))


def test_a_demonstration_says_so_on_every_screen(states: list[View]) -> None:
    for width, height in SIZES:
        for view in states[::7]:
            assert "DEMONST" in plain(sheet(view, width, height))


def test_a_window_too_small_says_so_and_loses_nothing(states: list[View]) -> None:
    lines = sheet(states[0], 39, 12)
    assert len(lines) == 12
    assert "at least 40 x 12" in words_of(lines)


def test_advice_that_was_followed_is_not_shown_again(tmp_path: Path) -> None:
    from guide.job import commands as c
    from tests.screens.small_job import value

    desk = lay(tmp_path / "data")
    to_the_loop(desk)
    read_round(desk)
    assert "advice ADD" in words_of(sheet(view_of(desk.work), 80, 24))
    begin_weighing(desk)
    assert "OPEN the valve of N-14" in words_of(sheet(view_of(desk.work), 80, 24))
    desk.work.do(c.EndWeigh("2.2", value("cylinder_weight", "21lb14.5oz")))
    text = words_of(sheet(view_of(desk.work), 80, 24))
    assert "ADD" not in text
    assert "before the last move" in text
    assert "15:00 left" in text


def test_the_weight_to_close_at_is_one_the_scale_can_show_and_never_beyond_the_advice(tmp_path: Path) -> None:
    from guide.screens.weigh_turn import close_at

    desk = lay(tmp_path / "data")
    to_the_loop(desk)
    read_round(desk)
    begin_weighing(desk)
    target = close_at(desk.work.state)
    weighing = desk.work.state.weighing
    assert target is not None
    assert weighing is not None
    moved = weighing.begun.before.si - target
    assert 0 < moved <= desk.work.state.rounds[-1].read.assessment.amount_kg + Decimal("0.000001")
    assert moved % desk.work.state.order.scale_division.si == 0


@pytest.mark.parametrize(("logged_kg", "halves"), [("0.056699", 4), ("0.127573", 9), ("0.0566", 3)])
def test_an_amount_logged_to_the_milligram_is_not_a_division_short(
    tmp_path: Path, logged_kg: str, halves: int
) -> None:
    """Four half ounces are 0.056699046 kg: the log rounds them below four whole divisions."""
    from guide.screens.weigh_turn import close_at

    desk = lay(tmp_path / "data")
    to_the_loop(desk)
    read_round(desk)
    begin_weighing(desk)
    state = desk.work.state
    last = state.rounds[-1]
    told = last.read.assessment.model_copy(update={"amount_kg": Decimal(logged_kg)})
    rounds = (*state.rounds[:-1], replace(last, read=last.read.model_copy(update={"assessment": told})))
    weighing = state.weighing
    target = close_at(replace(state, rounds=rounds))
    assert weighing is not None
    assert target is not None
    assert (weighing.begun.before.si - target) / state.order.scale_division.si == halves


def test_what_was_not_logged_is_said_in_words(tmp_path: Path) -> None:
    desk = lay(tmp_path / "data")
    view = view_of(desk.work, said=said_not_logged("the disk is full"))
    assert "NOT LOGGED - the disk is full" in words_of(sheet(view, 80, 24))
    assert "NOT LOGGED - the disk is full" in words_of(sheet(view, 40, 12))


def test_a_long_refusal_wraps_and_does_not_push_the_keys_away(tmp_path: Path) -> None:
    desk = lay(tmp_path / "data")
    view = view_of(desk.work, said=said_refused("too long " * 60))
    lines = sheet(view, 80, 24)
    assert len(lines) == 24
    assert lines[-1] == keys_line(view, 80)


@pytest.mark.parametrize("hostile", ["\x1b[2J", "\u202etxt", "\u200b" * 50, "x" * 190, "漢字" * 60])
def test_a_hostile_or_endless_place_does_not_break_a_line(tmp_path: Path, hostile: str) -> None:
    desk = lay(tmp_path / "data")
    desk.work.state = replace(desk.work.state, order=replace(desk.work.state.order, place=hostile))
    for width, height in SIZES:
        lines = sheet(view_of(desk.work), width, height)
        assert all(width_of(row) <= width for row in lines)
        assert "\x1b" not in plain(lines)
        assert "\u202e" not in plain(lines)
