"""A value that came from a stream stands up in the record as well as a typed one."""

from __future__ import annotations

from pathlib import Path

from guide.job import commands as c
from guide.record.verify import verify_record
from tests.record.build import words_of
from tests.screens.small_job import PASSPHRASE, RIGHT_ROUND, lay, round_of, to_the_loop


def test_a_round_read_from_a_stream_is_recorded_as_such_and_checks_out(tmp_path: Path) -> None:
    desk = lay(tmp_path)
    to_the_loop(desk)
    update = {"source": "stream", "instrument": "G-1", "line_sha256": "ab" * 32}
    values = tuple(value.model_copy(update=update) for value in round_of(RIGHT_ROUND))
    desk.work.do(c.Read("2.2", values))
    desk.work.do(c.EndAdjust("2.2"))
    desk.work.do(c.EndPart("charge"))
    desk.work.do(c.ShowCustomer("not present"))
    issued = desk.bench.sign_off(desk.work, desk.technician, PASSPHRASE)

    report = verify_record(issued.pdf.read_bytes())
    assert report.intact, report.first_wrong
    assert "[stream]" in words_of(issued.pdf.read_bytes())
