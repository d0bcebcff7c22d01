"""A value far from the round before is asked about; what a round of charging changes is not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.evolve import fold
from guide.job.exceptions import departures
from guide.job.focus import Refused
from guide.job.limits import likely
from guide.job.state import begin
from guide.job.walk import decide
from guide.procedure.model import Adjust
from guide.record.again import decide_again
from tests.job.small import Desk, a_round, order, procedure, reading


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(tmp_path)
    made.to_loop()
    made.work.do(c.Read("2.2", a_round()))
    made.clock.advance(900)
    yield made
    made.bench.close()


@pytest.mark.parametrize(
    ("channel", "typed"),
    [("liquid_pressure", "35.2 psig"), ("suction_pressure", "11.84 psig"), ("outdoor_db", "55 F")],
)
def test_a_slip_of_the_point_or_the_keys_is_asked_about(desk: Desk, channel: str, typed: str) -> None:
    with pytest.raises(Refused, match="is a leap from"):
        desk.work.do(c.Read("2.2", a_round(**{channel: typed})))


def test_a_leap_is_kept_with_a_reason_and_stands_among_the_departures(desk: Desk) -> None:
    why = desk.work.keep("the fan of the condenser was switched off")
    odd = reading("liquid_pressure", "520 psig").model_copy(update={"unusual": why})
    kept = tuple(odd if value.channel == "liquid_pressure" else value for value in a_round())

    desk.work.do(c.Read("2.2", kept))

    events = list(desk.bench.journal.events(desk.work.state.job))
    [told] = [each for each in departures(order(), events) if each.sort == "unusual value"]
    assert told.words == "liquid_pressure 520 psig is a leap from 352 psig in the round before"
    assert told.reason == why
    decide_again(begin(desk.work.state.job, order(), procedure()), events)
    desk.clock.advance(900)
    desk.work.do(c.Read("2.2", a_round()))  # what was odd is no measure for the next round


@pytest.mark.parametrize(
    ("channel", "typed"),
    [("suction_line", "30 F"), ("liquid_pressure", "450 psig"), ("suction_pressure", "60 psig")],
)
def test_what_a_move_of_refrigerant_or_a_load_changes_is_taken_as_it_is(
    desk: Desk, channel: str, typed: str
) -> None:
    desk.work.do(c.Read("2.2", a_round(**{channel: typed})))

    assert len(desk.work.state.rounds) == 2


def test_a_corrected_value_is_what_the_next_round_is_held_against(desk: Desk) -> None:
    read = next(e for e in desk.work.state.entries if e.channel == "liquid_pressure")
    new = reading("liquid_pressure", "205 psig")
    desk.work.do(c.Correct(read.seq, "liquid_pressure", new, desk.work.keep("misread")))

    with pytest.raises(Refused, match="is a leap from 205 psig"):
        desk.work.do(c.Read("2.2", a_round()))
    desk.work.do(c.Read("2.2", a_round(liquid_pressure="210 psig")))


def test_a_field_knows_the_bounds_that_the_walk_will_ask_about(desk: Desk) -> None:
    proof = desk.work.state.procedure.step("2.2").proof
    assert isinstance(proof, Adjust)
    ask = next(each for each in proof.channels if each.channel == "suction_line")

    low, high = likely(desk.work.state, "2.2", ask)

    assert (round(low * 9 / 5 - 460), round(high * 9 / 5 - 460)) == (14, 98)  # 56 F and 42 F to both sides


def test_a_job_begun_under_the_first_rules_is_not_asked(desk: Desk) -> None:
    job = desk.work.state.job
    events = list(desk.bench.journal.events(job))
    opened = p.read_payload(events[0].kind, events[0].body)
    assert isinstance(opened, p.Opened)
    first = opened.model_copy(update={"versions": opened.versions.model_copy(update={"walk": None})})

    events[0] = replace(events[0], body=first.body())
    state = fold(begin(job, order(), procedure()), events)
    [read] = decide(state, c.Read("2.2", a_round(liquid_pressure="35.2 psig")), desk.work.now())

    assert isinstance(read, p.RoundRead)
