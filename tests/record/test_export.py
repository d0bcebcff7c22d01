"""Records and exports on the disk: whole, never written over, checkable by themselves."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path

import pytest

from guide.record.answers import exit_code
from guide.record.gather import NotReady, gather
from guide.record.verify import verify_export, verify_journal, verify_log
from guide.record.write import NotWritten, export
from tests.record.build import PASSPHRASE, Bench1, play, set_up


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Bench1]:
    made = set_up(tmp_path / "bench")
    yield made
    made.bench.close()


def test_a_record_is_never_written_over(desk: Bench1) -> None:
    work = desk.new()
    play(desk, work)
    first = desk.sign_off(work)
    before = first.pdf.read_bytes()
    second = desk.bench.issue_record(work, desk.technician, PASSPHRASE)
    assert second.pdf != first.pdf
    assert first.pdf.read_bytes() == before
    assert sorted(path.name for path in desk.bench.records.iterdir()) == [
        "J-0001-2-customer.pdf", "J-0001-2.pdf", "J-0001-customer.pdf", "J-0001.pdf",
    ]  # fmt: skip


def test_no_record_is_made_of_an_open_job(desk: Bench1) -> None:
    work = desk.new()
    with pytest.raises(NotReady, match="is not closed"):
        gather(desk.bench.journal, work.state)


def test_a_record_that_can_not_be_written_leaves_nothing(desk: Bench1) -> None:
    work = desk.new()
    play(desk, work)
    desk.bench.records.write_text("a file where the folder should be")
    with pytest.raises(NotWritten, match="no record of job J-0001"):
        desk.sign_off(work)
    assert work.state.closed is not None


def test_an_export_is_whole_and_checks(desk: Bench1, tmp_path: Path) -> None:
    work = desk.new()
    play(desk, work)
    desk.sign_off(work)
    out = export(desk.bench.journal, work.state, to=tmp_path / "out", records=desk.bench.records)
    names = {str(path.relative_to(tmp_path / "out")) for path in out.files}
    assert names == {"log.ndjson", "record.pdf"} | {
        f"tables/{name}.csv" for name in ("events", "readings", "moves", "rounds")
    }
    reports = verify_export(tmp_path / "out")
    assert [report.intact for report in reports] == [True, True]
    with pytest.raises(NotWritten, match="exists already"):
        export(desk.bench.journal, work.state, to=tmp_path / "out", records=desk.bench.records)


def test_the_tables_hold_the_balance_in_si(desk: Bench1, tmp_path: Path) -> None:
    work = desk.new()
    play(desk, work)
    desk.sign_off(work)
    export(desk.bench.journal, work.state, to=tmp_path / "out", records=desk.bench.records)
    data = (tmp_path / "out" / "tables" / "moves.csv").read_bytes()
    assert data.count(b"\r\n") == data.count(b"\n") == len(work.state.moves) + 1
    rows = list(csv.DictReader(io.StringIO(data.decode(), newline="")))
    moved = sum(float(row["into_system_kg"]) for row in rows)
    assert moved == pytest.approx(float(work.state.net_charged_kg()))


def test_an_exported_log_that_was_touched_is_named(desk: Bench1, tmp_path: Path) -> None:
    work = desk.new()
    play(desk, work)
    desk.sign_off(work)
    export(desk.bench.journal, work.state, to=tmp_path / "out", records=desk.bench.records)
    data = (tmp_path / "out" / "log.ndjson").read_bytes()
    assert verify_log(data).intact
    assert exit_code(verify_log(data.replace(b'"+00:00"', b'"+01:00"', 1))) == 1
    assert exit_code(verify_log(data[: len(data) // 2])) == 1


def test_a_journal_is_checked_with_the_fingerprint_somebody_kept(desk: Bench1) -> None:
    work = desk.new()
    play(desk, work)
    issued = desk.sign_off(work)
    path = desk.bench.journal.path
    assert verify_journal(path, checkpoints=[issued.fingerprint]).anchor.state == "anchored"
    other = verify_journal(path, checkpoints=["0000-0000-0000-0000-0000"])
    assert exit_code(other) == 1
