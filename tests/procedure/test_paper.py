"""The paper copy holds what the screen holds, hazards first."""

from __future__ import annotations

import pytest

from guide.procedure.model import Adjust, Confirm, Procedure, Reading, Step, Wait
from guide.procedure.paper import WIDTH, to_text
from guide.procedure.reader import read_procedure_file
from tests.procedure.shipped import PATH


@pytest.fixture(scope="module")
def procedure() -> Procedure:
    return read_procedure_file(PATH)


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
