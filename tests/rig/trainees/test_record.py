"""What a trainee showed is a fold over their journal, and what does not fit the runs in it does not count."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from guide.journal.blob import BadBlob
from guide.journal.event import JOURNAL_JOB
from guide.journal.integrity import check
from guide.record.verify import verify_journal
from guide.rig.learning.lesson import Item, Loss, Score
from guide.rig.learning.mastery import Stand
from guide.rig.trainees import keeping
from guide.rig.trainees.entries import LessonScored
from guide.rig.trainees.words import lines
from tests.rig.trainees.desk import LESSON, Desk, set_up, utc

TODAY = date(2026, 11, 4)


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = set_up(tmp_path / "practice")
    yield made
    made.bench.close()


def test_nothing_was_begun_at_first(desk: Desk) -> None:
    record = desk.record()
    assert record.lessons == {}
    assert record.lesson(LESSON.id).best is None


def test_a_run_is_there_from_its_opening_and_its_score_names_the_event_of_each_lost_point(desk: Desk) -> None:
    job = desk.run(7)
    assert [(run.job, run.scored) for run in desk.record().lesson(LESSON.id).runs] == [(job, None)]

    desk.score(job, 7, 88)
    attempt = desk.record().scored(job)
    assert attempt is not None
    assert [(each.item, each.points, each.seq) for each in attempt.scored.losses] == [
        ("order", Decimal(12), 3)
    ]
    assert desk.record().lesson(LESSON.id).runs[0].scored == attempt.scored


def test_two_passes_without_help_on_different_seeds_master_a_lesson_until_it_falls_due(desk: Desk) -> None:
    desk.passes(7, 7)
    assert desk.record().lesson(LESSON.id).mastery(TODAY).mastered_on is None, (
        "the same seed twice shows less"
    )
    desk.passes(8)
    lesson = desk.record().lesson(LESSON.id)
    mastery = lesson.mastery(TODAY)
    assert (mastery.stand, mastery.seeds) == (Stand.MASTERED, (7, 8))
    assert [each.scored.job for each in lesson.passes] == ["J-0001", "J-0003"]
    assert mastery.due is not None
    assert mastery.due > TODAY
    assert lesson.mastery(mastery.due).stand is Stand.DUE


@pytest.mark.parametrize(
    ("points", "safety", "help_level"), [(92, False, "none"), (60, True, "none"), (99, True, "fill")]
)
def test_a_pass_needs_safety_enough_points_and_no_help(
    desk: Desk, points: int, safety: bool, help_level: str
) -> None:
    desk.passes(7)
    job = desk.run(8, help_level=help_level)  # type: ignore[arg-type]
    desk.score(job, 8, points, safety=safety, help_level=help_level)
    assert desk.record().lesson(LESSON.id).mastery(TODAY).mastered_on is None


def test_the_best_run_is_a_safe_one(desk: Desk) -> None:
    desk.score(desk.run(7), 7, 99, safety=False)
    desk.score(desk.run(8), 8, 70)
    best = desk.record().lesson(LESSON.id).best
    assert best is not None
    assert (best.points, best.safety) == (Decimal(70), True)


def test_scores_that_fit_no_run_of_this_journal_do_not_count(desk: Desk) -> None:
    job = desk.run(7)
    desk.score("J-0099", 7)
    desk.score(job, 8)
    desk.score(job, 7, help_level="fill")
    desk.score(job, 7, 70)
    desk.score(job, 7, 99)
    short = desk.record().attempts_left_out()

    assert [(each.scored.job, each.left_out) for each in short] == [
        ("J-0099", "J-0099 is no run of a lesson in this journal"),
        (job, f"{job} was opened as another lesson, seed or level of help"),
        (job, f"{job} was opened as another lesson, seed or level of help"),
        (job, f"{job} was scored already"),
    ]
    assert [each.points for each in desk.record().lesson(LESSON.id).counted] == [Decimal(70)]


def test_points_that_do_not_add_up_do_not_count(desk: Desk) -> None:
    job = desk.run(7)
    entry = desk.score("J-0099", 7, 90).model_copy(update={"job": job, "points": Decimal(95)})
    keeping.keep_score(desk.bench, desk.technician, entry)
    assert "do not add up" in str(desk.record().attempts_left_out()[-1].left_out)


def test_an_entry_that_can_not_be_read_is_named_and_the_others_stand(desk: Desk) -> None:
    desk.score(desk.run(7), 7)
    bodies: list[dict[str, Any]] = [
        {"job": "J-0001"},
        {**_body(desk), "points": "NaN"},
        {**_body(desk), "more": True},
    ]
    desk.bench.shelf.append(
        JOURNAL_JOB, [(LessonScored.KIND, body) for body in bodies], stamp=desk.bench.clock.now(), by="ada"
    )
    record = desk.record()
    assert len(record.faults) == 3
    assert all("lesson-scored can't be read" in fault for fault in record.faults)
    assert len(record.lesson(LESSON.id).counted) == 1


def _body(desk: Desk) -> dict[str, Any]:
    return dict(desk.record().lesson(LESSON.id).counted[0].body())


def test_what_was_set_stands_open_until_it_is_passed_on_its_seed(desk: Desk) -> None:
    keeping.assign(
        desk.bench, LESSON.id, seed=8, due=date(2026, 12, 1), by="tess", note="mind the purge", utc=utc()
    )
    desk.passes(7)
    (open_,) = desk.record().lesson(LESSON.id).open_assignments
    assert (open_.seed, open_.due, open_.by) == (8, date(2026, 12, 1), "tess")
    assert open_.note is not None
    note = desk.bench.journal.blob(open_.note)
    assert note is not None
    assert note.text == "mind the purge"

    desk.passes(8)
    assert desk.record().lesson(LESSON.id).open_assignments == ()
    assert desk.record().lesson(LESSON.id).assignments[0].done_by == "J-0002"


def test_debrief_answers_are_kept_beside_the_log_and_the_last_five_stand(desk: Desk) -> None:
    job = desk.run(7)
    keeping.keep_debrief(desk.bench, desk.technician, job, ["a"] * 5, utc=utc())
    keeping.keep_debrief(desk.bench, desk.technician, job, list("bcdef"), utc=utc())
    kept = desk.record().debriefs[job]
    assert "".join(blob.text for ref in kept.answers if (blob := desk.bench.journal.blob(ref))) == "bcdef"
    with pytest.raises(BadBlob):
        keeping.keep_debrief(desk.bench, desk.technician, job, ["x" * 30_000] * 5, utc=utc())


def test_the_journal_of_a_trainee_verifies_with_all_of_that_in_it(desk: Desk) -> None:
    desk.passes(7, 8)
    keeping.assign(desk.bench, LESSON.id, seed=None, due=None, by=None, note=None, utc=utc())
    desk.sign_off()
    path = desk.bench.journal.path
    assert check(path, verifiers=[desk.technician.log_key.verifier]).ok
    report = verify_journal(path)
    assert report.sound
    assert report.nature == "practice"


def test_a_score_becomes_an_entry_that_says_the_same(desk: Desk) -> None:
    job = desk.run(7)
    score = Score(93, 100, safety=True, passed=True, losses=(Loss(Item.AIR, 7, 12, 31.25, "air got in"),))
    entry = keeping.scored(
        job, LESSON, seed=7, help_level="none", score=score, conclusion="undercharge", hints=2, utc=utc()
    )
    keeping.keep_score(desk.bench, desk.technician, entry)
    (kept,) = desk.record().lesson(LESSON.id).counted
    assert kept == entry
    assert (kept.losses[0].item, kept.losses[0].at_s) == ("air kept out", Decimal("31.25"))


def test_a_seed_that_was_watched_or_begun_before_shows_nothing_of_mastery(desk: Desk) -> None:
    desk.run(8, help_level="worked")
    desk.passes(7, 8)
    lesson = desk.record().lesson(LESSON.id)
    assert lesson.mastery(TODAY).stand is Stand.PASSED_ONCE
    assert [each.scored.seed for each in lesson.passes] == [7]
    assert any("seed 8 was run before" in line for line in lines(desk.record(), "Ada", str, TODAY))
    desk.passes(9)
    assert desk.record().lesson(LESSON.id).mastery(TODAY).seeds == (7, 9)


def test_only_passed_runs_on_old_seeds_still_say_that_it_was_tried(desk: Desk) -> None:
    desk.run(7, help_level="fill")
    desk.passes(7)
    assert desk.record().lesson(LESSON.id).mastery(TODAY).stand is Stand.TRIED


def test_failing_on_a_seed_that_was_seen_still_brings_a_mastered_lesson_back(desk: Desk) -> None:
    desk.passes(7, 8)
    desk.score(desk.run(7), 7, 40, days=1)
    assert desk.record().lesson(LESSON.id).mastery(TODAY).stand is Stand.DUE
