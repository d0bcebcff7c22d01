"""Puts entries into a trainee's journal and takes the record out again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal

from guide.bench.bench import Bench
from guide.bench.housekeeping import NOBODY
from guide.bench.people import Technician
from guide.job.payloads import Payload
from guide.journal.blob import Blob
from guide.journal.event import JOURNAL_JOB
from guide.journal.reading import JournalReader
from guide.journal.store import Journal
from guide.rig.learning.lesson import Lesson, Score
from guide.rig.learning.mastery import PASSES, Stand
from guide.rig.trainees import sign_off
from guide.rig.trainees.entries import (
    Debriefed,
    Evidence,
    LessonAssigned,
    LessonScored,
    LostPoints,
    SkillSignedOff,
)
from guide.rig.trainees.record import TraineeRecord, day, fold
from guide.rig.trainees.roster import Roster
from guide.rig.trainees.sign_off import NotSignedOff

_LONGEST_WORDS = 600


def read_record(roster: Roster, trainee: str) -> TraineeRecord:
    """What a trainee showed so far, read without opening their journal for writing.

    Raises:
        NoTrainee: nobody of that id learns here.
        JournalUnusable, BadEvent: the journal can't be read.
    """
    folder = roster.folder_of(trainee)
    with Journal.open(folder / "journal.db", read_only=True) as journal:
        return record_in(journal, roster, trainee)


def record_in(journal: JournalReader, roster: Roster, trainee: str) -> TraineeRecord:
    """The same, from a journal that is open already."""
    return fold(trainee, journal.log, journal.events(), roster.trainers())


def scored(
    job: str, lesson: Lesson, *, seed: int, help_level: str, score: Score, conclusion: str | None, hints: int,
    utc: str,
) -> LessonScored:  # fmt: skip
    """The entry that a score becomes. `utc` is when it was really worked."""
    return LessonScored.model_validate(
        {
            "job": job,
            "lesson": lesson.id,
            "lesson_sha256": lesson.sha256,
            "seed": seed,
            "help": str(help_level),
            "points": Decimal(score.points),
            "of": Decimal(score.of),
            "safety": score.safety,
            "passed": score.passed,
            "conclusion": conclusion,
            "losses": tuple(
                LostPoints(
                    item=str(each.item), points=Decimal(each.points), seq=each.seq,
                    at_s=round(Decimal(each.at_s), 3), words=each.words[:_LONGEST_WORDS],
                )
                for each in score.losses
            ),
            "hints": hints,
            "utc": utc,
        }
    )  # fmt: skip


def keep_score(bench: Bench, technician: Technician, entry: LessonScored) -> None:
    """Log the score of a run and sign the head of the trainee's log over it.

    Raises:
        NotLogged: it did not reach the disk.
    """
    _append(bench, entry, by=technician.known.id)
    bench.shelf.checkpoint(technician.log_key)


def keep_debrief(bench: Bench, technician: Technician, job: str, answers: Sequence[str], *, utc: str) -> None:
    """Log the trainee's five answers about a run.

    Raises:
        BadBlob: an answer is too long, or no proper text.
        NotLogged: they did not reach the disk.
    """
    blobs = [Blob.of(answer) for answer in answers]
    entry = Debriefed(job=job, answers=tuple(blob.ref for blob in blobs), utc=utc)
    _append(bench, entry, by=technician.known.id, blobs=blobs)


def assign(
    bench: Bench,
    lesson: str,
    *,
    seed: int | None,
    due: date | None,
    by: str | None,
    note: str | None,
    utc: str,
) -> LessonAssigned:
    """Set a lesson for the trainee whose bench this is.

    Raises:
        BadBlob: the note is too long, or no proper text.
        NotLogged: it did not reach the disk.
    """
    blob = Blob.of(note) if note else None
    entry = LessonAssigned(lesson=lesson, seed=seed, due=due, by=by, note=blob.ref if blob else None, utc=utc)
    _append(bench, entry, by=by or NOBODY, blobs=[blob] if blob else [])
    return entry


def sign_skill_off(
    bench: Bench, roster: Roster, trainee: str, lesson: Lesson, trainer: Technician, *,
    again: Callable[[LessonScored], Score], utc: str,
) -> SkillSignedOff:  # fmt: skip
    """Sign off the skills of a lesson that the trainee mastered, in the trainee's own journal.

    `again` scores a run anew from its log (`guide.rig.trainees.again`): a score that its log does not come
    to is signed by nobody.

    Raises:
        NotSignedOff: it is not mastered or falls due again, the trainer is the trainee, or a run it rests on
            is not of the lesson as it is now or does not come to its score.
        NotLogged: it did not reach the disk.
    """
    record = record_in(bench.journal, roster, trainee).lesson(lesson.id)
    stands = record.mastery(day(utc))
    if stands.stand is not Stand.MASTERED:
        raise NotSignedOff(
            f"{lesson.id} is not signed off: {trainee} has {len(stands.seeds)} of {PASSES} passed runs "
            f"without help on different seeds, nothing lost for safety ({stands.words()})"
        )
    showing = [each for each in record.passes if each.scored.seed in stands.seeds]
    for each in showing:
        _require_true(each.scored, lesson, again)
    name = Blob.of(trainer.known.name)
    entry = sign_off.signed(
        lesson=lesson.id, lesson_sha256=lesson.sha256, skills=lesson.skills,
        evidence=[Evidence(job=each.scored.job, seq=each.seq, leaf=each.leaf) for each in showing],
        trainer=trainer.known.id, trainer_name=name.ref, key=trainer.log_key, log=bench.journal.log,
        trainee=trainee, utc=utc,
    )  # fmt: skip
    _append(bench, entry, by=trainer.known.id, blobs=[name])
    return entry


def _require_true(scored: LessonScored, lesson: Lesson, again: Callable[[LessonScored], Score]) -> None:
    """See that a score is of the lesson as it is now, and what its log comes to."""
    if scored.lesson_sha256 != lesson.sha256:
        raise NotSignedOff(
            f"{lesson.id} is not signed off: {scored.job} was run with another file of this lesson; "
            "let it be run with the one that is here now"
        )
    found = again(scored)
    if (Decimal(found.points), found.safety, found.passed) != (scored.points, scored.safety, scored.passed):
        raise NotSignedOff(
            f"{lesson.id} is not signed off: the log of {scored.job} comes to {found.points} of {found.of} "
            f"points{'' if found.passed else ', not passed'}, and {scored.points:f} were written down"
        )


def _append(bench: Bench, entry: Payload, *, by: str, blobs: Sequence[Blob] = ()) -> None:
    bench.shelf.append(JOURNAL_JOB, [(entry.KIND, entry.body())], stamp=bench.clock.now(), by=by, blobs=blobs)
