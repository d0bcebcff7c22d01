"""A log far longer than any job's still becomes a record."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader

from guide.journal.blob import Blob
from tests.record.build import Bench1, play, set_up


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Bench1]:
    made = set_up(tmp_path / "bench")
    yield made
    made.bench.close()


def test_a_log_of_ten_thousand_events_makes_a_record_in_time(desk: Bench1) -> None:
    work = desk.new()
    blobs = [Blob.of(f"note {number}: the fan was heard running") for number in range(10_000)]
    desk.bench.journal.append(
        work.state.job,
        [("noted", {"step": "1.1", "text": blob.ref, "late": False}) for blob in blobs],
        stamp=desk.clock.now(),
        by="mara",
        blobs=blobs,
    )
    work = desk.bench.take_up(work.state.job, desk.technician)
    play(desk, work)
    begun = time.monotonic()
    issued = desk.sign_off(work)
    assert time.monotonic() - begun < 60
    last = "".join(page.extract_text() for page in PdfReader(issued.pdf).pages[-8:])
    assert "note 9999: the fan was heard running" in last
