"""A practice folder with two trainees and a trainer, and runs of an invented lesson to score."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Literal

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson, Technician
from guide.job import payloads as p
from guide.journal.port import SimulatedClock
from guide.rig.learning.lesson import Help, Lesson, Objective, Rubric, Span
from guide.rig.trainees import keeping
from guide.rig.trainees.entries import LessonScored, LostPoints
from guide.rig.trainees.record import TraineeRecord
from guide.rig.trainees.roster import Roster
from tests.record.build import ORDER, order_of

PASSPHRASE = "seven gray herons"
LESSON = Lesson(
    id="connect-clean", title="Connect clean", summary="Invented.",
    objectives=(Objective("You can purge a hose.", ("1.1",), "connecting"),),
    order_name="order.yaml", order_text=ORDER.encode(), start=Span(0.9, 0.9), faults=(), draw_from=(),
    draw_count=0, weather=None, conclusion=None, parts=None, helps=tuple(Help), rubric=Rubric(()), aim=None,
    hints={}, debrief=(), time_limit_s=None, minimum=80, unavoidable_loss_kg=0.01, sha256="ab" * 32,
)  # fmt: skip
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

    def passes(self, *seeds: int) -> None:
        for number, seed in enumerate(seeds):
            self.score(self.run(seed), seed, days=number)

    def record(self) -> TraineeRecord:
        return keeping.record_in(self.bench.journal, self.roster, "ada")


def set_up(practice: Path) -> Desk:
    clock = SimulatedClock(FIRST_DAY)
    roster = Roster(practice)
    for name, words in (("ada", "Ada Finch"), ("ben", "Ben Wren")):
        roster.add(name, words, PASSPHRASE, clock=clock)
    at_work = roster.sign_in("ada", PASSPHRASE, clock=clock, run="run-1")
    return Desk(roster, at_work.bench, at_work.technician, enrol_trainer(practice, "tess", "Tess Rook"))


def enrol_trainer(practice: Path, person: str, name: str) -> Technician:
    bench = Bench.open(practice, nature="practice", clock=SimulatedClock(FIRST_DAY))
    bench.enrol(KnownPerson(person, name, "608 Universal"), PASSPHRASE)
    trainer = bench.sign_in(person, PASSPHRASE)
    bench.close()
    return trainer
