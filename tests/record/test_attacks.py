"""The attack table of the audit reference, row by row, against records of a whole job.

The attacker holds every key of the laptop unless a test says otherwise, so every forgery is
properly signed and its manifest fits; what gives it away is named by number of check.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from guide.bench.people import KnownPerson
from guide.job.work import Work
from guide.journal.checkpoint import Checkpoint, read_unverified, sign
from guide.journal.event import Event
from guide.record.answers import exit_code, first_line
from guide.record.bundle import ORDER, PROCEDURE, Bundle, write_bundle
from guide.record.compile import compile_content, replay
from guide.record.content import RecordContent
from guide.record.pdf import draw_record
from guide.record.pdf_form import FieldPlace
from guide.record.profile import inspect
from guide.record.signature import countersign
from guide.record.verify import verify_log, verify_record
from guide.record.witness import judge_signer, read_signer
from tests.record.build import PASSPHRASE, Bench1, bundle_of, whole_job
from tests.record.forging import (
    body_changed,
    changed_lines,
    failed_check,
    forged,
    recounted,
    rewritten,
    signed_anyway,
    with_manifest,
)
from tests.record.signed_files import NOW, certified_by, customer, person, prepared


@dataclass
class Scene:
    """A finished job: the bench it was done on, its bundle, its true record."""

    desk: Bench1
    work: Work
    bundle: Bundle
    content: RecordContent
    pdf: bytes
    fingerprint: str


@pytest.fixture(scope="module")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scene]:
    desk, work, issued = whole_job(tmp_path_factory.mktemp("bench"), nature="real")
    bundle = bundle_of(desk, work)
    content = compile_content(bundle, replay(bundle))
    yield Scene(desk, work, bundle, content, issued.pdf.read_bytes(), issued.fingerprint)
    desk.bench.close()


def test_the_true_record_passes_every_check(scene: Scene) -> None:
    report = verify_record(scene.pdf)
    assert report.first_wrong is None
    assert {check.outcome for check in report.checks} == {"passed"}
    assert report.nature == "real"
    assert first_line(report) == "intact; signer not known to you: anyone could have made this"
    assert exit_code(report) == 0
    assert exit_code(report, require_known_signer=True) == 1


def test_a1_a_changed_value_breaks_the_chain(scene: Scene) -> None:
    def change(lines: list[bytes]) -> None:
        at = next(i for i, line in enumerate(lines) if b'"kind":"round-read"' in line)
        lines[at] = lines[at].replace(b'"local_offset":"+00:00"', b'"local_offset":"+01:00"')

    number, said = failed_check(forged(scene.desk, scene.bundle, changed_lines(scene.bundle, change)))
    assert (number, "altered or left out" in said) == (3, True)


def test_a1_a_changed_last_event_is_not_in_the_signed_log(scene: Scene) -> None:
    def change(lines: list[bytes]) -> None:
        lines[-1] = lines[-1].replace(b'"local_offset":"+00:00"', b'"local_offset":"+01:00"')

    number, said = failed_check(forged(scene.desk, scene.bundle, changed_lines(scene.bundle, change)))
    assert (number, "not in the log" in said) == (6, True)


def test_a2_a_line_left_out_shows_as_a_gap(scene: Scene) -> None:
    files = changed_lines(scene.bundle, lambda lines: lines.__delitem__(20))
    number, said = failed_check(forged(scene.desk, scene.bundle, files))
    assert (number, "where 20 should stand" in said) == (3, True)


def test_a3_lines_exchanged_show(scene: Scene) -> None:
    def change(lines: list[bytes]) -> None:
        lines[10], lines[11] = lines[11], lines[10]

    assert failed_check(forged(scene.desk, scene.bundle, changed_lines(scene.bundle, change)))[0] == 3


def test_a4_an_event_put_in_later_is_not_under_the_old_checkpoint(scene: Scene) -> None:
    def edit(events: list[Event]) -> list[Event]:
        note = replace(events[30], kind="noted", body={"step": "sign", "text": "0" * 64, "late": False})
        return recounted([*events[:30], note, *events[30:]])

    new = rewritten(scene.desk, scene.bundle, edit)
    mixed = replace(new, checkpoints=scene.bundle.checkpoints, proofs=scene.bundle.proofs)
    number, _ = failed_check(forged(scene.desk, scene.bundle, write_bundle(mixed)))
    assert number in {5, 6}


def test_a5_a_cut_tail_is_incomplete(scene: Scene) -> None:
    files = changed_lines(scene.bundle, lambda lines: lines.__delitem__(slice(-3, None)))
    number, said = failed_check(forged(scene.desk, scene.bundle, files))
    assert (number, said.startswith("INCOMPLETE")) == (4, True)
    assert not verify_log(files["log.ndjson"]).intact


def _without_last_round(events: list[Event]) -> list[Event]:
    """The log cut back by an innocent-looking act of its end: the customer's acknowledgement changed."""
    at = next(index for index, event in enumerate(events) if event.kind == "customer-saw")
    events[at] = replace(events[at], body={"how": "not present"})
    return events


def test_a6_a_log_cut_back_and_ended_anew_fails_against_a_later_checkpoint(scene: Scene) -> None:
    new = rewritten(scene.desk, scene.bundle, _without_last_round)
    pdf = scene.desk.signed(new)
    assert verify_record(pdf).intact
    for outside in (scene.fingerprint, scene.bundle.checkpoints[-1]):
        report = verify_record(pdf, checkpoints=[outside])
        assert report.anchor.wrong is not None
        assert exit_code(report) == 1
        assert first_line(report).startswith("CHECKPOINT DOES NOT FIT")


def test_a7_a_record_made_with_a_strangers_keys_names_no_known_signer(scene: Scene, tmp_path: Path) -> None:
    other, _, issued = whole_job(tmp_path, nature="real")
    report = verify_record(
        issued.pdf.read_bytes(), signers=[read_signer(scene.desk.technician.certificate_sha256)]
    )
    other.bench.close()
    assert report.intact
    assert report.signer.wrong is not None
    assert exit_code(report) == 1


def test_a8_everything_rewritten_with_ones_own_keys_is_only_self_attested(scene: Scene) -> None:
    new = rewritten(scene.desk, scene.bundle, _without_last_round)
    report = verify_record(scene.desk.signed(new))
    assert report.intact
    assert report.anchor.state == "self-attested only"


def test_a9_two_versions_of_one_job_can_not_both_fit_one_checkpoint(scene: Scene) -> None:
    new = rewritten(scene.desk, scene.bundle, _without_last_round)
    true = verify_record(scene.pdf, checkpoints=[scene.bundle.checkpoints[-1]])
    split = verify_record(scene.desk.signed(new), checkpoints=[scene.bundle.checkpoints[-1]])
    assert (true.anchor.state, true.anchor.wrong) == ("anchored", None)
    assert split.anchor.wrong is not None
    assert "two heads of one log" in split.anchor.wrong


def test_a9_a_checkpoint_of_another_version_of_the_log_is_not_extended_by_the_last(scene: Scene) -> None:
    """Both are signed with the right key: only the consistency proof tells them apart."""
    first = read_unverified(scene.bundle.checkpoints[0])
    other = sign(Checkpoint(first.origin, first.size, b"\x5a" * 32), scene.desk.technician.log_key)
    files = write_bundle(replace(scene.bundle, checkpoints=(other, *scene.bundle.checkpoints[1:])))
    number, said = failed_check(forged(scene.desk, scene.bundle, files))
    assert (number, "two versions exist" in said) == (7, True)


def test_a9_a_consistency_proof_left_out_is_missed(scene: Scene) -> None:
    proofs = replace(scene.bundle.proofs, consistency=scene.bundle.proofs.consistency[1:])
    files = write_bundle(replace(scene.bundle, proofs=proofs))
    assert failed_check(forged(scene.desk, scene.bundle, files))[0] == 7


def test_a15_a_job_can_not_be_passed_off_under_another_number(scene: Scene) -> None:
    files = with_manifest(write_bundle(scene.bundle), job="J-0099")
    assert failed_check(forged(scene.desk, scene.bundle, files))[0] == 3


def test_a15_the_opening_event_repeats_the_orders_ticket(scene: Scene) -> None:
    edit = body_changed("opened", lambda body: body.update(ticket="T-117"))
    new = rewritten(scene.desk, scene.bundle, edit)
    number, said = failed_check(forged(scene.desk, scene.bundle, write_bundle(new)))
    assert (number, "ticket" in said) == (9, True)


def test_a16_an_event_given_twice_shows(scene: Scene) -> None:
    files = changed_lines(scene.bundle, lambda lines: lines.insert(20, lines[20]))
    assert failed_check(forged(scene.desk, scene.bundle, files))[0] == 3


def test_a17_a_signature_carried_to_another_record_does_not_hold(scene: Scene) -> None:
    other = scene.desk.signed(rewritten(scene.desk, scene.bundle, _without_last_round))
    value = re.compile(rb"/Contents <([0-9a-f]{1000,})>")
    mine, theirs = value.search(scene.pdf), value.search(other)
    assert mine is not None
    assert theirs is not None
    lifted = other[: theirs.start(1)] + mine.group(1) + other[theirs.end(1) :]
    assert failed_check(lifted)[0] == 1


def test_a18_a_record_signed_with_another_persons_key_is_refused(scene: Scene) -> None:
    if "otto" not in {person.id for person in scene.desk.bench.people()}:
        scene.desk.bench.enrol(KnownPerson("otto", "Otto Fenn", "608 Universal", "U-2"), PASSPHRASE)
    otto = scene.desk.bench.sign_in("otto", PASSPHRASE)
    pdf = signed_anyway(scene.desk, write_bundle(scene.bundle), scene.content, signer=otto)
    number, said = failed_check(pdf)
    assert (number, "another certificate" in said) == (12, True)


def test_a20_a_softer_procedure_is_not_the_one_the_job_was_opened_with(scene: Scene) -> None:
    files = write_bundle(scene.bundle)
    softer = files[PROCEDURE].replace(b"1000 micron", b"2000 micron")
    assert softer != files[PROCEDURE]
    number, said = failed_check(forged(scene.desk, scene.bundle, with_manifest({**files, PROCEDURE: softer})))
    assert (number, PROCEDURE in said) == (8, True)


def test_a20_another_order_is_not_the_one_the_job_was_opened_with(scene: Scene) -> None:
    files = write_bundle(scene.bundle)
    other = files[ORDER].replace(b"8 lb 0 oz", b"9 lb 0 oz")
    number, said = failed_check(forged(scene.desk, scene.bundle, with_manifest({**files, ORDER: other})))
    assert (number, ORDER in said) == (8, True)


def test_a21_a_limit_bent_in_the_log_does_not_come_out_again(scene: Scene) -> None:
    def change(body: dict[str, Any]) -> None:
        body["verdicts"][0]["limit"] = "999"

    def edit(events: list[Event]) -> list[Event]:
        at = next(i for i, e in enumerate(events) if e.kind == "read" and e.body.get("verdicts"))
        tail = body_changed("read", change)(events[at:])
        return [*events[:at], *tail]

    new = rewritten(scene.desk, scene.bundle, edit)
    assert failed_check(forged(scene.desk, scene.bundle, write_bundle(new)))[0] == 11


def test_a22_bytes_behind_the_signature_are_named(scene: Scene) -> None:
    assert failed_check(scene.pdf + b"\n1 0 obj\n<<>>\nendobj\n")[0] == 1


def test_a23_a_record_saved_anew_without_its_signature_is_none(scene: Scene) -> None:
    from guide.record.pdf_revisions import read_revisions

    number, said = failed_check(scene.pdf[: read_revisions(scene.pdf)[1].end])
    assert (number, "no signature" in said) == (1, True)


def test_a24_pages_that_say_other_than_the_log_are_found(scene: Scene) -> None:
    lying = replace(scene.content, result="The charge is perfect (PASS).")
    number, said = failed_check(signed_anyway(scene.desk, write_bundle(scene.bundle), lying))
    assert (number, "not those that the log inside gives" in said) == (13, True)


def test_a24_pages_that_lie_are_found_by_their_words_when_versions_differ(scene: Scene) -> None:
    lying = replace(scene.content, result="The charge is perfect (PASS).")
    files = with_manifest(write_bundle(scene.bundle), libraries={"reportlab": "4.0", "zlib": "1.2"})
    number, said = failed_check(signed_anyway(scene.desk, files, lying))
    assert (number, "say other" in said) == (13, True)


def test_a24_a_verdict_bent_in_log_and_pages_alike_does_not_come_out_again(scene: Scene) -> None:
    edit = body_changed("round-read", lambda body: body["assessment"].update(verdict="pass"))
    new = rewritten(scene.desk, scene.bundle, edit)
    number, said = failed_check(scene.desk.signed(new))
    assert (number, "verdict" in said) == (11, True)


def test_a24_a_reading_bent_beside_what_was_typed_is_found(scene: Scene) -> None:
    edit = body_changed("round-read", lambda body: body["readings"][0].update(typed="99.9psig"))
    new = rewritten(scene.desk, scene.bundle, edit)
    number, said = failed_check(scene.desk.signed(new))
    assert (number, "was typed as 99.9psig" in said) == (10, True)


def test_a24_a_value_bent_by_less_than_the_last_digit_typed_is_found(scene: Scene) -> None:
    def change(body: dict[str, Any]) -> None:
        body["readings"][0]["si"] = str(Decimal(body["readings"][0]["si"]) + Decimal("0.0001"))

    new = rewritten(scene.desk, scene.bundle, body_changed("round-read", change))
    assert failed_check(scene.desk.signed(new))[0] == 10


def test_a24_an_amount_moved_bent_in_the_log_does_not_come_out_again(scene: Scene) -> None:
    edit = body_changed("weigh-ended", lambda body: body.update(moved_kg="0.010"))
    new = rewritten(scene.desk, scene.bundle, edit)
    assert failed_check(scene.desk.signed(new))[0] == 11


def test_a25_an_attachment_replaced_without_the_manifest_is_named(scene: Scene) -> None:
    files = write_bundle(scene.bundle)
    files[ORDER] = files[ORDER] + b"# more\n"
    number, said = failed_check(forged(scene.desk, scene.bundle, files))
    assert (number, ORDER in said) == (2, True)


def test_a25_an_attachment_too_many_is_named(scene: Scene) -> None:
    from guide.record.pdf_attachments import Attachment
    from guide.record.pdf_form import prepare
    from guide.record.signature import certify

    drawn = draw_record(scene.content)
    parts = [Attachment(n, "text/plain", d) for n, d in write_bundle(scene.bundle).items()]
    parts.append(Attachment("extra.txt", "text/plain", b"hello"))
    key, certificate = scene.desk.technician.keys.signing_key(PASSPHRASE)
    pdf = certify(
        prepare(drawn.pdf, parts, now=NOW), private_key=key, certificate_der=certificate,
        name="Mara Quill", reason="did the work", when=NOW.replace(hour=20),
    )  # fmt: skip
    number, said = failed_check(pdf)
    assert (number, "extra.txt" in said) == (2, True)


def test_a26_the_level_is_what_the_checker_finds_itself(scene: Scene) -> None:
    assert verify_record(scene.pdf).facts["signature_level"] == "PAdES B-B"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"by":"mara"', b'"by":"mara","by":"otto"'),
        (b'"v":1', b'"v":1.0'),
        (b'"by":"mara"', b'"by": "mara"'),
        (b'"by":"mara"', b'"by":"mar\\u0061"'),
    ],
)
def test_a29_a_line_that_could_be_read_in_two_ways_is_refused(scene: Scene, old: bytes, new: bytes) -> None:
    def change(lines: list[bytes]) -> None:
        assert old in lines[5]
        lines[5] = lines[5].replace(old, new)

    assert failed_check(forged(scene.desk, scene.bundle, changed_lines(scene.bundle, change)))[0] == 2


def test_a30_an_unknown_format_is_refused(scene: Scene) -> None:
    files = with_manifest(write_bundle(scene.bundle), format="chargewright-record-2")
    number, said = failed_check(forged(scene.desk, scene.bundle, files))
    assert (number, "is not known here" in said) == (2, True)


def test_a30_a_checkpoint_by_a_key_the_job_does_not_name_is_refused(scene: Scene) -> None:
    edited = tuple(note.replace("— ", "— x", 1) for note in scene.bundle.checkpoints)
    files = write_bundle(replace(scene.bundle, checkpoints=edited))
    assert failed_check(forged(scene.desk, scene.bundle, files))[0] == 5


def test_a31_a_practice_job_passed_off_as_real_is_found(tmp_path: Path) -> None:
    desk, work, issued = whole_job(tmp_path)
    assert first_line(verify_record(issued.pdf.read_bytes())) == "PRACTICE"
    bundle = bundle_of(desk, work)
    new = rewritten(desk, bundle, body_changed("opened", lambda body: body.update(nature="real")))
    number, said = failed_check(forged(desk, bundle, write_bundle(new)))
    desk.bench.close()
    assert (number, "passed off" in said) == (9, True)


def test_a32_a_text_erased_later_leaves_the_record_intact_and_is_said(scene: Scene) -> None:
    names = {person.name for person in replay(scene.bundle).people.values()}
    kept = {ref: blob for ref, blob in scene.bundle.blobs.items() if ref not in names}
    assert len(kept) < len(scene.bundle.blobs)
    report = verify_record(scene.desk.signed(replace(scene.bundle, blobs=kept)))
    assert report.intact
    assert any("withheld or erased" in note for note in report.notes)


def test_a32_a_text_exchanged_for_another_does_not_fit_its_reference(scene: Scene) -> None:
    files = write_bundle(scene.bundle)
    files["blobs.ndjson"] = files["blobs.ndjson"].replace(b"Mara Quill", b"Mara Quick")
    assert failed_check(forged(scene.desk, scene.bundle, with_manifest(files)))[0] == 2


def test_a_signature_from_before_the_job_was_closed_is_refused(scene: Scene) -> None:
    from datetime import UTC, datetime

    early = datetime(2026, 11, 25, 14, 5, tzinfo=UTC)
    pdf = signed_anyway(scene.desk, write_bundle(scene.bundle), scene.content, when=early)
    number, said = failed_check(pdf)
    assert (number, "before the job was closed" in said) == (12, True)


def test_a_signature_box_over_the_departures_is_found(scene: Scene) -> None:
    """The stamp of a signature may cover nothing but the room the pages leave for it."""
    drawn = draw_record(scene.content)
    covering = replace(drawn, technician=FieldPlace(0, (40, 300, 560, 700)))
    pdf = signed_anyway(scene.desk, write_bundle(scene.bundle), scene.content, drawn=covering)
    number, said = failed_check(pdf)
    assert (number, "box" in said) == (13, True)


def test_a_stamp_that_says_more_than_the_log_is_found(scene: Scene) -> None:
    pdf = signed_anyway(
        scene.desk, write_bundle(scene.bundle), scene.content, reason="PASS, approved by the office"
    )
    number, said = failed_check(pdf)
    assert (number, "stamp" in said) == (12, True)


def test_a_record_countersigned_by_a_customer_stays_intact(scene: Scene) -> None:
    someone = customer()
    pdf = countersign(
        scene.pdf, private_key=someone.key, certificate_der=someone.certificate_der, name=someone.name,
        reason="I received this record", when=NOW.replace(hour=20),
    )  # fmt: skip
    report = verify_record(pdf)
    assert report.intact
    assert report.facts["customer_claimed_name"] == someone.name


def test_a_signer_is_known_by_the_certificate_that_issued_theirs(scene: Scene) -> None:
    office = person("The Office")
    issued = person("Mara Quill", issuer=office)
    signature = inspect(certified_by(issued, prepared())).technician
    answer = judge_signer(signature, [read_signer(office.certificate_der)], {})
    assert (answer.known, answer.wrong) == (True, None)
    assert "issued by the one you named" in answer.words
    stranger = judge_signer(signature, [read_signer(customer().certificate_der)], {})
    assert stranger.wrong is not None
