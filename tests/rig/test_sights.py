"""What is seen at each step that is answered by looking, on sound units and on units with a fault."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

import pytest

from guide.charging.round import Metering
from guide.charging.wording import from_F
from guide.job import payloads as p
from guide.job.state import Entry, JobState
from guide.procedure.library import list_procedures, load
from guide.procedure.model import Confirm, Step
from guide.refrigerant.saturation import curve
from guide.rig import look
from guide.rig.acts import Act, Handling
from guide.rig.faults import Fault, Graded
from guide.rig.hookup import SIDES
from guide.rig.look import Sight
from guide.rig.sights import sight
from tests.rig.standing import state_for
from tests.rig.test_doing import AT_REST, STEPS

CONFIRMED = [(procedure_id, step) for procedure_id, step in STEPS if isinstance(step.proof, Confirm)]


@dataclass(frozen=True, slots=True)
class Unit:
    """A simulated unit as far as it shows."""

    faults: tuple[Graded, ...] = ()
    metering: Metering = Metering.FIXED_ORIFICE


SOUND = Unit()
METERINGS = {
    "charge-fixed-orifice": Metering.FIXED_ORIFICE,
    "charge-valve-subcooling": Metering.THERMOSTATIC_VALVE,
    "open-circuit-weigh-in": Metering.FIXED_ORIFICE,
}


def _at(
    procedure_id: str, step_id: str, began: Unit, now: Unit | None = None, *, vacuum_Pa: float | None = None
) -> Sight:
    state = state_for(procedure_id)
    return sight(
        state.procedure.step(step_id), began, began if now is None else now, state, vacuum_Pa=vacuum_Pa
    )


def _with(fault: Fault, grade: float = 0.8, where: str = "") -> Unit:
    return Unit((Graded(fault, grade, where),))


@pytest.mark.parametrize(("procedure_id", "step"), CONFIRMED, ids=lambda v: v if isinstance(v, str) else v.id)
def test_every_look_gives_one_sentence_and_an_answer_of_its_step(procedure_id: str, step: Step) -> None:
    assert isinstance(step.proof, Confirm)
    for faults in ((), *((Graded(fault, 0.9),) for fault in Fault)):
        unit = Unit(faults, METERINGS[procedure_id])
        seen = sight(step, unit, unit, state_for(procedure_id))
        assert seen.answer in (*step.proof.accept, *step.proof.refuse)
        assert seen.words.endswith(".")
        assert "\n" not in seen.words
        assert len(seen.words) <= 160


@pytest.mark.parametrize(("procedure_id", "step"), CONFIRMED, ids=lambda v: v if isinstance(v, str) else v.id)
def test_nothing_is_refused_at_a_sound_unit_that_is_treated_as_it_should_be(
    procedure_id: str, step: Step
) -> None:
    assert isinstance(step.proof, Confirm)
    unit = Unit(metering=METERINGS[procedure_id])
    assert sight(step, unit, unit, state_for(procedure_id)).answer in step.proof.accept


def test_no_sentence_is_kept_for_a_step_that_there_is_no_more() -> None:
    assert set(look.sentences()) == {step.do for _, step in CONFIRMED}
    with pytest.raises(KeyError):
        look.ordinary(replace(CONFIRMED[0][1], do="LOOK at nothing."))


def test_a_dirty_filter_is_seen_changed_and_then_seen_to_be_new() -> None:
    dirty = _with(Fault.LOW_INDOOR_AIRFLOW)
    before = _at("charge-fixed-orifice", "3.1", dirty)
    after = _at("charge-fixed-orifice", "3.1", dirty, SOUND)
    assert before.cure == (Handling(Act.CLEAN, "filter"),)
    assert "dust" in before.words
    assert before.answer == after.answer == "was dirty and is new now"
    assert after.cure == ()


def test_low_airflow_that_hangs_on_the_fan_does_not_show_in_the_filter() -> None:
    assert _at("charge-fixed-orifice", "3.1", _with(Fault.LOW_INDOOR_AIRFLOW, where="fan")).answer == "clean"


def test_a_blocked_grille_that_nobody_may_clear_keeps_the_step_open() -> None:
    seen = _at("charge-fixed-orifice", "3.2", _with(Fault.LOW_INDOOR_AIRFLOW, where="registers"))
    assert seen.answer == "blocked and can't be opened"


def test_a_matted_outdoor_coil_is_cleaned() -> None:
    seen = _at("charge-fixed-orifice", "3.4", _with(Fault.DIRTY_CONDENSER))
    assert seen.cure == (Handling(Act.CLEAN, "outdoor coil"),)
    assert seen.answer == "cleaned now and dry"


def test_a_trace_of_a_fault_shows_nowhere() -> None:
    assert _at("charge-fixed-orifice", "3.4", _with(Fault.DIRTY_CONDENSER, 0.1)).answer == "clean and clear"


@pytest.mark.parametrize(
    ("grade", "answer"),
    [
        (0.1, "alike within 3 dF"),
        (0.4, "colder after it by more than 3 dF"),
        (0.9, "frost or sweat after it"),
    ],
)
def test_a_restriction_shows_at_the_drier_by_its_strength(grade: float, answer: str) -> None:
    assert _at("charge-valve-subcooling", "7.4", _with(Fault.RESTRICTION, grade)).answer == answer


def test_a_leak_bubbles_under_nitrogen_and_stops_the_test() -> None:
    assert _at("open-circuit-weigh-in", "8.7", _with(Fault.LEAK, 0.4)).answer == "bubbles at a joint"
    assert _at("open-circuit-weigh-in", "8.4", _with(Fault.LEAK, 0.4)).answer.startswith("nothing")
    assert _at("open-circuit-weigh-in", "8.4", _with(Fault.LEAK, 0.9)).answer == "hiss"


def test_a_leaking_core_shows_when_the_hose_is_off() -> None:
    assert _at("charge-fixed-orifice", "7.8", _with(Fault.LEAKING_CORE, 0.5)).answer == "leak at a port"


def test_damp_keeps_the_first_vacuum_up_and_the_gauge_has_the_last_word() -> None:
    wet = _with(Fault.WET)
    stays = "stays above 500 micron"
    assert _at("open-circuit-weigh-in", "9.6", wet).answer == stays
    assert _at("open-circuit-weigh-in", "9.6", wet, vacuum_Pa=40.0).answer == "500 micron or lower"
    assert _at("open-circuit-weigh-in", "9.6", SOUND, vacuum_Pa=120.0).answer == stays


def test_valves_that_stand_open_are_seen_to_stand_open() -> None:
    state = state_for("charge-fixed-orifice")
    step = state.procedure.step("4.11")
    seen = sight(step, SOUND, SOUND, state, hookup=replace(AT_REST, low_hand=0.1))
    assert seen.words == "The low-side hand valve is open."
    assert seen.cure == (Handling(Act.CLOSE_HAND_VALVE, "low"),)


def test_a_port_that_was_not_opened_moves_no_needle() -> None:
    state = state_for("charge-fixed-orifice")
    seen = sight(state.procedure.step("4.12"), SOUND, SOUND, state, hookup=AT_REST)
    assert seen.answer == "one does not rise"


def test_a_hose_with_liquid_in_it_is_not_left_that_way() -> None:
    state = state_for("charge-fixed-orifice")
    full = replace(AT_REST, centre=replace(AT_REST.centre, joined="SIM-N", liquid=True))
    seen = sight(state.procedure.step("7.1"), SOUND, SOUND, state, hookup=full)
    assert seen.answer == "hose still holds liquid"


def _read(state: JobState, step_id: str, **values: float) -> JobState:
    entries = tuple(
        Entry(1, step_id, channel, p.ReadingValue(
            channel=channel, si=Decimal(repr(value)), unit="K", typed="as read", source="simulated"
        ))
        for channel, value in values.items()
    )  # fmt: skip
    return replace(state, entries=entries)


@pytest.mark.parametrize(
    ("supply_F", "answer"),
    [
        (62.0, "within 3 dF of target"),
        (66.0, "below target by more than 3 dF"),
        (56.0, "above target by more than 3 dF"),
    ],
)
def test_the_split_is_what_was_read_against_its_target(supply_F: float, answer: str) -> None:
    # target at 80 dry and 67 wet: 18 dF (the procedure's own words; Table RA3.2-3, MEMORY)
    state = _read(
        state_for("charge-fixed-orifice"), "5.4",
        indoor_db=from_F(80.0), indoor_wb=from_F(67.0), supply_db=from_F(supply_F),
    )  # fmt: skip
    assert sight(state.procedure.step("5.5"), SOUND, SOUND, state).answer == answer


@pytest.mark.parametrize(
    ("superheat_K", "subcooling_K", "answer"),
    [
        (6.0, 5.5, "superheat inside the range"),
        (18.0, 1.0, "superheat above the range and subcooling low"),
        (18.0, 8.0, "superheat above the range and subcooling not low"),
        (1.0, 5.5, "superheat below the range"),
    ],
)
def test_superheat_and_subcooling_are_what_was_read_against_valve_and_maker(
    superheat_K: float, subcooling_K: float, answer: str
) -> None:
    state = state_for("charge-valve-subcooling")
    r32 = curve("R-32")
    state = _read(
        state, "7.2",
        suction_pressure=r32.dew_pressure_Pa(280.0), suction_line=280.0 + superheat_K,
        liquid_pressure=r32.bubble_pressure_Pa(315.0), liquid_line=315.0 - subcooling_K,
    )  # fmt: skip
    unit = Unit(metering=Metering.THERMOSTATIC_VALVE)
    assert sight(state.procedure.step("7.3"), unit, unit, state).answer == answer


def test_every_procedure_is_looked_at() -> None:
    assert {procedure_id for procedure_id, _ in CONFIRMED} == set(list_procedures())
    assert all(load(procedure_id).parts for procedure_id in list_procedures())


def _with_hookup(step_id: str, **stands: object) -> Sight:
    state = state_for("charge-fixed-orifice")
    hookup = replace(AT_REST, **stands)  # type: ignore[arg-type]
    return sight(state.procedure.step(step_id), SOUND, SOUND, state, hookup=hookup)


def test_a_unit_that_runs_is_not_seen_to_stand_still() -> None:
    seen = _with_hookup("2.8", runs=True)
    assert seen.words == "Compressor and fans run."
    assert seen.answer == "a fan or the compressor still runs"
    assert seen.cure == (Handling(Act.SWITCH_OFF),)
    assert "stand still" in _with_hookup("2.8", runs=False).words


def test_sensors_and_hoses_that_nobody_has_put_on_are_not_seen_to_sit() -> None:
    seen = _with_hookup("4.15", clamped=frozenset({"liquid_line"}))
    assert seen.words == "The suction line sensor lies in the bag."
    assert seen.cure == (Handling(Act.CLAMP, "suction_line"),)
    hoses = _with_hookup("4.7")
    assert "low-side and high-side hoses hang free" in hoses.words
    assert hoses.cure == (Handling(Act.JOIN, "low"), Handling(Act.JOIN, "high"))


def test_a_unit_at_rest_a_cylinder_upright_and_hoses_still_on_are_seen_as_they_are() -> None:
    assert _with_hookup("5.1", runs=False).words == "Fans and compressor stand still."
    upright = _with_hookup("6.2", on_scale="SIM-N", for_liquid=False)
    assert upright.words == "The cylinder stands upright, its valve on top."
    assert upright.cure == (Handling(Act.TURN_FOR_LIQUID),)
    assert "on its head" in _with_hookup("6.2", on_scale="SIM-N", for_liquid=True).words
    on = replace(AT_REST.low, joined="low")
    assert _with_hookup(_step("DISCONNECT both hoses at the ports."), low=on).words == (
        "The low-side hose is still on."
    )


def _opened(step_id: str, **stands: object) -> Sight:
    state = state_for("open-circuit-weigh-in")
    hookup = replace(AT_REST, **stands)  # type: ignore[arg-type]
    return sight(state.procedure.step(step_id), SOUND, SOUND, state, hookup=hookup)


def test_nitrogen_that_still_feeds_is_not_seen_to_be_shut() -> None:
    on = replace(AT_REST.centre, joined="nitrogen")
    feeds = _opened("8.6", centre=on, regulator_Pa=1.1e6)
    assert feeds.words == "The regulator still feeds the circuit."
    assert feeds.cure == (Handling(Act.SET_REGULATOR, amount=0.0),)
    assert "The cylinder is shut" in _opened("8.6", centre=on, regulator_Pa=0.0).words


def test_nitrogen_is_seen_to_reach_the_sides_that_it_reaches() -> None:
    on = replace(AT_REST.centre, joined="nitrogen")
    low, high = (replace(AT_REST.hose(side), joined=side, shutoff_open=True) for side in SIDES)
    assert _opened("8.1").cure == (Handling(Act.JOIN, "nitrogen"),)
    one = _opened("8.1", centre=on, low=low, high=high, low_hand=1.0, high_hand=0.0)
    assert (one.answer, one.cure) == ("one side only", (Handling(Act.OPEN_HAND_VALVE, "high", 1.0),))
    both = _opened("8.1", centre=on, low=low, high=high, low_hand=1.0, high_hand=1.0)
    assert both.answer == "both sides through the manifold; relief valve in the line"


def test_a_pump_that_is_not_shut_off_at_the_circuit_is_seen_to_be_open_to_it() -> None:
    low = replace(AT_REST.low, joined="low", shutoff_open=True)
    stopped = _opened("9.17", low=low, low_hand=1.0, pump_joined=True, pump_runs=False)
    assert (stopped.answer, stopped.cure) == (
        "shut at the pump only",
        (Handling(Act.CLOSE_HAND_VALVE, "low"),),
    )
    runs = _opened("9.17", pump_joined=True, pump_runs=True)
    assert runs.words == "The valve at the circuit is shut; the pump still runs."
    assert "stands still" in _opened("9.17", pump_joined=True).words


def test_pump_and_charging_hose_that_nobody_joined_are_not_seen_to_be_on() -> None:
    assert _opened("9.3").words == "The pump's hose hangs free."
    assert "joined" in _opened("9.3", pump_joined=True).words
    still = replace(AT_REST.centre, joined="nitrogen")
    assert _opened("9.5", centre=still).words == "The charging hose is still on the nitrogen."
    on = replace(AT_REST.centre, joined="SIM-N")
    assert "on the manifold" in _opened("9.5", centre=on).words


def _step(do: str) -> str:
    procedure = state_for("charge-fixed-orifice").procedure
    return next(step.id for _, step in procedure.steps() if step.do == do)


def test_a_needle_that_sinks_is_seen_to_sink_once_nothing_feeds_it() -> None:
    state, leaky = state_for("open-circuit-weigh-in"), _with(Fault.LEAK, 0.5)
    step = state.procedure.step("8.4")
    shut = sight(step, leaky, leaky, state, hookup=AT_REST)
    assert (shut.answer, shut.cure[-1]) == ("gauge falls", Handling(Act.MEND))
    feeds = sight(step, leaky, leaky, state, hookup=replace(AT_REST, regulator_Pa=4e5))
    assert feeds.answer == "nothing; gauge stands still"
