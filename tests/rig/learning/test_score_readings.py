"""What is lost for readings, the conclusion, an interruption, time and hints."""

from __future__ import annotations

from dataclasses import replace

import pytest

from guide.job import commands as c
from guide.rig.acts import Act, Handling
from guide.rig.learning.drawing import trouble_of
from guide.rig.learning.hint_costs import HINT_COSTS, HINT_NAMES
from guide.rig.learning.lesson import Item
from guide.rig.learning.run import CONCLUSION, Run, concluded
from guide.rig.learning.score import score
from tests.rig.learning.stories import RIGHT, Story, lost, ready


def test_a_value_further_off_than_its_instrument_may_be_costs_points() -> None:
    story = Story(ready("read-superheat-subcooling")).go(part="run-in")
    run = story.run(conclusion="overcharge")
    entry = next(each for each in run.state.entries if each.channel == "suction_line")
    true = float(entry.value.si)

    near = score(replace(run, true_readings={entry.seq: {"suction_line": true + 0.6}}))
    far = score(replace(run, true_readings={entry.seq: {"suction_line": true + 3.0}}))

    assert lost(near, Item.READINGS) == []
    (loss,) = lost(far, Item.READINGS)
    assert (loss.points, loss.seq) == (2, entry.seq)
    assert "suction line was entered as" in loss.words


def test_what_was_so_a_moment_before_it_was_entered_may_have_been_read() -> None:
    run = Story(ready("read-superheat-subcooling")).go(part="run-in").run(conclusion="overcharge")
    entry = next(each for each in run.state.entries if each.channel == "suction_line")
    true = float(entry.value.si)
    falling = {entry.seq: {"suction_line": true - 3.0}}

    fallen = replace(run, true_readings=falling, true_earlier={entry.seq: {"suction_line": true + 2.0}})
    long_fallen = replace(run, true_readings=falling, true_earlier={entry.seq: {"suction_line": true - 2.5}})

    assert lost(score(fallen), Item.READINGS) == []
    assert len(lost(score(long_fallen), Item.READINGS)) == 1


def test_a_sight_told_otherwise_costs_points_and_another_true_answer_does_not() -> None:
    story = Story(ready("add-by-superheat")).go("3.2")
    (seq,) = [e.seq for e in story.log.kept if e.kind == "answered" and e.body["step"] == "3.1"]
    run = story.run()
    same = score(replace(run, true_answers={seq: "none is fitted by design"}))
    other = score(replace(run, true_answers={seq: "dirty and no new one here"}))
    assert lost(same, Item.READINGS) == []
    assert [(loss.points, loss.seq) for loss in lost(other, Item.READINGS)] == [(2, seq)]


def test_another_answer_does_cost_points_where_the_way_on_hangs_on_it() -> None:
    story = Story(ready("add-by-superheat")).go("4.2")
    (seq,) = [e.seq for e in story.log.kept if e.kind == "answered" and e.body["step"] == "4.1"]
    run = story.run()
    said = run.state.answers["4.1"].seen
    other = next(
        each
        for each in ("low-loss ends and under vacuum", "low-loss ends and not under vacuum")
        if each != said
    )
    assert lost(score(replace(run, true_answers={seq: said})), Item.READINGS) == []
    told_otherwise = lost(score(replace(run, true_answers={seq: other})), Item.READINGS)
    assert [(loss.points, loss.seq) for loss in told_otherwise] == [(2, seq)]


@pytest.mark.parametrize(("said", "points"), [("overcharge", 0), ("undercharge", 25), (None, 25)])
def test_the_conclusion_is_right_or_costs_all_of_it(said: str | None, points: int) -> None:
    story = Story(ready("read-superheat-subcooling")).go("5.5")
    if said is not None:
        story.practise("chosen", said, at=CONCLUSION)
        assert concluded(story.run().told) is not None
    run = story.go(part="run-in").run()
    assert trouble_of(run.lesson, run.drawn) == "overcharge"
    result = score(run)
    assert sum(loss.points for loss in lost(result, Item.CONCLUSION)) == points
    assert result.passed == (said == "overcharge")


def test_a_call_is_answered_by_putting_the_work_to_rest() -> None:
    story = _called_away(after_s=60.0, rest=True)
    assert score(story).losses == ()


def test_a_call_that_is_not_answered_costs_all_of_it() -> None:
    (loss,) = lost(score(_called_away(after_s=60.0, rest=False)), Item.INTERRUPTION)
    assert loss.points == 20
    assert "not put to rest" in loss.words


def test_work_left_with_the_cylinder_open_costs_half() -> None:
    (loss,) = lost(score(_called_away(after_s=60.0, rest=True, open_cylinder=True)), Item.INTERRUPTION)
    assert (loss.points, loss.words) == (10, "The work was left with the cylinder open.")


def test_a_call_after_the_work_costs_nothing() -> None:
    run = Story(ready("called-away")).go().sign().run()
    assert score(replace(run, interrupted_at_s=run.last.at_s + 5.0)).losses == ()


def _called_away(*, after_s: float, rest: bool, open_cylinder: bool = False) -> Run:
    story = Story(ready("called-away")).go("5.4")
    called = story.run().last.at_s
    if open_cylinder:
        story.handle(Handling(Act.OPEN_CYLINDER, amount=0.1))
    if rest:
        story.clock.advance(after_s)
        story.work.do(c.Pause("0" * 64))
    story.go()
    return story.sign().run(interrupted_at_s=called + 1.0)


def test_time_over_the_limit_costs_a_point_for_each_twentieth() -> None:
    story = Story(ready("add-by-superheat")).go("7.1")
    limit = ready("add-by-superheat").lesson.time_limit_s
    assert limit is not None
    story.clock.advance(limit - story.run().last.at_s)
    result = score(story.go().sign().run())
    (loss,) = result.losses
    assert loss.item is Item.TIME
    assert loss.points == 2
    assert loss.words == "It took 262 min of 240."
    assert loss.at_s > limit


def test_hints_cost_more_the_more_they_say_and_the_same_one_costs_once() -> None:
    story = Story(ready("connect-tight")).go("4.9")
    for name in (*HINT_NAMES, "pointer"):
        story.practise("hint", name, step="4.9")
    result = score(story.go(part="connect").run())
    assert [loss.points for loss in result.losses] == list(HINT_COSTS)
    assert all(story.log.kept[loss.seq].body["what"] == "hint" for loss in result.losses)


def test_charge_that_moved_past_the_scale_moved_all_the_same() -> None:
    story = Story(ready("not-the-charge")).go().sign()
    start = story.run().drawn.start_fraction
    as_it_was = replace(RIGHT, charge_kg=start * RIGHT.right_charge_kg)
    filled = replace(RIGHT, charge_kg=(start + 0.2) * RIGHT.right_charge_kg)
    assert lost(score(story.run(as_it_was)), Item.CHARGE) == []
    (loss,) = lost(score(story.run(filled)), Item.CHARGE)
    assert "of charge moved, and it was not the charge" in loss.words
