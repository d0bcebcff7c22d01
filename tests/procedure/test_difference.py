"""Two revisions compared step by step: each change once, where it stands, in words."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.procedure.difference import differences
from guide.procedure.library import list_procedures, load
from guide.procedure.model import Procedure
from guide.procedure.reader import read_procedure
from tests.procedure.shipped import TEXT, spoiled

OLD = read_procedure(TEXT.encode(), "old")
ASK = """
      - id: "1.4"
        do: ASK who else is near the unit today.
        confirm:
          ask: Who is near, and what do they know?
          accept: [nobody near, people near and told to keep clear]
          refuse: [people near and not told]
          if_refused: Tell them what you do and how far to keep away.
"""


def told(text: str) -> list[tuple[str, str, str]]:
    return [(one.kind, one.where, one.what) for one in differences(OLD, read_procedure(text.encode(), "new"))]


@pytest.mark.parametrize("name", list_procedures())
def test_a_procedure_does_not_differ_from_itself(name: str) -> None:
    assert differences(load(name), load(name)) == []


CHANGES = {
    "revision": ('revision: "3"', 'revision: "4"', ("changed", "revision", '"3" -> "4"')),
    "applies": (
        "{fact: receiver, is: [none]}",
        "{fact: receiver, is_not: [fitted]}",
        ("added", "applies", "receiver is not fitted"),
    ),
    "needs": (
        "  - Refrigerant scale, in date\n",
        "",
        ("removed", "needs", "Refrigerant scale, in date"),
    ),
    "source": ("  blends: ", "  mixtures: ", ("added", "source", None)),
    "action reworded": (
        "do: READ the nameplate of the outdoor unit.",
        "do: READ the nameplate of the condensing unit.",
        (
            "changed",
            "1.1",
            'do: "READ the nameplate of the outdoor unit." -> "READ the nameplate of the condensing unit."',
        ),
    ),
    "why left out": (
        "        why: The cap with its seal is the port's real closure.\n",
        "",
        ("changed", "7.9", 'why: "The cap with its seal is the port\'s real closure." -> nothing'),
    ),
    "hazard": (
        "- WARNING: A2L refrigerant burns when it gathers in still air.",
        "- WARNING: A2L refrigerant burns.",
        ("changed", "2.2", "hazards: added WARNING: A2L refrigerant burns."),
    ),
    "condition": (
        "        when: [{fact: safety group, is: [A2L]}]\n        hold: true\n",
        "        hold: true\n",
        ("changed", "2.2", "when: removed safety group is A2L"),
    ),
    "hold point": ("        hold: true\n", "", ("changed", "2.2", "hold: yes -> no")),
    "answer": (
        "accept: [dry powder, CO2]",
        "accept: [dry powder, CO2, water mist]",
        ("changed", "2.4", "confirm accept: added water mist"),
    ),
    "order of answers": (
        "accept: [dry powder, CO2]",
        "accept: [CO2, dry powder]",
        ("changed", "2.4", "confirm accept: moved now: CO2; dry powder"),
    ),
    "limit": (
        "at_most: 1000 micron",
        "at_most: 500 micron",
        (
            "changed",
            "4.8",
            "reading limits: added Vacuum in the hoses at most 500 micron (common practice, no source)",
        ),
    ),
    "time": ("settle: 15 min", "settle: 20 min", ("changed", "6.3", 'adjust settle_s: "900" -> "1200"')),
    "tolerance": (
        "tolerance: 5 dF",
        "tolerance: 4 dF",
        ("changed", "6.3", 'adjust tolerance: "5 dF" -> "4 dF"'),
    ),
    "proof of another kind": (
        "        confirm:\n          ask: How is the filter?\n"
        "          accept: [clean, was dirty and is new now, none is fitted by design]\n"
        "          refuse: [dirty and no new one here]\n"
        "          if_refused: The charge can't be judged. Bring a filter first.\n",
        "        reading: {channels: [{channel: indoor_db}]}\n",
        ("changed", "3.1", 'proof: "confirm" -> "reading"'),
    ),
    "title of a part": (
        "title: Air and coils",
        "title: Air first",
        ("changed", "part airways", 'title: "Air and coils" -> "Air first"'),
    ),
    "step left out": (ASK, "\n", ("removed", "1.4", "ASK who else is near the unit today.")),
}


@pytest.mark.parametrize(("old", "new", "change"), CHANGES.values(), ids=CHANGES.keys())
def test_a_change_is_told_where_it_stands(old: str, new: str, change: tuple[str, str, str | None]) -> None:
    found = told(spoiled(old, new))
    assert change in found or (change[:2] in {one[:2] for one in found} and change[2] is None), found
    assert len(found) <= 2


def test_a_step_added_before_others_does_not_change_those_that_only_get_new_numbers() -> None:
    brief = next(part for part in OLD.parts if part.id == "brief")
    extra = replace(brief.steps[0], id="1.1", do="LISTEN to the unit.")
    later = tuple(replace(step, id=f"1.{at + 2}") for at, step in enumerate(brief.steps))
    new = replace(OLD, parts=(replace(brief, steps=(extra, *later)), *OLD.parts[1:]))
    assert [(one.kind, one.where) for one in differences(OLD, new)] == [("added", "1.1")]
    assert [(one.kind, one.where) for one in differences(new, OLD)] == [("removed", "1.1")]


def test_a_step_that_came_to_another_place_is_told_as_moved() -> None:
    safe = OLD.parts[1]
    first, *rest = safe.steps
    new = replace(OLD, parts=(OLD.parts[0], replace(safe, steps=(*rest, first)), *OLD.parts[2:]))
    assert [(one.kind, one.what) for one in differences(OLD, new)] == [("moved", first.do)]


def _keys(procedure: Procedure) -> list[str]:
    return [step.do for part in (*procedure.parts, procedure.on_abort) for step in part.steps]


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_every_step_left_out_is_told_and_nothing_else(data: st.DataObject) -> None:
    """Steps taken out anywhere: those and no others are removed, and added the other way round."""
    gone = data.draw(st.sets(st.sampled_from(sorted(set(_keys(OLD)))), max_size=8))
    parts = tuple(
        replace(part, steps=tuple(step for step in part.steps if step.do not in gone)) for part in OLD.parts
    )
    abort = replace(OLD.on_abort, steps=tuple(s for s in OLD.on_abort.steps if s.do not in gone))
    new = replace(OLD, parts=parts, on_abort=abort)
    wanted = sorted(do for do in _keys(OLD) if do in gone)
    assert sorted(one.what for one in differences(OLD, new)) == wanted
    assert {one.kind for one in differences(OLD, new)} <= {"removed"}
    assert sorted(one.what for one in differences(new, OLD)) == wanted
    assert {one.kind for one in differences(new, OLD)} <= {"added"}


@settings(max_examples=40, deadline=None)
@given(st.permutations(range(len(OLD.parts[1].steps))))
def test_steps_in_another_order_are_moved_and_never_changed(order: list[int]) -> None:
    safe = OLD.parts[1]
    steps = tuple(safe.steps[at] for at in order)
    new = replace(OLD, parts=(OLD.parts[0], replace(safe, steps=steps), *OLD.parts[2:]))
    found = differences(OLD, new)
    assert {one.kind for one in found} <= {"moved"}
    assert bool(found) == (list(order) != sorted(order))
    assert len(found) < len(steps)
