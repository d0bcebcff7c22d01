"""A record's content drawn as a PDF: the same content gives the same bytes, with the same libraries."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any, Final

from guide.record import plot, plot_time
from guide.record.content import RecordContent, Section
from guide.record.layout import (
    BOTTOM,
    HAIR,
    INK,
    SOFT,
    Box,
    Dot,
    Flow,
    Mark,
    Path,
    Text,
    flush_right,
)
from guide.record.lettering import BOLD, PLAIN, break_lines, printable, width, widths
from guide.record.pdf_form import FieldPlace

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_SIGN_BOX: Final = (222, 64)
_SMALL: Final = 7.0


@dataclass(frozen=True, slots=True)
class Drawn:
    """A finished PDF and the two places where signatures go."""

    pdf: bytes
    technician: FieldPlace
    customer: FieldPlace
    pages: int


def libraries() -> dict[str, str]:
    """The versions that decide about the bytes of a drawn PDF."""
    import reportlab

    return {"reportlab": str(reportlab.Version), "zlib": zlib.ZLIB_RUNTIME_VERSION}


def draw_record(content: RecordContent) -> Drawn:
    """The pages of a record: what departed from the plan first, the whole trail last."""
    flow = Flow(content.page_size)
    _title(flow, content)
    flow.heading("What departed from the plan")
    flow.table(content.exceptions)
    for section in content.sections:
        _section(flow, section)
    technician, customer = _signatures(flow, content)
    for section in content.annex:
        flow.new_page()
        _section(flow, section)
    return Drawn(_emit(flow, content.title, content), technician, customer, len(flow.pages))


def draw_customer_page(content: RecordContent) -> bytes:
    """The customer's page: what was done in plain words, and the fingerprint to keep."""
    page = content.customer
    flow = Flow(content.page_size)
    flow.paragraph(page.title, font=BOLD, size=19.0, after=8.0)
    flow.pairs(page.pairs, size=10.0, share=0.2)
    for title, lines in (("What was done", page.done), ("What to watch", page.watch)):
        flow.heading(title)
        for line in lines:
            flow.paragraph(line, size=10.5, after=5.0)
    flow.heading("What to keep")
    first, *rest = page.keep
    flow.paragraph(first, font=BOLD, size=12.0, after=4.0)
    for line in rest:
        flow.paragraph(line, size=10.0)
    return _emit(flow, page.title, content)


def _title(flow: Flow, content: RecordContent) -> None:
    flow.paragraph(content.title, font=BOLD, size=19.0, after=1.0)
    flow.paragraph(content.subtitle, size=9.0, ink=SOFT, after=6.0)
    lines = break_lines(printable(content.result), BOLD, 10.5, flow.right - flow.left - 20)
    height = len(lines) * 14.0 + 11
    flow.put(Box(flow.left, flow.y - height, flow.right - flow.left, height, frame=INK))
    for number, line in enumerate(lines, start=1):
        flow.put(Text(flow.left + 10, flow.y - 3 - number * 14.0 + 2, line, BOLD, 10.5))
    flow.gap(height + 2)


def _section(flow: Flow, section: Section) -> None:
    if section.charts and not section.pairs:
        flow.need(plot_time.HEIGHT + 60)  # so that no title stands alone at the foot of a page
    flow.heading(section.title)
    for line in section.lines:
        flow.paragraph(line)
    if section.pairs:
        flow.pairs(section.pairs)
    if section.plot is not None:
        marks = plot.draw(section.plot, flow.left, flow.right, flow.y)
        if marks and flow.room < plot.HEIGHT:
            flow.new_page()
            marks = plot.draw(section.plot, flow.left, flow.right, flow.y)
        if marks:
            flow.put(*marks)
            flow.gap(plot.HEIGHT + 4)
    for chart in section.charts:
        flow.need(plot_time.HEIGHT + 4)
        flow.put(*plot_time.draw(chart, flow.left, flow.right, flow.y))
        flow.gap(plot_time.HEIGHT + 4)
    for table in section.tables:
        flow.table(table)


def _signatures(flow: Flow, content: RecordContent) -> tuple[FieldPlace, FieldPlace]:
    wide, tall = _SIGN_BOX
    height = 28.0 + 22.0 + tall
    for line in content.signing:
        height += 11.3 * len(break_lines(printable(line), PLAIN, 8.5, flow.right - flow.left)) + 4
    flow.need(min(height, flow.height - 2 * BOTTOM - 80))
    flow.heading("Signatures")
    for line in content.signing:
        flow.paragraph(line)
    flow.need(tall + 22.0)
    page = len(flow.pages) - 1
    bottom = int(flow.y - tall - 4)
    places = []
    for left, words in (
        (int(flow.left), "Technician, with the signing key"),
        (int(flow.right) - wide, "Customer, only with a certificate of their own"),
    ):
        flow.put(Box(left, bottom, wide, tall, frame=HAIR))
        flow.put(Text(left, bottom - 10, words, PLAIN, _SMALL, SOFT))
        places.append(FieldPlace(page, (left + 2, bottom + 2, left + wide - 2, bottom + tall - 2)))
    flow.gap(tall + 20.0)
    return places[0], places[1]


def _emit(flow: Flow, title: str, content: RecordContent) -> bytes:
    footer, word = content.footer, content.word
    from reportlab.pdfgen.canvas import Canvas

    for font in (PLAIN, BOLD):
        widths(font)
    out = BytesIO()
    canvas = Canvas(out, pagesize=(flow.width, flow.height), invariant=1, pageCompression=1, lang="en")
    canvas.setTitle(printable(f"{title}, {content.subtitle}"))
    canvas.setAuthor(printable(content.author))
    canvas.setSubject(printable(f"{word}: {footer}" if word else footer))
    _date(canvas, content.dated_utc)
    canvas.setCreator("chargewright")
    for number, marks in enumerate(flow.pages, start=1):
        for key, heading in flow.sections_on(number - 1):
            canvas.bookmarkPage(key)
            canvas.addOutlineEntry(heading, key, level=0)
        _draw(canvas, [*marks, *_furniture(flow, number, printable(title), printable(footer), word)])
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _date(canvas: Canvas, utc: str) -> None:
    """Date the file by the job's end and not by the clock: the same content gives the same bytes."""
    document: Any = canvas
    moment = datetime.fromisoformat(utc)
    document._doc._timeStamp.YMDhms = moment.timetuple()[:6]


def _furniture(flow: Flow, number: int, title: str, footer: str, word: str) -> list[Mark]:
    """What stands on every page: the word of a pretend job, footer, page x of y."""
    count = f"page {number} of {len(flow.pages)}"
    room = flow.right - flow.left - width(count, PLAIN, _SMALL) - 12
    line = break_lines(footer, PLAIN, _SMALL, room)[0]
    low = BOTTOM - 20
    marks: list[Mark] = [
        Path(((flow.left, low + 10), (flow.right, low + 10)), HAIR, 0.4),
        Text(flow.left, low, line, PLAIN, _SMALL, SOFT),
        flush_right(count, flow.right, low, font=PLAIN, size=_SMALL, ink=SOFT),
    ]
    high = flow.height - 36
    if number > 1:
        marks.append(Text(flow.left, high, title, PLAIN, _SMALL, SOFT))
    if word:
        said = f"{word}: no evidence of work on a real system"
        long = width(said, BOLD, 9.0)
        marks.append(Box(flow.right - long - 12, high - 5, long + 12, 16, fill=INK))
        marks.append(flush_right(said, flow.right - 6, high, font=BOLD, size=9.0, ink=1.0))
    return marks


def _draw(canvas: Canvas, marks: Sequence[Mark]) -> None:
    """Shapes first, then all text as one object: an object a line would cost a long record much time."""
    pen: Any = canvas
    for mark in marks:
        if not isinstance(mark, Text):
            _shape(pen, mark)
    text = pen.beginText()
    face: tuple[str, float] | None = None
    ink: float | None = None
    for mark in marks:
        if not isinstance(mark, Text):
            continue
        if face != (mark.font, mark.size):
            face = (mark.font, mark.size)
            text.setFont(*face)
        if ink != mark.ink:
            ink = mark.ink
            text.setFillGray(ink)
        text.setTextOrigin(mark.x, mark.y)
        text.textOut(mark.text)
    pen.drawText(text)


def _shape(pen: Any, mark: Box | Path | Dot) -> None:
    if isinstance(mark, Box):
        if mark.fill is not None:
            pen.setFillGray(mark.fill)
        if mark.frame is not None:
            pen.setStrokeGray(mark.frame)
            pen.setLineWidth(0.6)
        pen.rect(
            mark.x, mark.y, mark.width, mark.height,
            stroke=int(mark.frame is not None), fill=int(mark.fill is not None),
        )  # fmt: skip
    elif isinstance(mark, Dot):
        pen.setFillGray(mark.ink)
        pen.circle(mark.x, mark.y, mark.radius, stroke=0, fill=1)
    else:
        pen.setStrokeGray(mark.ink)
        pen.setLineWidth(mark.thickness)
        pen.setDash([2, 2] if mark.dashed else [])
        path = pen.beginPath()
        path.moveTo(*mark.points[0])
        for point in mark.points[1:]:
            path.lineTo(*point)
        pen.drawPath(path, stroke=1, fill=0)
        pen.setDash([])
