"""A practice folder with two trainees and a trainer, and runs of an invented lesson to score."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Literal

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson, Technician
from guide.job import payloads as p
from guide.journal.port import SimulatedClock
from guide.procedure.strict_yaml import read_yaml
from guide.rig.learning.lesson import Score
from guide.rig.learning.lesson_build import Builder
from guide.rig.learning.lesson_file import LessonFile
from guide.rig.trainees import keeping
from guide.rig.trainees.entries import LessonScored, LostPoints, SkillSignedOff
from guide.rig.trainees.record import TraineeRecord
from guide.rig.trainees.roster import Roster
from tests.record.build import ORDER, order_of

PASSPHRASE = "seven gray herons"
_ORDER_HERE = "".join(f"  {line}\n" for line in ORDER.splitlines())
OWN = f"""\
format: lesson/1
id: connect-clean
title: Connect clean
summary: An invented lesson.
objectives:
  - {{text: you can purge a hose, steps: ["4.1"], skill: connecting}}
  - {{text: you can zero the gauges, steps: ["4.2"], skill: connecting}}
  - {{text: you can test the joints, steps: ["4.3"], skill: leak testing}}
order_here: |
{_ORDER_HERE}
start: 0.9
help: [worked, fill, choose, none]
points: {{safety: 30, order: 40, air kept out: 23, hints: 7}}
debrief:
  - {{ask: What was to be?, answer: Hoses on.}}
  - {{ask: What happened?, answer: They went on.}}
  - {{ask: Why?, answer: Purged.}}
  - {{ask: What told you first?, answer: The gauge.}}
  - {{ask: What next time?, answer: The same.}}
minimum: 80
"""
"""A trainer's own lesson, as a file."""
LESSON = Builder().lesson(
    LessonFile.model_validate(read_yaml(OWN.encode(), "own").root), OWN.encode(), "own", ORDER.encode()
)
FIRST_DAY = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)


def utc(days: float = 0.0) -> str:
    return (FIRST_DAY + timedelta(days=days)).strftime("%Y-%m-%dT%H:%M:%SZ")


@dataclass
class Desk:
    """One trainee at work, and the trainer's keys."""

    roster: Roster
    bench: Bench
    technician: Technician
    trainer: Technician

    def run(self, seed: int, *, help_level: Literal["worked", "fill", "choose", "none"] = "none") -> str:
        """Open a job as a run of the lesson; its id."""
        lesson = p.Lesson(id=LESSON.id, sha256=LESSON.sha256, seed=seed, help=help_level)
        return self.bench.new_job(order_of(ORDER), self.technician, lesson=lesson).state.job

    def score(
        self, job: str, seed: int, points: int = 92, *, days: float = 0.0, safety: bool = True,
        help_level: str = "none",
    ) -> LessonScored:  # fmt: skip
        """Log a score for a job."""
        lost = LostPoints(
            item="order", points=Decimal(100 - points), seq=3, at_s=Decimal("12.5"), words="purged too late"
        )
        entry = LessonScored.model_validate(
            {
                "job": job, "lesson": LESSON.id, "lesson_sha256": LESSON.sha256, "seed": seed,
                "help": help_level, "points": points, "of": 100, "safety": safety,
                "passed": safety and points >= LESSON.minimum, "losses": (lost,), "hints": 1,
                "utc": utc(days),
            }
        )  # fmt: skip
        keeping.keep_score(self.bench, self.technician, entry)
        return entry

    def passes(self, *seeds: int, days: float = 0.0) -> None:
        for number, seed in enumerate(seeds):
            self.score(self.run(seed), seed, days=days + number)

    def sign_off(self, trainer: Technician | None = None, *, days: float = 0.0) -> SkillSignedOff:
        """Sign the lesson off as if its logged scores were what the runs come to."""
        return keeping.sign_skill_off(
            self.bench, self.roster, "ada", LESSON, trainer or self.trainer, again=as_logged, utc=utc(days)
        )

    def record(self) -> TraineeRecord:
        return keeping.record_in(self.bench.journal, self.roster, "ada")


def as_logged(scored: LessonScored) -> Score:
    """The score as it stands in the journal: these runs were never worked."""
    return Score(int(scored.points), int(scored.of), safety=scored.safety, passed=scored.passed)


@cache
def _laid() -> tuple[tempfile.TemporaryDirectory[str], Path]:
    """A practice folder with everybody in it, made once; it goes when the first of the two does."""
    kept = tempfile.TemporaryDirectory(prefix="trainees-")
    practice = Path(kept.name) / "practice"
    roster = Roster(practice)
    for name, words in (("ada", "Ada Finch"), ("ben", "Ben Wren")):
        roster.add(name, words, PASSPHRASE, clock=SimulatedClock(FIRST_DAY))
    enrol_trainer(practice, "tess", "Tess Rook")
    return kept, practice


def set_up(practice: Path) -> Desk:
    shutil.copytree(_laid()[1], practice)
    roster = Roster(practice)
    at_work = roster.sign_in("ada", PASSPHRASE, clock=SimulatedClock(FIRST_DAY), run="run-1")
    root = Bench.open(practice, nature="practice", clock=SimulatedClock(FIRST_DAY))
    trainer = root.sign_in("tess", PASSPHRASE)
    root.close()
    return Desk(roster, at_work.bench, at_work.technician, trainer)


def enrol_trainer(practice: Path, person: str, name: str) -> Technician:
    bench = Bench.open(practice, nature="practice", clock=SimulatedClock(FIRST_DAY))
    bench.enrol(KnownPerson(person, name, "608 Universal"), PASSPHRASE)
    trainer = bench.sign_in(person, PASSPHRASE)
    bench.close()
    return trainer
