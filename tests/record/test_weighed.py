"""A record says of what a charge by weight was made, how full cylinders might get, and what of the room."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from guide.job import payloads as p
from guide.record.figures import Figures
from guide.record.working import balance
from tests.job.opened import FULL_ORDER, OpenDesk
from tests.job.test_cylinder import COLLARED, MIXED, PLAIN


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[OpenDesk]:
    made = OpenDesk(tmp_path)
    yield made
    made.bench.close()


def section_words(desk: OpenDesk, text: str, *, before: str = "15.4 lb") -> dict[str, str]:
    """The balance of a job whose recovery into E-1 has begun, its tables and labelled lines by name."""
    desk.work = desk.open_circuit(text)
    desk.weigh("R.1", "out", "E-1", before, "42 lb")
    payloads = tuple(p.read_payload(event.kind, event.body) for event in desk.work.events())
    state = desk.work.state
    section = balance(state, payloads, Figures.of(state.order))
    tables = {table.title: "\n".join(" | ".join(row) for row in table.rows) for table in section.tables}
    return tables | dict(section.pairs)


def test_the_parts_of_the_charge_stand_in_the_record_with_what_each_may_be_off(desk: OpenDesk) -> None:
    words = section_words(desk, FULL_ORDER)["Charge to weigh in"]

    assert "line set | +15 oz" in words
    assert "to weigh in | 8 lb 15 oz" in words


def test_fill_limits_stand_in_the_record_where_collars_are_known(desk: OpenDesk) -> None:
    title = "Fill limits of the recovery cylinders"
    assert title not in section_words(desk, FULL_ORDER)
    words = section_words(desk, FULL_ORDER.replace(PLAIN, COLLARED))[title]
    assert "water capacity 26.2lb, tare 15.4lb" in words
    assert "37 lb 9.75 oz" in words
    assert "2028-03-31" in words
    assert "68 lb 14" in section_words(desk, FULL_ORDER.replace(PLAIN, MIXED), before="40 lb")[title]


def test_a_room_stands_there_as_information(desk: OpenDesk) -> None:
    text = FULL_ORDER.replace("R-410A", "R-454B") + "room: {area: 650ft2, mounted: wall}\n"
    words = section_words(desk, text.replace("rating: non-flammable", "rating: flammable"))

    assert "4.05 kg of R-454B asks for a room of" in words["Room, as information"]
