"""Records of whole jobs: what their pages say, who can check them, how they end up on the disk."""

from __future__ import annotations

import base64
import csv
import hashlib
import io
import json
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from guide.job import commands as c
from guide.journal.blob import Blob
from guide.record import again, pdf
from guide.record.answers import exit_code, first_line, text, to_json
from guide.record.bundle import NAMES, read_bundle, write_bundle
from guide.record.compile import compile_content, replay
from guide.record.gather import NotReady, gather
from guide.record.pdf import draw_customer_page, draw_record
from guide.record.signature import extract_attachments
from guide.record.verify import verify_export, verify_journal, verify_log, verify_record
from guide.record.witness import read_signer
from guide.record.write import NotWritten, export
from tests.job.small import weight
from tests.record.build import ORDER, PASSPHRASE, Bench1, play, set_up, whole_job


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Bench1]:
    made = set_up(tmp_path / "bench")
    yield made
    made.bench.close()


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Bench1, bytes, str]]:
    desk, _, issued = whole_job(tmp_path_factory.mktemp("bench"), nature="real")
    yield desk, issued.pdf.read_bytes(), issued.fingerprint
    desk.bench.close()


def words(pdf: bytes, page: int | None = None) -> str:
    pages = PdfReader(io.BytesIO(pdf)).pages
    chosen = pages if page is None else [pages[page]]
    return " ".join(" ".join(each.extract_text().split()) for each in chosen)


def test_departures_stand_on_the_first_page_each_with_its_reason(desk: Bench1) -> None:
    work = desk.new()
    work.do(c.Skip("1.1", work.keep("the label is painted over")))
    play(desk, work)
    first = words(desk.sign_off(work).pdf.read_bytes(), 0)
    assert first.index("What departed from the plan") < first.index("step left out")
    assert first.index("step left out") < first.index("Who, where, when")
    assert "“the label is painted over”" in first


def test_a_page_of_a_pretend_job_always_says_so(desk: Bench1) -> None:
    work = desk.new()
    play(desk, work)
    issued = desk.sign_off(work)
    for path in (issued.pdf, issued.customer_copy):
        for page in PdfReader(path).pages:
            assert "PRACTICE: no evidence of work on a real system" in page.extract_text()


def test_a_page_of_a_real_job_says_nothing_of_practice(finished: tuple[Bench1, bytes, str]) -> None:
    assert "PRACTICE" not in words(finished[1])


def test_every_page_is_numbered_and_carries_job_and_fingerprint(finished: tuple[Bench1, bytes, str]) -> None:
    pages = PdfReader(io.BytesIO(finished[1])).pages
    for number, page in enumerate(pages, start=1):
        said = page.extract_text()
        assert f"page {number} of {len(pages)}" in said
        assert f"J-0001 · fingerprint {finished[2]}" in said


def test_the_fields_of_a_service_record_are_there(finished: tuple[Bench1, bytes, str]) -> None:
    said = words(finished[1])
    for label in (
        "Contractor", "Customer (owner or operator)", "Address", "608 Universal", "Part worked on",
        "Type of work", "Refrigerant type", "Amount added", "Reason of addition", "Amount recovered",
        "CO2e", "Leak check", "Retention", "Full charge determined by", "safety group A1",
        "that a person really looked at the gauge", "Self-attested only",
    ):  # fmt: skip
        assert label in said, label


def test_the_same_bundle_gives_the_same_pages(finished: tuple[Bench1, bytes, str]) -> None:
    bundle = read_bundle(extract_attachments(finished[1]))
    content = compile_content(bundle, replay(bundle))
    assert draw_record(content).pdf == draw_record(content).pdf
    assert draw_customer_page(content) == draw_customer_page(content)
    assert finished[1].startswith(draw_record(content).pdf)


def test_the_customers_page_is_one_page_in_plain_words(desk: Bench1) -> None:
    work = desk.new()
    play(desk, work)
    issued = desk.sign_off(work)
    reader = PdfReader(issued.customer_copy)
    assert len(reader.pages) == 1
    said = words(issued.customer_copy.read_bytes())
    for part in ("Refrigerant put into your system", "What to watch", issued.fingerprint, "Mara Quill"):
        assert part in said


def test_paper_follows_the_orders_units_and_may_be_named(finished: tuple[Bench1, bytes, str]) -> None:
    assert PdfReader(io.BytesIO(finished[1])).pages[0].mediabox.width == 612
    desk = finished[0]
    state = desk.bench.take_up("J-0001", desk.technician).state
    bundle = gather(desk.bench.journal, state, page_size="A4")
    record = desk.signed(bundle)
    assert verify_record(record).intact
    assert PdfReader(io.BytesIO(record)).pages[0].mediabox.width == 595


def test_a_demonstration_says_so_on_every_page_and_is_answered_as_practice(tmp_path: Path) -> None:
    desk, _, issued = whole_job(tmp_path, nature="demonstration")
    desk.bench.close()
    for page in PdfReader(issued.pdf).pages:
        assert "DEMONSTRATION: no evidence of work on a real system" in page.extract_text()
    report = verify_record(issued.pdf.read_bytes())
    assert text(report).splitlines()[:2] == [
        "PRACTICE",
        "intact; a demonstration, no evidence of work on a real system",
    ]
    assert exit_code(report) == 0


def test_files_of_a_bundle_read_back_as_they_were(finished: tuple[Bench1, bytes, str]) -> None:
    attached = extract_attachments(finished[1])
    assert tuple(sorted(attached)) == NAMES
    assert write_bundle(read_bundle(attached)) == attached


def test_a_stranger_reaches_the_signed_root_with_nothing_but_hashes(
    finished: tuple[Bench1, bytes, str],
) -> None:
    """Written against RFC 9162 section 2.1.3.2 (FOUND), sharing no line of code with the program."""
    reader = PdfReader(io.BytesIO(finished[1]))
    attached = {name: contents[0] for name, contents in reader.attachments.items()}
    proofs = json.loads(attached["proofs.json"])
    nodes = [bytes.fromhex(node) for node in proofs["nodes"]]
    lines = attached["log.ndjson"].splitlines()
    note = attached["checkpoints.txt"].decode().split("\n=\n")[-2]
    size, signed_root = int(note.splitlines()[1]), base64.b64decode(note.splitlines()[2])
    previous = "0" * 64
    for line, (seq, *path) in zip(lines, proofs["inclusion"], strict=True):
        event = json.loads(line)
        assert (event["seq"], event["job_prev"]) == (seq, previous)
        reached = hashlib.sha256(b"\x00" + line).digest()
        previous = reached.hex()
        fn, sn = seq, size - 1
        for index in path:
            if fn & 1 or fn == sn:
                reached = hashlib.sha256(b"\x01" + nodes[index] + reached).digest()
                while not fn & 1 and fn:
                    fn, sn = fn >> 1, sn >> 1
            else:
                reached = hashlib.sha256(b"\x01" + reached + nodes[index]).digest()
            fn, sn = fn >> 1, sn >> 1
        assert reached == signed_root
    manifest = json.loads(attached["manifest.json"])
    for name, sha256 in manifest["files"].items():
        assert hashlib.sha256(attached[name]).hexdigest() == sha256


def test_an_amended_record_names_the_one_before_it(desk: Bench1) -> None:
    work = desk.new()
    play(desk, work)
    first = desk.sign_off(work)
    work.do(c.Reopen(desk.technician.person, work.keep("a weight was misread"), first.sha256))
    entry = next(e for e in work.state.entries if e.channel == "weight after")
    new = weight("31 lb 13.25 oz")
    work.do(c.Correct(entry.seq, "weight after", new.model_copy(update={"channel": entry.value.channel}),
                      work.keep("read again")))  # fmt: skip
    second = desk.sign_off(work)
    assert second.pdf != first.pdf
    report = verify_record(second.pdf.read_bytes())
    assert report.intact
    assert report.facts["amends_record_sha256"] == first.sha256
    page = words(second.pdf.read_bytes(), 0)
    assert f"amendstherecordwithSHA-256{first.sha256}" in page.replace(" ", "")
    assert "“a weight was misread”" in page
    assert verify_record(first.pdf.read_bytes()).intact


def test_the_first_record_of_an_amended_job_fails_against_the_later_fingerprint(desk: Bench1) -> None:
    work = desk.new()
    play(desk, work)
    first = desk.sign_off(work)
    work.do(c.Reopen(desk.technician.person, work.keep("a note was missing"), first.sha256))
    work.do(c.Note(work.keep("the filter was changed too"), late=True))
    second = desk.sign_off(work)
    old = verify_record(first.pdf.read_bytes(), checkpoints=[second.fingerprint])
    assert exit_code(old) == 1
    new = verify_record(second.pdf.read_bytes(), checkpoints=[first.fingerprint])
    assert new.anchor.state == "partly anchored"


HOSTILE = {
    "markup": "<b>bold</b> & <font color=red>red</font>",
    "direction": "abc\u202edef\u2066ghi",
    "control": "line\x1b[31mred\x07",
    "east": "中文名 and Ключ and Łódź and שלום",
    "long": "W" * 3000,
    "combining": "a" + "\u0301" * 500,
    "formula": '=HYPERLINK("http://example.invalid")',
    "operators": ") Tj ET (",
    "emoji": "\U0001f9ca\U0001f525",
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_hostile_text_is_shown_and_harms_nothing(desk: Bench1, kind: str, tmp_path: Path) -> None:
    work = desk.new()
    work.do(c.Note(work.keep(HOSTILE[kind])))
    work.do(c.Skip("1.1", work.keep(HOSTILE[kind])))
    play(desk, work)
    issued = desk.sign_off(work)
    record = issued.pdf.read_bytes()
    assert verify_record(record).intact
    said = words(record)
    assert not set(said) & set("\u202e\u2066\x1b\x07")
    if kind == "markup":
        assert "<b>bold</b> & <font color=red>red</font>" in said
    if kind == "east":
        assert "[U+4E2D][U+6587][U+540D] and Ключ and Łódź" in said
    if kind == "formula":
        out = export(desk.bench.journal, work.state, to=tmp_path / "out", records=desk.bench.records)
        assert out.notes == ()
        for path in (tmp_path / "out" / "tables").iterdir():
            for row in csv.reader(io.StringIO(path.read_bytes().decode(), newline="")):
                assert not any(cell[:1] in "=@\t" and cell for cell in row), path


def test_an_order_of_hostile_words_makes_a_record_all_the_same(desk: Bench1) -> None:
    text = ORDER.replace("Harbour School, roof unit 3", '"<a href=x>roof</a> \\u4e2d ) Tj"')
    work = desk.new(text.replace("name: Harbour School,", 'name: "=cmd|<para>",'))
    play(desk, work)
    issued = desk.sign_off(work)
    assert verify_record(issued.pdf.read_bytes()).intact
    assert "=cmd|<para>" in words(issued.pdf.read_bytes(), 0)


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


def test_a_known_signer_is_said_and_another_is_refused(finished: tuple[Bench1, bytes, str]) -> None:
    desk, record, _ = finished
    own = desk.technician.certificate_sha256
    certificate = desk.technician.keys.signing_key(PASSPHRASE)[1]
    for given in (own, own.upper(), ":".join(own[i : i + 2] for i in range(0, 64, 2)), certificate):
        report = verify_record(record, signers=[read_signer(given)])
        assert first_line(report).startswith("intact; signed by Mara Quill")
        assert exit_code(report, require_known_signer=True) == 0
    kept = verify_record(record, known={own: "Mara from the office"})
    assert "Mara from the office, kept on this machine" in first_line(kept)
    assert exit_code(verify_record(record, signers=[read_signer("0" * 64)])) == 1


def test_the_answer_reads_for_people_and_programs(finished: tuple[Bench1, bytes, str]) -> None:
    report = verify_record(finished[1], checkpoints=[finished[2].lower().replace("-", " ")])
    assert text(report).splitlines()[0] == "intact; signer not known to you: anyone could have made this"
    answer = json.loads(json.dumps(to_json(report)))
    assert (answer["intact"], answer["anchor"], answer["signer_known"]) == (True, "anchored", False)
    assert [check["number"] for check in answer["checks"]] == list(range(1, 14))


def test_pages_of_other_libraries_are_compared_by_their_words(
    finished: tuple[Bench1, bytes, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = finished[0]
    bundle = read_bundle(extract_attachments(finished[1]))
    older = replace(bundle, made=replace(bundle.made, libraries={"reportlab": "4.0", "zlib": "1.2"}))
    with monkeypatch.context() as patched:
        patched.setattr(pdf, "_SMALL", 7.3)
        drawn_otherwise, drawn_otherwise_now = desk.signed(older), desk.signed(bundle)
    report = verify_record(drawn_otherwise)
    assert report.intact
    assert any("their words were compared" in note for note in report.notes)
    assert not verify_record(drawn_otherwise_now).intact


def test_a_curve_that_is_no_longer_shipped_still_gives_the_same_verdicts(
    finished: tuple[Bench1, bytes, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(again, "same_curve", lambda _: False)
    monkeypatch.setattr("guide.record.checks.same_curve", lambda _: False)
    report = verify_record(finished[1])
    assert report.intact
    assert any("with the curve inside" in note for note in report.notes)


def test_rules_that_this_program_does_not_have_are_named_and_no_fault(
    finished: tuple[Bench1, bytes, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(again, "RULES", "charging rules 2")
    report = verify_record(finished[1])
    assert report.intact
    assert any("does not have rules charging rules 1" in note for note in report.notes)
