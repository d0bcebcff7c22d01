"""Whatever a journal holds, a record comes out of it, and nothing counts that no run stands behind."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from datetime import date
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from guide.job import payloads as p
from guide.job.assess import versions
from guide.journal.event import JOURNAL_JOB, Event, Stamp
from guide.refrigerant.saturation import curve
from guide.rig.trainees.entries import KINDS
from guide.rig.trainees.record import TraineeRecord, fold

LOG = "practice-" + "0" * 32
STAMP = Stamp("2026-11-02T09:00:00.000000Z", "+00:00", 0, "boot")
HEX = "ab" * 32
PERSON = p.Person(
    id="ada", name=HEX, certification_type="none, in training",
    log_key=base64.b64encode(bytes(32)).decode(), certificate_sha256=HEX,
)  # fmt: skip
LESSONS = st.sampled_from(["one", "two"])
JOBS = st.sampled_from(["J-0001", "J-0002", "J-0003"])
SEEDS = st.integers(0, 2)
HELPS = st.sampled_from(["none", "fill"])


def _opened(job: str, lesson: str, seed: int, help_level: str) -> tuple[str, str, dict[str, Any]]:
    body = p.Opened(
        number=int(job[-1]), nature="practice", clock="simulated", program="0", run="run", order=HEX,
        order_sha256=HEX, procedure=HEX, procedure_id="x", procedure_revision="1", procedure_sha256=HEX,
        versions=versions(curve("R-410A")), person=PERSON,
        lesson=p.Lesson.model_validate({"id": lesson, "sha256": HEX, "seed": seed, "help": help_level}),
    ).body()  # fmt: skip
    return job, "opened", body


def _scored(job: str, lesson: str, seed: int, help_level: str, points: int, *, safe: bool) -> dict[str, Any]:
    lost = {"item": "order", "points": str(100 - points), "seq": 0, "words": "why"}
    return {
        "job": job, "lesson": lesson, "lesson_sha256": HEX, "seed": seed, "help": help_level,
        "points": str(points), "of": "100", "safety": safe, "passed": safe and points >= 80,
        "losses": [lost], "hints": 0, "utc": f"2026-02-{seed + 27}T09:00:00Z",
    }  # fmt: skip


OPENINGS = st.builds(_opened, JOBS, LESSONS, SEEDS, HELPS)
SCORES = st.builds(_scored, JOBS, LESSONS, SEEDS, HELPS, st.integers(0, 100), safe=st.booleans()).map(
    lambda body: (JOURNAL_JOB, "lesson-scored", body)
)
SCALARS = st.one_of(st.none(), st.booleans(), st.integers(-5, 10**6), st.text(max_size=20), st.just("NaN"))
NAMES = ["job", "lesson", "points", "losses", "answers", "evidence", "utc", "signature", "log_key", "seed"]
JUNK = st.tuples(
    st.just(JOURNAL_JOB), st.sampled_from(list(KINDS)),
    st.dictionaries(st.sampled_from(NAMES), st.one_of(SCALARS, st.lists(SCALARS, max_size=5)), max_size=6),
)  # fmt: skip
EVENTS = st.lists(st.one_of(OPENINGS, SCORES, JUNK), max_size=25)


def _record(told: Sequence[tuple[str, str, dict[str, Any]]]) -> TraineeRecord:
    events = [
        Event(1, LOG, seq, job, min(seq, 1), "0" * 64 if seq == 0 else HEX, STAMP, "ada", kind, body)
        for seq, (job, kind, body) in enumerate(told)
    ]
    return fold("ada", LOG, events, {})


@settings(max_examples=200, deadline=None)
@given(EVENTS)
def test_any_events_make_a_record_in_which_only_runs_count(
    told: list[tuple[str, str, dict[str, Any]]],
) -> None:
    record = _record(told)
    opened = {job: body["lesson"] for job, kind, body in told if kind == "opened"}
    for lesson in record.lessons.values():
        jobs = [each.job for each in lesson.counted]
        assert len(jobs) == len(set(jobs)), "a run is scored once"
        assert all(job in opened for job in jobs)
        for attempt in lesson.attempts:
            lost = sum(each.points for each in attempt.scored.losses)
            assert not attempt.counts or attempt.scored.points + lost == attempt.scored.of
        if lesson.mastery(date(2026, 3, 9)).mastered_on is not None:
            seeds = {
                each.seed for each in lesson.counted if each.passed and each.safety and each.help == "none"
            }
            assert len(seeds) >= 2
        assert lesson.signed_off is None, "nobody teaches here"


@settings(max_examples=100, deadline=None)
@given(EVENTS, JUNK)
def test_what_can_not_be_read_changes_nothing_but_the_list_of_faults(
    told: list[tuple[str, str, dict[str, Any]]], junk: tuple[str, str, dict[str, Any]]
) -> None:
    before, after = _record(told), _record([*told, junk])
    if len(after.faults) > len(before.faults):
        assert after.lessons == before.lessons
        assert after.faults[:-1] == before.faults
