"""The prepared form: a finished PDF with its associated files and two empty signature fields.

One revision is added. It can be taken apart into :class:`FormParts` and built again from them,
byte for byte, which is how the checker shows that nothing else stands in it. The associated
files are in the style of PDF/A-3 (``/AF``, ``/AFRelationship``, ISO 32000-2:2020, 7.11.4 and
14.13 [MEMORY]); nothing here claims conformance to PDF/A.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from guide.record.pdf_attachments import (
    MAXIMUM_ATTACHMENTS,
    Attachment,
    EncodedAttachment,
    FormError,
    encode_attachment,
    read_attachment,
    read_pdf_date,
    refuse_out_of_bounds,
    spell_attachment,
)
from guide.record.pdf_base import refuse_unplain_base
from guide.record.pdf_revisions import (
    Revision,
    add_revision,
    find_dictionary,
    next_number,
    read_revisions,
)
from guide.record.pdf_syntax import (
    Dictionary,
    Name,
    PdfSyntaxError,
    Reference,
    Value,
    text_string,
    write_object,
)

__all__ = [
    "CUSTOMER_FIELD",
    "CUSTOMER_PLACE",
    "TECHNICIAN_FIELD",
    "TECHNICIAN_PLACE",
    "Attachment",
    "FieldPlace",
    "FormError",
    "FormParts",
    "build_form",
    "prepare",
    "read_form",
]

TECHNICIAN_FIELD = "Technician"
CUSTOMER_FIELD = "Customer"

# A bound on the page tree that is walked [PROPOSED].
MAXIMUM_PAGES = 2_000

_PRINT_AND_LOCKED = 132  # annotation flags: print (4) + locked (128), ISO 32000-1, 12.5.3 [MEMORY]


@dataclass(frozen=True, slots=True)
class FieldPlace:
    """Where a signature field stands: page and box.

    Page 0 is the first, -1 the last; the box is left, bottom, right, top in points (1/72 inch).
    """

    page: int
    box: tuple[int, int, int, int]


TECHNICIAN_PLACE = FieldPlace(-1, (72, 80, 270, 140))
CUSTOMER_PLACE = FieldPlace(-1, (320, 80, 518, 140))


@dataclass(frozen=True, slots=True)
class FormParts:
    """Everything the form's revision is made of, beside the PDF below it."""

    attachments: tuple[EncodedAttachment, ...]
    technician: FieldPlace
    customer: FieldPlace
    made: datetime


def prepare(
    pdf: bytes,
    attachments: Sequence[Attachment],
    *,
    now: datetime,
    technician: FieldPlace = TECHNICIAN_PLACE,
    customer: FieldPlace = CUSTOMER_PLACE,
) -> bytes:
    """Add the associated files and the two empty signature fields to a finished PDF, as one revision.

    Equal input gives equal bytes (with the same build of zlib). ``now`` must know its time zone.

    Raises:
        FormError: when the PDF is not one plain, finished revision, or an attachment's name,
            type, size or number is out of bounds.
    """
    try:
        revisions = read_revisions(pdf)
    except PdfSyntaxError as fault:
        raise FormError(f"the PDF can't be made into a record ({fault}); build it again") from None
    if len(revisions) != 1:
        raise FormError("the PDF has been added to before; make the form from a freshly built one")
    encoded = tuple(encode_attachment(each) for each in sorted(attachments, key=lambda each: each.name))
    refuse_out_of_bounds(encoded)
    try:
        refuse_unplain_base(pdf, revisions[0])
        pages = _page_numbers(pdf, revisions)
        parts = FormParts(encoded, _settle(technician, len(pages)), _settle(customer, len(pages)), now)
        return build_form(pdf, revisions[0], parts)
    except PdfSyntaxError as fault:
        raise FormError(f"the PDF can't be made into a record ({fault}); build it again") from None


def _settle(place: FieldPlace, pages: int) -> FieldPlace:
    page = place.page + pages if place.page < 0 else place.page
    left, bottom, right, top = place.box
    if not 0 <= page < pages or not (left < right and bottom < top):
        raise FormError(f"no signature field can stand on page {place.page} in the box {place.box}")
    return FieldPlace(page, place.box)


def _page_numbers(pdf: bytes, revisions: Sequence[Revision]) -> list[int]:
    _, catalog = find_dictionary(pdf, revisions, revisions[-1].trailer.get("Root"))
    pages: list[int] = []
    waiting: list[Value] = [catalog.get("Pages")]
    visited: set[int] = set()
    while waiting:
        number, node = find_dictionary(pdf, revisions, waiting.pop(0))
        kids = node.get("Kids")
        if number in visited or len(visited) > 2 * MAXIMUM_PAGES:
            raise PdfSyntaxError(0, "the pages do not form a tree of reasonable size")
        visited.add(number)
        if node.get("Type") == "Page":
            pages.append(number)
        elif isinstance(kids, list):
            waiting[:0] = kids
        else:
            raise PdfSyntaxError(0, "the page tree holds something that is no page")
    return pages


def _with_entries(pdf: bytes, revisions: Sequence[Revision], holder: Dictionary, key: str) -> Dictionary:
    held = holder.get(key, {})
    if isinstance(held, Reference):
        return dict(find_dictionary(pdf, revisions, held)[1])
    if not isinstance(held, dict):
        raise PdfSyntaxError(0, f"the entry /{key} is no dictionary")
    return dict(held)


def build_form(pdf: bytes, base: Revision, parts: FormParts) -> bytes:
    """The base revision followed by the form built from its parts.

    Raises:
        PdfSyntaxError: when the base has no catalog and pages to hang the form on.
    """
    revisions = (base,)
    catalog_number, catalog = find_dictionary(pdf, revisions, base.trailer.get("Root"))
    if set(catalog) & {"AcroForm", "AF", "Perms"}:
        raise PdfSyntaxError(0, "the PDF below the form holds a form, attachments or permissions already")
    pages = _page_numbers(pdf, revisions)
    first = next_number(base)
    objects: dict[int, bytes] = {}
    specifications: list[Value] = []
    leaves: list[Value] = []
    new_objects: dict[int, bytes] = {}
    for index, each in enumerate(parts.attachments):
        stream_number, specification_number = first + 2 * index, first + 2 * index + 1
        new_objects |= spell_attachment(each, stream_number, specification_number, parts.made)
        specifications.append(Reference(specification_number))
        leaves.extend((text_string(each.name), Reference(specification_number)))
    fields = {
        first + 2 * len(parts.attachments): (TECHNICIAN_FIELD, parts.technician),
        first + 2 * len(parts.attachments) + 1: (CUSTOMER_FIELD, parts.customer),
    }
    for number, (field, place) in fields.items():
        new_objects[number] = write_object(number, _widget(field, place, pages))
    names = _with_entries(pdf, revisions, catalog, "Names")
    if "EmbeddedFiles" in names:
        raise PdfSyntaxError(0, "the PDF below the form holds attachments already")
    objects[catalog_number] = write_object(
        catalog_number,
        {
            **catalog,
            "Version": Name("2.0"),
            "Names": {**names, "EmbeddedFiles": {"Names": leaves}},
            "AF": specifications,
            "AcroForm": {"Fields": [Reference(number) for number in fields], "SigFlags": 3},
        },
    )
    for index in sorted({parts.technician.page, parts.customer.page}):
        page = find_dictionary(pdf, revisions, Reference(pages[index]))[1]
        there = page.get("Annots", [])
        if not isinstance(there, list):
            raise PdfSyntaxError(0, "a page's annotations are no plain list")
        added: list[Value] = [Reference(n) for n, (_, place) in fields.items() if place.page == index]
        objects[pages[index]] = write_object(pages[index], {**page, "Annots": [*there, *added]})
    return add_revision(pdf, base, objects | new_objects)


def _widget(field: str, place: FieldPlace, pages: Sequence[int]) -> Dictionary:
    return {
        "Type": Name("Annot"),
        "Subtype": Name("Widget"),
        "FT": Name("Sig"),
        "T": text_string(field),
        "F": _PRINT_AND_LOCKED,
        "Rect": list(place.box),
        "P": Reference(pages[place.page]),
    }


def read_form(pdf: bytes, base: Revision, form: Revision) -> FormParts:
    """Take the form's revision apart again.

    What is read is not trusted: :func:`build_form` on it must give the same bytes.

    Raises:
        PdfSyntaxError: when it is not a form as :func:`build_form` makes it.
    """
    revisions = (base, form)
    _, catalog = find_dictionary(pdf, revisions, form.trailer.get("Root"))
    names = catalog.get("Names")
    embedded = names.get("EmbeddedFiles") if isinstance(names, dict) else None
    leaves = embedded.get("Names") if isinstance(embedded, dict) else None
    acroform = catalog.get("AcroForm")
    fields = acroform.get("Fields") if isinstance(acroform, dict) else None
    if not isinstance(leaves, list) or not isinstance(fields, list) or len(fields) != 2:
        raise PdfSyntaxError(form.start, "the second revision is not the form with two signature fields")
    if len(leaves) > 2 * MAXIMUM_ATTACHMENTS:
        raise PdfSyntaxError(form.start, f"more than {MAXIMUM_ATTACHMENTS} attachments")
    pages = _page_numbers(pdf, revisions)
    attachments = tuple(read_attachment(pdf, form, leaf) for leaf in leaves[1::2])
    made = datetime(2000, 1, 1, tzinfo=UTC)
    if leaves:
        number = find_dictionary(pdf, revisions, leaves[1])[0] - 1
        parameters = form.object(pdf, number).dictionary().get("Params")
        made = read_pdf_date(parameters.get("ModDate") if isinstance(parameters, dict) else None)
    places = [_read_place(find_dictionary(pdf, revisions, field)[1], pages) for field in fields]
    return FormParts(attachments, places[0], places[1], made)


def _read_place(widget: Dictionary, pages: Sequence[int]) -> FieldPlace:
    page, box = widget.get("P"), widget.get("Rect")
    if (
        not isinstance(page, Reference)
        or page.number not in pages
        or not isinstance(box, list)
        or len(box) != 4
    ):
        raise PdfSyntaxError(0, "a signature field does not say where it stands")
    corners = [side for side in box if type(side) is int]
    if len(corners) != 4:
        raise PdfSyntaxError(0, "a signature field's box is not made of whole points")
    return FieldPlace(pages.index(page.number), (corners[0], corners[1], corners[2], corners[3]))
