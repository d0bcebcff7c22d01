"""Lessons worked by hand on the simulated unit, well and badly, and told whole from their events alone."""

from __future__ import annotations

import pytest

from guide.job.focus import Front
from guide.job.state import begin
from guide.rig.acts import Act, Handling
from guide.rig.careful import Careful, CarefulHands
from guide.rig.happenings import Happening, Kind
from guide.rig.learning.beginning import beginning
from guide.rig.learning.consequence import rewind
from guide.rig.learning.debrief import questions
from guide.rig.learning.drawing import draw, trouble_of
from guide.rig.learning.lesson import Item
from guide.rig.learning.run import CONCLUSION, Run, over
from guide.rig.learning.score import score
from guide.rig.retelling import retell
from guide.rig.rig import Rig
from tests.rig.learning.stories import Story, ready

QUICK = (
    "add-by-superheat", "air-inside", "burning-refrigerant", "called-away", "charge-by-subcooling",
    "connect-tight", "dirty-condenser", "false-reading", "leave-tight", "not-the-charge",
    "read-superheat-subcooling", "restriction", "too-much", "which-is-it",
)  # fmt: skip
"""The lessons without a recovery and an evacuation, which take their time to work."""


def _story(lesson_id: str, seed: int) -> Story:
    lesson = ready(lesson_id)
    story = Story(lesson, seed=seed)
    story.rig = Rig(beginning(lesson, seed))
    story.player = Careful(story.work, story.rig, story.clock)
    return story


def _worked(story: Story) -> Run:
    lesson = story.lesson.lesson
    while not over(lesson, story.work.state):
        if story.player.step() is None:
            break
    if lesson.conclusion is not None:
        story.practise("chosen", trouble_of(lesson, draw(lesson, story.seed)), at=CONCLUSION)
    if story.work.focus().front is Front.SIGN:
        story.sign()
    return _told(story)


def _told(story: Story) -> Run:
    state = story.work.state
    return retell(story.lesson, begin(state.job, state.order, state.procedure), story.log.kept)


@pytest.mark.parametrize("lesson_id", QUICK)
def test_a_careful_technician_passes_with_full_points(lesson_id: str) -> None:
    result = score(_worked(_story(lesson_id, seed=5)))
    assert result.losses == ()
    assert result.passed


@pytest.fixture
def without_pump(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hands that say the hoses are evacuated and never start the pump."""
    act = CarefulHands.act

    def lazy(self: CarefulHands, handling: Handling, *args: int) -> tuple[Happening, ...]:
        return () if handling.act is Act.START_PUMP else act(self, handling, *args)

    monkeypatch.setattr(CarefulHands, "act", lazy)


@pytest.mark.usefixtures("without_pump")
def test_hoses_opened_with_air_in_them_lose_points_at_the_shut_off_that_let_it_in() -> None:
    story = _story("connect-tight", seed=5)
    while story.work.focus().step is None or story.work.focus().step.id != "4.9":  # type: ignore[union-attr]
        story.player.step()
    for side in ("low", "high"):
        story.practise("handled", Act.OPEN_SHUTOFF.value, at=side)
        story.rig.do(Handling(Act.OPEN_SHUTOFF, side))

    run = _told(story)
    lost = [loss for loss in score(run).losses if loss.item is Item.AIR]

    assert Kind.AIR_IN in {happening.kind for happening in run.happenings}
    assert lost
    assert all(story.log.kept[loss.seq].body["act"] == "open shut-off" for loss in lost)
    assert "of air got in" in lost[0].words
    assert any("of air are in the circuit" in asked.model for asked in questions(run, score(run)))


def test_a_run_ruined_on_purpose_is_over_and_told_back_to_what_ruined_it() -> None:
    story = _story("leave-tight", seed=5)
    while story.work.focus().step is None or story.work.focus().step.id != "7.7":  # type: ignore[union-attr]
        story.player.step()
    story.practise("handled", Act.OPEN_CIRCUIT.value)
    cause = story.log.kept[-1].seq
    happened = story.rig.do(Handling(Act.OPEN_CIRCUIT))
    grave = next(each for each in happened if each.grave)
    story.practise("ended", grave.kind.value)

    run = _told(story)
    result = score(run)

    assert over(run.lesson, run.state)
    assert not result.safety
    assert not result.passed
    assert {loss.seq for loss in result.losses if loss.item is Item.SAFETY} == {cause}
    assert rewind(run, grave).seq == cause
    assert rewind(run, grave).words.endswith(f"event {cause}.")
