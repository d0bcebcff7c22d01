"""No bit of a signed record can change without a finding."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.record.pdf_revisions import read_revisions
from guide.record.profile import NotARecord, SignatureReport, inspect
from tests.record.signed_files import certified, countersigned


def flipped(record: bytes, bit: int) -> bytes:
    changed = bytearray(record)
    changed[bit // 8] ^= 1 << bit % 8
    return bytes(changed)


def unnoticed(record: bytes, bits: list[int]) -> list[int]:
    return [bit for bit in bits if inspect(flipped(record, bit)).intact]


def signature_bits(record: bytes) -> list[int]:
    """Every bit of the last signature's object: dictionary, byte range, value, padding, delimiters."""
    last = read_revisions(record)[-1]
    at = last.offsets[max(last.offsets)]
    return list(range(8 * at, 8 * last.table_at))


def test_every_bit_of_the_technicians_signature_object_counts() -> None:
    bits = signature_bits(certified())
    assert len(bits) > 12_000
    assert unnoticed(certified(), bits) == []


def test_every_bit_of_the_customers_signature_object_counts() -> None:
    assert unnoticed(countersigned(), signature_bits(countersigned())) == []


def test_every_bit_of_both_values_counts_when_the_customer_has_signed_too() -> None:
    record = countersigned()
    start = record.index(b"/Contents <", read_revisions(record)[2].start)
    sample = random.Random(7).sample(range(8 * start, 8 * start + 8 * 1_500), 3_000)
    assert unnoticed(record, sample) == []


@pytest.mark.parametrize("seed", [11, 12])
def test_two_thousand_bits_elsewhere_count(seed: int) -> None:
    for record in (certified(), countersigned()):
        bits = random.Random(seed).sample(range(8 * len(record)), 1_000)
        assert unnoticed(record, bits) == []


@pytest.mark.exhaustive
def test_every_bit_of_a_whole_record_counts() -> None:
    assert unnoticed(certified(), list(range(8 * len(certified())))) == []
    assert unnoticed(countersigned(), list(range(8 * len(countersigned())))) == []


def test_a_changed_page_is_named_as_a_change_after_signing() -> None:
    record = certified()
    report = inspect(flipped(record, 8 * (record.index(b"/Title") + 8)))
    assert [finding.message for finding in report.findings] == [
        "something in the file was changed after the Technician signed it"
    ]
    assert report.signatures == ()
    assert report.level is None
    failed = [check.number for check in report.checks if check.outcome == "failed"]
    assert failed == [report.findings[0].check_number]


def answer(data: bytes) -> SignatureReport | None:
    try:
        return inspect(data)
    except NotARecord:
        return None


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_cut_spliced_or_overwritten_record_gives_a_finding_and_never_a_traceback(
    data: st.DataObject,
) -> None:
    record = countersigned()
    start = data.draw(st.integers(0, len(record)))
    end = data.draw(st.integers(start, len(record)))
    changed = record[:start] + data.draw(st.binary(max_size=40)) + record[end:]
    report = answer(changed)
    # Cut exactly behind the technician's revision it is the technician's record again.
    if changed not in (record, certified()):
        assert report is None or not report.intact


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200), st.sampled_from([b"", b"%PDF-1.4\n", b"%PDF-1.4\n/ByteRange", b"/ByteRange"]))
def test_foreign_bytes_give_a_finding_or_are_no_record(noise: bytes, start: bytes) -> None:
    report = answer(start + noise)
    assert report is None or not report.intact


@pytest.mark.parametrize("foreign", [b"", b"PK\x03\x04 a zip", b"{}"])
def test_a_file_that_is_neither_pdf_nor_signed_is_no_record(foreign: bytes) -> None:
    with pytest.raises(NotARecord, match="not a signed PDF record"):
        inspect(foreign)


def test_a_damaged_first_byte_is_a_finding_since_the_rest_is_a_record() -> None:
    assert inspect(b"#" + certified()[1:]).findings[0].check_number == 1
