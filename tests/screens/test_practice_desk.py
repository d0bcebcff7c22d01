"""A trainee's desk with a simulated unit in a process of its own: runs begun, left, gone on with, scored."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job.focus import Front, Refused
from guide.procedure.model import Confirm
from guide.rig.acts import Act, Handling
from guide.rig.happenings import Kind
from guide.rig.learning.lesson_reader import LessonError
from guide.screens.practice_desk import PracticeDesk
from guide.screens.practice_rig import RigUnit
from guide.screens.practice_run import Run
from guide.screens.practice_watched import Watched
from tests.screens.small_job import PASSPHRASE

LESSON = "connect-tight"


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[PracticeDesk]:
    desk = PracticeDesk(tmp_path / "practice")
    desk.enter("kit", "Kit Learner", PASSPHRASE)
    yield desk
    desk.leave()


@pytest.fixture
def run(desk: PracticeDesk) -> Iterator[Run]:
    begun = desk.begin(LESSON, "none", 5)
    assert isinstance(begun, Run)
    yield begun
    begun.close()


def test_what_comes_before_the_lesson_is_done_already(run: Run) -> None:
    focus = run.work.focus()
    assert focus.front is Front.STEP
    assert focus.part is not None
    assert focus.part.id == "connect"
    assert run.work.state.ended_parts


def test_the_unit_tells_what_is_seen_what_stands_and_what_hands_can_do(run: Run) -> None:
    run.follow()
    assert isinstance(getattr(run.work.focus().step, "proof", None), Confirm)
    assert run.sight_here()
    assert "hose is free" in run.seen[0]
    words = [doable.words for doable in run.doables]
    assert "Join the low-side hose to its port" in words
    assert any(len(doable.ways) > 1 for doable in run.doables)


def test_an_act_is_in_the_log_and_changes_the_unit(run: Run) -> None:
    run.follow()
    came = run.handle(Handling(Act.JOIN, "low"))
    assert came.fault == ""
    assert "The low-side hose is on the low-side port" in run.seen[0]
    last = list(run.work.events())[-1]
    assert (last.kind, last.body["what"], last.body["act"], last.body["at"]) == (
        "practised", "handled", "join", "low",
    )  # fmt: skip


def test_what_cannot_be_done_is_said_and_nothing_changes(run: Run) -> None:
    run.follow()
    before = run.seen
    came = run.handle(Handling(Act.OPEN_SHUTOFF, "low"))
    assert came.fault
    assert run.seen == before


def test_a_run_that_was_left_stands_where_it_stood(desk: PracticeDesk, run: Run) -> None:
    run.follow()
    run.handle(Handling(Act.JOIN, "high"))
    job, seen = run.work.state.job, run.seen
    run.close()
    assert [(each.job, each.lesson) for each in desk.open_runs()] == [(job, LESSON)]
    again = desk.go_on(job)
    again.follow()
    assert again.seen == seen
    assert again.t_s() >= run.t_s() - 1.0
    again.close()


def test_a_lesson_that_is_not_there_or_not_the_same_is_not_gone_on_with(desk: PracticeDesk) -> None:
    with pytest.raises(LessonError, match="there is no lesson"):
        desk.begin("no-such-lesson", "none", 1)
    assert desk.open_runs() == ()


def test_a_ruined_run_is_scored_told_and_laid_beside_the_model_run(desk: PracticeDesk, run: Run) -> None:
    run.follow()
    came = run.handle(Handling(Act.OPEN_CIRCUIT))
    grave = next(each for each in came.happened if each.grave)
    assert grave.kind in {Kind.WORKED_LIVE, Kind.OPENED_UNDER_PRESSURE}
    assert run.end(grave).would.startswith("Stop. On a real unit this would have")
    assert run.over
    scored = desk.score(run)
    assert not scored.safety
    assert not scored.passed
    assert scored.points + sum(lost.points for lost in scored.lost) == scored.of
    assert all("event" in lost.where for lost in scored.lost)
    questions = desk.questions(run)
    assert len(questions) == 5
    desk.keep_answers(run, tuple("an answer" for _ in questions))
    rows = desk.beside(run)
    assert any(row.lost for row in rows)
    assert any(row.model and not row.own for row in rows)
    assert desk.open_runs() == ()
    assert next(line for line in desk.lessons() if line.id == LESSON).standing.startswith("tried 1 time")
    assert desk.score(run) == scored, "told twice it is logged once"


def test_a_watched_lesson_plays_to_where_it_ends(desk: PracticeDesk) -> None:
    watched = desk.begin(LESSON, "worked", 5)
    assert isinstance(watched, Watched)
    said = []
    while (words := watched.step()) is not None:
        said.append(words)
        assert len(said) < 200
    assert watched.over
    assert "connect" in watched.work.state.ended_parts
    assert any("EVACUATE the hoses" in words for words in said)
    assert desk.open_runs() == (), "what was watched is not gone on with"


def test_with_the_hands_done_the_values_are_there_to_be_read(desk: PracticeDesk) -> None:
    begun = desk.begin(LESSON, "fill", 5)
    assert isinstance(begun, Run)
    work = begun.work
    try:
        work.do(c.Answer("4.1", "low-loss ends and not under vacuum"))
        work.do(c.Answer("4.2", "pump and vacuum gauge"))
        work.do(c.Choose("4.3", "evacuate"))
        done, happened = begun.do_for()
        assert [each.act for each in done] == [Act.ZERO]
        assert not happened
        assert begun.do_for() == ((), ()), "nothing is done twice"
    finally:
        begun.close()


def test_a_unit_whose_process_is_killed_is_brought_back_by_itself(run: Run) -> None:
    run.follow()
    run.handle(Handling(Act.JOIN, "low"))
    seen = run.seen
    assert isinstance(run.unit, RigUnit)
    os.kill(run.unit.pid, signal.SIGKILL)
    with pytest.raises(ChargewrightError, match="broke off"):
        run.handle(Handling(Act.JOIN, "high"))
    run.follow()
    assert run.brought_back == 1
    assert run.unit.lost == ""
    assert run.seen != seen, "what was logged when it broke off is done, too"
    assert "high-side hose is on the high-side port" in run.seen[0]


def test_something_grave_is_in_the_log_before_anybody_can_do_anything_more(run: Run) -> None:
    run.follow()
    run.handle(Handling(Act.OPEN_CIRCUIT))
    assert list(run.work.events())[-1].body["what"] == "ended"
    with pytest.raises(Refused, match="this run is over"):
        run.handle(Handling(Act.JOIN, "low"))


def test_leaving_a_run_gives_no_time_back(desk: PracticeDesk, run: Run) -> None:
    run.follow()
    run.handle(Handling(Act.JOIN, "low"))
    run.clock.advance(600.0)
    run.follow()
    run.unit.hookup()  # until the unit has caught up
    left_s, job = run.t_s(), run.work.state.job
    run.close()
    again = desk.go_on(job)
    assert again.t_s() >= left_s - 1.0
    again.close()
