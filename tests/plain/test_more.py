"""What else can be done at the plain prompt: other units, more or less said, a photo by its path."""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.job import payloads as p
from guide.plain.job import PlainJob
from guide.plain.voice import Gone
from guide.screens.settings import Detail, System, read_settings
from tests.job.opened import OpenDesk
from tests.plain.said import Said


@pytest.fixture
def desk(tmp_path: Path) -> OpenDesk:
    return OpenDesk(tmp_path / "data")


def work(desk: OpenDesk, *answers: str) -> str:
    said = Said(*answers)
    with pytest.raises(Gone):
        PlainJob(said, desk.bench, desk.alex, desk.work).run()
    return said.told


def test_units_are_switched_at_any_time_and_what_is_logged_keeps_the_unit_it_was_typed_in(
    desk: OpenDesk,
) -> None:
    told = work(desk, "E-1", "?", "u", "?", "u", "4.5")

    assert "Units: metric." in told
    assert "Weight before, kg" in told
    begun = desk.work.state.weighing
    assert begun is not None
    assert begun.begun.before.typed == "4.5kg"
    assert read_settings(desk.bench.folder).system is System.SI


def test_more_or_less_is_said_of_a_step(desk: OpenDesk) -> None:
    told = work(desk, "?", "y")

    assert "How much is said: teaching." in told
    assert "Easily wrong: " in told.rpartition("How much is said")[2]
    assert read_settings(desk.bench.folder).detail is Detail.TEACHING


def test_a_photo_is_kept_by_its_path(desk: OpenDesk, tmp_path: Path) -> None:
    picture = tmp_path / "plate.jpg"
    picture.write_bytes(b"\xff\xd8\xff\xe0 a picture")
    told = work(desk, "?", "f", f"'{picture}'", "the nameplate", "?", "f", str(tmp_path / "none.jpg"), "x")

    events = desk.bench.journal.events(desk.work.state.job)
    noted = [n for n in (p.read_payload(e.kind, e.body) for e in events) if isinstance(n, p.Noted)]
    assert noted[0].photo is not None
    assert len(noted) == 1
    assert "REFUSED: " in told
