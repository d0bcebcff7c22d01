"""Pages as marks: nothing outside the paper, nothing lost, nothing a font can't show."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.job import payloads as p
from guide.journal.event import Stamp
from guide.record import plot
from guide.record.content import Plot, PlotPoint, Table
from guide.record.figures import Figures, local_time, span
from guide.record.layout import BOTTOM, MARGIN, Box, Dot, Flow, Path, Text
from guide.record.lettering import BOLD, PLAIN, break_lines, printable, width

FEW = settings(max_examples=60, deadline=None)
FIGURES = Figures(american=True, site_pressure_Pa=Decimal("101325"))


def texts(flow: Flow) -> list[Text]:
    return [mark for page in flow.pages for mark in page if isinstance(mark, Text)]


@FEW
@given(st.text(max_size=300), st.floats(min_value=20, max_value=400))
def test_broken_lines_fit_and_lose_nothing(text: str, room: float) -> None:
    shown = printable(text)
    lines = break_lines(shown, PLAIN, 8.0, room)
    assert all(width(line, PLAIN, 8.0) <= room or len(line) == 1 for line in lines)
    assert "".join("".join(lines).split()) == "".join(shown.split())


@FEW
@given(st.text(max_size=200))
def test_what_is_printable_has_a_letter_in_both_fonts(text: str) -> None:
    for line in printable(text).split("\n"):
        assert width(line, PLAIN, 8.0) >= 0
        assert width(line, BOLD, 8.0) >= 0


def test_letters_without_a_shape_stand_as_their_code() -> None:
    assert printable("中") == "[U+4E2D]"
    assert printable("שלום")[:8] == "[U+05E9]"
    assert printable("Łódź Ж α ± ≤ °") == "Łódź Ж α ± ≤ °"


@FEW
@given(st.lists(st.tuples(st.text(max_size=400), st.text(max_size=2000)), max_size=30))
def test_no_mark_leaves_the_paper_and_no_cell_is_cut(rows: list[tuple[str, str]]) -> None:
    flow = Flow("A4")
    flow.table(Table(("one", "two"), (0.3, 0.7), tuple(rows), title="a table"))
    for mark in texts(flow):
        assert flow.left <= mark.x
        assert mark.x + width(mark.text, mark.font, mark.size) <= flow.right + 1
        assert BOTTOM - 1 <= mark.y <= flow.height - MARGIN
    printed = "".join("".join(mark.text.split()) for mark in texts(flow))
    for row in rows:
        for cell in row:
            assert len("".join(printable(cell).split())) <= len(printed)


def test_a_row_taller_than_a_page_runs_on_over_the_next() -> None:
    flow = Flow("Letter")
    flow.table(Table(("n", "text"), (0.1, 0.9), (("1", "word " * 8000),)))
    assert len(flow.pages) > 2
    assert sum(mark.text.split().count("word") for mark in texts(flow)) == 8000
    heads = [mark for page in flow.pages for mark in page if isinstance(mark, Text) and mark.text == "text"]
    assert len(heads) == len(flow.pages)


@FEW
@given(
    st.lists(
        st.tuples(
            st.floats(min_value=-50, max_value=50),
            st.none() | st.floats(min_value=-100, max_value=100),
            st.none() | st.floats(min_value=-100, max_value=100),
            st.none() | st.floats(min_value=0, max_value=50),
        ),
        min_size=1,
        max_size=40,
    ),
    st.booleans(),
)
def test_a_plot_stays_in_its_strip(
    rounds: list[tuple[float, float | None, float | None, float | None]], american: bool
) -> None:
    points = tuple(PlotPoint(number, *row) for number, row in enumerate(rounds, start=1))
    marks = plot.draw(Plot("superheat", 2.78, points, american), MARGIN, 549.0, 600.0)
    for mark in marks:
        match mark:
            case Text():
                ys, xs = [mark.y], [mark.x, mark.x + width(mark.text, mark.font, mark.size)]
            case Box():
                ys, xs = [mark.y, mark.y + mark.height], [mark.x, mark.x + mark.width]
            case Dot():
                ys, xs = [mark.y], [mark.x]
            case Path():
                ys, xs = [y for _, y in mark.points], [x for x, _ in mark.points]
        assert all(600.0 - plot.HEIGHT - 1 <= y <= 601 for y in ys), mark
        assert all(MARGIN - 12 <= x <= 555 for x in xs), mark


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (FIGURES.mass(Decimal("3.62873896")), "8 lb 0 oz (3.629 kg)"),
        (FIGURES.mass(Decimal("-0.07087381"), signed=True), "-2.5 oz (-0.071 kg)"),
        (FIGURES.mass(Decimal("0.17718451")), "6.25 oz (0.177 kg)"),
        (FIGURES.mass(Decimal("0.283495")), "10 oz (0.283 kg)"),
        (FIGURES.difference(Decimal("2.7778")), "5.0 °F (2.8 K)"),
        (FIGURES.difference(None), "–"),
        (FIGURES.spread(Decimal("7.8333"), Decimal("1.1667")), "14.1 ± 2.1 °F"),
        (Figures(american=False, site_pressure_Pa=Decimal(101325)).mass(Decimal("0.17")), "0.170 kg"),
        (span(45), "45 s"),
        (span(901), "15 min 01 s"),
        (span(7500), "2 h 05 min"),
    ],
)
def test_figures_print_in_the_orders_units_with_si_beside(shown: str, expected: str) -> None:
    assert shown == expected


def test_a_reading_prints_as_it_was_typed_and_an_unknown_unit_as_it_stands() -> None:
    value = p.ReadingValue(
        channel="suction_line", si=Decimal("285.427778"), unit="F", typed="54.1F", source="typed"
    )
    assert FIGURES.reading(value) == "54.1 °F"
    assert FIGURES.reading(value.model_copy(update={"unit": "furlong"})) == "54.1F"


def test_local_time_carries_its_offset() -> None:
    stamp = Stamp("2026-11-25T23:30:00.000000Z", "+01:00", 0, "b")
    assert local_time(stamp) == "2026-11-26 00:30:00 +01:00"
    assert local_time(Stamp("9999-12-31T23:59:59.000000Z", "+14:00", 0, "b")).startswith("9999")
