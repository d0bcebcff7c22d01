"""What belongs to the run of a lesson has no place in other work."""

from __future__ import annotations

from dataclasses import replace

import pytest

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.evolve import Impossible, apply
from guide.job.focus import Refused
from guide.job.state import JobState, begin
from guide.job.walk import decide
from tests.job.small import Desk

LESSON = p.Lesson(id="a-lesson", sha256="0" * 64, seed=1, help="none")
HANDLED = p.Practised(what="handled", act="join", at="low")
ENDED = p.Practised(what="ended", act="the compressor ran in a vacuum")


def _fresh(desk: Desk) -> tuple[JobState, p.Opened]:
    state = desk.work.state
    assert state.opened is not None
    return begin(state.job, state.order, state.procedure), state.opened


def test_real_work_is_never_opened_as_the_run_of_a_lesson(desk: Desk) -> None:
    start, opened = _fresh(desk)
    real = opened.model_copy(update={"nature": "real", "lesson": LESSON})
    now = desk.work.now()
    with pytest.raises(Refused, match="no run of a lesson"):
        decide(start, c.Open(real), now)
    with pytest.raises(Impossible, match="no run of a lesson"):
        apply(start, real, now.stamp, 0, opened.person.id)


def test_a_practice_job_may_be_one(desk: Desk) -> None:
    start, opened = _fresh(desk)
    run = opened.model_copy(update={"lesson": LESSON})
    assert apply(start, run, desk.work.now().stamp, 0, opened.person.id).opened == run


@pytest.mark.parametrize("practised", [HANDLED, ENDED])
def test_hands_at_a_simulated_unit_are_no_part_of_any_other_job(desk: Desk, practised: p.Practised) -> None:
    with pytest.raises(Refused, match="this job is none"):
        desk.work.do(c.Practise(practised))
    state = desk.work.state
    with pytest.raises(Impossible, match="no run of a lesson"):
        apply(state, practised, desk.work.now().stamp, state.last_seq + 1, state.present or "")


def test_nothing_follows_once_a_run_is_over(desk: Desk) -> None:
    state = desk.work.state
    assert state.opened is not None
    of_a_lesson = replace(state, opened=state.opened.model_copy(update={"lesson": LESSON}))
    over = apply(of_a_lesson, ENDED, desk.work.now().stamp, state.last_seq + 1, state.present or "")
    with pytest.raises(Refused, match="this run is over"):
        decide(over, c.Practise(HANDLED), desk.work.now())
    with pytest.raises(Impossible, match="after the run of a lesson was over"):
        apply(over, HANDLED, desk.work.now().stamp, state.last_seq + 2, state.present or "")
