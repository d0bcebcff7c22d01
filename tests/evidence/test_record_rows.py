"""Rows of the feature table that a whole job's record answers and no other test states by itself."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.work import Work
from guide.screens.filling import Filling
from guide.screens.paint import plain
from guide.screens.sheet import View, sheet
from guide.screens.turn import turn
from tests.job.small import weight
from tests.record.build import Bench1, play, set_up, words_of


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Bench1]:
    made = set_up(tmp_path / "bench")
    yield made
    made.bench.close()


def sheet_of(work: Work) -> str:
    focus, now = work.focus(), work.now().stamp
    asked = turn(work.state, focus, now)
    filling = Filling.of(asked.asks, work.state.order.site_pressure_Pa)
    return plain(sheet(View(work.state, focus, asked, filling, now), 80, 24))


def test_a_plain_job_has_one_line_where_departures_would_stand_and_one_procedure_throughout(
    desk: Bench1,
) -> None:
    work = desk.new()
    on_screen = sheet_of(work)
    play(desk, work)
    pdf = desk.sign_off(work).pdf.read_bytes()
    first, whole = words_of(pdf, 0), words_of(pdf)

    assert "None. Every step was done as written, in order, on one run of the clock." in first
    opened = work.state.opened
    assert opened is not None
    assert opened.procedure_sha256 == work.state.procedure.sha256
    assert f"rev {opened.procedure_revision} {opened.procedure_sha256[:4]}" in on_screen
    assert opened.procedure_sha256 in whole.replace(" ", "")
    assert "Self-attested only" in whole
    assert "ndependently verified" not in whole


def test_every_change_says_who_when_old_new_and_why_in_the_log_and_on_paper(desk: Bench1) -> None:
    work = desk.new()
    work.do(c.Skip("1.1", work.keep("the label is painted over")))
    play(desk, work)
    entry = next(e for e in work.state.entries if e.channel == "weight after")
    new = weight("31 lb 13.25 oz").model_copy(update={"channel": entry.value.channel})
    (event,) = work.do(c.Correct(entry.seq, "weight after", new, work.keep("misread by one division")))
    words = words_of(desk.sign_off(work).pdf.read_bytes())

    said = p.read_payload(event.kind, event.body)
    assert isinstance(said, p.Corrected)
    assert (event.by, bool(event.stamp.utc), said.of_seq) == ("mara", True, entry.seq)
    assert (said.old.typed, said.new.typed) == (entry.value.typed, new.typed)
    assert work.text(said.reason) == "misread by one division"
    assert f"correction of weight after in event {entry.seq}: " in words
    assert f"{entry.value.typed} became {new.typed}" in words
    assert "“misread by one division”" in words
    assert "“the label is painted over”" in words
