"""A record says of what a charge by weight was made, how full cylinders might get, and what of the room."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from guide.record.figures import Figures
from guide.record.working import balance
from tests.job.opened import FULL_ORDER, OpenDesk
from tests.job.test_cylinder import COLLARED, MIXED, PLAIN


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[OpenDesk]:
    made = OpenDesk(tmp_path)
    yield made
    made.bench.close()


def section_words(desk: OpenDesk, text: str) -> dict[str, str]:
    desk.work = desk.open_circuit(text)
    state = desk.work.state
    section = balance(state, (), Figures.of(state.order))
    tables = {table.title: "\n".join(" | ".join(row) for row in table.rows) for table in section.tables}
    return tables | dict(section.pairs)


def test_the_parts_of_the_charge_stand_in_the_record_with_what_each_may_be_off(desk: OpenDesk) -> None:
    words = section_words(desk, FULL_ORDER)["Charge to weigh in"]

    assert "line set | +15 oz" in words
    assert "to weigh in | 8 lb 15 oz" in words


def test_fill_limits_stand_in_the_record_where_collars_are_known(desk: OpenDesk) -> None:
    assert "Fill limits of the recovery cylinders" not in section_words(desk, FULL_ORDER)
    words = section_words(desk, FULL_ORDER.replace(PLAIN, COLLARED))["Fill limits of the recovery cylinders"]
    assert "37 lb 9.75 oz" in words
    assert "80 % liquid at 77 °F, R-410A" in words
    assert "2028-03-31" in words
    mixed = section_words(desk, FULL_ORDER.replace(PLAIN, MIXED))["Fill limits of the recovery cylinders"]
    assert "R-410A" in mixed


def test_a_room_stands_there_as_information(desk: OpenDesk) -> None:
    text = FULL_ORDER.replace("R-410A", "R-454B") + "room: {area: 650ft2, mounted: wall}\n"
    words = section_words(desk, text.replace("rating: non-flammable", "rating: flammable"))

    assert "4.05 kg of R-454B asks for a room of" in words["Room, as information"]
