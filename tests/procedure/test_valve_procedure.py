"""The charge check for valves: what comes before what, and what it holds to.

Published figures, all read (FOUND, charging reference section 1.1): Title 24, 2008 Residential Appendices
RA3.2: 15 minutes of running before readings (p. 14 to 16), subcooling within 3 °F (p. 16), superheat 4 to
25 °F where the maker gives no range (p. 16), airflow judged by the temperature split first (p. 16), 55 °F
outdoors (p. 10). The table for valves is a maker's (FOUND, section 5).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping

import pytest

from guide.procedure import library
from guide.procedure.facts import FACTS
from guide.procedure.model import (
    Adjust,
    ChargeMethod,
    Condition,
    Confirm,
    Procedure,
    Reading,
    Step,
    Wait,
)

VALVES = ("thermostatic valve", "electronic valve")
GROUPS = ("A1", "A2L")
CAPACITIES = ("fixed", "held by the maker's test mode")


@pytest.fixture(scope="module")
def procedure() -> Procedure:
    return library.load("charge-valve-subcooling")


def steps(procedure: Procedure) -> list[Step]:
    return [step for _, step in procedure.steps()]


def at(procedure: Procedure, words: str, among: list[Step] | None = None) -> int:
    """Where the one step stands whose action begins with `words`."""
    listed = steps(procedure) if among is None else among
    found = [number for number, step in enumerate(listed) if step.do.startswith(words)]
    assert len(found) == 1, (words, found)
    return found[0]


def confirm(step: Step) -> Confirm:
    assert isinstance(step.proof, Confirm)
    return step.proof


def holds(condition: Condition, facts: Mapping[str, str]) -> bool:
    return (facts[condition.fact] in condition.values) != condition.negated


def worked(procedure: Procedure, facts: Mapping[str, str]) -> list[Step]:
    """The steps that are worked under an order's facts; what earlier steps set is let through."""
    return [
        step
        for step in steps(procedure)
        if all(holds(condition, facts) for condition in step.when if condition.fact in FACTS)
    ]


def branches() -> Iterator[dict[str, str]]:
    for metering, group, capacity in itertools.product(VALVES, GROUPS, CAPACITIES):
        yield {
            "metering": metering, "safety group": group, "capacity": capacity, "receiver": "none",
            "application": "heat pump in cooling", "refrigerant": "R-410A",
            "release when purging hoses": "forbidden",
        }  # fmt: skip


def test_it_applies_where_the_loop_applies_and_asks_for_a_target(procedure: Procedure) -> None:
    applies = {condition.fact: set(condition.values) for condition in procedure.applies}

    assert applies["metering"] == set(VALVES)
    assert applies["safety group"] == set(GROUPS), "A3 is weighed in"
    assert applies["receiver"] == {"none"}
    assert applies["capacity"] == set(CAPACITIES)
    assert applies["application"] == {"unitary air conditioner in cooling", "heat pump in cooling"}
    assert procedure.needs_order == ("target_subcooling",)


def test_the_loop_is_by_subcooling_within_three_degrees_after_fifteen_minutes(procedure: Procedure) -> None:
    loops = [step.proof for step in steps(procedure) if isinstance(step.proof, Adjust)]

    assert len(loops) == 1
    loop = loops[0]
    assert loop.method is ChargeMethod.SUBCOOLING
    assert loop.tolerance is not None
    assert float(loop.tolerance.si) * 1.8 == pytest.approx(3.0, abs=1e-5)
    assert loop.settle_s == 15 * 60
    assert "title24" in loop.tolerance_source


@pytest.mark.parametrize("facts", list(branches()), ids=lambda facts: "/".join(list(facts.values())[:3]))
def test_every_branch_keeps_the_order_of_judging(procedure: Procedure, facts: dict[str, str]) -> None:
    path = worked(procedure, facts)
    run_in = next(
        n for n, s in enumerate(path) if isinstance(s.proof, Wait) and s.do.startswith("RUN the unit")
    )
    wait = path[run_in].proof
    assert isinstance(wait, Wait)
    assert wait.at_least_s == 15 * 60
    valve = next(n for n, s in enumerate(path) if s.do.startswith("LOOK at the sens") and "valve" in s.do)
    start = at(procedure, "START the unit", path)
    split = at(procedure, "COMPARE the temperature split", path)
    judged = at(procedure, "COMPARE superheat with the range", path)
    drier = at(procedure, "MEASURE the liquid line on both sides", path)
    loop = next(n for n, s in enumerate(path) if isinstance(s.proof, Adjust))
    off = at(procedure, "DISCONNECT both hoses", path)

    assert at(procedure, "SWITCH the unit off", path) < valve < start < run_in < split < judged < drier
    assert drier < loop < off < len(path) - 1
    assert path[judged].hold, "no charge moves around the judgement of the valve"


@pytest.mark.parametrize("facts", list(branches()), ids=lambda facts: "/".join(list(facts.values())[:3]))
def test_the_capacity_is_held_before_the_run_in_and_let_go_at_the_end(
    procedure: Procedure, facts: dict[str, str]
) -> None:
    path = worked(procedure, facts)
    said = [step.do for step in path if "test mode" in step.do]

    if facts["capacity"] == "fixed":
        assert not said
        return
    on, off = (
        at(procedure, "SET the maker's test mode", path),
        at(procedure, "STOP the maker's test mode", path),
    )
    run_in = next(n for n, s in enumerate(path) if s.do.startswith("RUN the unit for fifteen minutes"))
    loop = next(n for n, s in enumerate(path) if isinstance(s.proof, Adjust))
    assert at(procedure, "START the unit", path) < on < run_in < loop < off
    assert path[on].hold, "at a varying speed no charge is judged"


@pytest.mark.parametrize("metering", VALVES)
def test_each_kind_of_valve_is_asked_about_in_its_own_words(procedure: Procedure, metering: str) -> None:
    facts = next(facts for facts in branches() if facts["metering"] == metering)
    identify = [step for step in worked(procedure, facts) if step.do.startswith("IDENTIFY the metering")]

    assert len(identify) == 1
    proof = confirm(identify[0])
    assert any("fixed orifice" in answer for answer in proof.refuse)
    bulb = any("sensing bulb" in answer for answer in proof.accept)
    assert bulb == (metering == "thermostatic valve")


def test_what_hides_the_charge_from_subcooling_is_asked_and_refused(procedure: Procedure) -> None:
    brief = list(procedure.parts[0].steps)
    receiver = confirm(brief[at(procedure, "LOOK for a liquid receiver", brief)])
    target = confirm(brief[at(procedure, "READ the maker's target", brief)])
    speed = confirm(brief[at(procedure, "LOOK for a compressor", brief)])

    assert any("receiver" in answer for answer in receiver.refuse)
    assert "Weigh the charge in" in receiver.if_refused
    assert any("none" in answer for answer in target.refuse)
    assert "weigh the charge in" in target.if_refused
    assert any("inverter" in answer for answer in speed.refuse)


def test_the_published_limits_stand_where_they_are_used(procedure: Procedure) -> None:
    listed = steps(procedure)

    assert "4 to 25 dF" in listed[at(procedure, "COMPARE superheat with the range")].why
    assert "55 F outdoors" in listed[at(procedure, "COMPARE outdoor and indoor air")].why
    sources = dict(procedure.sources)
    assert "3 F subcooling band" in sources["title24-valve"]
    assert "55 F outdoors" in sources["title24-weather"]


def test_only_two_answers_lead_on_to_a_charge(procedure: Procedure) -> None:
    """A maker's table (FOUND): only low subcooling with high superheat asks for charge outside the range."""
    proof = confirm(steps(procedure)[at(procedure, "COMPARE superheat with the range")])

    assert proof.accept == (
        "superheat inside the range",
        "superheat above the range and subcooling low",
    )
    assert "superheat below the range" in proof.refuse
    assert proof.if_refused.startswith("Move no charge.")


def test_a_flammable_refrigerant_brings_its_steps_and_they_hold(procedure: Procedure) -> None:
    facts = {group: next(f for f in branches() if f["safety group"] == group) for group in GROUPS}
    more = [s for s in worked(procedure, facts["A2L"]) if s not in worked(procedure, facts["A1"])]
    said = " ".join(step.do for step in more)

    for words in ("VENTILATE", "ignition source", "extinguisher", "marking of every tool", "detector"):
        assert words in said
    loop = next(n for n, s in enumerate(steps(procedure)) if isinstance(s.proof, Adjust))
    air = at(procedure, "TEST the air at ports and cylinder")
    assert air < loop
    assert steps(procedure)[air].hold


def test_what_the_loop_judges_is_read(procedure: Procedure) -> None:
    loop = next(step.proof for step in steps(procedure) if isinstance(step.proof, Adjust))
    needed = {"suction_pressure", "suction_line", "liquid_pressure", "liquid_line", "outdoor_db", "indoor_db"}

    assert needed <= {ask.channel for ask in loop.channels}
    before = next(s for s in steps(procedure) if s.do.startswith("READ pressure and line"))
    assert isinstance(before.proof, Reading)
    assert {ask.settled_s for ask in before.proof.channels} == {60, 90}
