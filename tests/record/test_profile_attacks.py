"""Files made to deceive: each gives a finding that names what is wrong.

Where an attack needs a key, the attacker has one: the signature itself verifies, and only the
profile says no. The attack families are those of published work on PDF signatures (universal
forgery, incremental saving, signature wrapping, shadow content) [from MEMORY, no text at hand].
"""

from collections.abc import Mapping
from io import BytesIO

import pytest
from pyhanko.pdf_utils.generic import pdf_string
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.fields import SigFieldSpec, append_signature_field
from pypdf import PdfReader, PdfWriter

from guide.record import signature_revision
from guide.record.cms import reserved_bytes
from guide.record.pdf_form import Attachment, FormError, build_form, prepare, read_form
from guide.record.pdf_revisions import Revision, add_revision, find_dictionary, read_revisions
from guide.record.pdf_syntax import Dictionary, Name, Reference, write_object
from guide.record.profile import Finding, inspect
from guide.record.signature import fill_signature
from guide.record.signature_revision import SignatureWords, build_signature
from tests.record.signed_files import (
    LOG,
    NOW,
    TABLE,
    Person,
    certified,
    certified_by,
    countersigned,
    countersigned_by,
    customer,
    pages,
    person,
    prepared,
    technician,
)


def finding(pdf: bytes) -> Finding:
    report = inspect(pdf)
    assert not report.intact
    assert len(report.findings) == 1
    assert "\n" not in report.findings[0].message
    return report.findings[0]


def signed_anyway(pdf: bytes, someone: Person, words: SignatureWords | None = None) -> bytes:
    """Sign what ``certify`` would refuse."""
    words = words or SignatureWords("Technician", someone.name, "I did this work", None, NOW)
    space = build_signature(pdf, read_revisions(pdf), words, reserved_bytes(someone.certificate_der))
    return fill_signature(space, someone.key, someone.certificate_der)


def page_number(pdf: bytes) -> int:
    revisions = read_revisions(pdf)
    root = find_dictionary(pdf, revisions, revisions[-1].trailer["Root"])[1]
    kids = find_dictionary(pdf, revisions, root["Pages"])[1]["Kids"]
    assert isinstance(kids, list)
    assert isinstance(kids[0], Reference)
    return kids[0].number


def other_content(pdf: bytes) -> dict[int, bytes]:
    """The page's content stream, written anew: another amount."""
    page = find_dictionary(pdf, read_revisions(pdf), Reference(page_number(pdf)))[1]
    content = page["Contents"]
    assert isinstance(content, Reference)
    drawing = b"BT /F1 12 Tf 72 680 Td (charged 9.99 kg) Tj ET"
    return {content.number: write_object(content.number, {}, drawing)}


def with_revision(pdf: bytes, objects: Mapping[int, bytes]) -> bytes:
    return add_revision(pdf, read_revisions(pdf)[-1], objects)


# --- no key needed -------------------------------------------------------------------------------


@pytest.mark.parametrize("extra", [b"\n", b" ", b"\x00", b"%%EOF\n", b"junk" * 50])
def test_appended_bytes_are_counted(extra: bytes) -> None:
    for record in (certified(), countersigned()):
        found = finding(record + extra)
        assert found.check_number == 1
        assert f"{len(extra)} bytes stand behind the end" in found.message


@pytest.mark.parametrize("cut", [1, 6, 100, 2_000])
def test_a_cut_record_is_found(cut: int) -> None:
    assert finding(certified()[:-cut]).check_number == 1


def test_a_record_saved_anew_by_another_program_is_found() -> None:
    out = BytesIO()
    PdfWriter(clone_from=PdfReader(BytesIO(countersigned()))).write(out)
    assert finding(out.getvalue()).check_number in (1, 2)


def test_the_removed_signature_is_named() -> None:
    for unsigned in (pages(), prepared()):
        found = finding(unsigned)
        assert found.check_number == 2
        assert "the signature was removed" in found.message


def test_a_removed_customers_signature_leaves_the_technicians_record_and_no_customer() -> None:
    record = countersigned()
    report = inspect(record[: read_revisions(record)[2].end])
    assert report.intact
    assert report.customer is None


@pytest.mark.parametrize("after", ["Technician", "Customer"])
def test_content_changed_in_a_later_revision_is_named(after: str) -> None:
    record = certified() if after == "Technician" else countersigned()
    found = finding(with_revision(record, other_content(record)))
    assert found.check_number == 2
    assert f"was added after the {after.lower()}'s signature" in found.message


def test_an_incremental_update_by_a_pdf_library_is_found() -> None:
    writer = IncrementalPdfFileWriter(BytesIO(certified()))
    writer.root["/Lang"] = pdf_string("en")
    writer.update_root()  # type: ignore[no-untyped-call]  # the library leaves it untyped
    out = BytesIO()
    writer.write(out)  # type: ignore[no-untyped-call]  # the library leaves it untyped
    assert finding(out.getvalue()).check_number in (1, 2)


def test_a_field_added_after_the_certification_is_found() -> None:
    writer = IncrementalPdfFileWriter(BytesIO(certified()))
    append_signature_field(writer, SigFieldSpec("Inspector", box=(10, 10, 90, 60)))
    out = BytesIO()
    writer.write(out)  # type: ignore[no-untyped-call]  # the library leaves it untyped
    assert finding(out.getvalue()).check_number in (1, 2)


def test_a_swapped_attachment_is_found() -> None:
    record = certified()
    other = prepare(
        pages("charged 0.17 kg"),
        [Attachment(LOG.name, LOG.mime, LOG.data[::-1], LOG.description, "Source"), TABLE],
        now=NOW,
    )
    ours, theirs = (
        read_form(pdf, *read_revisions(pdf)[:2]).attachments[1].encoded for pdf in (prepared(), other)
    )
    assert record.count(ours) == 1
    swapped = record.replace(ours, theirs.ljust(len(ours), b"\x00")[: len(ours)])
    assert "changed after the Technician signed" in finding(swapped).message


def test_upper_case_hex_padding_and_other_spellings_of_the_value_are_found() -> None:
    record = certified()
    start = record.index(b"/Contents <", read_revisions(record)[2].start) + len(b"/Contents <")
    end = record.index(b">", start)
    value = record[start:end]
    spellings = {
        "upper case": value.upper(),
        "one upper-case digit": value.replace(b"a", b"A", 1),
        "padding at the end": value[:-2] + b"01",
        "padding at its start": value.rstrip(b"0").ljust(len(value) - 2, b"0") + b"  ",
        "space": b" " + value[:-1],
        "line end": value[:-1] + b"\n",
    }
    for spelling in spellings.values():
        assert len(spelling) == len(value)
        assert finding(record[:start] + spelling + record[end:]).check_number == 4


def test_the_other_of_the_two_ecdsa_values_is_found() -> None:
    from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature, encode_dss_signature

    from guide.record.cms import P256_ORDER, build_cms, split_cms

    record = certified()
    start = record.index(b"/Contents <", read_revisions(record)[2].start) + len(b"/Contents <")
    end = record.index(b">", start)
    parts = split_cms(bytes.fromhex(record[start:end].decode()))
    r, s = decode_dss_signature(parts.ecdsa_value)
    cms = build_cms(parts.certificate_der, parts.message_digest, encode_dss_signature(r, P256_ORDER - s))
    found = finding(record[:start] + cms.hex().encode().ljust(end - start, b"0") + record[end:])
    assert "canonical" in found.message


# --- the attacker holds a key --------------------------------------------------------------------


def test_a_stranger_who_rebuilds_the_record_under_the_same_name_is_intact_but_has_another_fingerprint() -> (
    None
):
    stranger = person("Mara Quill", unit="PRACTICE")
    report = inspect(certified_by(stranger, prepare(pages("charged 9.99 kg"), [LOG, TABLE], now=NOW)))
    genuine = inspect(certified()).technician
    assert report.intact
    assert report.technician is not None
    assert genuine is not None
    assert report.technician.common_name == genuine.common_name
    assert report.technician.fingerprint_sha256 != genuine.fingerprint_sha256


def test_a_shadow_revision_before_the_certification_is_named() -> None:
    shadowed = signed_anyway(with_revision(prepared(), other_content(prepared())), technician())
    found = finding(shadowed)
    assert found.check_number == 2
    assert "between the form and the technician's signature" in found.message


def test_a_certified_pdf_without_our_form_is_found() -> None:
    field: Dictionary = {"FT": Name("Sig"), "T": b"Technician", "Rect": [0, 0, 90, 60], "Type": Name("Annot")}
    base = pages()
    revision = read_revisions(base)[0]
    number, catalog = find_dictionary(base, (revision,), revision.trailer["Root"])
    catalog |= {"AcroForm": {"Fields": [Reference(90), Reference(91)], "SigFlags": 3}}
    form = with_revision(
        base,
        {
            number: write_object(number, catalog),
            90: write_object(90, dict(field)),
            91: write_object(91, {**field, "T": b"Customer"}),
        },
    )
    assert finding(signed_anyway(form, technician())).check_number == 10


class Certifying(SignatureWords):
    """Words of a second signature that certifies again."""

    __slots__ = ()

    @property
    def certifies(self) -> bool:
        return True


def test_a_second_certifying_signature_is_found() -> None:
    words = Certifying("Customer", customer().name, "I certify too", None, NOW)
    found = finding(signed_anyway(certified(), customer(), words))
    assert found.check_number == 9
    assert "the Customer's signature holds something else" in found.message


class NotCertifying(SignatureWords):
    """Words of a technician's signature that allows every later change."""

    __slots__ = ()

    @property
    def certifies(self) -> bool:
        return False


def test_a_technicians_signature_that_does_not_certify_is_found() -> None:
    words = NotCertifying("Technician", technician().name, "I did this work", None, NOW)
    assert finding(signed_anyway(prepared(), technician(), words)).check_number == 9


def test_a_first_signature_in_the_customers_field_is_found() -> None:
    words = SignatureWords("Customer", technician().name, "I did this work", None, NOW)
    assert finding(signed_anyway(prepared(), technician(), words)).check_number == 9


@pytest.mark.parametrize("signer", ["Technician", "Customer"])
def test_content_changed_inside_the_revision_of_a_signature_is_found(
    signer: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = prepared() if signer == "Technician" else certified()
    smuggled = other_content(before)

    def add_more(pdf: bytes, last: Revision, objects: Mapping[int, bytes]) -> bytes:
        return add_revision(pdf, last, {**objects, **smuggled})

    with monkeypatch.context() as patch:
        patch.setattr(signature_revision, "add_revision", add_more)
        record = (
            certified_by(technician(), before)
            if signer == "Technician"
            else countersigned_by(customer(), before)
        )
    found = finding(record)
    assert found.check_number == 9
    assert f"the {signer}'s signature holds something else" in found.message


def test_something_more_in_the_forms_revision_is_found() -> None:
    base = pages("charged 0.17 kg")
    revisions = read_revisions(prepared())
    form = revisions[1]
    objects = {
        number: prepared()[at : form.object(prepared(), number).end]
        for number, at in sorted(form.offsets.items(), key=lambda each: each[1])
    }
    assert with_revision(base, objects) == prepared()
    more = with_revision(base, {**objects, **other_content(base)})
    assert finding(signed_anyway(more, technician())).check_number == 10


def base_with(**entries: object) -> bytes:
    """Pages whose catalog holds more, as one plain revision."""
    base = pages()
    revision = read_revisions(base)[0]
    number, catalog = find_dictionary(base, (revision,), revision.trailer["Root"])
    old = base[revision.offsets[number] : revision.object(base, number).end]
    new = write_object(number, {**catalog, **entries})  # type: ignore[dict-item]  # entries are PDF values
    body = base[: revision.table_at].replace(old, new)
    shift = len(new) - len(old)
    table = b"xref\n0 %d\n0000000000 65535 f \n" % (len(revision.offsets) + 1)
    for each in sorted(revision.offsets):
        at = revision.offsets[each]
        table += b"%010d 00000 n \n" % (at + shift if at > revision.offsets[number] else at)
    trailer = base[base.index(b"trailer", revision.table_at) : base.index(b"startxref")]
    return body + table + trailer + b"startxref\n%d\n%%%%EOF\n" % len(body)


ACTIVE = [
    {"OpenAction": {"S": Name("JavaScript"), "JS": b"app.alert(1)"}},
    {"AA": {}},
    {"OCProperties": {"OCGs": []}},
    {"Extra": {"Type": Name("Action"), "S": Name("Launch"), "F": b"x"}},
    {"Extra": [{"Type": Name("Sig")}]},
]


@pytest.mark.parametrize("entries", ACTIVE)
def test_pages_that_can_act_or_hide_are_refused_when_made_and_found_when_signed_anyway(
    entries: dict[str, object],
) -> None:
    base = base_with(**entries)
    with pytest.raises(FormError, match="can't be made into a record"):
        prepare(base, [], now=NOW)
    parts = read_form(prepared(), *read_revisions(prepared())[:2])
    form = build_form(base, read_revisions(base)[0], parts)
    assert finding(signed_anyway(form, technician())).check_number == 11


def test_an_object_hidden_from_the_table_is_found() -> None:
    base = pages()
    revision = read_revisions(base)[0]
    hidden = b"99 0 obj\n<<>>\nendobj\n"
    moved = (
        base[: revision.table_at]
        + hidden
        + base[revision.table_at :].replace(
            b"startxref\n%d" % revision.table_at, b"startxref\n%d" % (revision.table_at + len(hidden))
        )
    )
    with pytest.raises(FormError, match="object 99 stands where the table does not say"):
        prepare(moved, [], now=NOW)


def test_a_stamp_with_another_name_than_the_certificates_is_found() -> None:
    words = SignatureWords("Technician", "Mara Quill", "I did this work", None, NOW)
    assert "another name" in finding(signed_anyway(prepared(), person("Not Mara"), words)).message


def test_a_self_made_certificate_with_a_broken_signature_of_its_own_is_found() -> None:
    someone = person("Mara Quill")
    broken = someone.certificate_der[:-1] + bytes([someone.certificate_der[-1] ^ 1])
    found = finding(signed_anyway(prepared(), Person(someone.name, someone.key, broken)))
    assert found.check_number == 7


def test_a_value_made_with_another_key_than_the_certificates_is_found() -> None:
    stranger = person("Mara Quill")
    forged = Person(stranger.name, stranger.key, technician().certificate_der)
    assert finding(signed_anyway(prepared(), forged)).check_number == 8


def test_a_value_moved_from_another_record_is_found() -> None:
    other = certified_by(technician(), prepare(pages("charged 9.99 kg"), [LOG, TABLE], now=NOW))
    record = certified()

    def value(pdf: bytes) -> slice:
        start = pdf.index(b"/Contents <", read_revisions(pdf)[2].start)
        return slice(start, pdf.index(b">", start))

    moved = record[: value(record).start] + other[value(other)] + record[value(record).stop :]
    assert finding(moved).check_number == 5


def test_a_signature_after_its_certificate_has_run_out_is_found_by_its_claimed_time() -> None:
    late = SignatureWords("Technician", technician().name, "I did this work", None, NOW.replace(year=2040))
    assert "validity" in finding(signed_anyway(prepared(), technician(), late)).message


def test_a_certificate_issued_by_an_office_is_reported_as_issued_by_another() -> None:
    from guide.record.certificate import issued_by

    office = person("Office of the example shop")
    someone = person("Mara Quill", issuer=office)
    report = inspect(certified_by(someone, prepared()))
    assert report.intact
    assert report.technician is not None
    assert not report.technician.self_issued
    assert report.technician.issuer == "CN=Office of the example shop"
    assert issued_by(someone.certificate_der, office.certificate_der)
    assert not issued_by(someone.certificate_der, technician().certificate_der)
