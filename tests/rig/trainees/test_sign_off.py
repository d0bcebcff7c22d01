"""A trainer's sign-off rests on runs, holds for one trainee only, and shows when it was touched."""

from __future__ import annotations

import base64
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from guide.bench.bench import Bench
from guide.journal.event import JOURNAL_JOB
from guide.rig.learning.lesson import Score
from guide.rig.learning.lesson_reader import read_lesson
from guide.rig.trainees import keeping
from guide.rig.trainees.again import ScoreAgain
from guide.rig.trainees.entries import Evidence, SkillSignedOff
from guide.rig.trainees.roster import Roster, key_fingerprint
from guide.rig.trainees.sign_off import NotSignedOff, signed
from tests.rig.trainees.desk import LESSON, OWN, PASSPHRASE, Desk, as_logged, enrol_trainer, set_up, utc


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = set_up(tmp_path / "practice")
    yield made
    made.bench.close()


def _sign(desk: Desk) -> SkillSignedOff:
    return desk.sign_off(days=2)


def _log(desk: Desk, entry: SkillSignedOff) -> str | None:
    """Put an entry into ada's journal as anybody at her machine could, and tell what is wrong with it."""
    desk.bench.shelf.append(
        JOURNAL_JOB, [(entry.KIND, entry.body())], stamp=desk.bench.clock.now(), by=entry.trainer
    )
    return desk.record().lesson(LESSON.id).sign_offs[-1].fault


def test_a_mastered_lesson_is_signed_off_with_the_trainers_key_and_the_runs_it_rests_on(desk: Desk) -> None:
    desk.passes(7, 8)
    entry = _sign(desk)
    record = desk.record().lesson(LESSON.id)

    assert record.signed_off is not None
    assert record.signed_off.entry == entry
    assert [each.job for each in entry.evidence] == ["J-0001", "J-0002"]
    assert entry.skills == ("connecting", "leak testing")
    assert entry.key_sha256 == key_fingerprint(desk.trainer.log_key.public_key)
    name = desk.bench.journal.blob(entry.trainer_name)
    assert name is not None
    assert name.text == "Tess Rook"


def test_without_mastery_it_is_refused_and_says_what_is_missing(desk: Desk) -> None:
    with pytest.raises(NotSignedOff, match="not signed off"):
        _sign(desk)
    desk.passes(7)
    with pytest.raises(NotSignedOff, match="not signed off"):
        _sign(desk)
    assert desk.record().lesson(LESSON.id).sign_offs == ()


def test_what_falls_due_again_is_passed_again_before_it_is_signed_off(desk: Desk) -> None:
    desk.passes(7, 8)
    with pytest.raises(NotSignedOff, match="refresh due since 2026-11-10"):
        desk.sign_off(days=30)
    desk.score(desk.run(9), 9, days=30)
    entry = desk.sign_off(days=30)
    assert [each.job for each in entry.evidence] == ["J-0001", "J-0002"]


def test_nobody_signs_off_their_own_skill(desk: Desk) -> None:
    desk.passes(7, 8)
    herself = enrol_trainer(desk.roster.practice, "ada", "Ada Finch")
    with pytest.raises(NotSignedOff, match="their own"):
        desk.sign_off(herself)


@pytest.mark.parametrize(
    "change",
    [
        {"lesson_sha256": "cd" * 32}, {"skills": ("brazing",)}, {"trainer": "ben"},
        {"trainer_name": "ef" * 32}, {"utc": utc(9)}, {"signature": base64.b64encode(bytes(64)).decode()},
    ],
    ids=lambda change: next(iter(change)),
)  # fmt: skip
def test_an_edited_sign_off_is_not_valid(desk: Desk, change: dict[str, Any]) -> None:
    desk.passes(7, 8)
    entry = _sign(desk)
    assert "signature does not hold" in str(_log(desk, entry.model_copy(update=change)))


def test_a_forged_key_is_not_valid(desk: Desk) -> None:
    desk.passes(7, 8)
    entry = _sign(desk)
    own = base64.b64encode(desk.technician.log_key.public_key).decode()
    assert "fingerprint" in str(_log(desk, entry.model_copy(update={"log_key": own})))

    forged = signed(
        lesson=LESSON.id, lesson_sha256=LESSON.sha256, skills=(), evidence=entry.evidence, trainer="tess",
        trainer_name=entry.trainer_name, key=desk.technician.log_key, log=desk.bench.journal.log,
        trainee="ada", utc=utc(),
    )  # fmt: skip
    assert "nobody who teaches here" in str(_log(desk, forged))


def test_a_key_of_another_trainer_does_not_sign_in_the_first_ones_name(desk: Desk) -> None:
    desk.passes(7, 8)
    entry = _sign(desk)
    other = enrol_trainer(desk.roster.practice, "olga", "Olga Stork")
    forged = signed(
        lesson=LESSON.id, lesson_sha256=LESSON.sha256, skills=(), evidence=entry.evidence, trainer="tess",
        trainer_name=entry.trainer_name, key=other.log_key, log=desk.bench.journal.log, trainee="ada",
        utc=utc(),
    )  # fmt: skip
    assert _log(desk, forged) == "it names tess, and the key is olga's"


def test_a_sign_off_of_one_trainee_does_not_hold_for_another(desk: Desk) -> None:
    desk.passes(7, 8)
    entry = _sign(desk)
    ben = desk.roster.open("ben")
    ben.shelf.append(JOURNAL_JOB, [(entry.KIND, entry.body())], stamp=ben.clock.now(), by="tess")
    ben.close()
    (found,) = keeping.read_record(desk.roster, "ben").lesson(LESSON.id).sign_offs
    assert "another trainee" in str(found.fault)


def test_a_sign_off_that_rests_on_a_run_that_failed_is_not_valid(desk: Desk) -> None:
    desk.score(desk.run(7), 7, 40)
    (attempt,) = desk.record().lesson(LESSON.id).attempts
    entry = signed(
        lesson=LESSON.id, lesson_sha256=LESSON.sha256, skills=(), trainer="tess", trainer_name="ab" * 32,
        evidence=[Evidence(job="J-0001", seq=attempt.seq, leaf=attempt.leaf)], key=desk.trainer.log_key,
        log=desk.bench.journal.log, trainee="ada", utc=utc(),
    )  # fmt: skip
    assert "no such passed run" in str(_log(desk, entry))


def test_it_stays_valid_after_the_trainer_made_new_keys_and_is_unknown_on_another_machine(
    desk: Desk, tmp_path: Path
) -> None:
    desk.passes(7, 8)
    _sign(desk)
    root = Bench.open(desk.roster.practice, nature="practice")
    root.replace_keys("tess", PASSPHRASE)
    root.close()
    assert desk.record().lesson(LESSON.id).signed_off is not None

    shutil.copytree(desk.roster.folder, tmp_path / "elsewhere" / "trainees")
    (found,) = keeping.read_record(Roster(tmp_path / "elsewhere"), "ada").lesson(LESSON.id).sign_offs
    assert "nobody who teaches here" in str(found.fault)


def test_a_score_that_its_log_does_not_come_to_is_signed_by_nobody(desk: Desk) -> None:
    desk.passes(7, 8)
    with pytest.raises(NotSignedOff, match="comes to 40 of 100 points, not passed, and 92 were written down"):
        keeping.sign_skill_off(
            desk.bench, desk.roster, "ada", LESSON, desk.trainer,
            again=lambda scored: Score(40, 100, safety=True, passed=False), utc=utc(),
        )  # fmt: skip
    assert desk.record().lesson(LESSON.id).sign_offs == ()


def test_scores_written_down_for_runs_that_nobody_worked_are_found_out(desk: Desk, tmp_path: Path) -> None:
    desk.passes(7, 8)
    file = tmp_path / f"{LESSON.id}.yaml"
    file.write_text(OWN)
    again = ScoreAgain(desk.bench, read_lesson(file))
    with pytest.raises(NotSignedOff, match=r"the log of J-0001 comes to .* not passed, and 92 were written"):
        keeping.sign_skill_off(desk.bench, desk.roster, "ada", LESSON, desk.trainer, again=again, utc=utc())


def test_runs_of_another_file_of_the_lesson_are_run_anew_first(desk: Desk) -> None:
    desk.passes(7, 8)
    changed = replace(LESSON, sha256="0" * 64)
    with pytest.raises(NotSignedOff, match="another file of this lesson"):
        keeping.sign_skill_off(
            desk.bench, desk.roster, "ada", changed, desk.trainer, again=as_logged, utc=utc()
        )
