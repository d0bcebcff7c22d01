"""Whatever is pressed in whatever order, the rules of the walk hold and the log replays to the same state."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.evolve import fold
from guide.job.focus import Refused
from guide.job.state import JobState, Standing, begin
from guide.job.weighing import progress
from guide.journal.event import Event
from guide.procedure.model import Weigh
from guide.record.again import decide_again
from tests.job.opened import FULL_ORDER, OpenDesk, gas, opened_procedure, read
from tests.job.small import Desk, a_round, order, procedure, reading, weight

STEPS = ["1.1", "1.2", "1.3", "1.4", "2.1", "2.2", "2.3", "A.1"]


def commands(desk: Desk) -> list[tuple[float, Any]]:
    """Every sort of command, sensible and not, with the time that passes before it."""
    keep = desk.work.keep
    made: list[tuple[float, Any]] = []
    for step in STEPS:
        made += [(1, lambda s=step, h=h: c.Acknowledge(s, h)) for h in (0, 1)]
        made += [(1, lambda s=step: c.Skip(s, keep("reason"))), (1, lambda s=step: c.Redo(s, keep("reason")))]
        made += [(900, lambda s=step: c.EndWait(s)), (1, lambda s=step: c.BeginWait(s))]
        made += [
            (1, lambda s=step, seen=seen: c.Answer(s, seen))
            for seen in ("as ordered", "another", "plain", "low-loss", "closed")
        ]
    made += [
        (1, lambda key=key, why=why: c.Choose("1.3", key, keep("reason") if why else None))
        for key in ("kept", "evacuated")
        for why in (False, True)
    ]
    made += [
        (1, lambda v=v: c.Read("1.4", (reading("hose_vacuum", v),))) for v in ("400 micron", "1500 micron")
    ]
    made += [(900, lambda f=f: c.Read("2.2", a_round(suction_line=f))) for f in ("60 F", "53 F", "44 F")]
    made += [
        (1, lambda d=d, why=why: c.BeginWeigh("2.2", d, "N-14", weight("22 lb"), keep("r") if why else None))
        for d in ("in", "out")
        for why in (False, True)
    ]
    made += [(30, lambda w=w: c.EndWeigh("2.2", weight(w))) for w in ("21 lb 14 oz", "22 lb 2 oz")]
    made += [(1, lambda why=why: c.EndAdjust("2.2", keep("r") if why else None)) for why in (False, True)]
    made += [(1, lambda part=part: c.EndPart(part)) for part in ("first", "second", "safe")]
    made += [
        (1, lambda: c.Note(keep("note"))),
        (1, lambda: c.Pause(keep("phone"))),
        (1, lambda: c.Resume(desk.alex.person)),
        (1, lambda: c.Abort(keep("storm"))),
        (1, lambda: c.ShowCustomer("refused")),
        (1, lambda: c.SignOff(keep("Alex Doe"), desk.alex.certificate_sha256)),
        (1, lambda: c.Reopen(desk.alex.person, keep("slip"), "ab" * 32)),
        (
            1,
            lambda: c.Resume(
                desk.alex.person,
                p.CylinderCheck(cylinder="N-14", weight=weight("22 lb"), valve="closed"),
            ),
        ),
    ]
    return made


def check(state: JobState) -> None:
    for step_id, standing in state.standings.items():
        step = state.procedure.step(step_id)
        if standing is Standing.DONE and step.hazards:
            assert all((step_id, index) in state.acknowledged for index in range(len(step.hazards)))
        assert not (step.hold and standing is Standing.SKIPPED)
    net = sum(move.into_system_kg for move in state.moves)
    assert state.net_charged_kg() == net == state.charged_kg() - state.recovered_kg()
    if state.closed is not None:
        assert state.signed
        assert state.weighing is None


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(st.data())
def test_no_order_of_keys_breaks_a_rule_of_the_walk(data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Path(folder))
        try:
            if data.draw(st.booleans(), "start in the loop"):
                desk.to_loop()
            choices = commands(desk)
            for index in data.draw(st.lists(st.integers(0, len(choices) - 1), max_size=60), "keys"):
                seconds, make = choices[index]
                desk.clock.advance(seconds)
                before = desk.work.state
                try:
                    desk.work.do(make())
                except Refused:
                    assert desk.work.state is before
                check(desk.work.state)
            job = desk.work.state.job
            again = fold(begin(job, order(), procedure()), desk.bench.journal.events(job))
            assert again == desk.work.state
        finally:
            desk.bench.close()


OPENED_STEPS = ["R.1", "R.2", "T.1", "T.2", "T.3", "W.1", "W.2", "2.1", "2.2", "A.1"]


def opened_commands(desk: OpenDesk) -> list[tuple[float, Any]]:
    """Every sort of command on an opened circuit, sensible and not, with the time that passes before it."""
    keep = desk.work.keep
    made: list[tuple[float, Any]] = []
    vacuum = {text: (read("system_vacuum", text),) for text in ("300 micron", "450 micron", "900 micron")}
    held: list[tuple[p.ReadingValue, ...]] = [
        (), *vacuum.values(), gas("240 psig", "80 F"), gas("235.3 psig", "70 F"), gas("200 psig", "80 F"),
    ]  # fmt: skip
    for step in ("R.2", "T.2", "T.3", "2.1"):
        for values in held:
            made += [(1, lambda s=step, v=values: c.BeginWait(s, v))]
            made += [(late, lambda s=step, v=values: c.EndWait(s, v)) for late in (30, 900)]
    for step, way in (("R.1", "out"), ("W.1", "in")):
        for cylinder in ("E-1", "R-3", "N-14"):
            made += [
                (1, lambda s=step, w=way, i=cylinder, b=b: c.BeginWeigh(s, w, i, weight(b)))
                for b in ("10 lb", "20 lb")
            ]
        made += [(60, lambda s=step, a=a: c.EndWeigh(s, weight(a))) for a in ("10 lb", "11 lb 1 oz", "19 lb")]
        made += [(1, lambda s=step, y=y: c.EndWeighing(s, keep("r") if y else None)) for y in (False, True)]
    for step in OPENED_STEPS:
        made += [(1, lambda s=step: c.Skip(s, keep("reason"))), (1, lambda s=step: c.Redo(s, keep("reason")))]
    made += [(1, lambda t=t: c.Read("T.1", (read("test_pressure", t),))) for t in ("240 psig", "260 psig")]
    made += [(1, lambda part=part: c.EndPart(part)) for part in ("recover", "test", "charge", "second")]
    made += [(900, lambda: c.Read("2.2", a_round())), (1, lambda: c.Answer("W.2", "clear"))]
    made += [(1, lambda: c.Pause(keep("phone"))), (1, lambda: c.Resume(desk.alex.person))]
    made += [
        (
            1,
            lambda: c.Resume(
                desk.alex.person, p.CylinderCheck(cylinder="E-1", weight=weight("18 lb"), valve="closed")
            ),
        )
    ]
    return made


def check_opened(state: JobState, events: list[Event]) -> None:
    check(state)
    begun: p.WaitBegun | None = None
    for event in events:
        payload = p.read_payload(event.kind, event.body)
        if isinstance(payload, p.WaitBegun):
            begun = payload
        elif isinstance(payload, p.WaitEnded):
            assert begun is not None
            assert (payload.elapsed_s < begun.at_least_s) == bool(payload.early)
            assert not (payload.early and payload.accepted)
            assert payload.accepted == all(v.verdict != "fail" for v in payload.verdicts)
        elif isinstance(payload, p.WeighingFinished):
            assert payload.reason is not None or payload.moved_kg > 0
    for step_id in ("R.1", "W.1"):
        step = state.procedure.step(step_id)
        assert isinstance(step.proof, Weigh)
        stands = progress(state, step)
        if stands.target_kg is not None and stands.remaining_kg is not None:
            assert stands.moved_kg + stands.remaining_kg == stands.target_kg
    assert all(move.cylinder != "N-14" for move in state.moves if move.observed and move.into_system_kg < 0)


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(st.data())
def test_no_order_of_keys_breaks_a_rule_of_an_opened_circuit(data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as folder:
        desk = OpenDesk(Path(folder))
        try:
            worked = data.draw(st.integers(0, 3), "parts worked before")
            for go_on in (desk.recovered, desk.tight, desk.charged)[:worked]:
                go_on()
            choices = opened_commands(desk)
            for index in data.draw(st.lists(st.integers(0, len(choices) - 1), max_size=50), "keys"):
                seconds, make = choices[index]
                desk.clock.advance(seconds)
                before = desk.work.state
                try:
                    desk.work.do(make())
                except Refused:
                    assert desk.work.state is before
            events = list(desk.bench.journal.events(desk.work.state.job))
            check_opened(desk.work.state, events)
            start = begin(desk.work.state.job, order(FULL_ORDER), opened_procedure())
            assert fold(start, events) == desk.work.state
            decide_again(start, events)
        finally:
            desk.bench.close()
