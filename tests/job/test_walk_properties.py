"""Whatever is pressed in whatever order, the rules of the walk hold and the log replays to the same state."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.focus import Refused
from guide.job.state import JobState, Standing, begin, fold
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
