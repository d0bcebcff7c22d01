"""The shipped procedure for an opened circuit keeps the order in which nobody gets hurt, on every branch.

Everything is asserted on the assembled procedure, for a refrigerant that doesn't burn and for those that do.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

import pytest

from guide.job.fit import lacking
from guide.job.limits import of_hold
from guide.job.order import read_order
from guide.procedure import library
from guide.procedure.model import (
    Adjust,
    Bound,
    ChangeLimit,
    Choose,
    Condition,
    Direction,
    Drift,
    HazardWord,
    Limit,
    OrderFigure,
    Procedure,
    Reading,
    Step,
    Wait,
    Weigh,
)
from guide.procedure.reader import check_file
from tests.job.opened import gas

PROCEDURE = library.load("open-circuit-weigh-in")
ROOT = Path(__file__).resolve().parents[2]
ORDERS = ("mill-lane-house-leak", "orchard-clinic-unit-2", "practice-opening")
MICRON_Pa = Decimal("0.133322387415")

USUAL: Mapping[str, str] = {
    "application": "unitary air conditioner in cooling",
    "metering": "fixed orifice",
    "safety group": "A1",
    "receiver": "none",
    "capacity": "fixed",
    "line set": "named",
    "target subcooling": "none named",
    "joints": "brazed",
    "depth": "falls steadily; no air comes in",
    "panels": "panels over live parts",
    "first vacuum": "500 micron or lower",
    "drying": "single",
    "still to go in": "nothing",
    "air": "within the limits",
    "charge check": "superheat",
}
VALVE = {
    "metering": "thermostatic valve",
    "target subcooling": "named",
    "charge check": "subcooling",
}
DAMP = {"first vacuum": "stays above 500 micron", "drying": "triple"}
BRANCHES: Mapping[str, Mapping[str, str]] = {
    "A1, fixed orifice": {},
    "A1, flared": {"joints": "flared or pressed"},
    "A1, damp, a rest for the low side": {**DAMP, "still to go in": "a rest"},
    "A2L, valve": {"safety group": "A2L", **VALVE},
    "A2L, flared, damp": {"safety group": "A2L", "joints": "flared or pressed", **DAMP},
    "A3, no check": {"safety group": "A3", "charge check": "weighed", "still to go in": "a rest"},
}
FLAMMABLE = [name for name, facts in BRANCHES.items() if facts.get("safety group", "A1") != "A1"]


def hold(conditions: tuple[Condition, ...], facts: Mapping[str, str]) -> bool:
    """Whether every condition holds."""
    return all((facts[each.fact] in each.values) != each.negated for each in conditions)


def worked(facts: Mapping[str, str], procedure: Procedure = PROCEDURE) -> list[tuple[str, Step]]:
    """The steps of the normal path that apply, in order, each with the name of its part."""
    known = {**USUAL, **facts}
    return [(part.id, step) for part, step in procedure.steps() if hold(step.when, known)]


def limits(step: Step) -> tuple[Limit, ...]:
    """A step's limits."""
    return step.proof.limits if isinstance(step.proof, Reading | Wait) else ()


def changes(step: Step) -> tuple[ChangeLimit, ...]:
    """A step's limits of change."""
    return step.proof.changes if isinstance(step.proof, Wait) else ()


def place(steps: list[tuple[str, Step]], part: str, begins: str) -> int:
    """Where a part's step stands whose action begins so."""
    found = [at for at, (name, step) in enumerate(steps) if name == part and step.do.startswith(begins)]
    assert found, f"no step {begins!r} in part {part}"
    return found[0]


def moved_out(steps: list[tuple[str, Step]]) -> int:
    """Where refrigerant is recovered."""
    return next(
        at
        for at, (_, step) in enumerate(steps)
        if isinstance(step.proof, Weigh) and step.proof.direction is Direction.OUT
    )


def opened(steps: list[tuple[str, Step]]) -> int:
    """Where the pipe is cut."""
    return place(steps, "open", "OPEN the circuit cold")


def standing_test(steps: list[tuple[str, Step]]) -> int:
    """Where the circuit stands under vacuum, the pump shut off."""
    return next(
        at
        for at, (_, step) in enumerate(steps)
        if any(each.channel == "system_vacuum" for each in changes(step))
    )


def moved_in(steps: list[tuple[str, Step]]) -> int:
    """Where refrigerant first goes in."""
    return next(
        at
        for at, (_, step) in enumerate(steps)
        if isinstance(step.proof, Weigh) and step.proof.direction is Direction.IN
    )


def broken_vacuum(steps: list[tuple[str, Step]]) -> int:
    """Where it is read that refrigerant has broken the vacuum."""
    return place(steps, "weigh-in", "READ the pressure that has broken the vacuum")


@pytest.fixture(params=BRANCHES, ids=str)
def steps(request: pytest.FixtureRequest) -> list[tuple[str, Step]]:
    return worked(BRANCHES[request.param])


def test_the_file_has_no_fault() -> None:
    assert check_file(library.path_of("open-circuit-weigh-in")) == []


def test_power_is_locked_off_and_proven_off_before_refrigerant_is_recovered(
    steps: list[tuple[str, Step]],
) -> None:
    """Lock-out and proof of absence: 29 CFR 1910.147 and 1910.333 (MEMORY)."""
    order = [
        place(steps, "lock-out", begins)
        for begins in (
            "SWITCH the unit off",
            "LOCK the disconnect",
            "PROVE the voltage tester on",
            "TEST every conductor",
            "DISCHARGE the capacitors",
            "MEASURE the voltage across every capacitor",
            "PROVE the voltage tester again",
        )
    ]

    assert order == sorted(order)
    assert order[-1] < moved_out(steps)
    assert all(steps[at][1].hold for at in order[1:])


def test_the_circuit_is_opened_only_after_the_recovery_level_was_held(
    steps: list[tuple[str, Step]],
) -> None:
    """The level must be verified before opening: 40 CFR 82.156(a) (FOUND, regulations reference, 1.4)."""
    level = [
        at
        for at, (_, step) in enumerate(steps)
        if any(limit.value is OrderFigure.RECOVERY_LEVEL for limit in limits(step))
    ]

    assert level
    assert moved_out(steps) < level[0] < opened(steps)
    step = steps[level[0]][1]
    assert isinstance(step.proof, Wait)
    assert step.hold
    assert [(limit.channel, limit.bound) for limit in limits(step)] == [("system_pressure", Bound.AT_MOST)]
    assert steps[moved_out(steps)][1].hold


def test_a_circuit_whose_leak_draws_in_air_is_held_at_no_more_than_the_atmosphere() -> None:
    """Leaking parts are never left above 0 psig: 40 CFR 82.156(a)(2) (FOUND, regulations reference, 1.4)."""
    steps = worked({"depth": "a leak draws in air; parts that can be shut off are"})
    at = place(steps, "recover", "KEEP the machine shut off")
    (limit,) = limits(steps[at][1])

    assert moved_out(steps) < at < opened(steps)
    assert steps[at][1].hold
    assert not isinstance(limit.value, OrderFigure)
    assert (limit.bound, limit.value.typed.replace(" ", "")) == (Bound.AT_MOST, "0psig")


def test_a_flammable_circuit_is_purged_evacuated_and_purged_again_before_it_is_opened() -> None:
    """Annex DD: remove, purge, evacuate, purge again, open (FOUND, regulations reference, 6.2).

    The annex leaves the middle of it optional for A2L; here all of it is asked for (PROPOSED there).
    """
    for name in FLAMMABLE:
        steps = worked(BRANCHES[name])
        order = [
            moved_out(steps),
            place(steps, "clear", "PURGE the circuit with nitrogen"),
            place(steps, "clear", "EVACUATE"),
            place(steps, "clear", "PURGE the circuit again"),
            opened(steps),
        ]
        assert order == sorted(order), name
        assert all(steps[at][1].hold for at in order), name


def test_a_flammable_refrigerant_asks_for_air_detector_and_rated_gear_before_anything_is_connected() -> None:
    """Annex DD: ventilation, detector, no ignition source, suitable machines (FOUND, regulations, 6.3)."""
    for name in FLAMMABLE:
        steps = worked(BRANCHES[name])
        for begins in (
            "VENTILATE",
            "PLACE an extinguisher",
            "REMOVE every ignition source",
            "READ the marking",
            "TEST the refrigerant detector",
            "PLACE the running detector",
        ):
            assert place(steps, "safe-to-open", begins) < place(steps, "recover", "CONNECT"), name
        assert place(steps, "open", "TEST the air") < opened(steps), name
        assert place(steps, "recover", "LOOK at the threads") < moved_out(steps), name


def test_a_refrigerant_that_does_not_burn_is_spared_the_longer_order() -> None:
    steps = worked({})
    assert not [step.do for part, step in steps if part == "clear" and step.do.startswith("PURGE")]
    assert not [step.do for _, step in steps if "detector" in step.do and step.do.startswith("PLACE")]


def test_nothing_is_brazed_without_nitrogen_flowing(steps: list[tuple[str, Step]]) -> None:
    """Inert gas flows while a flame is used: Annex DD (FOUND, regulations reference, 6.2)."""
    flames = [at for at, (_, step) in enumerate(steps) if step.do.startswith("BRAZE")]
    for flame in flames:
        flow = place(steps, "braze", "FEED nitrogen")
        assert opened(steps) < flow < flame
        assert steps[flow][1].hold
        assert place(steps, "brief", "READ the permit") < flow
    assert bool(flames) != any(step.do.startswith("TIGHTEN each joint") for _, step in steps)


def test_a_new_filter_drier_goes_in_while_the_circuit_is_open(steps: list[tuple[str, Step]]) -> None:
    """A filter-drier in all systems with POE oil: a compressor maker's guideline (FOUND, charging, 4.2)."""
    assert opened(steps) < place(steps, "open", "FIT a new filter-drier") < place(steps, "pressure-test", "")


def test_the_pressure_test_comes_before_the_vacuum_and_stays_within_the_nameplate(
    steps: list[tuple[str, Step]],
) -> None:
    """No loss in the hold: UFGS 15741N (FOUND); an hour: a maker's manual, 60 min (FOUND, charging, 4.1)."""
    evacuated = place(steps, "evacuate", "EVACUATE the circuit for as long")
    under_test = [
        at
        for at, (part, step) in enumerate(steps)
        if part == "pressure-test" and any(limit.channel == "test_pressure" for limit in limits(step))
    ]
    hour = next(at for at in under_test if changes(steps[at][1]))

    assert opened(steps) < under_test[0] <= under_test[-1] < evacuated < standing_test(steps)
    for at in under_test:
        ceiling = [limit for limit in limits(steps[at][1]) if limit.bound is Bound.AT_MOST]
        assert [limit.value for limit in ceiling] == [OrderFigure.LOW_SIDE_DESIGN_PRESSURE]
    hold_step = steps[hour][1]
    assert isinstance(hold_step.proof, Wait)
    assert hold_step.hold
    assert hold_step.proof.at_least_s >= 3600
    (change,) = changes(hold_step)
    assert (change.channel, change.drift) == ("test_pressure", Drift.FALL)
    assert change.gas_temperature == "gas_temperature"
    assert place(steps, "pressure-test", "TEST every joint with bubble") < evacuated
    assert under_test[-1] < place(steps, "pressure-test", "RELEASE the nitrogen") < evacuated


def test_an_hour_without_pressure_or_with_nitrogen_still_fed_proves_nothing() -> None:
    """A circuit that has emptied itself loses nothing more: what is left at the end is bound from below."""
    path = ROOT / "jobs" / "mill-lane-house-leak.yaml"
    order = read_order(path.read_bytes(), path.name)
    steps = worked({})
    hour = next(step for part, step in steps if part == "pressure-test" and changes(step))
    assert isinstance(hour.proof, Wait)

    empty = of_hold(hour.proof, gas("40 psig", "80 F"), gas("40 psig", "80 F"), order)
    full = of_hold(hour.proof, gas("150 psig", "80 F"), gas("150 psig", "80 F"), order)

    assert [each.verdict for each in empty if each.bound == "at least" and each.change is None] == ["fail"]
    assert {each.verdict for each in full} == {"pass"}
    shut = place(steps, "pressure-test", "SHUT the nitrogen off")
    assert steps[shut][1].hold
    assert place(steps, "pressure-test", "PRESSURIZE the circuit slowly") < shut
    assert shut < place(steps, "pressure-test", "KEEP the circuit under pressure")


def test_what_stands_between_nitrogen_and_a_cylinder_or_an_open_panel_and_power_is_a_hold_point() -> None:
    steps = worked({"still to go in": "a rest"})
    for part, begins, before in (
        ("recover", "CLOSE the valve of the recovery cylinder", place(steps, "clear", "CONNECT regulator")),
        ("airways", "REFIT every panel", place(steps, "airways", "UNLOCK the disconnect")),
        ("top-up", "CLOSE both hand valves", place(steps, "top-up", "START the unit")),
    ):
        at = place(steps, part, begins)
        assert steps[at][1].hold, begins
        assert at < before, begins


def test_machine_and_cylinder_are_off_before_nitrogen_comes(steps: list[tuple[str, Step]]) -> None:
    """Common practice, no source."""
    shut = place(steps, "recover", "CLOSE the valve of the recovery cylinder")
    off = place(steps, "recover", "DISCONNECT the recovery machine")

    assert moved_out(steps) < shut < off < place(steps, "clear", "CONNECT regulator")
    assert steps[shut][1].hold
    assert steps[off][1].hold


def test_the_lock_is_looked_at_again_before_the_last_evacuation(steps: list[tuple[str, Step]]) -> None:
    """Common practice, no source; done again, an earlier step brings this hold point back with it."""
    first = place(steps, "evacuate", "LOOK at your lock on the disconnect")
    again = place(steps, "evacuate", "LOOK at your lock once more")

    assert first < place(steps, "evacuate", "EVACUATE the circuit for as long") < again
    assert again < place(steps, "evacuate", "EVACUATE the circuit to 500 micron") < standing_test(steps)
    assert steps[again][1].hold


def test_a_flammable_job_that_is_broken_off_keeps_flames_away_and_air_moving() -> None:
    """IEC/UL 60335-2-40 Annex DD asks for both during the whole job (FOUND in makers' manuals)."""
    for procedure in (
        PROCEDURE,
        library.load("charge-valve-subcooling"),
        library.load("charge-fixed-orifice"),
    ):
        asked = [step.do for step in procedure.on_abort.steps if hold(step.when, {"safety group": "A2L"})]
        assert asked[1:3] == ["REMOVE every ignition source near the unit.", "VENTILATE the place."]


def test_nitrogen_is_never_brought_in_above_the_low_side_design_pressure() -> None:
    """Every step that reads nitrogen is bound by the nameplate, or by a few psi (the least low side: 100)."""
    for _, step in PROCEDURE.steps():
        read = step.proof.channels if isinstance(step.proof, Reading | Wait) else ()
        if not any(ask.channel == "test_pressure" for ask in read):
            continue
        ceilings = [limit.value for limit in limits(step) if limit.bound is Bound.AT_MOST]
        assert ceilings, step.id
        for value in ceilings:
            if value is not OrderFigure.LOW_SIDE_DESIGN_PRESSURE:
                assert not isinstance(value, OrderFigure), step.id
                assert value.si < 150_000, step.id
    relief = next(step for _, step in PROCEDURE.steps() if "relief valve" in step.do)
    assert relief.hold
    assert place(worked({}), "clear", "READ the setting of the relief valve") < opened(worked({}))


def test_oxygen_is_ruled_out_before_any_gas_reaches_the_circuit(steps: list[tuple[str, Step]]) -> None:
    """Never oxygen or compressed air: makers' manuals and Annex DD (FOUND)."""
    label = place(steps, "clear", "READ the label of the gas cylinder")
    fed = [
        (at, step)
        for at, (_, step) in enumerate(steps)
        if step.do.startswith(("PRESSURIZE", "BREAK", "FEED nitrogen"))
    ]

    assert steps[label][1].hold
    assert fed
    for at, step in fed:
        assert label < at
        assert any(hazard.word is HazardWord.DANGER for hazard in step.hazards), step.id
    assert "xygen" in steps[label][1].hazards[0].text


def test_the_standing_test_comes_before_the_charge_and_lasts(steps: list[tuple[str, Step]]) -> None:
    """500 micron, then 15 min below 700: a maker's manual (FOUND, charging reference, 4.2).

    The project asks for ten minutes at least. A rise of 200 micron is 700 less 500 (CALCULATED).
    """
    test = standing_test(steps)
    deep = place(steps, "evacuate", "EVACUATE the circuit to 500 micron")
    shut = place(steps, "evacuate", "SHUT the valve between circuit and pump")
    step = steps[test][1]

    assert deep < shut < test < moved_in(steps)
    assert all(steps[at][1].hold for at in (deep, shut, test))
    assert isinstance(step.proof, Wait)
    assert step.proof.at_least_s >= 600
    assert step.proof.at_least_s == 15 * 60
    assert _micron(limits(steps[deep][1])[0]) == 500
    assert _micron(limits(step)[0]) == 700
    (change,) = changes(step)
    assert (change.drift, round(change.at_most.si / MICRON_Pa)) == (Drift.RISE, 200)


def _micron(limit: Limit) -> int:
    assert not isinstance(limit.value, OrderFigure)
    assert limit.bound is Bound.AT_MOST
    return round(limit.value.si / MICRON_Pa)


def test_the_gauge_stands_far_from_the_pump_and_the_cores_are_out(steps: list[tuple[str, Step]]) -> None:
    """Cores removed, gauge at the point farthest from the pump: a maker's manual (FOUND, charging, 4.2)."""
    deep = place(steps, "evacuate", "EVACUATE the circuit to 500 micron")
    gauge = place(steps, "evacuate", "FIT the vacuum gauge at the point farthest")

    assert place(steps, "recover", "PULL the valve cores") < deep
    assert gauge < deep
    assert steps[gauge][1].hold
    assert place(steps, "weigh-in", "PUT the valve cores back") > moved_in(steps)


def test_no_step_energises_the_compressor_before_the_vacuum_is_broken(
    steps: list[tuple[str, Step]],
) -> None:
    """A compressor under vacuum arcs at its terminals: makers' manuals (MEMORY)."""
    locked, broken = place(steps, "lock-out", "LOCK the disconnect"), broken_vacuum(steps)
    power = [at for at, (_, step) in enumerate(steps) if step.do.split()[0] in {"START", "UNLOCK", "RUN"}]

    assert power
    assert min(power) > broken
    assert not [at for at in power if locked < at < broken]
    assert place(steps, "airways", "UNLOCK the disconnect") < place(steps, "run-in", "START the unit")
    assert steps[broken][1].hold
    assert [limit.bound for limit in limits(steps[broken][1])] == [Bound.AT_LEAST]
    look = place(steps, "evacuate", "LOOK at your lock")
    assert steps[look][1].hold
    assert look < place(steps, "evacuate", "EVACUATE")
    for part, step in steps:
        if part == "evacuate" and step.do.startswith("EVACUATE") and isinstance(step.proof, Reading):
            assert any("energised under vacuum" in hazard.text for hazard in step.hazards)


def test_the_vacuum_is_broken_with_liquid_into_the_high_side_to_the_charge_of_the_order(
    steps: list[tuple[str, Step]],
) -> None:
    """By weight: nameplate charge and line set, Title 24 RA3.2 (FOUND, charging reference, 1.1)."""
    weighed = [(at, step) for at, (_, step) in enumerate(steps) if isinstance(step.proof, Weigh)]
    first_at, first = next((at, step) for at, step in weighed if at > moved_out(steps))

    assert "high side" in first.do
    assert "compressor off" in first.do
    assert first.hold
    assert first_at == moved_in(steps) < broken_vacuum(steps)
    for _, step in weighed[1:]:
        assert step.proof == Weigh(Direction.IN, OrderFigure.WEIGH_IN_CHARGE, repeat=True)
    for at, step in weighed[2:]:
        assert "low side, throttled" in step.do
        assert at > broken_vacuum(steps)


def test_a_circuit_that_stays_wet_is_dried_three_times() -> None:
    """Nitrogen to 2 psig, an hour, evacuate again: a maker's manual (FOUND, charging reference, 4.2)."""
    steps = worked(DAMP)
    names = [step.do.split()[0] for part, step in steps if part == "evacuate"]

    assert names.count("BREAK") == 2
    assert names.count("EVACUATE") == 3
    hours = [
        step.proof.at_least_s
        for part, step in steps
        if part == "evacuate" and isinstance(step.proof, Wait) and not step.proof.channels
    ]
    assert hours == [3600, 3600]


def offered(facts: Mapping[str, str]) -> str:
    """Which check of the charge is offered first."""
    known = {**USUAL, **facts}
    choice = next(step.proof for _, step in PROCEDURE.steps() if _chooses(step, "charge check"))
    assert isinstance(choice, Choose)
    return next(option.key for option in choice.options if hold(option.when, known))


def _chooses(step: Step, fact: str) -> bool:
    return isinstance(step.proof, Choose) and step.proof.fact == fact


@pytest.mark.parametrize(
    ("facts", "check"),
    [
        ({}, "superheat"),
        ({"safety group": "A2L"}, "superheat"),
        (VALVE, "subcooling"),
        ({"metering": "electronic valve", "target subcooling": "named"}, "subcooling"),
        ({"metering": "thermostatic valve"}, "weighed"),
        ({"capacity": "held by the maker's test mode"}, "superheat"),
        ({"capacity": "varies"}, "weighed"),
        ({"capacity": "unknown"}, "weighed"),
        ({"receiver": "fitted"}, "weighed"),
        ({"safety group": "A3"}, "weighed"),
        ({"safety group": "A3", **VALVE}, "weighed"),
        ({"air": "too cold or too hot for a check"}, "weighed"),
    ],
)
def test_the_charge_is_checked_only_where_a_check_holds_and_stands_as_weighed_elsewhere(
    facts: Mapping[str, str], check: str
) -> None:
    assert offered(facts) == check
    loops = [step for _, step in worked({**facts, "charge check": check}) if isinstance(step.proof, Adjust)]
    assert [loop.proof.method for loop in loops if isinstance(loop.proof, Adjust)] == (
        [] if check == "weighed" else [check]
    )


def test_nothing_is_started_before_every_joint_was_tested_under_refrigerant(
    steps: list[tuple[str, Step]],
) -> None:
    """A leak test after the charge: Annex DD (FOUND, regulations reference, 6.3)."""
    tight = place(steps, "weigh-in", "TEST every joint for leaks")
    assert steps[tight][1].hold
    assert moved_in(steps) < tight < place(steps, "airways", "UNLOCK the disconnect")


@pytest.mark.parametrize("name", library.list_procedures())
def test_the_detector_is_asked_before_a_loop_moves_a_refrigerant_that_burns(name: str) -> None:
    """No refrigerant in the air before work goes on: Annex DD (FOUND, regulations reference, 6.3)."""
    for part in library.load(name).parts:
        loop = next((at for at, step in enumerate(part.steps) if isinstance(step.proof, Adjust)), None)
        if loop is None:
            continue
        asked = [
            step
            for step in part.steps[:loop]
            if step.hold
            and "refrigerant detector" in step.do
            and hold(
                step.when,
                {**USUAL, "safety group": "A2L", "charge check": part.id.removeprefix("charge-by-")},
            )
        ]
        assert asked, part.id


def test_breaking_off_covers_open_ends_and_keeps_the_power_off() -> None:
    actions = [step.do for step in PROCEDURE.on_abort.steps]
    for begins in (
        "CLOSE the valve of every cylinder",
        "LOOK at your lock",
        "COVER every open end",
        "BRING the circuit to a state that can wait",
        "LABEL the unit",
    ):
        assert any(action.startswith(begins) for action in actions), begins


@pytest.mark.parametrize("name", ORDERS)
def test_the_example_orders_name_what_the_procedure_needs(name: str) -> None:
    path = ROOT / "jobs" / f"{name}.yaml"
    order = read_order(path.read_bytes(), path.name)

    assert order.procedure == PROCEDURE.id
    assert lacking(order, PROCEDURE) is None
    assert hold(PROCEDURE.applies, order.facts())
    gear = order.gear
    assert gear.nitrogen_regulator is not None
    assert gear.nitrogen_regulator.relief is not None
    assert order.low_side_design_pressure is not None
    assert gear.nitrogen_regulator.relief.si <= order.low_side_design_pressure.si
