"""Weighings that repeat and holds that fail, worked line by line."""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.job import commands as c
from guide.job import payloads as p
from guide.plain.job import PlainJob
from guide.plain.voice import Gone
from tests.job.opened import OpenDesk, read
from tests.plain.said import Said


@pytest.fixture
def desk(tmp_path: Path) -> OpenDesk:
    return OpenDesk(tmp_path / "data")


def work(desk: OpenDesk, *answers: str) -> str:
    """Everything that was said while these answers were given."""
    said = Said(*answers, passes=desk.clock.advance)
    with pytest.raises(Gone):
        PlainJob(said, desk.bench, desk.alex, desk.work).run()
    return said.told


def payloads(desk: OpenDesk) -> list[p.Payload]:
    events = desk.bench.journal.events(desk.work.state.job)
    return [p.read_payload(event.kind, event.body) for event in events]


def test_a_charge_is_recovered_into_two_cylinders_and_the_step_is_then_finished(desk: OpenDesk) -> None:
    told = work(desk, "E-1", "10 0", "15 0", "1", "R-3", "30 0", "33 0", "2")

    assert "Out of the system 5 lb 0" in told
    assert "Out of the system 8 lb 0" in told
    (finished,) = (each for each in payloads(desk) if isinstance(each, p.WeighingFinished))
    assert finished.reason is None
    assert "virgin" not in told, "nothing is recovered into a cylinder of new refrigerant"


def test_a_charge_is_weighed_in_up_to_its_target(desk: OpenDesk) -> None:
    desk.recovered()
    desk.tight()
    told = work(desk, "N-14", "22 0", "17 0", "", "R-3", "33 0", "29 1", "")

    assert "CLOSE it at" in told
    assert " wanted" in told
    assert "5 lb 0" in told
    assert "on target" in told
    (*_, finished) = (each for each in payloads(desk) if isinstance(each, p.WeighingFinished))
    assert (finished.step, finished.reason) == ("W.1", None)


def test_weighings_short_of_their_target_are_finished_with_a_reason_only(desk: OpenDesk) -> None:
    desk.recovered()
    desk.tight()
    told = work(desk, "N-14", "22 0", "21 0", "2", "", "2", "the cylinder ran empty")

    assert "the target is not met" in told
    (*_, finished) = (each for each in payloads(desk) if isinstance(each, p.WeighingFinished))
    assert finished.reason is not None


def test_the_weighings_of_a_step_can_be_ended_before_the_first(desk: OpenDesk) -> None:
    told = work(desk, "?", "e", "nothing was left in it")

    assert "end the weighings of this step" in told
    assert any(isinstance(each, p.WeighingFinished) for each in payloads(desk))


def test_a_hold_is_read_at_both_ends_and_says_what_changed(desk: OpenDesk) -> None:
    desk.recovered()
    desk.work.do(_raised())
    told = work(desk, "240", "80", "...", "235.3", "70", "no", "235.3", "70", "")

    assert "May fall by at most 1 psi, temperature taken out" in told
    assert "TIME IS UP" in told
    assert "Begun at " in told
    assert told.count("HOLDS: fall at most 1.0 psi") == 2
    assert "HELD: " in told
    (*_, ended) = (each for each in payloads(desk) if isinstance(each, p.WaitEnded))
    assert ended.accepted
    assert ended.early is None


def test_a_hold_that_clearly_fails_is_ended_before_its_time_and_another_one_is_not(desk: OpenDesk) -> None:
    desk.recovered()
    desk.work.do(_raised())
    told = work(desk, "240", "80", "?", "g", "240", "80", "", "?", "g", "200", "80", "")

    assert "read now: it is clearly not held" in told
    assert "it ends early only when a limit is clearly not met" in told
    assert "NOT HELD: Test pressure, nitrogen -40.0 psi (fall at most 1.0 psi)" in told
    (*_, ended) = (each for each in payloads(desk) if isinstance(each, p.WaitEnded))
    assert (ended.accepted, ended.early) == (False, True)


def _raised() -> c.Read:
    return c.Read("T.1", (read("test_pressure", "240 psig"),))
