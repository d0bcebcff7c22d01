"""A job keeps the revision it began with, and hears of a newer one when it is taken up."""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.bench.bench import Bench
from guide.plain.program import PlainProgram
from guide.procedure import library
from guide.procedure.difference import differences
from tests.job.small import ORDER, PASSPHRASE, Desk, order
from tests.plain.said import Said
from tests.procedure.shipped import TEXT

SHIPPED = ORDER.replace("procedure: small", "procedure: charge-fixed-orifice")
REVISION = 'revision: "3"'


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The file of the procedure in a library of its own, still at an earlier revision."""
    folder = tmp_path / "library"
    folder.mkdir()
    monkeypatch.setattr(library, "folder", lambda: folder)
    path = folder / "charge-fixed-orifice.yaml"
    assert REVISION in TEXT
    path.write_text(TEXT.replace(REVISION, 'revision: "1"'))
    return path


def test_a_job_begun_before_goes_on_with_its_own_text_and_hears_of_the_newer(
    tmp_path: Path, shelf: Path
) -> None:
    desk = Desk(tmp_path / "data")
    begun = desk.bench.new_job(order(SHIPPED), desk.alex)
    assert library.newer_revision(begun.state.procedure) is None
    desk.bench.close()
    shelf.write_text(TEXT.replace("who else is near", "who is near"))

    bench = Bench.open(tmp_path / "data", nature="practice", clock=desk.clock, run="run-2")
    again = bench.take_up(begun.state.job, bench.sign_in("alex", PASSPHRASE))
    bench.close()

    assert again.state.procedure == begun.state.procedure
    told = library.newer_revision(again.state.procedure)
    assert told is not None
    assert "revision 3 of charge-fixed-orifice" in told
    found = differences(again.state.procedure, library.load("charge-fixed-orifice"))
    assert [(one.kind, one.where) for one in found] == [("changed", "revision"), ("changed", "1.4")]


def test_the_plain_prompt_says_so_where_the_job_is_taken_up(tmp_path: Path, shelf: Path) -> None:
    desk = Desk(tmp_path / "data")
    desk.bench.new_job(order(SHIPPED), desk.alex)
    desk.bench.close()
    shelf.write_text(TEXT)

    said = Said("1", "1")
    PlainProgram(
        said, tmp_path / "data", nature="practice", clock=desk.clock, run="run-2", passphrase=PASSPHRASE
    ).run()

    assert "The library has revision 3 of charge-fixed-orifice, approved 2026-11-25;" in said.told
    assert "this job keeps revision 1." in said.told
