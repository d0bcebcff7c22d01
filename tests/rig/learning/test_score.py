"""The score: nothing is lost in a good run, every slip costs its points, and every point names its event."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from guide.job import commands as c
from guide.job import payloads as p
from guide.procedure import library
from guide.rig.acts import Act, Handling
from guide.rig.happenings import GRAVE, Happening, Kind
from guide.rig.learning import shelf
from guide.rig.learning.consequence import START, consequence, rewind
from guide.rig.learning.demands import CLEAN_STEPS, DEMANDS, SAFETY_STEPS
from guide.rig.learning.drawing import draw, trouble_of
from guide.rig.learning.lesson import Help, Item
from guide.rig.learning.losing import points_for, share_lost
from guide.rig.learning.run import CONCLUSION, over
from guide.rig.learning.score import score
from guide.units import Kind as Quantities
from guide.units import parse
from tests.rig.learning.stories import RIGHT, Story, lost, ready

LESSONS = tuple(shelf.paths())
STEPS = [step.do for name in library.list_procedures() for _, step in library.load(name).steps()]


def whole(lesson_id: str, **named: Any) -> Story:
    """A run worked well to its end; the true trouble is named before the last step."""
    lesson = ready(lesson_id)
    story = Story(lesson, **named)
    parts = lesson.lesson.parts
    last_part = next(each for each in lesson.procedure.parts if each.id == (parts.last if parts else "leave"))
    story.go(last_part.steps[0].id)
    if lesson.lesson.conclusion is not None:
        truth = trouble_of(lesson.lesson, draw(lesson.lesson, story.seed))
        story.practise("chosen", truth, at=CONCLUSION)
    story.go(part=last_part.id)
    return story if parts else story.go().sign()


@pytest.mark.parametrize("lesson_id", LESSONS)
def test_a_run_worked_well_loses_nothing_and_is_passed(lesson_id: str) -> None:
    result = score(whole(lesson_id).run())
    assert result.losses == ()
    assert (result.points, result.of, result.safety, result.passed) == (100, 100, True, True)


@pytest.mark.parametrize("seed", [2, 3, 4])
@pytest.mark.parametrize("lesson_id", ["add-by-superheat", "charge-by-subcooling", "weigh-in-blend"])
def test_that_holds_on_other_seeds(lesson_id: str, seed: int) -> None:
    assert score(whole(lesson_id, seed=seed).run()).losses == ()


# -- safety ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", sorted(GRAVE))
def test_what_would_hurt_or_ruin_takes_all_of_safety_and_is_not_passed(kind: Kind) -> None:
    story = Story(ready("connect-tight")).go("4.12")
    deed = len(story.log.kept)
    story.handle(Handling(Act.OPEN_SHUTOFF, "low"))
    at_s = story.run().last.at_s
    story.practise("ended", kind.value)
    happening = Happening(kind, at_s, 0.1, "low")

    run = story.run(happenings=(happening,))
    result = score(run)

    assert not result.safety
    assert not result.passed
    assert not result.finished
    (loss,) = lost(result, Item.SAFETY)
    assert (loss.points, loss.seq) == (20, deed)
    assert loss.words.startswith(START)
    assert over(run.lesson, run.state)
    told = consequence(happening)
    assert told.headline.startswith("Stop. On a real unit this would have ")
    assert told.why
    assert told.instead
    assert rewind(run, happening).seq == deed
    assert loss.words.endswith(rewind(run, happening).words)


def test_an_ended_run_is_not_passed_even_where_nobody_says_what_happened() -> None:
    story = Story(ready("connect-tight")).go("4.12")
    story.practise("ended", Kind.WORKED_LIVE.value)
    result = score(story.run())
    assert not result.safety
    assert [loss.seq for loss in lost(result, Item.SAFETY)] == [story.log.kept[-1].seq]


def test_what_a_run_that_ended_early_has_not_shown_is_lost() -> None:
    story = Story(ready("add-by-superheat")).go("5.3")
    result = score(story.run())
    assert not result.finished
    assert {loss.item for loss in result.losses} == {
        Item.ORDER, Item.CHARGE, Item.CLEANLINESS, Item.TIME,
    }  # fmt: skip
    assert {loss.seq for loss in result.losses} == {story.log.kept[-1].seq}


@pytest.mark.parametrize(
    ("lesson_id", "looked", "ended"),
    [
        ("restriction", True, True),
        ("restriction", False, False),
        ("charge-by-subcooling", True, False),
    ],
)
def test_breaking_off_is_an_end_where_it_is_right_and_the_work_has_said_stop(
    lesson_id: str, looked: bool, ended: bool
) -> None:
    story = Story(ready(lesson_id)).go("7.4")
    if looked:
        story.work.do(c.Answer("7.4", "frost or sweat after it"))
    story.work.do(c.Abort("0" * 64))
    result = score(story.go().sign().run(conclusion="liquid-line restriction"))
    assert result.finished == ended
    assert result.passed == ended


# -- order and cleanliness ---------------------------------------------------------------------------


def test_a_step_said_to_be_done_and_not_done_by_hand_loses_points() -> None:
    story = Story(ready("connect-tight"), leave_out=frozenset({Act.START_PUMP})).go(part="connect")
    result = score(story.run())
    (loss,) = result.losses
    assert (loss.item, loss.points) == (Item.ORDER, 3)
    assert loss.words == "4.9 was said to be done, and hands did not do it: start the vacuum pump."
    assert story.log.kept[loss.seq].kind == "wait-ended"


def test_a_step_done_after_what_it_had_to_come_before_loses_points() -> None:
    story = Story(ready("connect-tight")).go("4.9")
    for side in ("low", "high"):
        story.handle(Handling(Act.OPEN_SHUTOFF, side))
    result = score(story.go(part="connect").run())
    (loss,) = lost(result, Item.ORDER)
    assert "4.9 was done too late" in loss.words


def test_a_leak_test_only_claimed_is_a_matter_of_cleanliness() -> None:
    story = Story(ready("connect-tight"), leave_out=frozenset({Act.SMELL_OUT})).go(part="connect")
    result = score(story.run())
    assert [(loss.item, loss.points) for loss in result.losses] == [(Item.CLEANLINESS, 3)]


def test_a_step_left_out_loses_points_by_what_it_is_about() -> None:
    story = Story(ready("add-by-superheat")).go("4.5")
    story.work.do(c.Skip("4.5", "0" * 64))
    story.go("7.9")
    story.work.do(c.Skip("7.9", "0" * 64))
    result = score(story.go().sign().run())
    assert [(loss.item, loss.points) for loss in result.losses] == [
        (Item.ORDER, 3), (Item.CLEANLINESS, 3),
    ]  # fmt: skip
    assert [story.log.kept[loss.seq].kind for loss in result.losses] == ["skipped", "skipped"]


def test_leaving_out_what_keeps_a_person_safe_is_no_pass() -> None:
    story = Story(ready("add-by-superheat")).go("2.1")
    story.work.do(c.Skip("2.1", "0" * 64))
    result = score(story.go().sign().run())
    assert not result.safety
    assert not result.passed
    assert lost(result, Item.SAFETY)[0].points == 15


def test_a_hold_left_out_is_waiting_left_out() -> None:
    story = Story(ready("add-by-superheat")).go("7.5")
    story.work.do(c.Skip("7.5", "0" * 64))
    result = score(story.go().sign().run())
    assert [(loss.item, loss.points) for loss in result.losses] == [(Item.WAITING, 3)]


def test_picking_another_step_than_the_next_costs_a_point_each_time() -> None:
    story = Story(ready("connect-tight"), level=Help.CHOOSE).go("4.5")
    story.practise("chosen", "4.12", step="4.5")
    wrong = story.log.kept[-1].seq
    story.practise("chosen", "4.5", step="4.5")
    result = score(story.go(part="connect").run())
    assert [(loss.item, loss.points, loss.seq) for loss in result.losses] == [(Item.ORDER, 1, wrong)]
    assert "4.12 was picked where 4.5 comes next" in result.losses[0].words


def test_what_is_played_for_the_trainee_asks_for_no_hands() -> None:
    story = Story(ready("connect-tight"), level=Help.WORKED, by_hand=False).go(part="connect")
    assert score(story.run()).losses == ()


def test_parts_that_are_worked_for_the_trainee_ask_for_no_hands() -> None:
    story = Story(ready("leave-tight"), by_hand=False).go("7.1")
    story.by_hand = True
    assert score(story.go(part="leave").run()).losses == ()


@pytest.mark.parametrize("start", [each.do for each in DEMANDS] + [*SAFETY_STEPS, *CLEAN_STEPS])
def test_every_demand_is_of_a_step_there_is(start: str) -> None:
    assert any(do.startswith(start) for do in STEPS)


# -- refrigerant, air, charge ------------------------------------------------------------------------


def test_air_costs_by_the_gram_and_names_what_let_it_in() -> None:
    story = Story(ready("connect-tight")).go(part="connect")
    run = story.run()
    opened = [deed for deed in run.deeds if deed.handling.act is Act.OPEN_SHUTOFF]
    air = tuple(Happening(Kind.AIR_IN, deed.at_s, 0.0006, deed.handling.at) for deed in opened)

    result = score(replace(run, happenings=air))

    assert [loss.item for loss in result.losses] == [Item.AIR, Item.AIR]
    assert {loss.seq for loss in result.losses} <= {deed.seq for deed in opened}
    assert sum(loss.points for loss in result.losses) == points_for(share_lost(0.0012, 0.0001, 0.0015), 25)


def test_a_breath_of_air_and_what_good_work_loses_cost_nothing() -> None:
    run = Story(ready("connect-tight")).go(part="connect").run()
    small = (Happening(Kind.AIR_IN, 60.0, 0.00005), Happening(Kind.REFRIGERANT_LOST, 60.0, 0.005))
    assert score(replace(run, happenings=small)).losses == ()


def test_refrigerant_let_out_adds_up_and_never_costs_more_than_its_item() -> None:
    run = Story(ready("connect-tight")).go(part="connect").run()
    releases = tuple(Happening(Kind.REFRIGERANT_LOST, run.last.at_s - n, 0.01) for n in range(8))
    result = score(replace(run, happenings=releases))
    assert sum(loss.points for loss in result.losses) == 18
    assert result.by_item[Item.REFRIGERANT] == 0


@pytest.mark.parametrize(("off_K", "points"), [(2.7, 0), (2.9, 9), (4.2, 13), (5.6, 16), (20.0, 16)])
def test_the_charge_at_the_end_is_judged_by_what_is_truly_so(off_K: float, points: int) -> None:
    end = replace(RIGHT, superheat_K=6.0 + off_K)
    result = score(_added().run(end=end))
    assert sum(loss.points for loss in lost(result, Item.CHARGE)) == points


def test_where_no_superheat_can_tell_the_weight_does() -> None:
    story = _added()
    stands = replace(RIGHT, superheat_K=None)
    assert score(story.run(end=stands)).losses == ()
    short = score(story.run(end=replace(stands, charge_kg=3.2)))
    assert lost(short, Item.CHARGE)[0].words == "The charge was truly 11.1% short at the end."


def test_charge_moved_where_it_was_not_the_charge_costs_it_all() -> None:
    lesson = ready("not-the-charge")
    story = Story(ready("add-by-superheat")).go().sign()
    run = replace(story.run(), lesson=replace(lesson.lesson, conclusion=None))
    result = score(run)
    (loss,) = lost(result, Item.CHARGE)
    assert loss.points == 16
    assert "it was not the charge" in loss.words
    assert story.log.kept[loss.seq].kind in {"weigh-ended", "adjust-ended"}


def _added() -> Story:
    if not _ADDED:
        _ADDED.append(Story(ready("add-by-superheat")).go().sign())
    return _ADDED[0]


_ADDED: list[Story] = []


def _weigh(story: Story, way: str, ounces: float, cylinder: str) -> None:
    """Say that so much moved at the step in front, whatever was advised."""
    step = story.step()
    assert step is not None
    advised = story.work.state.step_rounds(step.id)[-1].read.assessment.action
    against = None if {"in": "add", "out": "recover"}[way] == advised else "0" * 64
    before, after = (352.0, 352.0 - ounces) if way == "in" else (246.4, 246.4 + ounces)
    story.work.do(c.BeginWeigh(step.id, way, cylinder, _weight(before), against))  # type: ignore[arg-type]
    story.clock.advance(120)
    story.work.do(c.EndWeigh(step.id, _weight(after)))


def _weight(ounces: float) -> p.ReadingValue:
    quantity = parse(f"{ounces}oz", Quantities.MASS)
    return p.ReadingValue(
        channel="cylinder_weight", si=quantity.si, unit="oz", typed=quantity.typed, source="typed"
    )


def _to_the_first_round() -> Story:
    story = Story(ready("add-by-superheat")).go("6.3")
    for hazard in range(2):
        if ("6.3", hazard) not in story.work.state.acknowledged:
            story.work.do(c.Acknowledge("6.3", hazard))
    story.player.step()
    assert story.work.state.step_rounds("6.3")
    return story


def test_a_move_that_is_too_big_and_one_taken_back_cost_points() -> None:
    story = _to_the_first_round()
    _weigh(story, "in", 20.0, "SIM-N")
    big = story.log.kept[-1].seq
    result = score(story.run())
    assert [(loss.points, loss.seq) for loss in lost(result, Item.INCREMENTS)] == [(3, big)]
    assert "of the nameplate charge" in lost(result, Item.INCREMENTS)[0].words

    story.clock.advance(15 * 60)
    story.work.do(c.Read("6.3", story.work.state.rounds[-1].read.readings))
    _weigh(story, "out", 6.0, "SIM-R")
    result = score(story.run())
    back = [loss for loss in lost(result, Item.INCREMENTS) if "taken out again" in loss.words]
    assert [(loss.points, loss.seq) for loss in back] == [(4, story.log.kept[-1].seq)]


def test_a_round_read_before_the_system_has_settled_is_too_soon() -> None:
    story = _to_the_first_round()
    _weigh(story, "in", 2.0, "SIM-N")
    story.clock.advance(120)
    story.work.do(c.Read("6.3", story.work.state.rounds[-1].read.readings))
    (loss,) = lost(score(story.run()), Item.WAITING)
    assert loss.seq == story.log.kept[-1].seq
    assert "of 15 min" in loss.words


def test_what_was_worked_for_the_trainee_loses_nothing_whatever_happened_there() -> None:
    run = Story(ready("leave-tight")).go(part="leave").run()
    early = min(told.at_s for told in run.told if told.seq > 20)
    before = Happening(Kind.REFRIGERANT_LOST, early, 0.2)
    after = Happening(Kind.REFRIGERANT_LOST, run.last.at_s, 0.2)
    assert score(replace(run, happenings=(before,))).losses == ()
    assert [loss.item for loss in score(replace(run, happenings=(before, after))).losses] == [
        Item.REFRIGERANT
    ]


def test_the_first_round_after_a_return_is_not_too_soon() -> None:
    story = _to_the_first_round()
    _weigh(story, "in", 2.0, "SIM-N")
    story.work.do(c.Pause("0" * 64))
    story.clock.advance(120)
    check = p.CylinderCheck(cylinder="SIM-N", weight=_weight(350.0), valve="closed")
    story.work.do(c.Resume(story.work.person, check))
    story.work.do(c.Read("6.3", story.work.state.rounds[-1].read.readings))
    assert lost(score(story.run()), Item.WAITING) == []
