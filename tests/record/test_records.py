"""Records of whole jobs: what their pages say, who can check them, how they end up on the disk."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from guide.bench.people import KnownPerson
from guide.job import commands as c
from guide.job.assess import versions
from guide.record import again, pdf
from guide.record.answers import exit_code, first_line, text, to_json
from guide.record.bundle import NAMES, read_bundle, write_bundle
from guide.record.compile import compile_content, replay
from guide.record.gather import gather
from guide.record.pdf import draw_customer_page, draw_record
from guide.record.signature import extract_attachments
from guide.record.verify import verify_record
from guide.record.witness import read_signer
from tests.job.small import weight
from tests.record.build import ORDER, PASSPHRASE, Bench1, play, set_up, whole_job, words_of


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


def test_departures_stand_on_the_first_page_each_with_its_reason(desk: Bench1) -> None:
    work = desk.new()
    work.do(c.Skip("1.1", work.keep("the label is painted over")))
    play(desk, work)
    first = words_of(desk.sign_off(work).pdf.read_bytes(), 0)
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
    assert "PRACTICE" not in words_of(finished[1])


def test_every_page_is_numbered_and_carries_job_and_fingerprint(finished: tuple[Bench1, bytes, str]) -> None:
    pages = PdfReader(io.BytesIO(finished[1])).pages
    for number, page in enumerate(pages, start=1):
        said = page.extract_text()
        assert f"page {number} of {len(pages)}" in said
        assert f"J-0001 · fingerprint {finished[2]}" in said


def test_the_fields_of_a_service_record_are_there(finished: tuple[Bench1, bytes, str]) -> None:
    said = words_of(finished[1])
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
    said = words_of(issued.customer_copy.read_bytes())
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
    page = words_of(second.pdf.read_bytes(), 0)
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
    monkeypatch.setattr("guide.record.checks_job.same_curve", lambda _: False)
    report = verify_record(finished[1])
    assert report.intact
    assert any("with the curve inside" in note for note in report.notes)


def test_rules_that_this_program_does_not_have_are_named_and_no_fault(
    finished: tuple[Bench1, bytes, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(again, "RULES", "charging rules 99")
    report = verify_record(finished[1])
    assert report.intact
    assert any("does not have rules charging rules 2" in note for note in report.notes)


def test_the_file_tells_what_it_is_whose_and_dates_itself_by_the_jobs_end(
    finished: tuple[Bench1, bytes, str],
) -> None:
    about = PdfReader(io.BytesIO(finished[1])).metadata
    assert about is not None
    assert (about.title or "").startswith("Refrigerant service record, J-0001 · order HS-2291")
    assert about.author == "Example Cooling"
    assert finished[2] in (about.subject or "")
    closed = words_of(finished[1]).partition("Closed ")[2]
    made = about.creation_date
    assert made is not None
    assert closed.startswith(f"{made:%Y-%m-%d %H:%M:%S}")


def test_every_time_of_the_trail_stands_on_one_line_with_its_offset(
    finished: tuple[Bench1, bytes, str],
) -> None:
    lines = [
        line for page in PdfReader(io.BytesIO(finished[1])).pages for line in page.extract_text().splitlines()
    ]
    assert not [line for line in lines if line.strip() in {"+00:00", "Z"}]
    whole = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d \+00:00 ?\d\d:\d\d:\d\dZ")
    assert sum(bool(whole.search(line)) for line in lines) > 50


def test_the_customers_page_ends_its_sentences_once(desk: Bench1) -> None:
    work = desk.new(ORDER.replace("reason: cooling weak, service", "reason: Cools less than last summer."))
    play(desk, work)
    words = words_of(desk.sign_off(work).customer_copy.read_bytes())
    assert "Reason: Cools less than last summer. The charge" in words
    assert ".." not in words


def test_a_certification_that_does_not_cover_the_work_is_told_and_recorded_and_bars_nothing(
    tmp_path: Path,
) -> None:
    desk = set_up(tmp_path, nature="real")
    desk.bench.enrol(KnownPerson("kit", "Kit Moss", "EPA 608 Type III"), PASSPHRASE)
    desk.technician = desk.bench.sign_in("kit", PASSPHRASE)
    work = desk.new(ORDER.replace("nature: practice", "nature: real"))
    (said,) = work.certification_words()
    assert "certified for type III" in said
    play(desk, work)
    pdf = desk.sign_off(work).pdf.read_bytes()
    assert "certification – kit: certified for type III" in words_of(pdf, 0)
    assert verify_record(pdf).sound
    desk.bench.close()


def test_a_record_from_before_the_rules_of_the_walk_had_a_name_still_verifies(
    desk: Bench1, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        "guide.bench.bench.versions", lambda curve: versions(curve).model_copy(update={"walk": None})
    )
    work = desk.new()
    play(desk, work)
    report = verify_record(desk.sign_off(work).pdf.read_bytes())

    assert report.intact
    assert not any("not reached again" in note for note in report.notes)


def test_rules_of_the_walk_that_this_program_does_not_have_are_named(
    desk: Bench1, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        "guide.bench.bench.versions", lambda curve: versions(curve).model_copy(update={"walk": "walk/99"})
    )
    work = desk.new()
    play(desk, work)
    report = verify_record(desk.sign_off(work).pdf.read_bytes())

    assert report.intact
    assert any("walk/99" in note for note in report.notes)
