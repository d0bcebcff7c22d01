"""A record of a refrigerant without a warming potential says so, and is printed all the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from guide.record.figures import Figures
from guide.record.sections import _with_co2e
from guide.refrigerant.catalogue import find
from tests.job.opened import OpenDesk


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[OpenDesk]:
    made = OpenDesk(tmp_path)
    yield made
    made.bench.close()


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("R-410A", "2.088 t CO2e (AR4 and 40 CFR 84.64)"),
        ("R-454B", "0.466 t CO2e (AR4); 0.465 t CO2e (40 CFR 84.64)"),
        ("R-290", "0.003 t CO2e (AR4)"),
        ("R-466A", "no CO2 equivalent: its GWP is not known (AR4 and 40 CFR 84.64)"),
    ],
)
def test_a_kilogram_is_given_in_co2_where_a_warming_potential_is_known(
    desk: OpenDesk, name: str, words: str
) -> None:
    order = replace(desk.work.state.order, refrigerant=find(name))
    state = replace(desk.work.state, order=order)

    assert _with_co2e(Decimal(1), state, Figures.of(order)).endswith(f"; {words}")
