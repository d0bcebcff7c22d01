"""What a step done again throws into doubt: measurements, hold points, branches and what they ruled out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from guide.job import commands as c
from guide.job.doubt import doubtful
from guide.job.order import read_order
from guide.job.state import JobState, Standing
from guide.rig.rehearsal import Rehearsal, prepare
from tests.job.small import Desk

PRACTICE = Path(__file__).resolve().parents[2] / "jobs" / "practice-opening.yaml"


def branched(desk: Desk) -> JobState:
    """The small job after its branch was taken on an answer."""
    for hazard in (0, 1):
        desk.work.do(c.Acknowledge("1.1", hazard))
    desk.work.do(c.Answer("1.1", "as ordered"))
    desk.work.do(c.Answer("1.2", "low-loss"))
    desk.work.do(c.Choose("1.3", "kept"))
    return desk.work.state


def test_an_answer_done_again_asks_for_the_branch_taken_on_it_and_what_that_ruled_out(desk: Desk) -> None:
    state = branched(desk)

    assert doubtful(state, state.procedure.step("1.2")) == ("1.3", "1.4")


def test_a_job_under_the_first_rules_keeps_them(desk: Desk) -> None:
    state = branched(desk)
    assert state.opened is not None
    first = state.opened.model_copy(
        update={"versions": state.opened.versions.model_copy(update={"walk": None})}
    )
    old = replace(state, opened=first)

    assert doubtful(old, state.procedure.step("1.2")) == ()
    assert doubtful(old, state.procedure.step("1.3")) == ("1.4",)


def stood(folder: Path) -> Rehearsal:
    """The practice order for an opened circuit, worked until the circuit has stood under vacuum."""
    made = prepare(read_order(PRACTICE.read_bytes(), PRACTICE.name), folder)
    step = next(
        step for _, step in made.work.state.procedure.steps() if step.do.startswith("KEEP the circuit shut")
    )
    while made.work.state.standing(step.id) is not Standing.DONE:
        assert made.step() is not None
    return made


def test_a_vacuum_that_turns_out_damp_is_dried_three_times_shut_off_and_proven_again(tmp_path: Path) -> None:
    made = stood(tmp_path / "job")
    work = made.work
    steps = {step.do: step.id for _, step in work.state.procedure.steps()}

    def named(begins: str) -> str:
        return next(step_id for do, step_id in steps.items() if do.startswith(begins))

    pulled = named("EVACUATE the circuit for as long")
    work.do(c.Redo(pulled, work.keep("it rose and levelled off")))
    for begins in (
        "CHOOSE how the circuit is dried",
        "EVACUATE the circuit to 500 micron",
        "SHUT the valve between circuit and pump",
        "KEEP the circuit shut under vacuum",
    ):
        assert work.state.standing(named(begins)) is Standing.RECHECK, begins
    assert work.state.standing(named("FILL the vacuum pump")) is Standing.DONE

    work.do(c.Acknowledge(pulled, 0))
    work.do(c.Answer(pulled, "stays above 500 micron"))
    work.do(c.Choose(named("CHOOSE how the circuit is dried"), "triple"))
    step = work.focus().step
    made.close()
    assert step is not None
    assert step.do.startswith("BREAK the vacuum with dry nitrogen")


def test_a_joint_tested_again_is_tested_with_bubbles_again(tmp_path: Path) -> None:
    made = stood(tmp_path / "job")
    state = made.work.state
    made.close()
    steps = {step.do: step for _, step in state.procedure.steps()}
    first = steps["PRESSURIZE the circuit to 45 psig for three minutes."]

    again = doubtful(state, first)

    assert steps["TEST every joint with bubble solution."].id in again
    assert steps["KEEP the circuit under pressure for an hour."].id in again
