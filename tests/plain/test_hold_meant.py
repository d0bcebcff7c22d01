"""A hold at the linear prompt says what the stream shows so far, each time somebody asks."""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.plain.hearing import Listening
from guide.plain.job import PlainJob
from guide.plain.voice import Gone
from tests.plain.said import Said
from tests.screens.small_job import Desk
from tests.screens.vacuum_job import lay_vacuum, pass_time, stands, stream_of


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return lay_vacuum(tmp_path / "data")


def _work(desk: Desk, leak_per_min: float, *answers: str) -> str:
    feed, readings = stream_of(desk)
    listening = Listening(readings)  # not entered: time passes only here

    def passes(seconds: float) -> None:
        pass_time(
            desk,
            feed,
            seconds + 5,
            lambda t: {"system_vacuum": 400 + leak_per_min * t / 60 + (t % 3 - 1)},
            listening.take_in,
        )

    said = Said(*answers, passes=passes)
    hearing = listening.to(desk.work.state.order)
    with pytest.raises(Gone):
        PlainJob(said, desk.bench, desk.technician, desk.work, hearing=hearing).run()
    return said.told


def test_a_hold_that_leaks_says_so_when_its_time_is_up(desk: Desk) -> None:
    stands(desk)
    told = _work(desk, 40.0, "...")

    assert "LEAKING: climbs by 40 micron a minute (" in told
    assert "Break with dry nitrogen, redo the pressure test." in told
    assert told.index("TIME IS UP") < told.index("LEAKING")


def test_a_hold_that_stands_still_is_dry_and_tight(desk: Desk) -> None:
    stands(desk)
    told = _work(desk, 0.0, "...")

    assert "DRY AND TIGHT: 40" in told


def test_nothing_is_said_before_a_value_came(desk: Desk) -> None:
    stands(desk)

    assert "NOT YET KNOWN" not in _work(desk, 0.0)
