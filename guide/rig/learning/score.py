"""The score of a run, a pure function of what happened in it: every lost point names its event."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from guide.rig.learning import score_hands, score_readings, score_refrigerant
from guide.rig.learning.lesson import Item, Score
from guide.rig.learning.losing import Slip, settle
from guide.rig.learning.run import Run

JUDGES: Final[tuple[Callable[[Run], Iterator[Slip]], ...]] = (
    score_hands.safety,
    score_hands.order,
    score_hands.cleanliness,
    score_hands.skipped_holds,
    score_hands.much_left_out,
    score_refrigerant.air,
    score_refrigerant.refrigerant,
    score_refrigerant.charge,
    score_refrigerant.increments,
    score_readings.readings,
    score_readings.waiting,
    score_readings.conclusion,
    score_readings.interruption,
    score_readings.time,
    score_readings.hints,
    score_readings.unshown,
)


def score(run: Run) -> Score:
    """What a run came to. Passed: at its end, nothing lost for safety, points at the minimum or above.

    What was worked for the trainee, before the parts that count, neither loses nor earns anything; only
    safety counts wherever it was lost.
    """
    rubric = run.lesson.rubric
    own = score_hands.first_own_seq(run)
    theirs = tuple(each for each in run.happenings if each.grave or run.cause(each.at_s).seq >= own)
    judged = replace(run, happenings=theirs)
    slips = [
        slip for judge in JUDGES for slip in judge(judged) if slip.told.seq >= own or slip.item is Item.SAFETY
    ]
    losses = settle(rubric, slips)
    kept = {each.item: each.points for each in rubric.items}
    for loss in losses:
        kept[loss.item] -= loss.points
    points = sum(kept.values())
    safe = not any(slip.item is Item.SAFETY for slip in slips)
    done = score_readings.came_to_its_end(run)
    return Score(
        points=points,
        of=rubric.total,
        safety=safe,
        passed=done and safe and points >= run.lesson.minimum,
        losses=losses,
        by_item=MappingProxyType(kept),
        finished=done,
    )
