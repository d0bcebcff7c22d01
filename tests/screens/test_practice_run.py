"""A run when the unit breaks off or the disk refuses: nothing grave is lost, nothing is told twice."""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.job.commands import Command
from guide.job.focus import Refused
from guide.journal.event import Event
from guide.journal.reading import NotLogged
from guide.rig.acts import Act, Handling
from guide.rig.happenings import Happening, Kind
from guide.screens.practice_run import Run
from tests.screens.practice_stand_in import JOIN, StandInDesk
from tests.screens.small_job import PASSPHRASE

FLOODED = Happening(Kind.LIQUID_TO_COMPRESSOR, 5.0, 0.01, "low")


@pytest.fixture
def desk(tmp_path: Path) -> StandInDesk:
    desk = StandInDesk(tmp_path / "kit")
    desk.enter("kit", "", PASSPHRASE)
    return desk


@pytest.fixture
def run(desk: StandInDesk) -> Run:
    return desk.begin("first", "none", 1)


def test_what_the_disk_refuses_of_something_grave_is_logged_and_told_at_the_next_look(
    desk: StandInDesk, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    do = run.work.do

    def full(command: Command) -> tuple[Event, ...]:
        raise NotLogged("the disk is full")

    monkeypatch.setattr(run.work, "do", full)
    desk.unit.coming = (FLOODED,)
    with pytest.raises(NotLogged):
        run.follow()
    with pytest.raises(NotLogged):
        run.handle(JOIN)
    assert desk.unit.done == [], "hands do nothing before it is logged"

    monkeypatch.setattr(run.work, "do", do)
    assert run.follow() == (FLOODED,)
    assert list(run.work.events())[-1].body["act"] == FLOODED.kind.value
    assert run.follow() == ()
    with pytest.raises(Refused):
        run.handle(Handling(Act.START_PUMP))


def test_a_unit_that_broke_off_is_set_up_again_with_all_that_was_done(desk: StandInDesk, run: Run) -> None:
    run.handle(JOIN)
    told = list(run.happened)
    desk.unit.lost = "it broke off"
    desk.unit.coming = (*told, Happening(Kind.AIR_IN, 9.0, 0.0001, "high"))
    assert [each.where for each in run.follow()] == ["high"], "what was told before is not told again"
    assert [done.handling for done in desk.unit.again_with[0]] == [JOIN]


def test_a_unit_that_breaks_off_at_the_same_place_over_and_over_is_left_alone(
    desk: StandInDesk, run: Run
) -> None:
    desk.unit.lost, desk.unit.breaks_for_good = "it broke off", True
    for _ in range(10):
        run.follow()
    assert run.brought_back == len(desk.unit.again_with) == 3
    run.handle(JOIN)
    run.follow()
    assert run.brought_back == 4, "what was done meanwhile may lead past that place"
