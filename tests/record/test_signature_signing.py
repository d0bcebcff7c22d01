"""Certifying, countersigning, refusing; and what another program says of the result.

The other program is poppler's pdfsig, an implementation independent of ours and of our PDF library.
"""

import asyncio
import subprocess
from datetime import datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from pypdf import PdfReader

from guide.record.pdf_form import FieldPlace, FormError, prepare
from guide.record.profile import inspect
from guide.record.signature import SigningError, certify, countersign, extract_attachments
from tests.record.signed_files import (
    LOG,
    NOW,
    TABLE,
    Person,
    certified,
    certified_by,
    countersigned,
    customer,
    pages,
    person,
    prepared,
    technician,
)

needs_poppler = pytest.mark.needs("pdfsig")


def pdfsig(record: bytes, folder: Path) -> str:
    file = folder / "record.pdf"
    file.write_bytes(record)
    return subprocess.run(["pdfsig", str(file)], capture_output=True, text=True, check=False).stdout


@needs_poppler
def test_poppler_finds_the_technicians_signature_valid_over_the_total_document(tmp_path: Path) -> None:
    said = pdfsig(certified(), tmp_path)
    assert said.count("Signature Validation: Signature is Valid.") == 1
    assert "Total document signed" in said
    assert "Not total document signed" not in said
    assert "Signer Certificate Common Name: Mara Quill" in said
    assert "ETSI.CAdES.detached" in said
    assert "SHA-256" in said


@needs_poppler
def test_poppler_finds_both_signatures_valid_and_the_last_over_the_total_document(tmp_path: Path) -> None:
    said = pdfsig(countersigned(), tmp_path)
    assert said.count("Signature Validation: Signature is Valid.") == 2
    assert "Total document signed" in said.split("Signature #2")[1]


@needs_poppler
def test_poppler_finds_a_changed_byte_too(tmp_path: Path) -> None:
    record = bytearray(certified())
    record[record.index(b"/Title") + 8] ^= 1
    assert "Signature is Valid" not in pdfsig(bytes(record), tmp_path)


def test_a_certified_record_is_intact_and_says_who_claims_what() -> None:
    report = inspect(certified())
    assert report.intact
    assert {check.outcome for check in report.checks} == {"passed"}
    assert [check.number for check in report.checks] == list(range(1, len(report.checks) + 1))
    assert report.level == "PAdES B-B"
    assert report.customer is None
    signed = report.technician
    assert signed is not None
    assert (signed.field, signed.common_name, signed.practice_mark) == (
        "Technician",
        "Mara Quill",
        "PRACTICE",
    )
    assert signed.claimed_time == NOW
    assert signed.reason == "I did this work"
    assert signed.location == "Harbour School, roof"
    assert signed.certificate_der == technician().certificate_der
    assert signed.self_issued


def test_a_countersigned_record_begins_with_the_certified_one_and_has_both_signers() -> None:
    assert countersigned().startswith(certified())
    report = inspect(countersigned())
    assert report.intact
    assert report.customer is not None
    assert report.customer.common_name == "Otto Fenn"
    assert report.customer.practice_mark is None
    assert report.customer.claimed_time == NOW + timedelta(minutes=5)


def test_the_form_is_the_same_bytes_for_the_same_input() -> None:
    again = prepare(pages("charged 0.17 kg"), [TABLE, LOG], now=NOW)
    assert again == prepared()


def test_attachments_come_back_as_they_went_in_and_another_reader_sees_them_too() -> None:
    expected = {LOG.name: LOG.data, TABLE.name: TABLE.data}
    assert extract_attachments(countersigned()) == expected
    seen = PdfReader(BytesIO(countersigned())).attachments
    assert {name: data[0] for name, data in seen.items()} == expected


async def test_everything_works_inside_a_running_event_loop() -> None:
    assert asyncio.get_running_loop().is_running()
    record = certified_by(technician(), prepared())
    assert inspect(record).intact
    assert extract_attachments(record)


def test_everything_works_with_the_fields_on_different_pages() -> None:
    form = prepare(
        pages(count=3),
        [LOG],
        now=NOW,
        technician=FieldPlace(0, (10, 10, 200, 60)),
        customer=FieldPlace(-1, (10, 10, 200, 60)),
    )
    assert inspect(certified_by(technician(), form)).intact


def test_a_record_without_attachments_is_sound() -> None:
    record = certified_by(technician(), prepare(pages(), [], now=NOW))
    assert inspect(record).intact
    assert extract_attachments(record) == {}


@pytest.mark.parametrize(
    "name",
    [
        "Ada <b>Bold</b> & Sons",
        "%(signer)s %n %s",
        "Br)ck (Tj ET Q \\",
        "Żółć Ωmega 井上",
        "O'Neill",
    ],
)
def test_a_name_is_never_read_as_markup(name: str) -> None:
    someone = person(name)
    record = certified_by(someone, prepared())
    report = inspect(record)
    assert report.intact
    assert report.technician is not None
    assert report.technician.common_name == name


@needs_poppler
def test_the_stamp_shows_name_time_and_meaning_as_plain_text(tmp_path: Path) -> None:
    file = tmp_path / "record.pdf"
    file.write_bytes(certified_by(person("Ada <b>Bold</b> (x)"), prepared()))
    text = subprocess.run(["pdftotext", str(file), "-"], capture_output=True, text=True, check=True).stdout
    assert "Ada <b>Bold</b> (x)" in text
    assert "2026-11-25 09:30:00 UTC" in text
    assert "I did this work" in text


def sign_as(someone: Person, pdf: bytes, **changes: object) -> bytes:
    words: dict[str, object] = {
        "private_key": someone.key,
        "certificate_der": someone.certificate_der,
        "name": someone.name,
        "reason": "I did this work",
        "when": NOW,
        **changes,
    }
    return certify(pdf, **words)  # type: ignore[arg-type]  # the point is to pass what does not fit


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": "Somebody Else"}, "is not the certificate's"),
        ({"name": ""}, "the name must be"),
        ({"reason": "two\nlines"}, "the meaning must be"),
        ({"reason": "x" * 301}, "the meaning must be"),
        ({"when": datetime(2026, 11, 25, 9, 30)}, "time zone"),  # noqa: DTZ001 - the case under test
        ({"when": NOW + timedelta(days=4000)}, "validity"),
        ({"private_key": ec.generate_private_key(ec.SECP256R1())}, "do not belong together"),
        ({"certificate_der": b"0\x03\x02\x01\x01"}, "damaged"),
    ],
)
def test_words_and_keys_that_do_not_fit_are_refused_in_one_line(
    changes: dict[str, object], said: str
) -> None:
    with pytest.raises(SigningError, match=said) as caught:
        sign_as(technician(), prepared(), **changes)
    assert "\n" not in str(caught.value)


def test_signing_out_of_turn_is_refused() -> None:
    with pytest.raises(SigningError, match="can't sign now"):
        sign_as(technician(), pages())
    with pytest.raises(SigningError, match="can't sign now"):
        sign_as(technician(), certified())
    with pytest.raises(SigningError, match="can't be signed"):
        sign_as(technician(), b"not a PDF")


def test_the_customer_signs_only_a_certified_record_once_and_only_in_the_customers_field() -> None:
    def sign(pdf: bytes, field: str = "Customer") -> bytes:
        return countersign(
            pdf,
            field=field,
            private_key=customer().key,
            certificate_der=customer().certificate_der,
            name=customer().name,
            reason="I received this record",
            when=NOW,
        )

    for unfit in (prepared(), countersigned()):
        with pytest.raises(SigningError, match="can't sign now"):
            sign(unfit)
    with pytest.raises(SigningError, match="no field"):
        sign(certified(), "Technician")


def test_a_form_is_made_only_from_a_freshly_built_pdf() -> None:
    with pytest.raises(FormError, match="added to before"):
        prepare(prepared(), [], now=NOW)
    with pytest.raises(FormError, match="can't be made into a record"):
        prepare(b"%PDF-1.4\nnothing", [], now=NOW)
    with pytest.raises(FormError, match="offset from UTC"):
        prepare(pages(), [LOG], now=datetime(2026, 11, 25))  # noqa: DTZ001 - the case under test
    with pytest.raises(FormError, match="no signature field can stand"):
        prepare(pages(), [], now=NOW, customer=FieldPlace(5, (0, 0, 10, 10)))
