"""The walk of a circuit that is opened: recovery, holds, charge by weight, then the loop."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.evolve import fold
from guide.job.exceptions import departures
from guide.job.focus import Front, Refused
from guide.job.state import JobState, Standing, begin, refrigerant_may_move
from guide.job.walk import decide
from guide.job.weighing import progress
from guide.journal.canonical import Json
from guide.journal.event import Event
from guide.procedure.model import Direction, OrderFigure, Step, Weigh
from guide.record.again import Differs, decide_again
from tests.job.opened import FULL_ORDER, OpenDesk, gas, opened_procedure, read
from tests.job.small import a_round, order

POUND = Decimal("0.45359237")


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[OpenDesk]:
    made = OpenDesk(tmp_path)
    yield made
    made.bench.close()


def _events(desk: OpenDesk) -> list[Event]:
    return list(desk.bench.journal.events(desk.work.state.job))


def _start(desk: OpenDesk) -> JobState:
    return begin(desk.work.state.job, order(FULL_ORDER), opened_procedure())


def _last(desk: OpenDesk, kind: type[p.Payload]) -> p.Payload:
    payloads = [p.read_payload(event.kind, event.body) for event in _events(desk)]
    return next(each for each in reversed(payloads) if isinstance(each, kind))


def test_a_recovery_takes_several_cylinders_until_the_person_says_it_is_done(desk: OpenDesk) -> None:
    desk.weigh("R.1", "out", "E-1", "10 lb", "15 lb")

    assert desk.work.focus().front is Front.STEP
    assert desk.work.state.standing("R.1") is Standing.TODO
    desk.weigh("R.1", "out", "R-3", "30 lb", "33 lb")
    desk.work.do(c.EndWeighing("R.1"))

    assert desk.work.state.standing("R.1") is Standing.DONE
    assert desk.work.state.recovered_kg() == 8 * POUND


def test_a_recovery_of_nothing_is_finished_only_with_a_reason(desk: OpenDesk) -> None:
    with pytest.raises(Refused, match="nothing has moved"):
        desk.work.do(c.EndWeighing("R.1"))

    desk.work.do(c.EndWeighing("R.1", desk.work.keep("the circuit was empty")))
    assert desk.work.state.standing("R.1") is Standing.DONE
    assert "finished with nothing weighed" in [d.words for d in departures(order(FULL_ORDER), _events(desk))]


@pytest.mark.parametrize(("cylinder", "words"), [("N-14", "virgin"), ("X-9", "never mix"), ("Q-1", "not on")])
def test_refrigerant_is_recovered_only_where_it_may_go(desk: OpenDesk, cylinder: str, words: str) -> None:
    with pytest.raises(Refused, match=words):
        desk.weigh("R.1", "out", cylinder, "10 lb", "11 lb")


def test_what_was_recovered_here_may_go_back_from_its_cylinder(desk: OpenDesk) -> None:
    desk.recovered()
    desk.tight()

    desk.weigh("W.1", "in", "E-1", "15 lb", "10 lb")

    assert progress(desk.work.state, desk.work.state.procedure.step("W.1")).moved_kg == 5 * POUND


def test_a_charge_by_weight_knows_its_target_and_what_is_left(desk: OpenDesk) -> None:
    """8 lb and 25 ft at 0.6 oz/ft are 8 lb 15 oz (CALCULATED)."""
    desk.recovered()
    desk.tight()
    desk.weigh("W.1", "in", "N-14", "22 lb", "17 lb")

    stands = progress(desk.work.state, desk.work.state.procedure.step("W.1"))

    assert stands.moved_kg == 5 * POUND
    assert stands.target_kg is not None
    assert stands.remaining_kg is not None
    assert abs(stands.target_kg - Decimal("8.9375") * POUND) < Decimal("1e-6")
    assert abs(stands.remaining_kg - Decimal("3.9375") * POUND) < Decimal("1e-6")


def test_the_rest_of_a_charge_at_a_later_step_counts_what_is_in_already(desk: OpenDesk) -> None:
    """5 lb of 8 lb 15 oz went into the high side; 3 lb 15 oz are left for the low side (CALCULATED)."""
    desk.recovered()
    desk.tight()
    desk.weigh("W.1", "in", "N-14", "22 lb", "17 lb")
    rest = Step("W.3", "FEED the rest.", Weigh(Direction.IN, OrderFigure.WEIGH_IN_CHARGE, repeat=True))
    recover, test, charge, loop = desk.work.state.procedure.parts
    longer = replace(charge, steps=(*charge.steps, rest))
    procedure = replace(desk.work.state.procedure, parts=(recover, test, longer, loop))

    stands = progress(replace(desk.work.state, procedure=procedure), rest)

    assert stands.moved_kg == 0
    assert stands.target_kg is not None
    assert abs(stands.target_kg - Decimal("3.9375") * POUND) < Decimal("1e-6")


def test_short_of_its_target_a_charge_is_finished_only_with_a_reason(desk: OpenDesk) -> None:
    desk.recovered()
    desk.tight()
    desk.weigh("W.1", "in", "N-14", "22 lb", "17 lb")

    with pytest.raises(Refused, match="1786 g are left"):
        desk.work.do(c.EndWeighing("W.1"))

    desk.work.do(c.EndWeighing("W.1", desk.work.keep("no more on the truck")))
    words = [d.words for d in departures(order(FULL_ORDER), _events(desk))]
    assert "2268 g moved of 4054 g" in words


def test_two_per_cent_of_the_target_are_near_enough(desk: OpenDesk) -> None:
    """2 % of 4054 g are 81 g, 2.9 oz (CALCULATED; the share is PROPOSED)."""
    desk.recovered()
    desk.tight()
    desk.weigh("W.1", "in", "N-14", "22 lb", "13 lb 4.5 oz")

    with pytest.raises(Refused, match="99 g are left"):
        desk.work.do(c.EndWeighing("W.1"))
    desk.weigh("W.1", "in", "N-14", "13 lb 4.5 oz", "13 lb 3.5 oz")
    desk.work.do(c.EndWeighing("W.1"))
    assert desk.work.state.standing("W.1") is Standing.DONE


def test_a_step_of_one_weighing_is_not_finished_by_hand(desk: OpenDesk) -> None:
    desk.recovered()

    with pytest.raises(Refused, match="stands at step T\\.1"):
        desk.work.do(c.EndWeighing("R.1"))


def test_a_gauge_that_may_be_off_excuses_no_pressure_above_the_nameplate(desk: OpenDesk) -> None:
    """The order's gauge is good to 0.2 psi, the nameplate says 250 psig."""
    desk.recovered()

    desk.work.do(c.Read("T.1", (read("test_pressure", "250.1 psig"),)))
    above = _last(desk, p.Read)
    assert isinstance(above, p.Read)
    assert (above.verdicts[0].verdict, above.accepted) == ("fail", False)
    assert desk.work.state.standing("T.1") is Standing.TODO

    desk.work.do(c.Read("T.1", (read("test_pressure", "249.9 psig"),)))
    below = _last(desk, p.Read)
    assert isinstance(below, p.Read)
    assert (below.verdicts[0].verdict, below.accepted) == ("undecided", True)


@pytest.mark.parametrize("walk", [None, "walk/2"])
def test_a_job_begun_under_earlier_rules_is_judged_by_those(desk: OpenDesk, walk: str | None) -> None:
    desk.recovered()
    state = desk.work.state
    assert state.opened is not None
    versions = state.opened.versions.model_copy(update={"walk": walk})
    earlier = replace(state, opened=state.opened.model_copy(update={"versions": versions}))

    (said,) = decide(earlier, c.Read("T.1", (read("test_pressure", "250.1 psig"),)), desk.work.now())

    assert isinstance(said, p.Read)
    assert (said.verdicts[0].verdict, said.accepted) == ("undecided", True)


@pytest.mark.parametrize(("end", "holds"), [("349 micron", True), ("520 micron", False)])
def test_a_value_set_right_that_misses_its_limit_brings_its_step_back(
    desk: OpenDesk, end: str, holds: bool
) -> None:
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.hold("T.2", 600, gas("240 psig", "80 F"), gas("235.3 psig", "70 F"))
    desk.hold("T.3", 600, (read("system_vacuum", "300 micron"),), (read("system_vacuum", "350 micron"),))
    last = desk.work.state.entries[-1]

    said = desk.work.do(c.Correct(last.seq, last.channel, read("system_vacuum", end), desk.work.keep("slip")))

    assert [event.kind for event in said] == ["corrected"] + ([] if holds else ["redone"])
    assert desk.work.state.standing("T.3") is (Standing.DONE if holds else Standing.TODO)
    assert desk.work.state.entries[-1].value.typed == end
    decide_again(_start(desk), _events(desk))


def test_a_start_set_right_counts_too_and_a_reading_once_set_right_is_read_again(desk: OpenDesk) -> None:
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.hold("T.2", 600, gas("240 psig", "80 F"), gas("235.3 psig", "70 F"))
    start = next(
        each for each in desk.work.state.entries if (each.step, each.channel) == ("T.2", "test_pressure")
    )
    desk.work.do(
        c.Correct(start.seq, start.channel, read("test_pressure", "244 psig"), desk.work.keep("misread"))
    )
    assert desk.work.state.standing("T.2") is Standing.TODO

    first = next(each for each in desk.work.state.entries if each.step == "T.1")
    desk.work.do(
        c.Correct(first.seq, first.channel, read("test_pressure", "290 psig"), desk.work.keep("misread"))
    )
    assert desk.work.state.standing("T.1") is Standing.TODO
    assert desk.work.focus().step == opened_procedure().step("T.1")


def test_a_limit_of_the_nameplate_is_judged_at_the_site(desk: OpenDesk) -> None:
    desk.recovered()

    desk.work.do(c.Read("T.1", (read("test_pressure", "251 psig"),)))
    failed = _last(desk, p.Read)
    desk.work.do(c.Read("T.1", (read("test_pressure", "249 psig"),)))
    passed = _last(desk, p.Read)

    assert isinstance(failed, p.Read)
    assert isinstance(passed, p.Read)
    assert (failed.verdicts[0].verdict, passed.verdicts[0].verdict) == ("fail", "pass")
    design = order(FULL_ORDER).low_side_design_pressure
    assert design is not None
    assert failed.verdicts[0].limit == design.si


@pytest.mark.parametrize(
    ("end", "verdict"),
    [("235.3 psig", "pass"), ("234.3 psig", "undecided"), ("233 psig", "fail"), ("240 psig", "pass")],
)
def test_a_pressure_test_is_judged_against_what_the_gas_would_show(
    desk: OpenDesk, end: str, verdict: str
) -> None:
    """240 psig at 80 °F would show 235.09 psig at 70 °F: nitrogen by CoolProp 8 (LIBRARY).

    An ideal gas would show 235.28.
    """
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))

    desk.hold("T.2", 600, gas("240 psig", "80 F"), gas(end, "70 F"))

    ended = _last(desk, p.WaitEnded)
    assert isinstance(ended, p.WaitEnded)
    judged = ended.verdicts[0]
    assert (judged.verdict, judged.bound) == (verdict, "at least")
    assert judged.change is not None
    expected = read("test_pressure", "235.091 psig").si
    assert abs(judged.change - (read("test_pressure", end).si - expected)) < 30
    assert ended.accepted == (verdict != "fail")


def test_a_hold_is_ended_early_only_when_it_has_failed_and_then_it_is_not_accepted(desk: OpenDesk) -> None:
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.work.do(c.BeginWait("T.2", gas("240 psig", "80 F")))
    desk.clock.advance(60)

    with pytest.raises(Refused, match="9 min of the wait are left; it ends early only"):
        desk.work.do(c.EndWait("T.2", gas("239.5 psig", "80 F")))
    with pytest.raises(Refused, match="are left"):
        desk.work.do(c.EndWait("T.2"))
    desk.work.do(c.EndWait("T.2", gas("220 psig", "80 F")))

    ended = _last(desk, p.WaitEnded)
    assert isinstance(ended, p.WaitEnded)
    assert ended.early
    assert not ended.accepted
    assert desk.work.state.standing("T.2") is Standing.TODO
    words = [d.words for d in departures(order(FULL_ORDER), _events(desk))]
    assert "the hold was ended before its time: it had failed already" in words
    assert "the change of test_pressure did not meet its limit" in words
    desk.hold("T.2", 600, gas("240 psig", "80 F"), gas("240 psig", "80 F"))
    assert desk.work.state.standing("T.2") is Standing.DONE


def test_a_hold_may_go_on_for_longer(desk: OpenDesk) -> None:
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))

    desk.hold("T.2", 86_400, gas("240 psig", "80 F"), gas("240 psig", "80 F"))

    ended = _last(desk, p.WaitEnded)
    assert isinstance(ended, p.WaitEnded)
    assert ended.elapsed_s == 86_400
    assert ended.early is None
    assert "early" not in ended.body()


def test_a_vacuum_may_stay_low_and_still_have_risen_too_far(desk: OpenDesk) -> None:
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.hold("T.2", 600, gas("240 psig", "80 F"), gas("240 psig", "80 F"))

    desk.hold("T.3", 600, (read("system_vacuum", "150 micron"),), (read("system_vacuum", "450 micron"),))

    ended = _last(desk, p.WaitEnded)
    assert isinstance(ended, p.WaitEnded)
    assert [v.verdict for v in ended.verdicts] == ["pass", "fail"]
    assert not ended.accepted


def test_a_whole_charge_out_and_in_leaves_a_net_that_makes_sense(desk: OpenDesk) -> None:
    desk.recovered()
    desk.tight()
    desk.charged()

    kept = {name: round(kg / POUND, 4) for name, kg in desk.kept().items()}
    assert kept == {"charged": Decimal("8.9375"), "recovered": 8, "net": Decimal("0.9375"), "loop": 0}


def test_the_loop_after_a_charge_by_weight_counts_from_its_own_start(desk: OpenDesk) -> None:
    desk.recovered()
    desk.tight()
    desk.charged()
    desk.clock.advance(1200)
    desk.hold("2.1", 900)
    desk.clock.advance(60)
    desk.work.do(c.Read("2.2", a_round()))
    first = desk.work.state.rounds[-1].read.assessment
    desk.weigh("2.2", "in", "N-14", "17 lb", "16 lb 14 oz")
    desk.clock.advance(900)
    desk.work.do(c.Read("2.2", a_round(suction_line="53 F")))
    second = desk.work.state.rounds[-1].read.assessment

    assert first.net_charged_kg == 0
    assert first.minutes_since_change == 16
    assert first.action == "add"
    assert second.net_charged_kg == Decimal("0.05669905")
    decide_again(_start(desk), _events(desk))
    assert fold(_start(desk), _events(desk)) == desk.work.state


def test_a_hold_under_nitrogen_asks_for_no_cylinder_at_a_return(desk: OpenDesk) -> None:
    desk.weigh("R.1", "out", "E-1", "10 lb", "18 lb")
    desk.work.do(c.EndWeighing("R.1"))
    desk.work.do(c.BeginWait("R.2"))
    assert refrigerant_may_move(desk.work.state)
    desk.clock.advance(300)
    desk.work.do(c.EndWait("R.2"))
    desk.work.do(c.EndPart("recover"))
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.work.do(c.BeginWait("T.2", gas("240 psig", "80 F")))

    assert not refrigerant_may_move(desk.work.state)
    desk.work.run = "run-2"
    desk.work.do(c.Resume(desk.alex.person))
    assert desk.work.state.waiting is not None


def _forged(events: list[Event], kind: str, change: Mapping[str, Json]) -> list[Event]:
    """The events with fields of the last one of a kind set otherwise."""
    at = max(n for n, event in enumerate(events) if event.kind == kind)
    body = {**events[at].body, **change}
    return [*events[:at], replace(events[at], body=body), *events[at + 1 :]]


def test_a_forged_change_early_end_or_weighing_is_found(desk: OpenDesk) -> None:
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.hold("T.2", 60, gas("240 psig", "80 F"), gas("220 psig", "80 F"))
    events = _events(desk)
    decide_again(_start(desk), events)
    ended = _last(desk, p.WaitEnded)
    assert isinstance(ended, p.WaitEnded)
    verdict = ended.verdicts[0].model_dump(mode="json", exclude_none=True)
    forgeries: list[tuple[str, Mapping[str, Json]]] = [
        ("wait-ended", {"accepted": True}),
        ("wait-ended", {"early": None}),
        ("wait-ended", {"elapsed_s": 600}),
        ("wait-ended", {"verdicts": [{**verdict, "verdict": "pass"}]}),
        ("wait-ended", {"verdicts": [{**verdict, "change": "-100"}]}),
        ("wait-ended", {"verdicts": []}),
        ("weighing-finished", {"moved_kg": "4"}),
        ("weighing-finished", {"target_kg": "3.6"}),
    ]
    for kind, change in forgeries:
        with pytest.raises(Differs):
            decide_again(_start(desk), _forged(events, kind, change))


def _correct(desk: OpenDesk, name: str, new: p.ReadingValue, *, nth: int = 0) -> None:
    entry = [e for e in desk.work.state.entries if e.channel == name][nth]
    desk.work.do(c.Correct(entry.seq, name, new, desk.work.keep("misread")))


def test_of_two_weighings_that_began_alike_only_the_one_corrected_changes(desk: OpenDesk) -> None:
    desk.weigh("R.1", "out", "E-1", "20 lb", "25 lb")
    desk.weigh("R.1", "out", "R-3", "20 lb", "23 lb")

    _correct(desk, "weight before", read("cylinder_weight", "21 lb"), nth=1)

    assert [move.into_system_kg for move in desk.work.state.moves] == [-5 * POUND, -2 * POUND]
    decide_again(_start(desk), _events(desk))


def test_a_weight_corrected_while_it_is_weighed_counts(desk: OpenDesk) -> None:
    desk.work.do(c.BeginWeigh("R.1", "out", "E-1", read("cylinder_weight", "12 lb")))
    _correct(desk, "weight before", read("cylinder_weight", "10 lb"))
    desk.work.do(c.EndWeigh("R.1", read("cylinder_weight", "11 lb")))

    assert desk.work.state.recovered_kg() == POUND
    decide_again(_start(desk), _events(desk))


def test_a_start_corrected_during_a_hold_is_what_the_change_counts_from(desk: OpenDesk) -> None:
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.work.do(c.BeginWait("T.2", gas("204 psig", "80 F")))
    _correct(desk, "test_pressure", read("test_pressure", "240 psig"), nth=1)
    desk.clock.advance(600)
    desk.work.do(c.EndWait("T.2", gas("235 psig", "80 F")))

    ended = _last(desk, p.WaitEnded)
    assert isinstance(ended, p.WaitEnded)
    assert ended.verdicts[0].verdict == "fail"
    decide_again(_start(desk), _events(desk))
