"""From the events of a run comes the same unit again, to the last digit."""

from __future__ import annotations

import contextlib
import random
from dataclasses import asdict
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.job import payloads as p
from guide.journal.event import Event
from guide.procedure.channels import CHANNELS
from guide.rig.acts import Act, Handling
from guide.rig.faults import Fault, Graded
from guide.rig.handling import CannotBeDone
from guide.rig.orders import demonstration_order
from guide.rig.pace import PacedClock
from guide.rig.port import NoSuchChannel
from guide.rig.retrace import (
    CantRetrace,
    acts_of,
    bring_to,
    cut_s,
    handling_of,
    practised,
    rebuild,
)
from guide.rig.rig import Rig
from guide.rig.scenario import scenario_for
from tests.rig.runs import START, Run
from tests.rig.standin import Refused, StandIn


def fresh() -> StandIn:
    return StandIn(seed=5, kg=3.2)


def run() -> Run:
    return Run(PacedClock(START, real_ns=lambda: 0))


_ACTS = st.builds(
    Handling,
    st.sampled_from([Act.OPEN_CYLINDER, Act.CLOSE_CYLINDER, Act.PURGE, Act.ZERO]),
    st.just(""),
    st.none() | st.floats(0.0, 1.0),
)
_HAPPENS = st.one_of(
    st.tuples(st.just("passes"), st.floats(0.0, 400.0)),
    st.tuples(st.just("acts"), _ACTS),
    st.tuples(st.just("restarts"), st.none()),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(_HAPPENS, max_size=25))
def test_a_unit_made_again_from_the_events_is_the_one_that_was_live(
    happens: list[tuple[str, object]],
) -> None:
    told, live = run(), fresh()
    for what, how in happens:
        if isinstance(how, float):
            told.clock.advance(how)
            bring_to(live, told.now_s())
        elif isinstance(how, Handling):
            t_s = told.handle(how)
            bring_to(live, t_s)
            try:
                live.do(handling_of(practised(how)))
            except Refused:
                assert how.act is Act.ZERO
        else:
            assert what == "restarts"  # what passed since the last event is forgotten by everybody
            live = rebuild(fresh, told.events)
            told.restart()
    again = rebuild(fresh, told.events)
    bring_to(again, told.now_s())
    bring_to(live, told.now_s())
    assert asdict(again) == asdict(live)


@pytest.mark.parametrize("seed", range(6))
def test_a_rig_worked_at_random_comes_back_to_the_last_digit(seed: int) -> None:
    chance = random.Random(seed)
    graded = (Graded(Fault.LEAKING_CORE, 0.7, "low"), Graded(Fault.GAUGE_OFF, 0.4, "high"))
    scenario = scenario_for(demonstration_order(), seed=seed, faults=graded)
    told, live = run(), Rig(scenario)
    for _ in range(80):
        for _ in range(chance.randrange(4)):
            told.clock.advance(chance.choice([0.3, 1.0, 7.77, 61.0, 301.0]) * chance.random())
            bring_to(live, told.now_s())
        _, handling = chance.choice(chance.choice(live.possible()).choices)
        bring_to(live, told.handle(handling))
        with contextlib.suppress(CannotBeDone):
            live.do(handling_of(practised(handling)))
    again = rebuild(lambda: Rig(scenario), told.events)
    told.clock.advance(100.0)
    for unit in (live, again):
        bring_to(unit, told.now_s())
    assert again.happenings == live.happenings
    assert again.hookup == live.hookup
    assert again.truth() == live.truth()
    assert _readings(again) == _readings(live)


def _readings(rig: Rig) -> dict[str, float | str]:
    shown: dict[str, float | str] = {}
    for channel in CHANNELS:
        try:
            shown[channel] = rig.read(channel)
        except NoSuchChannel as error:
            shown[channel] = str(error)
    return shown


def test_acts_come_with_their_times_and_the_events_that_tell_them() -> None:
    told = run()
    told.clock.advance(12.3)
    told.handle(Handling(Act.JOIN, "low"))
    told.log(p.Noted(step="1.1", text="0" * 64, late=False))
    told.clock.advance(100.0)
    told.handle(Handling(Act.OPEN_HAND_VALVE, "low", 0.1))
    told.log(p.Practised(what="hint", act="pointer", step="2.1"))
    found = acts_of(told.events)
    assert [(each.t_s, each.handling.act, each.handling.amount, each.seq) for each in found] == [
        (12.25, Act.JOIN, None, 1),
        (112.25, Act.OPEN_HAND_VALVE, 0.1, 3),
    ]


def test_time_goes_on_over_a_restart_of_the_program() -> None:
    told = run()
    told.clock.advance(500.0)
    told.handle(Handling(Act.PURGE, "low"))
    told.restart()
    told.clock.advance(30.0)
    told.handle(Handling(Act.PURGE, "high"))
    assert [each.t_s for each in acts_of(told.events)] == [500.0, 530.0]
    assert told.now_s() == 530.0


@given(st.floats(0.0, 1e6))
def test_a_time_is_cut_to_an_eighth_before_it(t_s: float) -> None:
    assert 0.0 <= t_s - cut_s(t_s) < 0.125
    assert (cut_s(t_s) * 8.0).is_integer()


@given(st.floats(-1e7, 1e7))
def test_an_amount_in_the_log_is_the_amount_that_is_done(amount: float) -> None:
    told = practised(Handling(Act.SET_REGULATOR, "", amount))
    back = p.read_payload("practised", told.body())
    assert isinstance(back, p.Practised)
    done = handling_of(back)
    assert done == handling_of(practised(done))
    assert done.amount == pytest.approx(amount, abs=1e-9)


def test_an_amount_is_logged_as_it_reads() -> None:
    assert practised(Handling(Act.SET_REGULATOR, "", 1_000_000.0)).body()["amount"] == "1000000"
    assert practised(Handling(Act.OPEN_CYLINDER, "", 0.1)).amount == Decimal("0.1")


def test_events_that_tell_no_run_are_refused() -> None:
    told = run()
    with pytest.raises(CantRetrace, match="begins with the opening"):
        acts_of([_event(told, p.Practised(what="handled", act="purge"))])
    with pytest.raises(CantRetrace, match="nothing that hands do"):
        acts_of([*told.events, _event(told, p.Practised(what="handled", act="sing"))])
    told.clock.advance(31 * 86_400.0)
    told.handle(Handling(Act.PURGE, "low"))
    with pytest.raises(CantRetrace, match="30 days"):
        acts_of(told.events)
    with pytest.raises(CantRetrace, match="no events"):
        rebuild(fresh, [])


def _event(told: Run, payload: p.Payload) -> Event:
    told.log(payload)
    return told.events.pop()
