"""What a trainee showed: a fold over their journal's openings and entries.

Pure. Nothing is remembered beside the journal: what is mastered, due or signed off is worked out anew each
time, and an entry that does not fit the runs in the same journal does not count, with the reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from guide.job import payloads as p
from guide.journal.event import OPENED, Event
from guide.rig.learning.lesson import Help
from guide.rig.learning.mastery import Mastery, Stand, mastery
from guide.rig.trainees import sign_off
from guide.rig.trainees.entries import Debriefed, LessonAssigned, LessonScored, SkillSignedOff, read_entry
from guide.rig.trainees.roster import Trainer

_ROUNDING = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Attempt:
    """One scored run. `left_out` says why it does not count; None where it does."""

    seq: int
    leaf: str
    scored: LessonScored
    left_out: str | None = None
    seen_before: bool = False
    """Whether an earlier run of the lesson was begun on the same seed: what was the matter was known."""

    @property
    def shows_mastery(self) -> bool:
        """Whether it was passed alone, safely, on a seed that was new."""
        alone = Help(self.scored.help) is Help.NONE
        return self.counts and alone and self.scored.passed and self.scored.safety and not self.seen_before

    @property
    def counts(self) -> bool:
        """Whether it is a run of this journal, scored once."""
        return self.left_out is None


@dataclass(frozen=True, slots=True)
class Assignment:
    """A lesson that was set. `done_by` is the job that passed it since; None while it is open."""

    seq: int
    entry: LessonAssigned
    done_by: str | None = None


@dataclass(frozen=True, slots=True)
class SignOff:
    """A trainer's sign-off. `fault` says why it is not valid; None where it is."""

    seq: int
    entry: SkillSignedOff
    fault: str | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """A job that was opened as a run of a lesson; `scored` is None until its score is logged."""

    job: str
    lesson: p.Lesson
    opened_utc: str
    scored: LessonScored | None = None


@dataclass(frozen=True, slots=True)
class LessonRecord:
    """Everything about one lesson, in the order it happened."""

    lesson: str
    runs: tuple[Run, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    assignments: tuple[Assignment, ...] = ()
    sign_offs: tuple[SignOff, ...] = ()

    @property
    def counted(self) -> tuple[LessonScored, ...]:
        """The scores that count."""
        return tuple(each.scored for each in self.attempts if each.counts)

    def mastery(self, today: date) -> Mastery:
        """Where the trainee stands with it on a day; a pass on a seed that was run before shows nothing."""
        telling = [a for a in self.attempts if a.counts and not (a.seen_before and a.scored.passed)]
        stands = mastery([each.scored for each in telling], today)
        return Mastery(Stand.TRIED) if stands.stand is Stand.NEW and self.counted else stands

    @property
    def passes(self) -> tuple[Attempt, ...]:
        """The safe and passed runs without help, each on a seed that was new, in the order they were made."""
        return tuple(each for each in self.attempts if each.shows_mastery)

    @property
    def best(self) -> LessonScored | None:
        """The run with the most points among those that count, the safe ones first; none that was watched."""
        return max(self.own, key=lambda each: (each.safety, each.points), default=None)

    @property
    def own(self) -> tuple[LessonScored, ...]:
        """The scores that count, of runs that were not only watched."""
        return tuple(each for each in self.counted if Help(each.help) is not Help.WORKED)

    @property
    def open_assignments(self) -> tuple[LessonAssigned, ...]:
        """What was set and not passed since."""
        return tuple(each.entry for each in self.assignments if each.done_by is None)

    @property
    def signed_off(self) -> SignOff | None:
        """The newest sign-off that is valid."""
        return next((each for each in reversed(self.sign_offs) if each.fault is None), None)


@dataclass(frozen=True, slots=True)
class TraineeRecord:
    """What one trainee showed. `faults` names entries that can't be read."""

    trainee: str
    log: str
    lessons: Mapping[str, LessonRecord]
    debriefs: Mapping[str, Debriefed]
    """The answers of each job's debrief, the last where there are several."""
    faults: tuple[str, ...] = ()

    def lesson(self, lesson_id: str) -> LessonRecord:
        """One lesson's record, empty where it was never begun."""
        return self.lessons.get(lesson_id, LessonRecord(lesson_id))

    def attempts_left_out(self) -> tuple[Attempt, ...]:
        """The scores that do not count, in the order they were logged."""
        left = [each for lesson in self.lessons.values() for each in lesson.attempts if not each.counts]
        return tuple(sorted(left, key=lambda each: each.seq))

    def scored(self, job: str) -> Attempt | None:
        """The score of a job that counts; None where it has none."""
        return next(
            (a for each in self.lessons.values() for a in each.attempts if a.scored.job == job and a.counts),
            None,
        )


@dataclass(slots=True)
class _Pile:
    runs: dict[str, Run] = field(default_factory=dict)
    attempts: list[Attempt] = field(default_factory=list)
    assigned: list[tuple[int, LessonAssigned]] = field(default_factory=list)
    signed: list[tuple[int, SkillSignedOff]] = field(default_factory=list)
    debriefs: dict[str, Debriefed] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    def take(self, event: Event) -> None:
        if event.kind == OPENED:
            opened = p.read_payload(event.kind, event.body)
            if isinstance(opened, p.Opened) and opened.lesson is not None:
                # a job is opened once; what says so again is of no run
                self.runs.setdefault(event.job, Run(event.job, opened.lesson, event.stamp.utc))
            return
        match read_entry(event):
            case LessonScored() as scored:
                left_out = self._left_out(scored)
                seen = left_out is None and self._seen_before(scored)
                attempt = Attempt(event.seq, event.leaf_hash, scored, left_out, seen_before=seen)
                self.attempts.append(attempt)
                if attempt.counts:
                    run = self.runs[scored.job]
                    self.runs[scored.job] = Run(run.job, run.lesson, run.opened_utc, scored)
            case Debriefed() as debriefed:
                self.debriefs[debriefed.job] = debriefed
            case LessonAssigned() as assigned:
                self.assigned.append((event.seq, assigned))
            case SkillSignedOff() as signed:
                self.signed.append((event.seq, signed))

    def _seen_before(self, scored: LessonScored) -> bool:
        """Whether a run begun earlier, with whatever help and to whatever end, had the same seed."""
        for job, run in self.runs.items():
            if job == scored.job:
                return False
            if (run.lesson.id, run.lesson.seed) == (scored.lesson, scored.seed):
                return True
        return False

    def _left_out(self, scored: LessonScored) -> str | None:
        run = self.runs.get(scored.job)
        if run is None:
            return f"{scored.job} is no run of a lesson in this journal"
        if run.scored is not None:
            return f"{scored.job} was scored already"
        said = (scored.lesson, scored.lesson_sha256, scored.seed, scored.help)
        if said != (run.lesson.id, run.lesson.sha256, run.lesson.seed, run.lesson.help):
            return f"{scored.job} was opened as another lesson, seed or level of help"
        lost = sum((each.points for each in scored.losses), Decimal(0))
        if abs(scored.points + lost - scored.of) > _ROUNDING:
            return f"the points of {scored.job} and those it lost do not add up to {scored.of}"
        return None


def fold(trainee: str, log: str, events: Iterable[Event], trainers: Mapping[str, Trainer]) -> TraineeRecord:
    """What the journal `log` shows of its trainee. `trainers` are those who may sign off, by key fingerprint.

    An event that can't be read is named in `faults` and leaves the others standing.
    """
    pile = _Pile()
    for event in events:
        try:
            pile.take(event)
        except p.BadBody as error:
            pile.faults.append(str(error))
    return TraineeRecord(
        trainee, log,
        {name: _lesson(name, pile, trainee=trainee, log=log, trainers=trainers) for name in _names(pile)},
        pile.debriefs, tuple(pile.faults),
    )  # fmt: skip


def _names(pile: _Pile) -> list[str]:
    """Every lesson that is named, in alphabetical order."""
    names = {run.lesson.id for run in pile.runs.values()} | {each.scored.lesson for each in pile.attempts}
    names |= {each.lesson for _, each in pile.assigned} | {each.lesson for _, each in pile.signed}
    return sorted(names)


def _lesson(
    name: str, pile: _Pile, *, trainee: str, log: str, trainers: Mapping[str, Trainer]
) -> LessonRecord:
    attempts = tuple(each for each in pile.attempts if each.scored.lesson == name)
    counted = [each for each in attempts if each.counts]
    passes = {each.seq: each.leaf for each in attempts if each.shows_mastery}
    return LessonRecord(
        lesson=name,
        runs=tuple(run for run in pile.runs.values() if run.lesson.id == name),
        attempts=attempts,
        assignments=tuple(
            Assignment(seq, each, _done_by(seq, each, counted))
            for seq, each in pile.assigned
            if each.lesson == name
        ),
        sign_offs=tuple(
            SignOff(
                seq, each,
                sign_off.fault(each, log=log, trainee=trainee, passes=passes, trainers=trainers),
            )
            for seq, each in pile.signed
            if each.lesson == name
        ),
    )  # fmt: skip


def _done_by(seq: int, assigned: LessonAssigned, counted: Sequence[Attempt]) -> str | None:
    """The first job that passed the lesson after it was set, on the seed that was set."""
    for each in counted:
        if each.seq > seq and each.scored.passed and assigned.seed in {None, each.scored.seed}:
            return each.scored.job
    return None


def day(utc: str) -> date:
    """The calendar day of a time in the journal's form."""
    return date.fromisoformat(utc[:10])
