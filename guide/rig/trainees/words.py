"""What a trainee showed, in words and as rows of a table. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date

from guide.job.elapsed import in_words
from guide.rig.learning.mastery import Stand
from guide.rig.trainees.entries import LessonScored, LostPoints
from guide.rig.trainees.record import Assignment, Attempt, LessonRecord, SignOff, TraineeRecord, day

Text = Callable[[str], str]
"""The text behind a reference, or words that say it was withheld."""

COLUMNS = (
    "trainee", "lesson", "job", "day", "seed", "help", "points", "of", "safety", "passed", "conclusion",
    "hints", "counts", "left out because", "lost item", "lost points", "lost by event", "lost after s",
    "lost because", "lesson mastered", "lesson refresh due", "lesson signed off by",
)  # fmt: skip
"""Of the table that is handed on: a row for each lost point's event, one row for a run that lost none."""


def standing(lesson: LessonRecord, today: date) -> str:
    """Where a trainee stands with a lesson, in one line."""
    mastery = lesson.mastery(today)
    if mastery.mastered_on is not None or mastery.seeds:
        said = mastery.words()
    elif lesson.best is not None:
        said = f"tried {_times(len(lesson.own))}, best {_points(lesson.best)}"
    elif lesson.counted:
        said = f"watched {_times(len(lesson.counted))}"
    elif lesson.runs:
        said = "begun, not scored yet"
    else:
        said = "not begun"
    if lesson.signed_off is not None:
        said += f", signed off by {lesson.signed_off.entry.trainer}"
    for each in lesson.open_assignments:
        said += f", set{f' by {each.by}' if each.by else ''}{f' until {each.due}' if each.due else ''}"
        if each.due is not None and each.due < today:
            said += " (late)"
    return said


def lines(record: TraineeRecord, name: str, text: Text, today: date) -> Iterator[str]:
    """A trainee's record, line by line: each lesson, its runs with every lost point, who signed off."""
    yield f"{name} ({record.trainee})"
    if not record.lessons:
        yield "  no lesson begun"
    for lesson in record.lessons.values():
        yield ""
        yield f"{lesson.lesson}: {standing(lesson, today)}"
        for attempt in lesson.attempts:
            yield from _attempt(attempt, debriefed=attempt.scored.job in record.debriefs)
        for run in lesson.runs:
            if run.scored is None:
                yield f"  {run.job}  seed {run.lesson.seed}, help {run.lesson.help}: not scored"
        for assignment in lesson.assignments:
            yield f"  {_assignment(assignment, text)}"
        for sign_off in lesson.sign_offs:
            yield f"  {sign_off_line(sign_off, text)}"
    for fault in record.faults:
        yield f"NOT READ: {fault}"


def _attempt(attempt: Attempt, *, debriefed: bool) -> Iterator[str]:
    scored = attempt.scored
    verdict = "passed" if scored.passed else "not passed" if scored.safety else "not passed, NOT SAFE"
    said = f"  {scored.job}  {day(scored.utc)}  seed {scored.seed}, help {scored.help}: "
    said += f"{_points(scored)}, {verdict}"
    if scored.conclusion:
        said += f"; said it was {scored.conclusion}"
    if scored.hints:
        said += f"; {scored.hints} hint{'' if scored.hints == 1 else 's'}"
    if debriefed:
        said += "; debriefed"
    yield said
    if attempt.left_out is not None:
        yield f"      does not count: {attempt.left_out}"
    elif attempt.seen_before and scored.passed:
        yield f"      does not count for mastery: seed {scored.seed} was run before"
    for each in scored.losses:
        yield f"      -{each.points:f} {each.item}: {each.words} ({loss_place(each)})"


def loss_place(lost: LostPoints) -> str:
    """Which event lost points, and when in the run."""
    return f"event {lost.seq}" + (f", after {in_words(float(lost.at_s))}" if lost.at_s is not None else "")


def _assignment(assignment: Assignment, text: Text) -> str:
    entry = assignment.entry
    said = f"set {day(entry.utc)}{f' by {entry.by}' if entry.by else ''}"
    said += f", seed {entry.seed}" if entry.seed is not None else ", any seed"
    said += f", until {entry.due}" if entry.due else ""
    said += f": {text(entry.note)}" if entry.note else ""
    return said + (f"; done with {assignment.done_by}" if assignment.done_by else "; open")


def sign_off_line(sign_off: SignOff, text: Text) -> str:
    """A sign-off: by whom, when, on which runs, with which key, and whether it is valid."""
    entry = sign_off.entry
    jobs = ", ".join(each.job for each in entry.evidence)
    said = (
        f"signed off {day(entry.utc)} by {text(entry.trainer_name)} ({entry.trainer}) on {jobs}, "
        f"key {entry.key_sha256[:16]}"
    )
    return said if sign_off.fault is None else f"NOT VALID: {said}: {sign_off.fault}"


def as_json(record: TraineeRecord, name: str, text: Text, today: date) -> dict[str, object]:
    """The record as a program reads it: numbers as numbers, days and times in ISO 8601, times after s."""
    return {
        "trainee": record.trainee,
        "name": name,
        "log": record.log,
        "lessons": [_lesson_json(each, text, today) for each in record.lessons.values()],
        "debriefs": [
            {"job": job, "utc": kept.utc, "answers": [text(ref) for ref in kept.answers]}
            for job, kept in record.debriefs.items()
        ],
        "faults": list(record.faults),
    }


def _lesson_json(lesson: LessonRecord, text: Text, today: date) -> dict[str, object]:
    mastery = lesson.mastery(today)
    return {
        "lesson": lesson.lesson,
        "standing": standing(lesson, today),
        "best_points": float(lesson.best.points) if lesson.best else None,
        "mastered_on": mastery.mastered_on.isoformat() if mastery.mastered_on else None,
        "passes": [each.scored.job for each in lesson.passes],
        "refresh_due": mastery.due.isoformat() if mastery.due else None,
        "refresh_overdue": mastery.stand is Stand.DUE,
        "not_scored": [run.job for run in lesson.runs if run.scored is None],
        "attempts": [_attempt_json(each) for each in lesson.attempts],
        "assigned": [
            {
                "utc": each.entry.utc, "seed": each.entry.seed, "by": each.entry.by, "done_by": each.done_by,
                "due": each.entry.due.isoformat() if each.entry.due else None,
                "note": text(each.entry.note) if each.entry.note else None,
            }
            for each in lesson.assignments
        ],
        "signed_off": [
            {
                "utc": each.entry.utc, "trainer": each.entry.trainer,
                "trainer_name": text(each.entry.trainer_name), "key_sha256": each.entry.key_sha256,
                "skills": list(each.entry.skills), "evidence": [one.job for one in each.entry.evidence],
                "valid": each.fault is None, "fault": each.fault,
            }
            for each in lesson.sign_offs
        ],
    }  # fmt: skip


def _attempt_json(attempt: Attempt) -> dict[str, object]:
    scored = attempt.scored
    return {
        "job": scored.job, "utc": scored.utc, "seed": scored.seed, "help": scored.help,
        "points": float(scored.points), "of": float(scored.of), "safety": scored.safety,
        "passed": scored.passed, "conclusion": scored.conclusion, "hints": scored.hints,
        "counts": attempt.counts, "left_out": attempt.left_out,
        "losses": [
            {
                "item": each.item, "points": float(each.points), "event": each.seq, "words": each.words,
                "after_s": float(each.at_s) if each.at_s is not None else None,
            }
            for each in scored.losses
        ],
    }  # fmt: skip


def rows(record: TraineeRecord, today: date) -> Iterator[tuple[str, ...]]:
    """The table of `COLUMNS`: text and numbers as text, nothing cleaned yet."""
    for lesson in record.lessons.values():
        mastery, signed = lesson.mastery(today), lesson.signed_off
        about = (
            mastery.mastered_on.isoformat() if mastery.mastered_on else "",
            mastery.due.isoformat() if mastery.due else "",
            signed.entry.trainer if signed else "",
        )
        for attempt in lesson.attempts:
            scored = attempt.scored
            run = (
                record.trainee, lesson.lesson, scored.job, day(scored.utc).isoformat(), str(scored.seed),
                scored.help, f"{scored.points:f}", f"{scored.of:f}", _yes(scored.safety), _yes(scored.passed),
                scored.conclusion or "", str(scored.hints), _yes(attempt.counts), attempt.left_out or "",
            )  # fmt: skip
            for lost in scored.losses or (None,):
                yield (*run, *_lost(lost), *about)


def _lost(lost: LostPoints | None) -> tuple[str, str, str, str, str]:
    if lost is None:
        return ("", "", "", "", "")
    at = f"{lost.at_s:f}" if lost.at_s is not None else ""
    return (lost.item, f"{lost.points:f}", str(lost.seq), at, lost.words)


def _times(number: int) -> str:
    return f"{number} time{'' if number == 1 else 's'}"


def _points(scored: LessonScored) -> str:
    return f"{scored.points:f} of {scored.of:f}"


def _yes(value: bool) -> str:  # noqa: FBT001 - a cell of a table
    return "yes" if value else "no"
