"""What careful hands make ready for a learner who only reads and enters."""

from __future__ import annotations

from guide.job.focus import Front
from guide.rig.acts import Act, Handling
from guide.rig.careful import Careful
from guide.rig.learning.beginning import beginning
from guide.rig.rig import Rig
from guide.screens.practice_hands import due
from tests.rig.learning.stories import Story, ready


def test_the_cylinder_to_weigh_in_from_stays_on_where_another_holds_this_units_charge() -> None:
    lesson = ready("weigh-in-blend")
    story = Story(lesson, seed=3)
    story.rig = Rig(beginning(lesson, 3))
    story.player = Careful(story.work, story.rig, story.clock)
    while (place := story.work.focus()).step is None or place.step.id != "10.6":
        assert story.player.step() is not None
    assert story.rig.hookup.on_scale == "SIM-N"
    moves = list(due(place.step, story.work.state, Front.STEP, story.rig))
    assert Handling(Act.PART, "centre") not in moves
    assert {each.at for each in moves if isinstance(each, Handling) and each.act is Act.JOIN} <= {"pump"}
