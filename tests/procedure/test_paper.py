"""The paper copy holds what the screen holds, hazards first."""

from __future__ import annotations

import pytest

from guide.procedure.library import list_procedures, load
from guide.procedure.model import Adjust, Confirm, OrderFigure, Procedure, Reading, Step, Wait, Weigh
from guide.procedure.paper import WIDTH, to_text
from guide.procedure.phrase import entry_words, figure_words


@pytest.fixture(scope="module", params=list_procedures())
def procedure(request: pytest.FixtureRequest) -> Procedure:
    return load(str(request.param))


def _all_steps(procedure: Procedure) -> list[Step]:
    return [step for part in (*procedure.parts, procedure.on_abort) for step in part.steps]


def _blocks(procedure: Procedure) -> dict[str, str]:
    """The text of each step with what stands between the step before and itself, in one line each."""
    flat = " ".join(to_text(procedure).split())
    blocks = {}
    before = 0
    for step in _all_steps(procedure):
        at = flat.index(f" {step.id} [ ] ", before)
        blocks[step.id] = flat[before:at]
        before = at
    return blocks


def test_every_hazard_stands_before_its_step(procedure: Procedure) -> None:
    blocks = _blocks(procedure)
    assert any(step.hazards for step in _all_steps(procedure))
    for step in _all_steps(procedure):
        for hazard in step.hazards:
            assert f"!! {hazard.word}: {hazard.text}" in blocks[step.id], step.id


def test_every_condition_stands_before_its_step(procedure: Procedure) -> None:
    blocks = _blocks(procedure)
    for step in _all_steps(procedure):
        assert (" IF " in blocks[step.id]) == bool(step.when), step.id


def test_every_value_has_a_blank_with_its_unit(procedure: Procedure) -> None:
    flat = " ".join(to_text(procedure).split())
    for step in _all_steps(procedure):
        if isinstance(step.proof, Reading | Wait | Adjust):
            for ask in step.proof.channels:
                assert f"{ask.ask} [{ask.unit}]: " in flat


def test_every_limit_stands_with_its_source_and_a_figure_of_the_order_with_a_blank(
    procedure: Procedure,
) -> None:
    flat = " ".join(to_text(procedure).split())
    for step in _all_steps(procedure):
        for limit in step.proof.limits if isinstance(step.proof, Reading | Wait) else ():
            if isinstance(limit.value, OrderFigure):
                words = f"{figure_words(limit.value)} ________ ({limit.source})"
            else:
                words = f"{limit.value.typed} ({limit.source})"
            assert f"{limit.bound} {words}" in flat
        for change in step.proof.changes if isinstance(step.proof, Wait) else ():
            assert f"{change.drift}s at most {change.at_most.typed}" in flat
            assert f"({change.source}). Change ________" in flat


def test_a_weighing_has_a_blank_for_each_weight_and_for_what_is_to_be_moved(procedure: Procedure) -> None:
    blocks = _blocks(procedure)
    last = list(blocks)[1:]
    for step, following in zip(_all_steps(procedure), [*last, ""], strict=True):
        if isinstance(step.proof, Weigh) and following:
            proof, block = step.proof, blocks[following]
            assert block.count("before ________ after ________ moved ________") == (3 if proof.repeat else 1)
            assert ("To move: " in block) == (proof.target is not None)
            assert ("Moved in all ________" in block) == proof.repeat


def test_entries_the_order_must_have_stand_with_what_is_needed(procedure: Procedure) -> None:
    text = to_text(procedure)
    for entry in procedure.needs_order:
        assert f"[ ] In the order: {entry_words(entry)}" in text


def test_every_answer_has_a_box(procedure: Procedure) -> None:
    flat = " ".join(to_text(procedure).split())
    for step in _all_steps(procedure):
        if isinstance(step.proof, Confirm):
            for answer in step.proof.accept:
                assert f"( ) {answer}" in flat
            for answer in step.proof.refuse:
                assert f"( ) {answer} -> STOP" in flat


def test_every_step_has_a_place_for_time_and_initials(procedure: Procedure) -> None:
    text = to_text(procedure)
    places = len(_all_steps(procedure)) + len(procedure.parts) + 1
    assert text.count("initials ____") == places


def test_the_paper_names_its_revision_and_hash(procedure: Procedure) -> None:
    text = to_text(procedure)
    assert f"revision {procedure.revision}, file {procedure.sha256[:16]}" in text


def test_the_paper_is_plain_and_narrow(procedure: Procedure) -> None:
    text = to_text(procedure)
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    assert text.isascii()
