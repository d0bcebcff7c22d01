"""Files that travel inside a record: what is allowed, how they are spelt, how they are read back.

Embedded and associated files after ISO 32000-2:2020, 7.11.4 and 14.13 [MEMORY]. Equal input gives
equal bytes; reading is bounded in number and size, and a file that is not exactly as long as it
states is refused.
"""

import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal, get_args

from guide.errors import ChargewrightError
from guide.record.pdf_revisions import Revision
from guide.record.pdf_syntax import (
    Dictionary,
    Name,
    PdfSyntaxError,
    Reference,
    Value,
    read_text_string,
    text_string,
    write_object,
)

# Bounds on what a record may carry [PROPOSED]: a job's log is some hundred kilobytes.
MAXIMUM_ATTACHMENTS = 32
MAXIMUM_ATTACHMENT_BYTES = 64 * 1024 * 1024
MAXIMUM_TEXT = 500

Relationship = Literal["Source", "Data", "Alternative", "Supplement", "Unspecified"]

_FILE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,99}")
_MIME = re.compile(r"[a-z0-9][a-z0-9.+-]{0,60}/[a-z0-9][a-z0-9.+-]{0,60}")
_DATE = re.compile(rb"D:(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)Z")


class FormError(ChargewrightError):
    """A PDF can't be made into a record form, or what is to be attached can't be attached."""


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file that travels inside the PDF."""

    name: str
    mime: str
    data: bytes
    description: str = ""
    relationship: Relationship = "Data"


@dataclass(frozen=True, slots=True)
class EncodedAttachment:
    """An attachment as it stands in the file: compressed, with the size it states."""

    name: str
    mime: str
    description: str
    relationship: str
    encoded: bytes
    size_bytes: int


def pdf_date(moment: datetime) -> bytes:
    """A PDF date in UTC, to the second.

    Raises:
        FormError: when the time does not say how it relates to UTC.
    """
    if moment.tzinfo is None:
        raise FormError("a time without its offset from UTC can't stand in a record; give a time zone")
    utc = moment.astimezone(UTC)
    return b"D:%04d%02d%02d%02d%02d%02dZ" % utc.timetuple()[:6]


def read_pdf_date(value: Value) -> datetime:
    """The time written by :func:`pdf_date`.

    Raises:
        PdfSyntaxError: when it is anything else.
    """
    match = _DATE.fullmatch(value) if isinstance(value, bytes) else None
    if match is None:
        raise PdfSyntaxError(0, "a time is not spelt as records spell it")
    year, month, day, hour, minute, second = (int(part) for part in match.groups())
    try:
        return datetime(year, month, day, hour, minute, second, tzinfo=UTC)
    except ValueError:
        raise PdfSyntaxError(0, "a time is no time at all") from None


def encode_attachment(attachment: Attachment) -> EncodedAttachment:
    """Compress an attachment.

    Raises:
        FormError: when it is larger than a record may carry.
    """
    if len(attachment.data) > MAXIMUM_ATTACHMENT_BYTES:
        raise FormError(
            f"{attachment.name} is larger than the {MAXIMUM_ATTACHMENT_BYTES} bytes a record may carry"
        )
    return EncodedAttachment(
        attachment.name,
        attachment.mime,
        attachment.description,
        attachment.relationship,
        zlib.compress(attachment.data, 9),
        len(attachment.data),
    )


def refuse_out_of_bounds(attachments: Sequence[EncodedAttachment]) -> None:
    """Refuse names, types and sizes that have no place in a record.

    Raises:
        FormError: at the first such thing.
    """
    if len(attachments) > MAXIMUM_ATTACHMENTS:
        raise FormError(f"{len(attachments)} attachments: a record carries at most {MAXIMUM_ATTACHMENTS}")
    names = [each.name for each in attachments]
    if names != sorted(set(names)):
        raise FormError("two attachments have the same name; give each its own")
    if sum(each.size_bytes for each in attachments) > MAXIMUM_ATTACHMENT_BYTES:
        raise FormError(f"the attachments together are larger than {MAXIMUM_ATTACHMENT_BYTES} bytes")
    for each in attachments:
        if not _FILE_NAME.fullmatch(each.name):
            raise FormError(
                f"{each.name!r} can't be an attachment's name; use letters, digits, dot, dash, underscore"
            )
        if not _MIME.fullmatch(each.mime):
            raise FormError(f"{each.mime!r} is no media type; write one like text/csv")
        if each.relationship not in get_args(Relationship):
            raise FormError(
                f"{each.relationship!r} is no relationship; use one of {', '.join(get_args(Relationship))}"
            )
        if len(each.description) > MAXIMUM_TEXT or not each.description.isprintable():
            raise FormError(
                f"the description of {each.name} must be at most {MAXIMUM_TEXT} printable characters"
            )


def spell_attachment(
    each: EncodedAttachment, stream_number: int, specification_number: int, made: datetime
) -> dict[int, bytes]:
    """The two objects of one attachment: its data, and what the data is.

    Raises:
        FormError: when ``made`` does not know its time zone.
    """
    name = text_string(each.name)
    moment = pdf_date(made)
    stream: Dictionary = {
        "Type": Name("EmbeddedFile"),
        "Subtype": Name(each.mime),
        "Filter": Name("FlateDecode"),
        "Params": {"Size": each.size_bytes, "CreationDate": moment, "ModDate": moment},
    }
    specification: Dictionary = {
        "Type": Name("Filespec"),
        "F": name,
        "UF": name,
        "EF": {"F": Reference(stream_number), "UF": Reference(stream_number)},
        "Desc": text_string(each.description),
        "AFRelationship": Name(each.relationship),
    }
    return {
        stream_number: write_object(stream_number, stream, each.encoded),
        specification_number: write_object(specification_number, specification),
    }


def read_attachment(pdf: bytes, form: Revision, leaf: Value) -> EncodedAttachment:
    """Read one attachment of the form's revision, still compressed.

    Raises:
        PdfSyntaxError: when it is not as :func:`spell_attachment` spells it.
    """
    if not isinstance(leaf, Reference):
        raise PdfSyntaxError(form.start, "the list of attachments is damaged")
    specification = form.object(pdf, leaf.number).dictionary()
    files = specification.get("EF")
    target = files.get("F") if isinstance(files, dict) else None
    if not isinstance(target, Reference):
        raise PdfSyntaxError(form.start, "an attachment leads to no file")
    stream = form.object(pdf, target.number)
    parameters = stream.dictionary().get("Params")
    size = parameters.get("Size") if isinstance(parameters, dict) else None
    mime, relationship = stream.dictionary().get("Subtype"), specification.get("AFRelationship")
    if (
        type(size) is not int
        or stream.stream is None
        or not isinstance(mime, Name)
        or not isinstance(relationship, Name)
    ):
        raise PdfSyntaxError(form.start, "an attachment does not say what it is")
    return EncodedAttachment(
        read_text_string(specification.get("F")),
        str(mime),
        read_text_string(specification.get("Desc")),
        str(relationship),
        stream.stream,
        size,
    )


def decode_attachments(attachments: Sequence[EncodedAttachment]) -> dict[str, bytes]:
    """The attached files, decompressed, each exactly as long as it states.

    Raises:
        FormError: when a name, type or size is out of bounds, or the data does not unpack.
    """
    refuse_out_of_bounds(attachments)
    found: dict[str, bytes] = {}
    for each in attachments:
        if each.size_bytes < 0:
            raise FormError(f"the attachment {each.name} states a negative size")
        unpacker = zlib.decompressobj()
        try:
            data = unpacker.decompress(each.encoded, each.size_bytes + 1)
        except zlib.error:
            raise FormError(f"the attachment {each.name} does not unpack") from None
        if len(data) != each.size_bytes or not unpacker.eof or unpacker.unused_data:
            raise FormError(f"the attachment {each.name} is not {each.size_bytes} bytes long, as it states")
        found[each.name] = data
    return found
