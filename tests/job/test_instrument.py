"""What an order says of an instrument reaches every verdict, and a reading past it is not trusted."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.uncertainty import limit_of
from guide.errors import ChargewrightError
from guide.instruments.board import Board, Now
from guide.instruments.line import read_line
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.assess import assess
from guide.job.exceptions import _odd
from guide.job.focus import Refused
from guide.job.limits import beyond_instrument, likely, verdicts
from guide.job.order import Order
from guide.job.state import begin
from guide.job.walk import decide
from guide.procedure.model import Bound, ChannelAsk, Limit, Reading
from tests.job.small import ORDER, Desk, a_round, order, procedure, reading

FULL = """\
instruments:
  - id: G-1
    make: the works' own
    serial: A 117
    channels: [suction_pressure]
    accuracy: 1dpsi + 0.5% of reading + 1% of span
    range: [0psig, 250psig]
    division: 1dpsi
    calibration_due: "2027-03-31"
  - {id: T-1, channels: [suction_line], accuracy: 1.3dF + 0.1% of reading, sensor: bare}
  - {id: V-1, channels: [hose_vacuum], accuracy: 10% of reading, range: [0micron, 12000micron]}
"""
PSI = Decimal("6894.757293168")


def full() -> Order:
    return order(ORDER + FULL)


def test_an_instrument_keeps_make_serial_range_and_what_was_typed() -> None:
    gauge = full().instruments[0]

    assert (gauge.make, gauge.serial) == ("the works' own", "A 117")
    assert gauge.accuracy_typed == "1dpsi + 0.5% of reading + 1% of span"
    assert gauge.range is not None
    assert [end.typed for end in gauge.range] == ["0psig", "250psig"]
    assert gauge.range[0].si == full().site_pressure_Pa


def test_parts_of_reading_and_span_and_half_a_division_make_the_limit() -> None:
    """By hand: 1 psi + 1 % of 250 psi + 0.5 % of 100 psi = 4 psi; with half of 1 psi: 4.031 psi."""
    gauge = full().instruments[0]

    assert float(gauge.off(100 * PSI) / PSI) == pytest.approx(4.0311, abs=0.0005)


def test_the_limit_is_the_one_the_charging_rules_use() -> None:
    unit = full().appliance()
    for instrument, channel, si in (
        (full().instruments[0], "suction_pressure_Pa", Decimal(900_000)),
        (full().instruments[1], "suction_line_K", Decimal("285.15")),
    ):
        ours = limit_of(channel, float(si), unit.accuracies)
        assert float(instrument.off(si)) == pytest.approx(ours, rel=1e-6)


def test_a_plain_accuracy_is_what_it_was_written_as() -> None:
    plain = order(
        ORDER + "instruments:\n  - {id: T-1, channels: [suction_line], accuracy: 0.5 dF}\n"
    ).instruments[0]

    assert plain.off(Decimal(280)) == plain.accuracy
    assert plain.insulated
    assert plain.reaches(Decimal(1_000_000))


def test_a_bare_sensor_is_known_to_the_charging_rules() -> None:
    assert full().appliance().accuracies["suction_line_K"].insulated is False
    bare = assess(
        full().appliance(), [], a_round(), minutes_since_change=Decimal(15), net_charged_kg=Decimal(0)
    )
    assert any("not insulated" in each for each in bare.reasons)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("1dpsi + 0.5% of reading", "1dpsi + 2dpsi", "fixed part twice"),
        ("range: [0psig, 250psig]\n    ", "", "write the range too"),
        ("[0psig, 250psig]", "[250psig, 0psig]", "does not rise"),
        ("[0psig, 250psig]", "[0, 250psig]", "0"),
        ("[0psig, 250psig]", "[250psig]", "range"),
        ("division: 1dpsi", "division: 0dpsi", "above zero"),
        ("10% of reading", "0% of reading", "above zero"),
        ("10% of reading", "300% of reading", "more than 100 %"),
        ("10% of reading", "10% of nothing", "accuracy"),
        ("10% of reading, range", "10% of reading, sensor: bare, range", "suction_line"),
        ("sensor: bare", "sensor: wet", "sensor"),
    ],
)
def test_an_instrument_that_cannot_be_used_is_named_with_its_line(old: str, new: str, words: str) -> None:
    assert old in FULL

    with pytest.raises(ChargewrightError) as caught:
        order(ORDER + FULL.replace(old, new))

    assert str(caught.value).startswith("order.yaml:")
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@given(st.text(alphabet="0123456789.+-% ofreadingspnd°psiFK", max_size=40))
@settings(max_examples=150, deadline=None)
def test_any_text_is_an_accuracy_or_a_one_line_refusal(text: str) -> None:
    quoted = json.dumps(text)
    message = ""
    try:
        read = order(ORDER + FULL.replace("1dpsi + 0.5% of reading + 1% of span", quoted))
        gauge = read.instruments[0]
        assert gauge.off(100 * PSI) > 0
    except ChargewrightError as error:
        message = str(error)

    assert "\n" not in message


def vacuum() -> tuple[ChannelAsk, Limit]:
    proof = procedure().step("1.4").proof
    assert isinstance(proof, Reading)
    return proof.channels[0], proof.limits[0]


@pytest.mark.parametrize(
    ("typed", "verdict", "before"),
    [
        ("900 micron", "pass", "pass"),
        ("950 micron", "undecided", "undecided"),
        ("1050 micron", "fail", "undecided"),
        ("1200 micron", "fail", "fail"),
    ],
)
def test_a_part_of_the_reading_guards_a_limit(typed: str, verdict: str, before: str) -> None:
    """10 % of 900, 950, 1050 and 1200 micron about a limit of 1000 micron: 990, 1045, 945 and 1080.

    Beyond the limit there is no doubt; only the first rules of the walk left any.
    """
    [judged] = verdicts([vacuum()[1]], [reading("hose_vacuum", typed)], full())
    [by_first] = verdicts([vacuum()[1]], [reading("hose_vacuum", typed)], full(), strict=False)

    assert (judged.verdict, by_first.verdict) == (verdict, before)


def test_a_reading_past_its_instrument_is_never_held_good_and_wants_a_reason() -> None:
    ask, limit = vacuum()
    past = reading("hose_vacuum", "20000 micron")

    [judged] = verdicts([limit], [past], full())
    assert judged.verdict == "fail"
    [inside] = verdicts([replace(limit, bound=Bound.AT_LEAST)], [past], full())
    assert inside.verdict == "undecided"
    said = beyond_instrument([ask], [past], full())
    assert said is not None
    assert "20000 micron lies outside what V-1 reads, 0micron to 12000micron" in said
    assert beyond_instrument([ask], [past], order()) is None


def test_the_field_of_a_reading_knows_the_range_of_its_instrument() -> None:
    ask = vacuum()[0]

    assert (
        likely(begin("J-1", full(), procedure()), "1.4", ask)[1] == reading("hose_vacuum", "12000 micron").si
    )
    assert (
        likely(begin("J-1", order(), procedure()), "1.4", ask)[1] == reading("hose_vacuum", "25000 micron").si
    )


def test_a_round_past_an_instrument_is_refused_until_it_is_kept_with_a_reason(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    desk.to_loop()
    state = replace(desk.work.state, order=full())
    past = a_round(suction_pressure="255 psig")

    with pytest.raises(Refused, match="lies outside what G-1 reads, 0psig to 250psig"):
        decide(state, c.Read("2.2", past), desk.work.now())
    why = desk.work.keep("the only gauge here")
    kept = tuple(
        value.model_copy(update={"unusual": why}) if value.channel == "suction_pressure" else value
        for value in past
    )
    [read] = decide(state, c.Read("2.2", kept), desk.work.now())
    assert isinstance(read, p.RoundRead)
    assert (read.assessment.action, read.assessment.suspect) == ("stop", "bad reading")
    assert [words for words, _ in _odd(full(), read, None)] == [
        "suction_pressure 255 psig lies outside what G-1 reads"
    ]
    desk.bench.close()


def test_a_live_value_past_its_instrument_fills_no_field() -> None:
    board = Board(full())
    line = {"v": 1, "src": "G-1", "ch": "suction_pressure", "val": "255", "unit": "psi", "ref": "gauge"}
    board.take([read_line(json.dumps({**line, "q": "good"}).encode())], Now(1.0, 1e9))

    live = board.live("suction_pressure", "psig", Now(1.0, 1e9))

    assert live is not None
    assert (live.state, "outside what G-1 reads" in live.words) == ("bad", True)
