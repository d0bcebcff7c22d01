"""Every figure agrees with its outside one, the page is fresh, and the sources are many."""

from __future__ import annotations

import math
from collections import Counter

import pytest

from tests.evidence.figure import Row
from tests.evidence.figures import MARKS, PAGE, gather, page, source_of

LEAST_FIGURES = 150
LEAST_SOURCES = 10
LIBRARIES = ("psychrolib", "chemicals", "iapws")


def test_every_figure_of_ours_lies_within_what_is_allowed_of_the_outside_one() -> None:
    assert [row for row in gather() if not row.agrees] == []


def test_the_page_is_the_one_these_figures_give() -> None:
    # Run `python -m tests.evidence.figures` and look at what changed.
    assert PAGE.read_text(encoding="utf-8") == page(gather())


def test_the_figures_and_their_sources_are_as_many_as_were_asked_for() -> None:
    assert len(gather()) >= LEAST_FIGURES
    assert len(set(map(source_of, gather()))) >= LEAST_SOURCES


@pytest.mark.parametrize("library", LIBRARIES)
def test_registry_libraries_are_among_the_sources(library: str) -> None:
    assert any(source_of(row).startswith(library) for row in gather() if row.mark == "LIBRARY")


def test_published_tables_are_among_the_sources_and_each_says_where_it_was_read() -> None:
    found = [row for row in gather() if row.mark == "FOUND"]
    assert len(set(map(source_of, found))) >= LEAST_SOURCES
    assert [row for row in found if " - " not in row.source] == []


def test_every_row_can_be_read_and_stands_once() -> None:
    counted = Counter((row.quantity, row.source) for row in gather())
    assert [key for key, count in counted.items() if count > 1] == []
    for row in gather():
        assert row.mark in MARKS, row
        assert row.unit.strip(), row
        assert row.quantity.strip(), row
        assert (row.quantity + row.source + row.unit).isprintable(), row
        assert math.isfinite(row.tolerance), row
        assert row.tolerance > 0.0, row


def test_no_tolerance_is_so_wide_that_it_proves_nothing() -> None:
    # Where the outside figure is zero the tolerance stands alone. What is known as a band, not as a figure,
    # may be half as wide as it is large.
    widest = {"FOUND": 0.25, "LIBRARY": 0.25, "CALCULATED": 0.5, "MEMORY": 0.5}
    assert [
        row for row in gather() if row.outside and row.tolerance > widest[row.mark] * abs(row.outside)
    ] == []


def test_a_figure_that_is_no_number_never_agrees() -> None:
    assert not Row("a, b", math.nan, 1.0, "K", 1.0, "x", "MEMORY").agrees
    assert not Row("a, b", 1.0, math.nan, "K", 1.0, "x", "MEMORY").agrees
    assert Row("a, b", 1.5, 1.0, "K", 0.5, "x", "MEMORY").agrees
