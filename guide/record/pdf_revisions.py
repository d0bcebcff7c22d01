"""The revisions of a PDF file: reading their chain strictly, and adding one.

A PDF grows by appending: each revision is a body of objects, a cross-reference table that says
where they stand, a trailer that points at the table before it, and an end mark
(ISO 32000-1:2008, 7.5 [MEMORY]). Only the classical table is read; the compressed form is not
what our records use and is refused.
"""

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from guide.record.pdf_syntax import (
    Dictionary,
    IndirectObject,
    PdfSyntaxError,
    Reference,
    read_object,
    read_value,
    skip_space,
    write_value,
)

MAXIMUM_REVISIONS = 16
MAXIMUM_OBJECTS = 200_000

_TAIL = re.compile(rb"startxref\n(\d{1,10})\n%%EOF\n")
_SUBSECTION = re.compile(rb"(\d{1,7}) (\d{1,7}) ?\n")
_ENTRY = re.compile(rb"(\d{10}) (\d{5}) ([nf])[ \r]\n")


@dataclass(frozen=True, slots=True)
class Revision:
    """One revision: bytes ``[start, end)``, its table's offset, where its objects stand, its trailer."""

    start: int
    table_at: int
    end: int
    offsets: Mapping[int, int]
    trailer: Dictionary

    def object(self, pdf: bytes, number: int) -> IndirectObject:
        """The object of that number as this revision writes it.

        Raises:
            PdfSyntaxError: when the revision does not hold it where its table says.
        """
        at = self.offsets.get(number)
        if at is None or not self.start <= at < self.table_at:
            raise PdfSyntaxError(self.table_at, f"object {number} does not stand in this revision")
        found = read_object(pdf, at)
        if found.number != number or found.end > self.table_at:
            raise PdfSyntaxError(at, f"object {number} does not stand where the table says")
        return found


def _read_table(pdf: bytes, at: int) -> tuple[dict[int, int], Dictionary, int]:
    if not pdf.startswith(b"xref\n", at):
        raise PdfSyntaxError(at, "a cross-reference table should stand here")
    table_at, at = at, at + 5
    offsets: dict[int, int] = {}
    seen = 0
    while match := _SUBSECTION.match(pdf, at):
        first, count = int(match.group(1)), int(match.group(2))
        at = match.end()
        seen += count
        if seen > MAXIMUM_OBJECTS:
            raise PdfSyntaxError(at, f"more than {MAXIMUM_OBJECTS} objects")
        for number in range(first, first + count):
            entry = _ENTRY.match(pdf, at)
            if entry is None or number in offsets:
                raise PdfSyntaxError(at, "a line of the cross-reference table is damaged")
            if entry.group(3) == b"n" and entry.group(2) == b"00000":
                offsets[number] = int(entry.group(1))
            elif (number, entry.group()[:18]) != (0, b"0000000000 65535 f"):
                raise PdfSyntaxError(at, "the cross-reference table frees an object")
            at = entry.end()
    if not pdf.startswith(b"trailer", at):
        raise PdfSyntaxError(at, "the trailer should stand here")
    trailer, at = read_value(pdf, at + 7)
    at = skip_space(pdf, at)
    tail = _TAIL.match(pdf, at)
    if tail is None or int(tail.group(1)) != table_at or not isinstance(trailer, dict):
        raise PdfSyntaxError(at, "a revision does not end as it should")
    return offsets, trailer, tail.end()


def read_revisions(pdf: bytes) -> tuple[Revision, ...]:
    """The revisions of a file, oldest first, without a byte left over between or behind them.

    Raises:
        PdfSyntaxError: when the chain is not plainly well formed from the last byte to the first.
    """
    if not re.match(rb"%PDF-[12]\.\d[\r\n]", pdf):
        raise PdfSyntaxError(0, "the file does not start as a PDF file starts")
    last = pdf.rfind(b"startxref\n")
    tail = _TAIL.match(pdf, last) if last >= 0 else None
    if tail is None:
        raise PdfSyntaxError(max(last, 0), "the file does not end as a PDF file ends: it was cut or damaged")
    if tail.end() != len(pdf):
        raise PdfSyntaxError(tail.end(), f"{len(pdf) - tail.end()} bytes stand behind the end of the record")
    links: list[tuple[int, int, dict[int, int], Dictionary]] = []
    table_at: int | None = int(tail.group(1))
    while table_at is not None:
        offsets, trailer, end = _read_table(pdf, table_at)
        links.append((table_at, end, offsets, trailer))
        previous = trailer.get("Prev")
        if previous is not None and (type(previous) is not int or not 0 < previous < table_at):
            raise PdfSyntaxError(table_at, "the trailer points at no earlier revision")
        if len(links) > MAXIMUM_REVISIONS:
            raise PdfSyntaxError(table_at, f"more than {MAXIMUM_REVISIONS} revisions")
        table_at = previous
    links.reverse()
    starts = [0, *(end for _, end, _, _ in links)]
    if starts[-1] != len(pdf) or starts != sorted(starts):
        raise PdfSyntaxError(starts[-1], "the revisions do not follow one another to the end of the file")
    return tuple(
        Revision(start, at, end, offsets, trailer)
        for start, (at, end, offsets, trailer) in zip(starts, links, strict=False)
    )


def find_object(pdf: bytes, revisions: Sequence[Revision], number: int) -> IndirectObject:
    """The newest writing of an object.

    Raises:
        PdfSyntaxError: when no revision holds it.
    """
    for revision in reversed(revisions):
        if number in revision.offsets:
            return revision.object(pdf, number)
    raise PdfSyntaxError(0, f"object {number} is missing")


def find_dictionary(pdf: bytes, revisions: Sequence[Revision], reference: object) -> tuple[int, Dictionary]:
    """Follow a reference to a dictionary; answer its object number too.

    Raises:
        PdfSyntaxError: when it is no reference, or leads to something else.
    """
    if not isinstance(reference, Reference):
        raise PdfSyntaxError(0, "a reference to an object is missing")
    return reference.number, find_object(pdf, revisions, reference.number).dictionary()


def add_revision(pdf: bytes, last: Revision, objects: Mapping[int, bytes]) -> bytes:
    """Append one revision that holds ``objects`` (number → spelt object), in the order given.

    Equal input gives equal bytes. The second half of the file identifier is a digest of all that
    stood before.
    """
    body: list[bytes] = []
    offsets: dict[int, int] = {}
    at = len(pdf)
    for number, spelt in objects.items():
        offsets[number] = at
        body.append(spelt)
        at += len(spelt)
    lines = [b"xref\n"]
    numbers = sorted(offsets)
    position = 0
    while position < len(numbers):
        stop = position
        while stop < len(numbers) and numbers[stop] - numbers[position] == stop - position:
            stop += 1
        lines.append(b"%d %d\n" % (numbers[position], stop - position))
        lines.extend(b"%010d 00000 n \n" % offsets[number] for number in numbers[position:stop])
        position = stop
    identifier = last.trailer.get("ID")
    first_half = identifier[0] if isinstance(identifier, list) and identifier else b""
    trailer: Dictionary = {
        "Size": max(next_number(last), numbers[-1] + 1),
        "Root": last.trailer.get("Root"),
        "ID": [first_half, hashlib.sha256(pdf).digest()[:16]],
        "Prev": last.table_at,
    }
    if "Info" in last.trailer:
        trailer["Info"] = last.trailer["Info"]
    end = b"trailer\n" + write_value(trailer) + b"\nstartxref\n%d\n%%%%EOF\n" % at
    return b"".join([pdf, *body, *lines, end])


def next_number(last: Revision) -> int:
    """The first object number not used yet.

    Raises:
        PdfSyntaxError: when the trailer does not say.
    """
    size = last.trailer.get("Size")
    if type(size) is not int or not 0 < size < MAXIMUM_OBJECTS:
        raise PdfSyntaxError(last.table_at, "the trailer does not state the number of objects")
    return size
