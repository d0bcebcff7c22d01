"""Charts as text: they fit any window, say their numbers, and need no colour."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.job.series import Bound, ChargingPath, PathPoint, Phase, Sample, Trace
from guide.journal.event import Stamp
from guide.screens.chart import Curve, Picture, chart
from guide.screens.chart_axis import Axis, linear_axis, log_axis, thinned, tight_axis
from guide.screens.chart_series import charging_picture, trace_picture
from guide.screens.paint import plain, width_of
from guide.units import UnitError

SOME = settings(max_examples=120, deadline=None)
VALUES = st.lists(st.floats(min_value=-1e9, max_value=1e9), min_size=1, max_size=30)
STAMP = Stamp("2026-11-25T10:42:07.123456Z", "+01:00", 0, "b")
_ROUNDS = ((0, 28.0, 4.0), (2, 24.0, 5.2), (6, 17.0, 7.0), (12, 7.0, 10.4), (9.5, 11.8, 9.0))
PATH = ChargingPath(
    "superheat",
    5 / 1.8,
    tuple(
        PathPoint(number, ounces * 0.45359237 / 16, superheat / 1.8, subcooling / 1.8, 12 / 1.8)
        for number, (ounces, superheat, subcooling) in enumerate(_ROUNDS, start=1)
    ),
)
_PULLED: tuple[tuple[float, float, Phase], ...] = (
    (0, 20000, ""), (10, 3000, ""), (25, 900, ""), (40, 420, ""), (41, 430, "start"), (51, 480, "end"),
)  # fmt: skip
VACUUM = Trace(
    "system_vacuum",
    "Vacuum in the system",
    "micron",
    STAMP,
    tuple(Sample(minute * 60, micron * 0.133322387415, "1", phase) for minute, micron, phase in _PULLED),
    bounds=(Bound("at most", 500 * 0.133322387415),),
)


GOLDEN_PATH = """\
* suph 11.8 o subc 9.0 F : target
target superheat 12.0 +- 5.0 F :
30 |*.
   | .....*.
20 |       ........
   |::::::::::::::...*....:::::::::::::
   |:::::::::::::::::::::......*..:::..
10 |::::::::::.......o.........o......*
   |o.....o...
 0 |
   +-------- net into the system [oz] -
    0                          10"""

GOLDEN_VACUUM = """\
● 480 micron, 51.0 min, Vacuum in the s…
╌ limit: at most 500 micron
time from 11:42:07
20000 │●⣀
      │  ⠑⢤
 5000 │    ⠑⠢●
      │       ⠉⠑⠒⠤⢄⣀
 1000 │             ⠉⠓●⠤⠤⢄⣀⣀
      │╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌⠉⠉⠒●●⠒⠒⠒⠒⠊●
  200 │
      └────────────────────────── min ─
       0                            50"""


def charging() -> Picture:
    return charging_picture(PATH, american=True)


def vacuum() -> Picture:
    return trace_picture(VACUUM, site_pressure_Pa=101325)


@SOME
@given(
    st.lists(
        st.lists(st.tuples(st.floats(), st.floats()), max_size=12).map(tuple), max_size=3
    ),
    st.none() | st.tuples(st.floats(), st.floats()),
    st.lists(st.floats(), max_size=2),
    st.lists(st.text(max_size=60), min_size=1, max_size=4),
    st.lists(st.text(max_size=40), max_size=12),
    st.integers(min_value=0, max_value=140),
    st.integers(min_value=0, max_value=40),
    st.booleans(),
    st.booleans(),
)  # fmt: skip
def test_no_picture_raises_or_leaves_its_window(
    curves: list[tuple[tuple[float, float], ...]],
    band: tuple[float, float] | None,
    levels: list[float],
    heads: list[str],
    rows: list[str],
    width: int,
    height: int,
    log: bool,
    ascii_only: bool,
) -> None:
    picture = Picture(
        heads=tuple(heads),
        x_label="min",
        y_label="micron",
        curves=tuple(Curve(points) for points in curves),
        band=band,
        levels=tuple(levels),
        log=log,
        rows=tuple(rows),
        rows_head="numbers",
    )
    lines = chart(picture, width, height, ascii_only=ascii_only)
    assert len(lines) <= height
    assert all(width_of(line) <= width for line in lines)
    if ascii_only:
        assert plain(lines).isascii()


@SOME
@given(VALUES, st.integers(min_value=2, max_value=20))
@pytest.mark.parametrize("make", [linear_axis, tight_axis, log_axis])
def test_numbers_at_an_axis_rise_and_hold_every_value(make: object, values: list[float], most: int) -> None:
    axis = make(values, most)  # type: ignore[operator]  # three functions of one form
    assert isinstance(axis, Axis)
    numbers = [float(label) for label in axis.labels]
    assert numbers == sorted(set(numbers))
    assert 2 <= len(numbers) <= max(most, 3)
    assert axis.low <= axis.ticks[0]
    assert axis.ticks[-1] <= axis.high
    if make is not log_axis:
        slack = 1e-6 * max(1.0, *(abs(value) for value in values))
        assert axis.low - slack <= min(values)
        assert max(values) <= axis.high + slack
    shares = [axis.share(value) for value in sorted(values)]
    assert shares == sorted(shares)
    assert all(0 <= share <= 1 for share in shares)


@SOME
@given(VALUES, st.integers(min_value=2, max_value=12), st.integers(min_value=2, max_value=12))
def test_a_thinned_axis_keeps_both_ends(values: list[float], most: int, fewer: int) -> None:
    axis = linear_axis(values, most)
    thin = thinned(axis, fewer)
    assert (thin.ticks[0], thin.ticks[-1]) == (axis.ticks[0], axis.ticks[-1])
    assert len(thin.ticks) <= max(2, fewer)


@pytest.mark.parametrize("size", [(36, 6), (40, 12), (60, 10), (80, 24), (110, 28)])
@pytest.mark.parametrize("make", [charging, vacuum])
def test_the_newest_numbers_stand_in_every_size(make: object, size: tuple[int, int]) -> None:
    picture = make()  # type: ignore[operator]  # two functions of one form
    text = plain(chart(picture, *size))
    wanted = ("11.8", "9.0") if make is charging else ("480 micron", "51.0 min")
    assert all(word in text for word in wanted)
    assert len(text.splitlines()) <= size[1]


@pytest.mark.parametrize("size", [(80, 24), (110, 28)])
def test_where_there_is_room_every_number_stands_beside(size: tuple[int, int]) -> None:
    text = plain(chart(vacuum(), *size))
    for word in ("20000 micron", "3000 micron", "430 micron start", "480 micron end", "at most 500 micron"):
        assert word in text


def test_the_ascii_chart_of_a_charging_path_is_this() -> None:
    assert plain(chart(charging(), 40, 12, ascii_only=True)) == GOLDEN_PATH


def test_the_chart_of_a_vacuum_is_this() -> None:
    assert plain(chart(vacuum(), 40, 12)) == GOLDEN_VACUUM


def test_a_vacuum_falls_by_equal_steps_for_equal_ratios() -> None:
    axis = log_axis([10.0, 100000.0], 9)
    assert math.isclose(axis.share(1000.0) - axis.share(100.0), axis.share(10000.0) - axis.share(1000.0))
    assert axis.labels == ("10", "100", "1000", "10000", "100000")


def test_one_round_alone_makes_a_picture() -> None:
    one = charging_picture(ChargingPath("subcooling", 1.7, PATH.points[:1]), american=False)
    text = plain(chart(one, 80, 24))
    assert "target subcooling 6.7 ± 1.7 K" in text
    assert text.count("●") == 2


def test_a_round_without_a_figure_says_so_in_the_table() -> None:
    bare = ChargingPath("superheat", 2.8, (PathPoint(1, 0.0, None, None, None),))
    assert "superheat -" in plain(chart(charging_picture(bare, american=True), 80, 24))


def test_a_trace_is_drawn_in_the_unit_asked_for_and_a_strange_one_is_refused() -> None:
    assert "64 Paa" in plain(chart(trace_picture(VACUUM, site_pressure_Pa=101325, unit="Paa"), 80, 24))
    with pytest.raises(UnitError):
        trace_picture(VACUUM, site_pressure_Pa=101325, unit="furlong")
