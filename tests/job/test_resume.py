"""Stops, pauses, hand-overs: what the walk asks before it goes on."""

from __future__ import annotations

import pytest

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.exceptions import departures
from guide.job.focus import Front, Refused
from guide.job.work import Work
from tests.job.small import Desk, a_round, order, procedure, weight


def sorts(desk: Desk) -> list[str]:
    events = list(desk.bench.journal.events(desk.work.state.job))
    return [departure.sort for departure in departures(order(), events)]


def test_a_later_run_of_the_program_resumes_before_anything_else(desk: Desk) -> None:
    work = desk.again("run-2")
    assert work.focus().front is Front.RESUME

    with pytest.raises(Refused, match="resume it first"):
        work.do(c.Acknowledge("1.1", 0))

    work.do(c.Resume(desk.alex.person))
    work.do(c.Acknowledge("1.1", 0))
    assert "stop" in sorts(desk)


def test_the_state_after_a_stop_is_the_state_before_it(desk: Desk) -> None:
    desk.to_signature()

    assert desk.again("run-2").state == desk.work.state


def test_inside_a_weighing_the_cylinder_is_asked_for_first(desk: Desk) -> None:
    desk.to_loop()
    desk.work.do(c.Read("2.2", a_round()))
    desk.work.do(c.BeginWeigh("2.2", "in", "N-14", weight("22 lb")))
    work = desk.again("run-2")

    with pytest.raises(Refused, match="cylinder, its weight now and its valve"):
        work.do(c.Resume(desk.alex.person))

    check = p.CylinderCheck(cylinder="N-14", weight=weight("21 lb 10 oz"), valve="open")
    work.do(c.Resume(desk.alex.person, check))
    assert work.focus().front is Front.WEIGHING
    work.do(c.EndWeigh("2.2", weight("21 lb 9 oz")))
    assert work.state.net_charged_kg() == weight("7 oz").si, "counted once, by the closing weight"
    assert "unobserved" in sorts(desk)


def test_what_left_a_cylinder_while_nobody_watched_is_in_the_balance(desk: Desk) -> None:
    desk.to_loop()
    desk.work.do(c.Read("2.2", a_round()))
    desk.work.do(c.BeginWeigh("2.2", "in", "N-14", weight("22 lb")))
    desk.work.do(c.EndWeigh("2.2", weight("21 lb 14 oz")))
    work = desk.again("run-2")
    work.do(
        c.Resume(
            desk.alex.person, p.CylinderCheck(cylinder="N-14", weight=weight("21 lb 9 oz"), valve="open")
        )
    )

    assert work.state.net_charged_kg() == weight("7 oz").si
    assert "unobserved" in sorts(desk)


def test_settling_starts_again_after_a_stop_in_the_charging_loop(desk: Desk) -> None:
    desk.to_loop()
    desk.work.do(c.Read("2.2", a_round()))
    desk.work.do(c.BeginWeigh("2.2", "in", "N-14", weight("22 lb")))
    desk.work.do(c.EndWeigh("2.2", weight("21 lb 14 oz")))
    desk.clock.advance(20 * 60)
    work = desk.again("run-2")
    check = p.CylinderCheck(cylinder="N-14", weight=weight("21 lb 14 oz"), valve="closed")
    work.do(c.Resume(desk.alex.person, check))
    work.do(c.Read("2.2", a_round(suction_line="53 F")))

    assert work.state.rounds[-1].read.assessment.action == "wait"


def test_a_wait_goes_on_through_a_stop(desk: Desk) -> None:
    desk.to_loop()
    desk.work.do(c.Redo("2.1", desk.work.keep("door was open")))
    desk.work.do(c.BeginWait("2.1"))
    desk.clock.advance(16 * 60)
    work = desk.again("run-2")
    work.do(c.Resume(desk.alex.person))
    work.do(c.EndWait("2.1"))

    assert work.state.waiting is None


def test_a_job_handed_over_is_resumed_by_the_one_it_was_given_to(desk: Desk) -> None:
    sam = desk.join("sam", "Sam Roe", "608 II")
    desk.to_loop()
    desk.work.do(c.HandOver("sam", desk.work.keep("end of shift")))
    check = p.CylinderCheck(cylinder="N-14", weight=weight("22 lb"), valve="closed")

    with pytest.raises(Refused, match="handed over to sam"):
        desk.work.do(c.Resume(desk.alex.person, check))

    work = Work.take_up(
        desk.bench.shelf, desk.clock, desk.work.state.job, order(), procedure(),
        person=sam.person, log_key=sam.log_key, run="run-2",
    )  # fmt: skip
    work.do(c.Resume(sam.person, check))
    assert set(work.state.people) == {"alex", "sam"}
    assert work.state.present == "sam"


def test_a_plain_run_departs_only_where_it_must(desk: Desk) -> None:
    desk.to_signature()
    desk.close_job()

    assert sorts(desk) == ["customer"]
