"""The trainer's pages filled from the trainees' journals: what each showed, what is assigned, what signed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from guide.bench.bench import Bench
from guide.journal.store import Journal
from guide.rig.learning.lesson_reader import LessonError, read_lesson
from guide.rig.learning.shelf import OWN, load, paths
from guide.rig.trainees import keeping
from guide.rig.trainees.present import now_utc, today
from guide.rig.trainees.record import TraineeRecord
from guide.rig.trainees.roster import Roster
from guide.rig.trainees.words import lines, standing
from guide.screens.practice_shown import LessonLine, Trainee

if TYPE_CHECKING:
    from guide.bench.people import Technician
    from guide.journal.reading import JournalReader

BEHIND_ALL: Final = 1_000
"""The place of a lesson whose file names none."""


@lru_cache(maxsize=200)
def _read_title(path: Path, _changed_ns: int) -> tuple[str, int] | None:
    """What a lesson is called, and its place; None where its file can't be worked. Read anew only when the
    file changed."""
    try:
        lesson = read_lesson(path).lesson
    except LessonError:
        return None  # a trainer's own that is not finished; `chargewright practice lint` tells why
    return lesson.title, BEHIND_ALL if lesson.place is None else lesson.place


def title_of(path: Path) -> str | None:
    """What the lesson in a file is called; None where it can't be worked."""
    found = _read_title(path, path.stat().st_mtime_ns)
    return None if found is None else found[0]


def lesson_lines(own: Path, record: TraineeRecord) -> tuple[LessonLine, ...]:
    """Every lesson that can be worked, what was assigned first, then from the first to learn to the last.

    Raises:
        LessonError: the installation carries no lessons.
    """
    found: list[tuple[bool, int, LessonLine]] = []
    for name, path in paths(own).items():
        read = _read_title(path, path.stat().st_mtime_ns)
        if read is not None:
            title, place = read
            stands = record.lesson(name)
            line = LessonLine(name, title, standing(stands, today()))
            found.append((not stands.open_assignments, place, line))
    return tuple(line for _, _, line in sorted(found, key=lambda each: each[:2]))


def trainee_lines(roster: Roster) -> tuple[Trainee, ...]:
    """Everybody who learns here and whose journal can be read."""
    return tuple(Trainee(each.id, each.name) for each in roster.trainees() if each.fault is None)


class RosterDesk:
    """What the trainer's pages need, for one trainer who is signed in."""

    def __init__(self, practice: Path, trainer: Technician) -> None:
        self._own = practice / OWN
        self._roster = Roster(practice)
        self._trainer = trainer

    def trainees(self) -> tuple[Trainee, ...]:
        """Everybody who learns here."""
        return trainee_lines(self._roster)

    def lessons(self, trainee: str) -> tuple[LessonLine, ...]:
        """Every lesson, with where a trainee stands."""
        return lesson_lines(self._own, keeping.read_record(self._roster, trainee))

    def record(self, trainee: str) -> tuple[str, ...]:
        """What a trainee showed, in paragraphs."""
        folder = self._roster.folder_of(trainee)
        name = self._roster.trainee(trainee).name
        with Journal.open(folder / "journal.db", read_only=True) as journal:
            record = keeping.record_in(journal, self._roster, trainee)
            return tuple(lines(record, name, lambda ref: _text(journal, ref), today()))

    def assign(self, trainee: str, lesson: str, seed: int | None, due: date | None, note: str) -> None:
        """Set a lesson, in the trainee's own journal."""
        with self._bench(trainee) as bench:
            keeping.assign(
                bench, lesson, seed=seed, due=due, by=self._trainer.known.id, note=note or None,
                utc=now_utc(),
            )  # fmt: skip

    def sign_off(self, trainee: str, lesson: str) -> str:
        """Sign a lesson off; what was signed, in words."""
        from guide.rig.trainees.again import ScoreAgain

        ready = load(lesson, self._own)
        with self._bench(trainee) as bench:
            entry = keeping.sign_skill_off(
                bench, self._roster, trainee, ready.lesson, self._trainer,
                again=ScoreAgain(bench, ready), utc=now_utc(),
            )  # fmt: skip
        jobs = ", ".join(each.job for each in entry.evidence)
        return f"Signed off: {ready.lesson.title}, resting on {jobs}."

    @contextmanager
    def _bench(self, trainee: str) -> Iterator[Bench]:
        bench = self._roster.open(trainee)
        try:
            yield bench
        finally:
            bench.close()


def _text(journal: JournalReader, ref: str) -> str:
    blob = journal.blob(ref)
    return blob.text if blob else "[withheld]"
