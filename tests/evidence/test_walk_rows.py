"""Rows of the feature table that the walk answers and no other test states by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from guide.bench.bench import DoesNotFit
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.exceptions import departures
from guide.job.focus import Front, Refused
from guide.job.order import Order
from guide.job.state import Standing, begin
from guide.job.work import Work
from guide.procedure.faults import ProcedureError
from guide.procedure.reader import read_procedure
from guide.screens.head import parts_line, step_list
from guide.screens.looking import neighbours
from guide.screens.paint import plain
from tests.job.small import ORDER, PROCEDURE, Desk, a_round, opening, order, reading, weight

TIGHT = PROCEDURE.replace(
    "wait: {at_least: 15 min}",
    "wait: {at_least: 15 min, channels: [{channel: system_vacuum, ask: vacuum, unit: micron}]}",
)


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(tmp_path)
    yield made
    made.bench.close()


def other_job(
    desk: Desk, *, the_order: Order | None = None, text: str = PROCEDURE, past_due: str | None = None
) -> Work:
    """A further job on the same bench, of another order or procedure."""
    number = desk.bench.journal.next_job_number()
    work = Work(
        desk.bench.shelf, desk.clock,
        begin(f"J-{number:04d}", the_order or order(), read_procedure(text.encode(), "other.yaml")),
        person=desk.alex.person, log_key=desk.alex.log_key, run=desk.bench.run,
    )  # fmt: skip
    opened = opening(work, number, desk.alex.person)
    reason = None if past_due is None else work.keep(past_due)
    work.do(c.Open(opened.model_copy(update={"past_due_reason": reason})))
    return work


def after_first_part(work: Work) -> None:
    for hazard in (0, 1):
        work.do(c.Acknowledge("1.1", hazard))
    work.do(c.Answer("1.1", "as ordered"))
    work.do(c.Answer("1.2", "plain"))
    work.do(c.Choose("1.3", "evacuated"))
    work.do(c.Read("1.4", (reading("hose_vacuum", "400 micron"),)))


def test_no_job_begins_from_a_procedure_that_is_not_approved(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    approved = 'status: approved\napproved: {date: "2026-11-25", by: the authors of these tests}\n'
    draft = read_procedure(PROCEDURE.replace(approved, "status: draft\n").encode(), "draft.yaml")
    monkeypatch.setattr("guide.bench.bench.library.load", lambda _: draft)
    before = desk.bench.journal.next_job_number()

    with pytest.raises(DoesNotFit, match="work from an approved one"):
        desk.bench.new_job(order(), desk.alex)
    assert desk.bench.journal.next_job_number() == before, "a refused procedure takes no number"


def test_every_step_keeps_its_mark_through_a_stop_and_each_standing_has_its_own(desk: Desk) -> None:
    for hazard in (0, 1):
        desk.work.do(c.Acknowledge("1.1", hazard))
    desk.work.do(c.Answer("1.1", "as ordered"))
    desk.work.do(c.Answer("1.2", "low-loss"))
    desk.work.do(c.Choose("1.3", "kept"))
    desk.work.do(c.EndPart("first"))
    desk.work.do(c.Skip("2.1", desk.work.keep("it ran since morning")))
    rows = [" ".join(row.split()) for row in plain(step_list(desk.work.state, "2.2", 50, 40)).splitlines()]

    for row in ("✓ 1.1 LOOK at the label.", "1.4 does not apply", "- 2.1 RUN the unit.", "· 2.3 SIGN"):
        assert any(one.startswith(row) for one in rows), (row, rows)
    assert any(one.startswith("▶ 2.2 CORRECT") for one in rows)
    again = desk.again("run-2").state
    assert step_list(again, "2.2", 50, 40) == step_list(desk.work.state, "2.2", 50, 40)


@pytest.mark.parametrize("branch", ["kept", "evacuated"])
def test_numbers_of_steps_are_the_same_on_every_branch_and_stand_on_one_screen(
    desk: Desk, branch: str
) -> None:
    written = ("1.1", "1.2", "1.3", "1.4", "2.1", "2.2", "2.3")
    assert neighbours(desk.work.state) == written
    for hazard in (0, 1):
        desk.work.do(c.Acknowledge("1.1", hazard))
    desk.work.do(c.Answer("1.1", "as ordered"))
    desk.work.do(c.Answer("1.2", "low-loss"))
    desk.work.do(c.Choose("1.3", branch, desk.work.keep("as said")))

    assert neighbours(desk.work.state) == written
    assert "FIRST" in plain((parts_line(desk.work.state, 80),))
    assert "Second" in plain((parts_line(desk.work.state, 80),))
    overview = plain(step_list(desk.work.state, "1.4", 40, 20))
    assert all(f" {number} " in overview for number in written)


@pytest.mark.parametrize(
    ("channel", "typed", "meant"),
    [
        ("suction_pressure", "815 psig", "815 kPa"),
        ("liquid_pressure", "2430 psig", "2430 kPa"),
        ("indoor_db", "26 F", "26 C"),
        ("outdoor_db", "95 C", "95 F"),
        ("suction_line", "80 C", "80 F"),
    ],
)
def test_a_value_typed_in_the_wrong_unit_is_asked_about(
    desk: Desk, channel: str, typed: str, meant: str
) -> None:
    desk.to_loop()

    with pytest.raises(Refused, match="check the unit"):
        desk.work.do(c.Read("2.2", a_round(**{channel: typed})))

    unit = meant.replace("kPa", "kPag")
    right = tuple(reading(channel, unit) if one.channel == channel else one for one in a_round())
    desk.work.do(c.Read("2.2", right))
    assert desk.work.state.rounds


def test_a_timed_hold_wants_a_reading_at_both_ends_and_a_stop_inside_it_is_told(desk: Desk) -> None:
    work = other_job(desk, text=TIGHT)
    after_first_part(work)
    work.do(c.EndPart("first"))

    with pytest.raises(Refused, match="vacuum is not entered yet"):
        work.do(c.BeginWait("2.1"))
    work.do(c.BeginWait("2.1", (reading("system_vacuum", "430 micron"),)))
    desk.clock.advance(9 * 60)
    work.run = "run-2"
    work.do(c.Resume(desk.alex.person))
    desk.clock.advance(7 * 60)
    with pytest.raises(Refused, match="vacuum is not entered yet"):
        work.do(c.EndWait("2.1"))
    work.do(c.EndWait("2.1", (reading("system_vacuum", "480 micron"),)))

    told = [d.words for d in departures(order(), list(desk.bench.journal.events(work.state.job)))]
    assert "the program was not running for 9 min" in told


def test_a_branch_is_logged_with_the_facts_and_the_option_they_offered(desk: Desk) -> None:
    for hazard in (0, 1):
        desk.work.do(c.Acknowledge("1.1", hazard))
    desk.work.do(c.Answer("1.1", "as ordered"))
    desk.work.do(c.Answer("1.2", "low-loss"))
    (chosen, ruled_out) = desk.work.do(c.Choose("1.3", "kept"))

    said = p.read_payload(chosen.kind, chosen.body)
    assert isinstance(said, p.Chosen)
    assert (said.option, said.offered, said.facts) == ("kept", "kept", {"hoses": "low-loss"})
    out = p.read_payload(ruled_out.kind, ruled_out.body)
    assert isinstance(out, p.NotApplicable)
    assert (out.step, out.facts) == ("1.4", {"hose method": "kept"})


def test_a_step_done_again_throws_later_measurements_of_its_part_into_doubt(desk: Desk) -> None:
    after_first_part(desk.work)
    desk.work.do(c.Redo("1.2", desk.work.keep("other hoses on the truck")))

    assert desk.work.state.standing("1.4") is Standing.RECHECK
    assert desk.work.state.standing("1.1") is Standing.DONE
    kept = [e for e in desk.bench.journal.events(desk.work.state.job) if e.kind == p.Answered.KIND]
    assert [event.body["seen"] for event in kept] == ["as ordered", "plain"], "the first result stays"


def test_a_job_can_be_broken_off_at_every_front_of_open_work(desk: Desk) -> None:
    def hazard(_: Work) -> None:
        """A job just opened."""

    def step(work: Work) -> None:
        for index in (0, 1):
            work.do(c.Acknowledge("1.1", index))

    def part_end(work: Work) -> None:
        after_first_part(work)

    def waiting(work: Work) -> None:
        part_end(work)
        work.do(c.EndPart("first"))
        work.do(c.BeginWait("2.1"))

    def loop(work: Work) -> None:
        waiting(work)
        desk.clock.advance(15 * 60)
        work.do(c.EndWait("2.1"))
        work.do(c.Read("2.2", a_round(suction_line="53 F")))

    def customer(work: Work) -> None:
        loop(work)
        work.do(c.EndAdjust("2.2"))

    def sign(work: Work) -> None:
        customer(work)
        work.do(c.ShowCustomer("refused"))

    stages: list[tuple[Front, Callable[[Work], None]]] = [
        (Front.HAZARD, hazard), (Front.STEP, step), (Front.PART_END, part_end), (Front.STEP, waiting),
        (Front.STEP, loop), (Front.CUSTOMER, customer), (Front.SIGN, sign),
    ]  # fmt: skip
    for front, reach in stages:
        work = other_job(desk)
        reach(work)
        assert work.focus().front is front
        work.do(c.Abort(work.keep("lightning")))
        place = work.focus()
        assert place.step is not None
        assert place.step.id == "A.1", "the safe-state steps come next"


def test_a_job_can_be_broken_off_with_a_cylinder_on_the_scale_and_its_weight_is_still_asked(
    desk: Desk,
) -> None:
    desk.to_loop()
    desk.work.do(c.Read("2.2", a_round()))
    desk.work.do(c.BeginWeigh("2.2", "in", "N-14", weight("22 lb")))
    desk.work.do(c.Abort(desk.work.keep("lightning")))

    assert desk.work.focus().front is Front.WEIGHING
    desk.work.do(c.EndWeigh("2.2", weight("21 lb 15 oz")))
    assert desk.work.focus().step is not None
    assert desk.work.focus().step.id == "A.1"  # type: ignore[union-attr]


def test_a_step_without_a_proof_is_not_read() -> None:
    bare = PROCEDURE.replace("        wait: {at_least: 15 min}\n", "")

    with pytest.raises(ProcedureError, match="needs exactly one proof"):
        read_procedure(bare.encode(), "bare.yaml")


def test_an_instrument_past_its_calibration_is_told_at_the_opening(desk: Desk) -> None:
    late = order(ORDER.replace("division: 0.25 oz", "division: 0.25 oz, calibration_due: 2026-11-24"))

    with pytest.raises(Refused, match="begin with a reason"):
        other_job(desk, the_order=late)
    work = other_job(desk, the_order=late, past_due="the other scale is broken")

    told = departures(late, list(desk.bench.journal.events(work.state.job)))
    [departure] = [each for each in told if each.sort == "instrument"]
    assert departure.words == "scale S-2: calibration was due on 2026-11-24"
    assert work.text(departure.reason) == "the other scale is broken"


def test_a_note_can_be_taken_at_every_front_and_moves_nothing(desk: Desk) -> None:
    for go_on in (
        lambda: None,
        lambda: after_first_part(desk.work),
        lambda: desk.work.do(c.EndPart("first")),
        lambda: desk.work.do(c.BeginWait("2.1")),
    ):
        go_on()
        before = desk.work.focus()
        desk.work.do(c.Note(desk.work.keep("something odd was heard")))
        assert desk.work.focus() == before
