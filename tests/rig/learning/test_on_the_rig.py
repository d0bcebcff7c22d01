"""Lessons worked by hand on the simulated unit, well and badly, and told whole from their events alone."""

from __future__ import annotations

import contextlib
from dataclasses import replace

import pytest

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.focus import Front, Refused
from guide.job.state import begin
from guide.procedure.model import Confirm
from guide.rig.acts import Act, Handling
from guide.rig.careful import Careful, CarefulHands
from guide.rig.faults import Fault
from guide.rig.happenings import Happening, Kind
from guide.rig.learning.beginning import beginning
from guide.rig.learning.consequence import rewind
from guide.rig.learning.debrief import questions
from guide.rig.learning.demands import SAFETY_STEPS
from guide.rig.learning.drawing import draw, trouble_of
from guide.rig.learning.lesson import Item
from guide.rig.learning.run import CONCLUSION, Run, over
from guide.rig.learning.score import score
from guide.rig.learning.score_readings import came_to_its_end
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


def _up_to(story: Story, step_id: str) -> None:
    while story.work.focus().step is None or story.work.focus().step.id != step_id:  # type: ignore[union-attr]
        story.player.step()


@pytest.fixture
def without_zeroing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hands that say the gauges are at zero and never look."""
    act = CarefulHands.act

    def trusting(self: CarefulHands, handling: Handling, *args: int) -> tuple[Happening, ...]:
        return () if handling.act is Act.ZERO else act(self, handling, *args)

    monkeypatch.setattr(CarefulHands, "act", trusting)


def _with_a_lying(fault: Fault) -> int:
    lesson = ready("false-reading").lesson
    return next(seed for seed in range(50) if draw(lesson, seed).has(fault))


@pytest.mark.usefixtures("without_zeroing")
def test_whoever_believes_a_gauge_that_lies_entered_what_was_not_so() -> None:
    story = _story("false-reading", seed=_with_a_lying(Fault.GAUGE_OFF))
    run = _worked(story)
    lost = [loss for loss in score(run).losses if loss.item is Item.READINGS]

    assert lost
    assert all("pressure was entered as" in loss.words for loss in lost)
    assert all("readings" in story.log.kept[loss.seq].body for loss in lost)


def test_whoever_finds_the_gauge_that_lies_loses_nothing_for_what_it_showed() -> None:
    story = _story("false-reading", seed=_with_a_lying(Fault.GAUGE_OFF))
    assert score(_worked(story)).losses == ()


def test_a_sensor_beside_its_pipe_tells_nothing_true_until_it_is_seated_anew() -> None:
    lesson = ready("false-reading")
    seed = _with_a_lying(Fault.PROBE_OFF)
    channel = next(each.where for each in draw(lesson.lesson, seed).faults if each.fault is Fault.PROBE_OFF)
    rig = Rig(beginning(lesson, seed))
    assert rig.unread(channel) == "its sensor was not in its place"
    rig.do(Handling(Act.CLAMP, channel))
    rig.do(Handling(Act.SWITCH_ON))
    rig.pass_time(1200.0)
    assert rig.unread(channel) == ""
    assert abs(rig.off(channel)) > 1.0
    rig.do(Handling(Act.CLAMP, channel))
    assert rig.off(channel) == 0.0


def test_a_pressure_typed_before_any_hose_is_open_to_its_port_was_never_read() -> None:
    rig = Rig(beginning(ready("read-superheat-subcooling"), 5))
    assert rig.unread("suction_pressure") == "its hose was not open to its port"
    assert rig.unread("cylinder_weight") == "nothing stood on the scale"
    assert rig.unread("outdoor_db") == ""


def test_who_never_starts_the_unit_has_read_nothing_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    act = CarefulHands.act

    def still(self: CarefulHands, handling: Handling, *args: int) -> tuple[Happening, ...]:
        return () if handling.act is Act.SWITCH_ON else act(self, handling, *args)

    monkeypatch.setattr(CarefulHands, "act", still)
    result = score(_worked(_story("read-superheat-subcooling", seed=3)))
    assert any("the unit did not run" in loss.words for loss in result.losses)
    assert not result.passed


def _leaves_out_what_is_not_safety(story: Story) -> int:
    """Go through a run and leave out every step that is not about safety; how many."""
    left_out = 0
    while not over(story.lesson.lesson, story.work.state):
        focus = story.work.focus()
        step = focus.step
        safety = step is None or step.hazards or step.do.startswith(SAFETY_STEPS)
        if step is not None and focus.front is Front.STEP and not safety:
            try:
                story.work.do(c.Skip(step.id, story.work.keep("no time")))
                left_out += 1
                continue
            except Refused:
                pass  # it can't be left out, so it is done
        if story.player.step() is None:
            break
    return left_out


def test_who_leaves_most_of_the_work_out_and_guesses_right_has_shown_nothing() -> None:
    story = _story("false-reading", seed=3)
    _up_to(story, "6.1")
    assert _leaves_out_what_is_not_safety(story) > 3
    lesson = story.lesson.lesson
    story.practise("chosen", trouble_of(lesson, draw(lesson, 3)), at=CONCLUSION)
    result = score(_told(story))
    assert not result.passed
    assert result.by_item[Item.CONCLUSION] == 0
    assert any("More than 3 steps were left out" in loss.words for loss in result.losses)


def test_who_claims_everything_and_moves_no_hand_has_shown_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def idle(self: CarefulHands, handling: Handling, *args: int) -> tuple[Happening, ...]:
        return ()

    story = _story("leave-tight", seed=3)
    _up_to(story, "7.1")
    monkeypatch.setattr(CarefulHands, "act", idle)
    with contextlib.suppress(ChargewrightError):  # at some step the unit shows what was not done
        for _ in range(300):
            if over(story.lesson.lesson, story.work.state):
                break
            story.player.step()
    result = score(_told(story))
    assert not result.passed
    assert result.by_item[Item.CLEANLINESS] == result.by_item[Item.ORDER] == 0


def test_breaking_off_for_something_that_was_not_so_is_no_end_of_a_run() -> None:
    def _told_to_stop(*, truly: bool) -> Run:
        story = _story("restriction", seed=3)
        while not _refusable(story):
            story.player.step()
        step = story.work.focus().step
        assert step is not None
        assert isinstance(step.proof, Confirm)
        story.work.do(c.Answer(step.id, step.proof.refuse[0]))
        story.work.do(c.Abort(story.work.keep("it says stop")))
        while story.player.step() is not None and story.work.focus().front is not Front.SIGN:
            pass
        story.sign()
        run = _told(story)
        seq = next(each.seq for each in run.of(p.Answered) if not each.payload.accepted)  # type: ignore[attr-defined]
        return replace(run, true_answers={seq: step.proof.refuse[0]}) if truly else run

    assert not came_to_its_end(_told_to_stop(truly=False))
    assert came_to_its_end(_told_to_stop(truly=True))


def _refusable(story: Story) -> bool:
    step = story.work.focus().step
    proof = step.proof if step is not None else None
    return isinstance(proof, Confirm) and bool(proof.refuse) and story.work.focus().front is Front.STEP


@pytest.mark.parametrize("seed", [2, 12, 75784])
def test_a_damp_circuit_shows_its_water_whatever_the_seed(seed: int) -> None:
    story = _story("damp-circuit", seed)
    _worked(story)
    assert story.work.state.facts["first vacuum"] == "stays above 500 micron"
    assert story.work.state.facts["drying"] == "triple"


@pytest.mark.parametrize("seed", [2, 5, 38780])
def test_a_leak_outlives_the_repair_and_is_found_and_mended_at_the_pressure_test(seed: int) -> None:
    story = _story("find-the-leak", seed)
    run = _worked(story)
    seen = {told.payload.seen for told in run.told if isinstance(told.payload, p.Answered)}
    leaky = {"hiss", "gauge falls", "bubbles at a joint"}
    assert seen & leaky, "nothing leaked at the pressure test"
    assert story.rig.truth().mended >= {Fault.LEAK.value}
