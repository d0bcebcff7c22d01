"""Whatever happens in a run: its points and its lost points are a hundred, each with its event."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from guide.rig.acts import Act
from guide.rig.faults import Fault
from guide.rig.happenings import Happening, Kind
from guide.rig.learning import shelf
from guide.rig.learning.hint_costs import HINT_NAMES
from guide.rig.learning.score import score
from tests.rig.learning.stories import RIGHT, Story, ready

LESSONS = tuple(shelf.paths())

HAPPENING = st.builds(
    Happening,
    kind=st.sampled_from(Kind),
    at_s=st.floats(0.0, 20_000.0),
    amount=st.one_of(st.none(), st.floats(0.0, 5.0)),
    where=st.sampled_from(["", "low", "high"]),
)
PRACTISED = st.lists(
    st.tuples(
        st.sampled_from(["hint", "chosen"]),
        st.sampled_from([*HINT_NAMES, "4.3", "9.9"]),
        st.sampled_from(["4.3", "6.3"]),
    ),
    max_size=12,
)


@settings(max_examples=60, deadline=None)
@given(
    lesson_id=st.sampled_from(LESSONS),
    happenings=st.lists(HAPPENING, max_size=12),
    practised=PRACTISED,
    ended=st.booleans(),
    conclusion=st.sampled_from([None, "leak", "overcharge"]),
    left_out=st.frozensets(st.sampled_from(list(Act)), max_size=4),
    off=st.floats(-1.0, 1.0),
    steps=st.integers(1, 60),
    called=st.one_of(st.none(), st.floats(0.0, 9000.0)),
)
def test_points_and_lost_points_are_a_hundred_and_every_lost_point_names_an_event_of_the_run(
    lesson_id: str, happenings: list[Happening], practised: list[tuple[str, str, str]], ended: bool,
    conclusion: str | None, left_out: frozenset[Act], off: float, steps: int, called: float | None,
) -> None:  # fmt: skip
    story = Story(ready(lesson_id), leave_out=left_out)
    for _ in range(steps):
        if story.player.step() is None:
            break
    for what, act, step in practised:
        story.practise(what, act, step=step)
    if ended:
        story.practise("ended", Kind.WORKED_LIVE.value)
    end = replace(RIGHT, charge_kg=3.6 * (1.0 + off), superheat_K=6.0 + 10.0 * off)
    run = story.run(end=end, happenings=tuple(happenings), conclusion=conclusion, interrupted_at_s=called)

    result = score(run)

    assert result == score(run)
    assert result.of == 100
    assert result.points + sum(loss.points for loss in result.losses) == 100
    assert sum(result.by_item.values()) == result.points
    assert min(result.by_item.values()) >= 0
    seqs = {event.seq for event in story.log.kept}
    assert all(loss.seq in seqs and loss.points > 0 and loss.words for loss in result.losses)
    assert [loss.seq for loss in result.losses] == sorted(loss.seq for loss in result.losses)
    if ended or any(happening.grave for happening in happenings):
        assert not result.safety
        assert not result.passed


def test_the_interruption_is_one_of_the_faults_of_its_lesson() -> None:
    assert [each.fault for each in ready("called-away").lesson.faults] == [Fault.INTERRUPTION]
