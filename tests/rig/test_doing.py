"""What hands do at each step of every shipped procedure, and what of it is left to do as things stand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from guide.job.state import JobState, begin
from guide.procedure.library import list_procedures, load
from guide.procedure.model import Adjust, Step, Weigh
from guide.rig.acts import Act, Handling
from guide.rig.by_eye import BY_WEIGHT, NOTHING
from guide.rig.by_hand import Centre, Until, undone
from guide.rig.doing import TABLE, handlings, plan
from guide.rig.hookup import Hookup, Hose
from tests.rig.standing import state_for

FREE = Hose()
AT_REST = Hookup(
    low=FREE, high=FREE, centre=FREE, low_hand=0.0, high_hand=0.0, on_scale="", cylinder_open=0.0,
    for_liquid=False, pump_joined=False, pump_runs=False, machine_runs=False, regulator_Pa=0.0, runs=True,
    locked=False, opened=False, clamped=frozenset(), set_for="R-410A",
)  # fmt: skip


def _steps() -> list[tuple[str, Step]]:
    found = []
    for procedure_id in list_procedures():
        procedure = load(procedure_id)
        parts = (*procedure.parts, procedure.on_abort)
        found += [(procedure_id, step) for part in parts for step in part.steps]
    return found


STEPS = _steps()


def _step(procedure_id: str, step_id: str) -> tuple[Step, JobState]:
    state = state_for(procedure_id)
    return state.procedure.step(step_id), state


def test_every_step_of_every_procedure_is_done_by_hand_or_known_to_need_no_hand() -> None:
    missing = {step.do for _, step in STEPS if step.do not in TABLE and step.do not in NOTHING}
    assert not missing


def test_nothing_stands_in_the_tables_that_no_procedure_has() -> None:
    known = {step.do for _, step in STEPS}
    assert set(TABLE) <= known
    assert set(NOTHING) <= known
    assert not set(TABLE) & NOTHING


def test_what_moves_across_the_scale_is_told_apart() -> None:
    weighed = {step.do for _, step in STEPS if isinstance(step.proof, Weigh | Adjust)}
    assert weighed == BY_WEIGHT


@pytest.mark.parametrize(("procedure_id", "step"), STEPS, ids=lambda v: v if isinstance(v, str) else v.id)
def test_every_plan_can_be_made_and_names_its_places(procedure_id: str, step: Step) -> None:
    state = state_for(procedure_id)
    for handling in handlings(step, state):
        if handling.act in {Act.OPEN_HAND_VALVE, Act.OPEN_CYLINDER}:
            assert handling.amount is not None
            assert 0.0 < handling.amount <= 1.0
        if handling.act in {Act.JOIN, Act.PART, Act.PURGE, Act.STAND, Act.CLAMP, Act.RELEASE}:
            assert handling.at


def test_a_step_that_nobody_thought_of_is_not_passed_over_in_silence() -> None:
    step, state = _step("charge-fixed-orifice", "4.11")
    with pytest.raises(KeyError):
        plan(replace(step, do="TURN the handle that nobody knows."), state)


def test_hoses_are_pumped_out_before_a_port_is_opened_and_the_pump_is_shut_off() -> None:
    step, state = _step("charge-fixed-orifice", "4.9")
    acts = [each.act for each in handlings(step, state)]
    assert acts.index(Act.START_PUMP) < acts.index(Act.STOP_PUMP)
    assert Act.OPEN_SHUTOFF not in acts


def test_a_vacuum_is_waited_for_until_it_is_well_below_its_limit() -> None:
    step, state = _step("open-circuit-weigh-in", "9.16")
    (waited,) = [each for each in plan(step, state) if isinstance(each, Until)]
    assert waited.channel == "system_vacuum"
    assert waited.at_most_Pa is not None
    assert waited.at_most_Pa < 500 * 0.133322


def test_test_pressure_stays_under_the_design_pressure_of_the_low_side() -> None:
    step, state = _step("open-circuit-weigh-in", "8.5")
    design = state.order.low_side_design_pressure
    assert design is not None
    (set_to,) = [each.amount for each in handlings(step, state) if each.act is Act.SET_REGULATOR]
    assert set_to is not None
    assert float(state.order.site_pressure_Pa) < set_to < float(design.si)


def test_what_is_so_already_is_left_out() -> None:
    step, state = _step("charge-fixed-orifice", "4.11")
    shut = undone(handlings(step, state), AT_REST)
    one_open = undone(handlings(step, state), replace(AT_REST, low_hand=0.1))
    assert shut == ()
    assert one_open == (Handling(Act.CLOSE_HAND_VALVE, "low"),)


def test_a_valve_that_a_plan_shuts_and_opens_again_is_shut_and_opened() -> None:
    pieces = (Handling(Act.CLOSE_HAND_VALVE, "low"), Handling(Act.OPEN_HAND_VALVE, "low", 1.0))
    assert undone(pieces, replace(AT_REST, low_hand=1.0)) == pieces


def test_the_centre_hose_leaves_a_cylinder_only_with_everything_shut() -> None:
    feeding = replace(
        AT_REST, centre=Hose(joined="C-1"), on_scale="C-1", cylinder_open=1.0, low_hand=0.1, high_hand=0.0
    )
    assert undone((Centre("nitrogen"),), feeding) == (
        Handling(Act.CLOSE_HAND_VALVE, "low"),
        Handling(Act.CLOSE_CYLINDER),
        Handling(Act.PART, "centre"),
        Handling(Act.JOIN, "nitrogen"),
    )


def test_the_centre_hose_stays_where_it_is_wanted() -> None:
    assert undone((Centre("nitrogen"),), replace(AT_REST, centre=Hose(joined="nitrogen"))) == ()


def test_breaking_off_shuts_and_takes_off_what_is_there_and_no_more() -> None:
    state = begin("j", state_for("charge-fixed-orifice").order, load("charge-fixed-orifice"))
    state = replace(state, aborted=True)
    acts = [h for step in state.procedure.on_abort.steps for h in handlings(step, state, AT_REST)]
    assert [h.act for h in acts] == [Act.SWITCH_OFF, Act.SMELL_OUT]
