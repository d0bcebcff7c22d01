"""The procedure for valves worked from order to checked record on the simulated system.

Published figures that are held to here, all read (FOUND, charging reference sections 1.1 and 5): Title 24,
2008 Residential Appendices RA3.2: 15 minutes before the first reading (p. 14) and after a change (p. 15 and
16), subcooling within 3 °F of the maker's target (p. 16), superheat of a valve between 4 and 25 °F where the
maker gives no range (p. 16), outdoors at least 55 °F (p. 10).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from guide.job.commands import Answer, Skip
from guide.job.focus import Front, Refused
from guide.job.order import Order, read_order
from guide.job.state import JobState
from guide.procedure.model import Confirm
from guide.record.verify import verify_record
from guide.rig.player import Player
from guide.rig.rehearsal import Rehearsal, prepare
from tests.rig.straight_line import SimplePlant, straight_line

JOBS = Path(__file__).resolve().parents[2] / "jobs"
START = datetime(2026, 11, 25, 9, tzinfo=UTC)
K_PER_F = 1 / 1.8
TOLERANCE_F = 3.0
VALVE_RANGE_F = (4.0, 25.0)
SETTLE_MINUTES = 15
OUTDOOR_LEAST_F = 55.0


def order(name: str) -> Order:
    """A shipped order, worked as practice."""
    text = (JOBS / f"{name}.yaml").read_text(encoding="utf-8").replace("nature: real", "nature: practice")
    return read_order(text.encode(), f"{name}.yaml")


def a1(name: str) -> Order:
    """A shipped order as one for R-410A, appliance and cylinders alike."""
    text = order(name).text
    for flammable in ("R-454B", "R-32"):
        text = text.replace(f"refrigerant: {flammable}", "refrigerant: R-410A")
    return read_order(text.encode(), f"{name}.yaml")


def to_the_end(made: Rehearsal) -> JobState:
    while made.step() is not None:
        pass
    made.close()
    return made.work.state


def to_the_signature(made: Rehearsal) -> JobState:
    while made.player.step() is not None:
        pass
    made.close()
    return made.work.state


def assert_signed_and_intact(made: Rehearsal) -> None:
    assert made.issued is not None
    assert made.work.focus().front is Front.CLOSED
    report = verify_record(made.issued.pdf.read_bytes())
    assert report.intact, report.first_wrong
    assert report.nature == "practice"


def assert_charged_as_published(state: JobState) -> None:
    last = state.rounds[-1].read.assessment
    assert last.subcooling_K is not None
    assert last.target_subcooling_K is not None
    assert last.superheat_K is not None
    assert abs(last.subcooling_K - last.target_subcooling_K) <= TOLERANCE_F * K_PER_F
    assert float(last.tolerance_K) == pytest.approx(TOLERANCE_F * K_PER_F, abs=1e-3)
    assert VALVE_RANGE_F[0] * K_PER_F <= last.superheat_K <= VALVE_RANGE_F[1] * K_PER_F
    assert state.loop_ended is not None
    assert state.loop_ended.outcome in {"in tolerance", "undecided, accepted"}
    for done in state.rounds:
        assert done.read.assessment.minutes_since_change >= SETTLE_MINUTES
        outdoor = next(value.si for value in done.read.readings if value.channel == "outdoor_db")
        assert float(outdoor) * 1.8 - 459.67 >= OUTDOOR_LEAST_F


@pytest.mark.parametrize("fraction", [0.88, 1.10])
@pytest.mark.parametrize("which", ["A1, thermostatic", "A2L, electronic, test mode"])
def test_a_whole_job_ends_in_a_closed_job_whose_record_verifies(
    tmp_path: Path, which: str, fraction: float
) -> None:
    work = a1("practice-valve") if which.startswith("A1") else order("reedwater-library-heat-pump")
    made = prepare(work, tmp_path, start=START, start_fraction=fraction)

    state = to_the_end(made)

    assert_signed_and_intact(made)
    assert_charged_as_published(state)
    net_kg, charge_kg = float(state.net_charged_kg()), float(state.order.nameplate_charge.si)
    assert abs(fraction + net_kg / charge_kg - 1.0) < 0.06, "3 °F of 0.6 °F a percent is 5 %"
    assert (net_kg > 0) == (fraction < 1.0)
    assert all((move.into_system_kg > 0) == (fraction < 1.0) for move in state.moves)
    # PROPOSED: never more than 5 % of nameplate at once
    assert all(abs(move.into_system_kg) <= state.order.nameplate_charge.si / 20 for move in state.moves)


def test_the_flammable_steps_are_worked_for_a2l_and_left_out_for_a1(tmp_path: Path) -> None:
    flammable = to_the_signature(prepare(order("practice-valve"), tmp_path / "a2l", start=START))
    other = to_the_signature(prepare(a1("practice-valve"), tmp_path / "a1", start=START))

    only_flammable = {
        step.id
        for _, step in flammable.procedure.steps()
        if any(condition.fact == "safety group" and condition.values == ("A2L",) for condition in step.when)
    }
    assert len(only_flammable) >= 5
    assert only_flammable <= set(flammable.answers)
    assert not only_flammable & set(other.answers)


def test_superheat_and_valve_are_judged_before_any_charge_moves(tmp_path: Path) -> None:
    state = to_the_signature(prepare(order("practice-valve"), tmp_path, start=START))

    asked = {step.do: step.id for _, step in state.procedure.steps()}
    judged = state.answers[asked["COMPARE superheat with the range of the valve."]]
    split = state.answers[asked["COMPARE the temperature split with its target."]]
    bulb = state.answers[asked["LOOK at the sensing bulb of the valve."]]
    assert (judged.accepted, split.accepted, bulb.accepted) == (True, True, True)
    ids = [step.id for _, step in state.procedure.steps()]
    loop = state.moves[0].step
    assert ids.index(bulb.step) < ids.index(split.step) < ids.index(judged.step) < ids.index(loop)


@pytest.mark.parametrize("which", [0, 1])
def test_a_valve_that_is_out_of_its_range_holds_the_work_before_the_loop(tmp_path: Path, which: int) -> None:
    """A maker's table (FOUND, DZ13SC p. 9): what is no sign of charge is mended at the valve first."""
    made = prepare(order("practice-valve"), tmp_path, start=START)
    work = made.work
    compare = next(
        step for _, step in work.state.procedure.steps() if step.do.startswith("COMPARE superheat with")
    )
    assert isinstance(compare.proof, Confirm)
    while work.focus().step != compare:
        assert made.player.step() is not None

    work.do(Answer(compare.id, compare.proof.refuse[which]))

    assert work.focus().step == compare, "the step stays open"
    with pytest.raises(Refused, match="hold point"):
        work.do(Skip(compare.id, work.keep("no time")))
    assert not work.state.rounds
    assert not work.state.moves
    made.close()


class Flooding(SimplePlant):
    """A valve that feeds too much: hardly any superheat, whatever the charge."""

    def superheat_K(self) -> float:
        return 1.0 * K_PER_F


def test_a_flooding_valve_stops_the_loop_and_nothing_is_moved(tmp_path: Path) -> None:
    """A maker's table (FOUND, DZ13SC p. 9): subcooling low and superheat low is the valve's trouble."""
    made = prepare(order("practice-valve"), tmp_path, start=START)
    setting = replace(straight_line(made.work.state.order).setting, start_fraction=0.88)
    made.player = Player(made.work, Flooding(setting), made.clock)

    state = to_the_end(made)

    assert not state.moves
    assert [done.read.assessment.action for done in state.rounds] == ["stop"]
    assert "the valve feeds too much" in state.rounds[0].read.assessment.reasons[0]
    assert state.loop_ended is not None
    assert state.loop_ended.outcome == "stopped"
    assert_signed_and_intact(made)
