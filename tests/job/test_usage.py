"""What a writer hears of a procedure's use agrees with the jobs themselves, and names nobody."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from guide.job import commands as c
from guide.job.focus import Refused
from guide.job.state import Standing
from guide.job.usage import StepUsage, Usage, Worked, cleaned, usage
from guide.job.work import Work
from tests.job.small import Desk, order, procedure, reading
from tests.job.test_walk_properties import commands


def worked(desk: Desk, work: Work | None = None) -> Worked:
    job = (work or desk.work).state.job

    def text(reference: str) -> str | None:
        blob = desk.bench.journal.blob(reference)
        return blob.text if blob else None

    return Worked(job, order(), procedure(), list(desk.bench.journal.events(job)), text)


def step(found: Usage, name: str) -> StepUsage:
    return next(each for each in found.steps if each.step == name)


def total(found: Usage, of: Callable[[StepUsage], int]) -> int:
    return sum(of(each) for each in found.steps)


def to_vacuum(work: Work) -> None:
    for hazard in (0, 1):
        work.do(c.Acknowledge("1.1", hazard))
    work.do(c.Answer("1.1", "as ordered"))
    work.do(c.Answer("1.2", "plain"))
    work.do(c.Choose("1.3", "evacuated"))
    work.do(c.Read("1.4", (reading("hose_vacuum", "400 micron"),)))
    work.do(c.EndPart("first"))


def test_without_jobs_there_is_nothing_to_tell() -> None:
    assert usage([]) == Usage(0, 0, 0, 0, (), (), 0, 0)
    assert usage([]).slowest() is None


def test_a_plain_job_tells_every_step_done_and_the_wait_as_the_slowest(desk: Desk) -> None:
    desk.to_signature()
    desk.close_job()
    found = usage([worked(desk)])

    assert (found.jobs, found.complete, found.aborted, found.texts) == (1, 1, 0, 1)
    assert [each.step for each in found.steps if each.done] == [
        "1.1",
        "1.2",
        "1.3",
        "1.4",
        "2.1",
        "2.2",
        "2.3",
    ]
    assert not step(found, "1.1").stands_out
    slowest = found.slowest()
    assert slowest is not None
    assert slowest.step == "2.1"
    assert slowest.median_s is not None
    assert 900 <= slowest.median_s < 960


def test_skips_come_with_their_reasons_and_without_a_name(desk: Desk) -> None:
    reasons = ("Alex Doe: no key to HARBOUR SCHOOL\x1b[2J", "too cold", "too cold")
    jobs = []
    for number, reason in enumerate(reasons):
        work = desk.work if number == 0 else desk.open_job(desk.alex)
        to_vacuum(work)
        work.do(c.Skip("2.1", work.keep(reason)))
        jobs.append(worked(desk, work))
    found = step(usage(jobs), "2.1")

    assert (found.skipped, found.done, found.seconds) == (3, 0, ())
    assert found.reasons[0] == ("too cold", 2)
    assert found.reasons[1][0].startswith("…: no key to …")
    assert "\x1b" not in found.reasons[1][0]
    assert usage(jobs).jobs == 3


def test_what_was_refused_done_again_and_broken_off_stands_at_its_step(desk: Desk) -> None:
    work = desk.work
    for hazard in (0, 1):
        work.do(c.Acknowledge("1.1", hazard))
    work.do(c.Answer("1.1", "another"))
    work.do(c.Answer("1.1", "as ordered"))
    work.do(c.Answer("1.2", "plain"))
    work.do(c.Redo("1.2", work.keep("slip")))
    work.do(c.Answer("1.2", "plain"))
    work.do(c.Abort(work.keep("storm")))
    found = usage([worked(desk)])

    assert (step(found, "1.1").refused, step(found, "1.1").departures) == (1, ())
    assert (step(found, "1.2").redone, step(found, "1.2").done) == (1, 2)
    assert step(found, "1.3").broken_off == 1
    assert (found.complete, found.aborted, found.broken_off_elsewhere) == (0, 1, 0)


def test_time_away_is_no_time_at_the_step(desk: Desk) -> None:
    work = desk.work
    for hazard in (0, 1):
        work.do(c.Acknowledge("1.1", hazard))
    work.do(c.Pause(work.keep("lunch")))
    desk.clock.advance(7200)
    work.do(c.Resume(desk.alex.person))
    desk.clock.advance(60)
    work.do(c.Answer("1.1", "as ordered"))
    took = step(usage([worked(desk)]), "1.1").longest_s

    assert took is not None
    assert 60 <= took < 120


def test_a_reason_that_was_withheld_is_still_counted(desk: Desk) -> None:
    to_vacuum(desk.work)
    desk.work.do(c.Skip("2.1", desk.work.keep("too cold")))
    found = usage([replace(worked(desk), text=lambda _: None)])

    assert step(found, "2.1").reasons == (("(withheld)", 1),)


def test_a_name_is_hidden_as_a_word_and_not_inside_another() -> None:
    assert cleaned("Ann said: cannot", ["Ann Lee"]) == "… said: cannot"
    assert cleaned("asked lee, ANN", ["Ann Lee"]) == "asked …"
    assert cleaned("plain", []) == "plain"


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(st.data())
def test_the_sums_agree_with_the_jobs_own_counts(data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Path(folder))
        try:
            if data.draw(st.booleans(), "worked to the signature"):
                desk.to_signature()
            choices = commands(desk)
            for index in data.draw(st.lists(st.integers(0, len(choices) - 1), max_size=50), "keys"):
                seconds, make = choices[index]
                desk.clock.advance(seconds)
                try:
                    desk.work.do(make())
                except Refused:
                    continue
            state = desk.work.state
            one = usage([worked(desk)])
            twice = usage([worked(desk), worked(desk)])
        finally:
            desk.bench.close()
    counts = state.counts if state.closed is None else state.closed.counts
    told = {
        "skipped": total(one, lambda s: s.skipped),
        "redone": total(one, lambda s: s.redone),
        "corrected": total(one, lambda s: s.corrected) + one.corrected_elsewhere,
        "not-applicable": total(one, lambda s: s.not_applicable),
        "aborted": total(one, lambda s: s.broken_off) + one.broken_off_elsewhere,
    }
    assert told == {kind: counts.get(kind, 0) for kind in told}
    for each, doubled in zip(one.steps, twice.steps, strict=True):
        assert sum(times for _, times in each.reasons) == each.skipped
        assert len(each.seconds) == each.done
        assert all(seconds >= 0 for seconds in each.seconds)
        assert (doubled.done, doubled.median_s) == (2 * each.done, each.median_s)
        assert each.done >= (state.standing(each.step) is Standing.DONE)
