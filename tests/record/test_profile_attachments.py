"""What may travel inside a record, and what is refused."""

import zlib
from dataclasses import replace

import pytest

from guide.record.pdf_attachments import (
    MAXIMUM_ATTACHMENTS,
    Attachment,
    EncodedAttachment,
    FormError,
    decode_attachments,
)
from guide.record.pdf_form import build_form, prepare, read_form
from guide.record.pdf_revisions import read_revisions
from guide.record.profile import inspect
from guide.record.signature import extract_attachments
from tests.record.signed_files import LOG, NOW, certified_by, pages, prepared, technician


@pytest.mark.parametrize(
    ("attachment", "said"),
    [
        (replace(LOG, name="../log"), "can't be an attachment's name"),
        (replace(LOG, name="a/b"), "can't be an attachment's name"),
        (replace(LOG, name=""), "can't be an attachment's name"),
        (replace(LOG, name="x" * 101), "can't be an attachment's name"),
        (replace(LOG, mime="text"), "no media type"),
        (replace(LOG, relationship="Friend"), "no relationship"),  # type: ignore[arg-type]  # the case under test
        (replace(LOG, description="two\nlines"), "printable"),
        (replace(LOG, description="x" * 501), "printable"),
    ],
)
def test_an_attachment_out_of_bounds_is_refused(attachment: Attachment, said: str) -> None:
    with pytest.raises(FormError, match=said):
        prepare(pages(), [attachment], now=NOW)


def test_two_attachments_of_one_name_and_too_many_are_refused() -> None:
    with pytest.raises(FormError, match="the same name"):
        prepare(pages(), [LOG, LOG], now=NOW)
    with pytest.raises(FormError, match="at most"):
        prepare(pages(), [replace(LOG, name=f"f{n}") for n in range(MAXIMUM_ATTACHMENTS + 1)], now=NOW)


def altered(**changes: object) -> bytes:
    """A record signed over a form whose first attachment is not what it states."""
    base, form = read_revisions(prepared())
    parts = read_form(prepared(), base, form)
    first = replace(parts.attachments[0], **changes)  # type: ignore[arg-type]  # fields by name
    built = build_form(
        prepared()[: base.end], base, replace(parts, attachments=(first, *parts.attachments[1:]))
    )
    return certified_by(technician(), built)


@pytest.mark.parametrize(
    "changes",
    [
        {"size_bytes": 3},
        {"size_bytes": 10**9},
        {"size_bytes": -5},
        {"encoded": b"not packed"},
        {"encoded": zlib.compress(bytes(10**6))},
        {"name": "../escape"},
        {"relationship": "Friend"},
    ],
)
def test_a_signed_attachment_that_is_not_what_it_states_is_found_and_not_unpacked(
    changes: dict[str, object],
) -> None:
    record = altered(**changes)
    (found,) = inspect(record).findings
    assert found.check_number == 12
    with pytest.raises(FormError):
        extract_attachments(record)


def test_bytes_behind_the_packed_data_are_refused() -> None:
    packed = EncodedAttachment("a.txt", "text/plain", "", "Data", zlib.compress(b"abc") + b"more", 3)
    with pytest.raises(FormError, match="not 3 bytes long"):
        decode_attachments((packed,))


@pytest.mark.parametrize("foreign", [b"", b"%PDF-1.4\n", pages()])
def test_a_file_without_a_form_has_no_attachments_to_give(foreign: bytes) -> None:
    with pytest.raises(FormError):
        extract_attachments(foreign)
