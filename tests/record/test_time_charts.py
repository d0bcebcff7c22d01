"""Vacuum and holds on a record's page: in their strip, with their numbers in words."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from guide.record import plot_time
from guide.record.content import TimeChart, TimePoint
from guide.record.figures import Figures
from guide.record.holds import holds
from guide.record.layout import MARGIN, Box, Path, Text
from guide.record.lettering import width
from tests.job.test_series import evacuation

FIGURES = Figures(american=True, site_pressure_Pa=Decimal("101325"))


def test_the_section_names_channel_scale_values_and_limit() -> None:
    (section,) = holds(evacuation(), FIGURES)
    (chart,) = section.charts
    assert chart.log
    words = " ".join(m.text for m in plot_time.draw(chart, MARGIN, 549.0, 600.0) if isinstance(m, Text))
    for said in ("Vacuum in the system", "micron", "3000", "480 end", "dashed: at most 500 micron", "[min]"):
        assert said in words


def test_one_value_alone_makes_no_section() -> None:
    assert holds(evacuation()[:1], FIGURES) == ()


@settings(max_examples=80, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.floats(min_value=0, max_value=1e6),
            st.floats(min_value=-1e6, max_value=1e7),
            st.sampled_from(["", "start", "end"]),
        ),
        min_size=1,
        max_size=30,
    ),
    st.lists(st.floats(min_value=0, max_value=1e6), max_size=2),
    st.booleans(),
)
def test_a_chart_stays_in_its_strip(
    rows: list[tuple[float, float, str]], limits: list[float], log: bool
) -> None:
    points = tuple(TimePoint(*row) for row in sorted(rows))
    bounds = tuple(("at most", limit) for limit in limits)
    for mark in plot_time.draw(TimeChart("a channel", "micron", points, bounds, log), MARGIN, 549.0, 600.0):
        match mark:
            case Text():
                ys, xs = [mark.y], [mark.x, mark.x + width(mark.text, mark.font, mark.size)]
            case Box():
                ys, xs = [mark.y, mark.y + mark.height], [mark.x, mark.x + mark.width]
            case Path():
                ys, xs = [y for _, y in mark.points], [x for x, _ in mark.points]
            case _:
                ys, xs = [mark.y], [mark.x]
        assert all(600.0 - plot_time.HEIGHT - 1 <= y <= 601 for y in ys), mark
        assert all(MARGIN - 8 <= x <= 555 for x in xs), mark
