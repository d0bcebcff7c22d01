"""Records and exports on the disk: whole, never written over, checkable by themselves."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from guide.job.commands import Note
from guide.record.answers import exit_code
from guide.record.gather import NotReady, gather
from guide.record.verify import verify_export, verify_journal, verify_log
from guide.record.write import NotWritten, customer_copy, export
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


def test_an_export_holds_the_photos_the_log_names_and_checks_them(desk: Bench1, tmp_path: Path) -> None:
    work = desk.new()
    pictures = [tmp_path / "one.jpg", tmp_path / "two.jpg", tmp_path / "three.jpg"]
    for number, picture in enumerate(pictures):
        picture.write_bytes(b"\xff\xd8" + bytes([number]) * 1000)
    one, two, three = [desk.bench.note_photo(work, picture, "seen") for picture in pictures]
    play(desk, work)
    desk.sign_off(work)
    photos = desk.bench.photos / "J-0001"
    (photos / two.file).write_bytes(b"another picture")
    (photos / three.file).unlink()

    to = tmp_path / "out"
    done = export(desk.bench.journal, work.state, to=to, records=desk.bench.records, photos=photos)

    assert [path.name for path in (to / "photos").iterdir()] == [one.file]
    assert to / "photos" / one.file in done.files
    assert done.notes == (
        f"photo {two.file} is not the one the log names: its size is another; it is left out",
        f"photo {three.file} is missing; it is left out",
    )
    log = verify_export(to)[0]
    assert log.intact
    assert len(log.notes) == 2
    (to / "photos" / one.file).write_bytes(b"\xff\xd8" + b"x" * 1000)
    touched = verify_export(to)[0]
    assert exit_code(touched) == 1
    assert "its SHA-256 is another" in (touched.first_wrong or "")


def test_the_customers_copy_is_drawn_again_from_the_record(desk: Bench1) -> None:
    work = desk.new()
    play(desk, work)
    issued = desk.sign_off(work)

    assert customer_copy(work.state, desk.bench.records) == issued.customer_copy.read_bytes()
    issued.pdf.unlink()
    with pytest.raises(NotWritten, match="no customer's copy"):
        customer_copy(work.state, desk.bench.records)


def test_no_cell_of_a_table_is_a_formula_to_a_spreadsheet(desk: Bench1, tmp_path: Path) -> None:
    """Rules of the injection page of the Open Worldwide Application Security Project (MEMORY).

    A cell is a formula when its first character is one of = + - @, a tab or a carriage return; a
    program that trims blanks sees the first character behind them.
    """
    work = desk.new()
    for text in ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", ' =cmd|" /C calc"!A0', '";=1+1;"', "a\n=1"):
        work.do(Note(work.keep(text)))
    export(desk.bench.journal, work.state, to=tmp_path / "out", records=desk.bench.records)
    tables = sorted((tmp_path / "out" / "tables").iterdir())
    assert len(tables) == 4
    for path in tables:
        data = path.read_bytes().decode()
        for delimiter in (",", ";", "\t"):
            for row in csv.reader(io.StringIO(data, newline=""), delimiter=delimiter):
                for cell in row:
                    if not re.fullmatch(r"[+-]?[0-9.]+", cell):
                        assert cell.lstrip(" '\"")[:1] not in set("=+@\t\r") or cell[:1] == "'", (path, cell)


def test_every_time_in_the_tables_stands_in_utc_and_locally_with_its_offset(
    desk: Bench1, tmp_path: Path
) -> None:
    work = desk.new()
    play(desk, work)
    export(desk.bench.journal, work.state, to=tmp_path / "out", records=desk.bench.records)
    for name in ("events", "moves", "rounds"):
        data = (tmp_path / "out" / "tables" / f"{name}.csv").read_bytes().decode()
        rows = list(csv.DictReader(io.StringIO(data, newline="")))
        assert rows
        for row in rows:
            assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", row["utc"])
            assert re.fullmatch(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d [+-]\d\d:\d\d", row["local_time"])
