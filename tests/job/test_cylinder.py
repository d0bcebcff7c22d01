"""Cylinders with their collars on the order: fill limits told, held to, departed from; retest; mixed ones."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.exceptions import departures
from guide.job.fit import room_against
from guide.job.focus import Refused
from guide.journal.event import Event
from guide.record.again import decide_again
from tests.job.opened import FULL_ORDER, OpenDesk, opened_procedure, read
from tests.job.small import ORDER, order

POUND = Decimal("0.45359237")
PLAIN = "{id: E-1, refrigerant: R-410A, contents: empty}"
COLLARED = (
    "{id: E-1, refrigerant: R-410A, contents: empty, water_capacity: 26.2lb, tare: 15.4lb, "
    "service_pressure: 400psig, tested: '2023-03-31'}"
)
MIXED = (
    "{id: E-1, refrigerant: mixed, holds: [R-22, R-410A], contents: recovered, water_capacity: 47.7lb, "
    "tare: 28.5lb}"
)
WITH_COLLAR = FULL_ORDER.replace(PLAIN, COLLARED)
# 0.8 x 26.2 lb x 1058.62/999.0 and 15.4 lb make 37.61 lb (CALCULATED): 37 lb 9.75 oz in quarter ounces
STOP_lb = Decimal("37.609375")


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[OpenDesk]:
    made = OpenDesk(tmp_path, WITH_COLLAR)
    yield made
    made.bench.close()


def with_cylinder(desk: OpenDesk, written: str) -> None:
    desk.work = desk.open_circuit(FULL_ORDER.replace(PLAIN, written))


def events(desk: OpenDesk) -> list[Event]:
    return list(desk.bench.journal.events(desk.work.state.job))


def told(desk: OpenDesk) -> list[str]:
    return [d.words for d in departures(desk.work.state.order, events(desk)) if d.sort == "cylinder"]


def test_the_weight_to_stop_at_is_known_before_anything_moves(desk: OpenDesk) -> None:
    known = desk.work.state.order.cylinder("E-1")
    assert known is not None
    stop = known.stop_at_kg("R-410A", desk.work.state.order.scale_division.si)
    assert stop is not None
    assert abs(stop - STOP_lb * POUND) < Decimal("1e-5")
    assert known.stamped == "water capacity 26.2lb, tare 15.4lb, service pressure 400psig"
    assert str(known.retest_due) == "2028-03-31"


def test_it_stands_in_the_event_that_begins_the_weighing(desk: OpenDesk) -> None:
    desk.work.do(c.BeginWeigh("R.1", "out", "E-1", read("cylinder_weight", "15.4 lb")))

    begun = p.read_payload(events(desk)[-1].kind, events(desk)[-1].body)
    assert isinstance(begun, p.WeighBegun)
    assert begun.stop_at_kg is not None
    assert abs(begun.stop_at_kg - STOP_lb * POUND) < Decimal("1e-5")


def test_a_cylinder_that_is_full_is_refused(desk: OpenDesk) -> None:
    desk.weigh("R.1", "out", "E-1", "15.4 lb", "37 lb 9.75 oz")

    with pytest.raises(Refused, match=r"is full at 37 lb 9\.75 oz; recover into another"):
        desk.weigh("R.1", "out", "E-1", "37 lb 9.75 oz", "38 lb")
    assert told(desk) == []


def test_one_filled_beyond_its_limit_is_a_departure(desk: OpenDesk) -> None:
    desk.weigh("R.1", "out", "E-1", "15.4 lb", "38 lb")

    assert told(desk) == ["cylinder E-1 is 177 g over its fill limit: recover that much out of it again"]


def test_a_corrected_weight_is_held_against_the_limit_too(desk: OpenDesk) -> None:
    desk.weigh("R.1", "out", "E-1", "15.4 lb", "30 lb")
    entry = next(e for e in desk.work.state.entries if e.channel == "weight after")
    desk.work.do(
        c.Correct(entry.seq, "weight after", read("cylinder_weight", "38 lb"), desk.work.keep("typed"))
    )

    assert told(desk) == ["cylinder E-1 is 177 g over its fill limit: recover that much out of it again"]


def test_the_decisions_about_cylinders_come_out_the_same_again(desk: OpenDesk) -> None:
    from guide.job.state import begin

    desk.weigh("R.1", "out", "E-1", "15.4 lb", "38 lb")
    start = begin(desk.work.state.job, order(WITH_COLLAR), opened_procedure())

    decide_again(start, events(desk))


def refused_with(desk: OpenDesk, before: Decimal, after: Decimal) -> str:
    """Why a recovery into E-1 between two weights [lb] was refused; empty where it was not."""
    try:
        desk.weigh("R.1", "out", "E-1", f"{before} lb", f"{after} lb")
    except Refused as refused:
        return str(refused)
    return ""


@settings(max_examples=10, deadline=None)
@given(st.decimals(min_value=10, max_value=45, places=3), st.decimals(min_value=0, max_value=20, places=3))
def test_no_filling_begins_at_the_limit_and_every_end_above_it_is_told(
    before: Decimal, more: Decimal
) -> None:
    with TemporaryDirectory() as folder:
        used = WITH_COLLAR.replace("contents: empty, water", "contents: recovered, water")
        desk = OpenDesk(Path(folder), used)
        division_lb = desk.work.state.order.scale_division.si / POUND
        words = refused_with(desk, before, before + more)
        if words:
            full = before > STOP_lb - division_lb
            assert ("is full at" if full else "less than its tare") in words
        else:
            assert before < STOP_lb
            over = before + more - STOP_lb
            assert bool(told(desk)) == (over > division_lb / 2) or abs(over) < division_lb
        desk.bench.close()


@pytest.mark.parametrize(
    ("weight", "words"), [("13 lb", "less than its tare"), ("20 lb", "something is in it")]
)
def test_an_empty_cylinder_weighs_what_its_collar_says(desk: OpenDesk, weight: str, words: str) -> None:
    with pytest.raises(Refused, match=words):
        desk.weigh("R.1", "out", "E-1", weight, "30 lb")


def test_one_past_its_retest_is_refused_for_filling_and_told_of_when_it_is_emptied(desk: OpenDesk) -> None:
    with_cylinder(desk, PLAIN.replace("}", ", retest_due: '2026-11-24'}"))
    with pytest.raises(Refused, match="may be emptied, not filled"):
        desk.weigh("R.1", "out", "E-1", "15.4 lb", "20 lb")

    desk.work = desk.open_circuit(
        FULL_ORDER.replace("N-14, refrigerant: R-410A, contents: virgin", "N-14, refrigerant: R-410A, "
        "contents: virgin, retest_due: '2026-11-24'")
    )  # fmt: skip
    desk.recovered()
    desk.tight()
    desk.charged()
    assert told(desk) == ["cylinder N-14: its retest was due on 2026-11-24: it may be emptied, not filled"]


def test_a_cylinder_too_weak_for_the_refrigerant_is_refused(desk: OpenDesk) -> None:
    with_cylinder(desk, COLLARED.replace("400psig", "350psig"))

    with pytest.raises(Refused, match="take one of a higher service pressure"):
        desk.weigh("R.1", "out", "E-1", "15.4 lb", "20 lb")


def test_mixed_contents_take_more_of_the_same_by_the_lightest_liquid_and_give_nothing(desk: OpenDesk) -> None:
    with_cylinder(desk, MIXED)

    desk.weigh("R.1", "out", "E-1", "40 lb", "48 lb")
    begun = next(b for b in map(_payload, events(desk)) if isinstance(b, p.WeighBegun))
    assert begun.stop_at_kg is not None
    assert float(begun.stop_at_kg / POUND) == pytest.approx(28.5 + 0.8 * 47.7 * 1058.62 / 999.0, abs=0.02)
    desk.work.do(c.EndWeighing("R.1"))
    desk.hold("R.2", 300)
    desk.work.do(c.EndPart("recover"))
    desk.tight()
    with pytest.raises(Refused, match="nothing is charged from it"):
        desk.weigh("W.1", "in", "E-1", "48 lb", "40 lb")


def _payload(event: Event) -> p.Payload:
    return p.read_payload(event.kind, event.body)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("{id: E-1, refrigerant: unknown, contents: recovered}", "is not known, so it has no fill limit"),
        (MIXED.replace("R-22, R-410A", "R-22"), "holds R-22 and no R-410A: never mix"),
        (MIXED.replace(", water_capacity: 47.7lb, tare: 28.5lb", ""), "write water_capacity and tare"),
    ],
)
def test_what_can_not_be_limited_is_refused(desk: OpenDesk, written: str, words: str) -> None:
    with_cylinder(desk, written)

    with pytest.raises(Refused, match=words):
        desk.weigh("R.1", "out", "E-1", "40 lb", "41 lb")


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("water_capacity: 26lb", "needs tare beside it"),
        ("tare: 15lb", "needs water_capacity beside it"),
        ("label_net: 20lb", "needs water_capacity beside it"),
        ("water_capacity: 26lb, tare: 0lb", "lies outside"),
        ("water_capacity: 26lb, tare: 15lb, label_gross: 14lb", "not above the tare"),
        ("water_capacity: 26lb, tare: 15lb, service_pressure: 0psig", "above the atmosphere"),
        ("holds: [R-22]", "only where refrigerant: mixed"),
        ("tested: '2023-01-01', retest_due: '2028-01-01'", "write one of them"),
    ],
)
def test_a_collar_that_can_not_be_is_refused_with_its_place(more: str, words: str) -> None:
    with pytest.raises(ChargewrightError, match=words) as caught:
        order(ORDER.replace(PLAIN, PLAIN.replace("}", f", {more}}}")))
    assert "order.yaml:" in str(caught.value)


ROOM = (
    FULL_ORDER.replace("refrigerant: R-410A", "refrigerant: R-454B") + "room: {area: 650ft2, mounted: wall}\n"
)


def test_a_room_is_information_until_the_charge_goes_beyond_the_standard() -> None:
    fits = order(ROOM)
    check = fits.room_check()
    assert check is not None
    assert check.words.startswith("4.05 kg of R-454B asks for a room of")
    assert room_against(fits, opened_procedure()) is None

    large = order(ROOM.replace("8 lb 0 oz", "180 lb 0 oz"))
    assert "national code decides" in str(room_against(large, opened_procedure()))
    nowhere = order(
        ROOM.replace("8 lb 0 oz", "180 lb 0 oz").replace("room: {area: 650ft2, mounted: wall}\n", "")
    )
    assert room_against(nowhere, opened_procedure()) is None
    nothing_in = replace(opened_procedure(), parts=opened_procedure().parts[:2])
    assert room_against(large, nothing_in) is None


def test_a_calculated_flammable_limit_says_so_and_what_does_not_burn_has_no_room() -> None:
    calculated = order(ROOM.replace("R-454B", "R-452B")).room_check()
    assert calculated is not None
    assert "is calculated and may be off by a quarter" in calculated.words
    assert order(FULL_ORDER).room_check() is None
    assert order(ROOM.replace("R-454B", "R-717")).room_check() is None
    propane = order(ROOM.replace("R-454B", "R-290")).room_check()
    assert propane is not None
    assert propane.refused  # 4 kg is beyond 26 times the limit, 0.988 kg (FOUND)


def test_an_area_is_read_in_metres_and_feet() -> None:
    room = order(ROOM).gear.room
    assert room is not None
    assert float(room.area_m2) == pytest.approx(650 * 0.3048**2)
    metric = order(ROOM.replace("650ft2, mounted: wall", "40m2, release_height: 2.0m")).gear.room
    assert metric is not None
    assert (metric.area_m2, metric.release_height_m) == (Decimal(40), Decimal(2))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("650ft2", "650ft", "write 40m2 or 430ft2"),
        ("650ft2", "0m2", "write 40m2"),
        ("650ft2", "1.2.3m2", "1.2.3"),
        (", mounted: wall", "", "needs mounted"),
        ("mounted: wall", "release_height: 30m", "lies outside"),
        ("mounted: wall", "mounted: wall, release_height: 2m", "write one of them"),
    ],
)
def test_a_room_that_can_not_be_is_refused(old: str, new: str, words: str) -> None:
    with pytest.raises(ChargewrightError, match=words):
        order(ROOM.replace(old, new))


def test_a_size_of_line_stands_in_for_an_adder_and_an_accessory_adds() -> None:
    """40 ft of 3/8 inch at 0.6 oz/ft beyond 15 ft are 15 oz, a drier is 6 (FOUND, makers' manuals)."""
    text = FULL_ORDER.replace("adder: 0.6oz/ft", "liquid_line: 3/8in") + (
        "accessories:\n  - {name: filter-drier, adds: 6oz}\n"
    )
    made = order(text).weigh_in()
    assert made.total_kg / float(POUND) * 16 == pytest.approx(128 + 15 + 6)
    assert any("makers' tables for R-410A" in words for words in made.words())
    assert any(words.startswith("filter-drier: 6.00 oz") for words in made.words())

    with pytest.raises(ChargewrightError, match="only 1/4"):
        order(FULL_ORDER.replace("adder: 0.6oz/ft", "liquid_line: 9/16in"))
    with pytest.raises(ChargewrightError, match="write one of them"):
        order(FULL_ORDER.replace("adder: 0.6oz/ft", "adder: 0.6oz/ft, liquid_line: 3/8in"))
    with pytest.raises(ChargewrightError, match="needs the maker's adder"):
        order(FULL_ORDER.replace(", adder: 0.6oz/ft", ""))
    with pytest.raises(ChargewrightError, match="lies outside 0 to 20 kg"):
        order(FULL_ORDER + "accessories:\n  - {name: drier, adds: 60lb}\n")
