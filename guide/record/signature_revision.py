"""The revision that carries one signature: built from its words, so that it can be rebuilt.

Everything in it follows from the file before it and from :class:`SignatureWords`; only the
signature value itself is filled in afterwards. The visible stamp is plain text set as hex
strings: nothing a person types is ever read as markup or as PDF operators.

Signature dictionary and DocMDP after ISO 32000-2:2020, 12.8.1, 12.8.2.2 and 12.8.6 [MEMORY];
sub-filter and claimed time in /M after ETSI EN 319 142-1 clause 6.3 [MEMORY].
"""

import re
import textwrap
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from guide.record.pdf_attachments import pdf_date, read_pdf_date
from guide.record.pdf_form import CUSTOMER_FIELD, TECHNICIAN_FIELD
from guide.record.pdf_revisions import Revision, add_revision, find_dictionary, next_number
from guide.record.pdf_syntax import (
    Dictionary,
    Name,
    PdfSyntaxError,
    Reference,
    Value,
    read_text_string,
    text_string,
    write_object,
    write_value,
)

_BYTE_RANGE_WIDTH = 40
_SIGNATURE_HEAD = re.compile(
    rb"(\d{1,10}) 0 obj\n<</Type /Sig /ByteRange \[0 (\d{1,10}) (\d{1,10}) (\d{1,10})\] */Contents <"
)
# Advance of an average Helvetica letter over the font size; only the line breaks depend on it [PROPOSED].
_LETTER_WIDTH = 0.55
_FONT_SIZES = (9, 8, 7, 6, 5, 4)


@dataclass(frozen=True, slots=True)
class SignatureWords:
    """What a signature says beside its value: the field, the claimed name, meaning, place and time."""

    field: str
    name: str
    reason: str
    location: str | None
    when: datetime

    @property
    def certifies(self) -> bool:
        """Whether this is the technician's signature, which certifies with form filling allowed."""
        return self.field == TECHNICIAN_FIELD


@dataclass(frozen=True, slots=True)
class SignatureSpace:
    """A file with room for one signature value.

    ``pdf[value_at:value_end]`` is the value with its delimiters; the signature covers the rest.
    """

    pdf: bytes
    value_at: int
    value_end: int


@dataclass(frozen=True, slots=True)
class SignaturePlace:
    """Where a file says its signature stands: object number, byte range, offset of the ``<``."""

    number: int
    byte_range: tuple[int, int, int, int]
    value_at: int


def _stamp_text(text: str) -> bytes:
    """Text in the stamp font's own encoding; letters it lacks lose their accents, then become ``?``."""
    plain = "".join(" " if unicodedata.category(c).startswith(("C", "Z")) else c for c in text)
    encoded = bytearray()
    for letter in plain:
        try:
            encoded += letter.encode("cp1252")
        except UnicodeEncodeError:
            bare = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore")
            encoded += bare or b"?"
    return bytes(encoded)


def stamp_lines(words: SignatureWords) -> tuple[str, ...]:
    """The lines of the visible stamp: name, UTC time, meaning, and place if one is given."""
    time = words.when.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S UTC")
    lines = (words.name, time, words.reason, words.location or "")
    return tuple(line for line in lines if line.strip())


def _appearance(words: SignatureWords, width: int, height: int) -> tuple[Dictionary, bytes]:
    lines: list[str] = []
    size = _FONT_SIZES[0]
    for size in _FONT_SIZES:
        letters = max(1, int((width - 6) / (size * _LETTER_WIDTH)))
        lines = [part for line in stamp_lines(words) for part in textwrap.wrap(line, letters)]
        if len(lines) * (size + 2) + 4 <= height:
            break
    text = b"".join(b"<" + _stamp_text(line).hex().encode("ascii") + b"> Tj T*\n" for line in lines)
    content = b"q BT /F0 %d Tf %d TL 3 %d Td\n" % (size, size + 2, height - size - 3) + text + b"ET Q\n"
    font: Dictionary = {
        "Type": Name("Font"),
        "Subtype": Name("Type1"),
        "BaseFont": Name("Helvetica"),
        "Encoding": Name("WinAnsiEncoding"),
    }
    form: Dictionary = {
        "Type": Name("XObject"),
        "Subtype": Name("Form"),
        "BBox": [0, 0, width, height],
        "Resources": {"Font": {"F0": font}},
    }
    return form, content


def _find_field(
    pdf: bytes, revisions: Sequence[Revision], catalog: Dictionary, field: str
) -> tuple[int, Dictionary]:
    acroform = catalog.get("AcroForm")
    references = acroform.get("Fields") if isinstance(acroform, dict) else None
    for reference in references if isinstance(references, list) else ():
        number, widget = find_dictionary(pdf, revisions, reference)
        if widget.get("T") == text_string(field):
            return number, widget
    raise PdfSyntaxError(0, f"the form has no field {field}; prepare the form first")


def _box_size(widget: Dictionary) -> tuple[int, int]:
    box = widget.get("Rect")
    sides = [side for side in box if type(side) is int] if isinstance(box, list) else []
    if len(sides) != 4:
        raise PdfSyntaxError(0, "a signature field's box is not made of whole points")
    return sides[2] - sides[0], sides[3] - sides[1]


def _signature_tail(words: SignatureWords) -> bytes:
    entries: Dictionary = {
        "Filter": Name("Adobe.PPKLite"),
        "SubFilter": Name("ETSI.CAdES.detached"),
        "M": pdf_date(words.when),
        "Name": text_string(words.name),
        "Reason": text_string(words.reason),
    }
    if words.location is not None:
        entries["Location"] = text_string(words.location)
    if words.certifies:
        parameters: Dictionary = {"Type": Name("TransformParams"), "P": 2, "V": Name("1.2")}
        rule: Dictionary = {
            "Type": Name("SigRef"),
            "TransformMethod": Name("DocMDP"),
            "TransformParams": parameters,
        }
        entries["Reference"] = [rule]
    return b" " + write_value(entries)[2:] + b"\nendobj\n"


def build_signature(
    pdf: bytes, revisions: Sequence[Revision], words: SignatureWords, reserved_bytes: int
) -> SignatureSpace:
    """Append the revision for one signature, its value still zeros.

    ``revisions`` are those of ``pdf``. Equal input gives equal bytes.

    Raises:
        PdfSyntaxError: when the field is missing or filled.
        FormError: when the time does not say how it relates to UTC.
    """
    last = revisions[-1]
    catalog_number, catalog = find_dictionary(pdf, revisions, last.trailer.get("Root"))
    widget_number, widget = _find_field(pdf, revisions, catalog, words.field)
    if "V" in widget:
        raise PdfSyntaxError(0, f"the field {words.field} is signed already")
    stamp_number = next_number(last)
    signature_number = stamp_number + 1
    signed_widget: Dictionary = {
        **widget,
        "V": Reference(signature_number),
        "AP": {"N": Reference(stamp_number)},
    }
    objects = {widget_number: write_object(widget_number, signed_widget)}
    if words.certifies:
        permissions: Value = {"DocMDP": Reference(signature_number)}
        objects[catalog_number] = write_object(catalog_number, {**catalog, "Perms": permissions})
    form, content = _appearance(words, *_box_size(widget))
    objects[stamp_number] = write_object(stamp_number, form, content)

    head = b"%d 0 obj\n<</Type /Sig /ByteRange " % signature_number
    signature_at = len(pdf) + sum(map(len, objects.values()))
    value_at = signature_at + len(head) + _BYTE_RANGE_WIDTH + len(b" /Contents ")
    value_end = value_at + 2 * reserved_bytes + 2
    tail = _signature_tail(words)

    def spelt(byte_range: bytes) -> bytes:
        value = b"<" + b"0" * (2 * reserved_bytes) + b">"
        return head + byte_range.ljust(_BYTE_RANGE_WIDTH) + b" /Contents " + value + tail

    # The width of the byte range is fixed, so the length is known before its numbers are.
    length = len(add_revision(pdf, last, {**objects, signature_number: spelt(b"")}))
    byte_range = b"[0 %d %d %d]" % (value_at, value_end, length - value_end)
    objects[signature_number] = spelt(byte_range)
    return SignatureSpace(add_revision(pdf, last, objects), value_at, value_end)


def locate_signature(pdf: bytes, revision: Revision) -> SignaturePlace | None:
    """Where this revision's signature stands, or None when its last object is no signature of ours."""
    number = max(revision.offsets, default=0)
    match = _SIGNATURE_HEAD.match(pdf, revision.offsets.get(number, 0))
    if match is None or int(match.group(1)) != number:
        return None
    first, second, third = (int(match.group(group)) for group in (2, 3, 4))
    return SignaturePlace(number, (0, first, second, third), match.end() - 1)


def read_words(pdf: bytes, revision: Revision, field: str) -> SignatureWords:
    """What the signature in this revision says.

    What is answered is not trusted: :func:`build_signature` on it must give the same bytes.

    Raises:
        PdfSyntaxError: when a word is missing or not spelt as records spell it.
    """
    signature = revision.object(pdf, max(revision.offsets, default=0)).dictionary()
    location = signature.get("Location")
    return SignatureWords(
        field,
        read_text_string(signature.get("Name")),
        read_text_string(signature.get("Reason")),
        None if location is None else read_text_string(location),
        read_pdf_date(signature.get("M")),
    )


FIELDS_IN_ORDER = (TECHNICIAN_FIELD, CUSTOMER_FIELD)
