"""The simulated plant stands beside published measurements, and where it leaves them is said."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.evidence import plant_published as published
from tests.evidence.plant_outside import WHY
from tests.evidence.plant_row import Compared
from tests.evidence.plant_table import PAGE, gather, page

LEAST_ROWS = 250


def test_the_page_is_the_one_these_rows_give() -> None:
    # Run `python -m tests.evidence.plant_table` and look at what changed.
    assert PAGE.read_text(encoding="utf-8") == page(gather())


def test_the_rows_outside_their_bands_are_those_that_are_explained() -> None:
    assert {row.key for row in gather() if not row.inside} == set(WHY)


def test_every_explanation_is_one_sentence() -> None:
    for words in WHY.values():
        assert words.endswith("."), words
        assert len(words.split()) >= 6, words


def test_most_rows_lie_inside_their_bands() -> None:
    assert len(gather()) >= LEAST_ROWS
    assert sum(row.inside for row in gather()) >= 0.75 * len(gather())


def test_every_row_can_be_read_and_stands_once() -> None:
    counted = Counter(row.key for row in gather())
    assert [key for key, count in counted.items() if count > 1] == []
    for row in gather():
        assert row.low <= row.high, row
        assert all(text.strip() and text.isprintable() for text in (row.key, row.band, row.source)), row
        if row.measured is not None:
            assert row.low <= row.measured <= row.high, row


def test_a_row_without_a_model_figure_never_counts_as_inside() -> None:
    nan = float("nan")
    assert not Compared("a", "b", nan, 1.0, 0.0, 2.0, "K", "x", "y", "FOUND").inside


@pytest.mark.parametrize(
    ("percent", "capacity", "power"),
    [(70, 0.798, 0.963), (80, 0.888, 0.978), (90, 0.956, 0.990), (110, 1.012, 1.015), (130, 1.028, 1.062)],
)
def test_the_correlation_of_charge_gives_its_published_table(
    percent: int, capacity: float, power: float
) -> None:
    """CALCULATED table beside the published coefficients, 80 °F indoors, 95 °F outdoors."""
    error, indoor_C, outdoor_C = percent / 100 - 1, 26.6667, 35.0
    assert published.nist("capacity", error, indoor_C, outdoor_C) == pytest.approx(capacity, abs=6e-4)
    assert published.nist("total power", error, indoor_C, outdoor_C) == pytest.approx(power, abs=6e-4)


@pytest.mark.parametrize(
    ("fault", "size", "capacity", "cop"),
    [
        (published.UNDER_PACKAGED, 0.3, 0.797, 0.855),
        (published.UNDER_SPLIT, 0.2, 0.916, 0.953),
        (published.OVER, 0.2, 0.922, 0.952),
        (published.RESTRICTION, 0.25, 0.845, 0.832),
        (published.GAS, 0.5, 1.025, 0.951),
        (published.AIR_SPLIT, 0.5, 0.923, 0.808),
        (published.AIR_PACKAGED, 0.5, 0.956, 0.783),
    ],
)
def test_the_fits_of_troubles_give_their_published_table(
    fault: str, size: float, capacity: float, cop: float
) -> None:
    """CALCULATED table beside the published coefficients, 67 °F wet bulb, 95 °F outdoors."""
    assert published.nrel(fault, "capacity", size) == pytest.approx(capacity, abs=1.5e-3)
    assert published.nrel_cop(fault, size) == pytest.approx(cop, abs=1.5e-3)


def test_the_airflow_polynomials_are_one_at_the_rated_flow() -> None:
    assert published.airflow_capacity(1.0) == 1.0
    assert published.airflow_eir(1.0) == 1.0
    assert published.airflow_capacity(0.8) == pytest.approx(0.966, abs=5e-4)
    assert published.airflow_capacity(0.6) == pytest.approx(0.920, abs=5e-4)
