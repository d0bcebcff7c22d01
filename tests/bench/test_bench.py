"""The bench: people, natures kept apart, jobs listed, and what is said when something is missing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from guide.bench.bench import Bench, DoesNotFit, NotHere, PastDue
from guide.bench.people import KnownPerson
from guide.job.exceptions import departures
from guide.job.state import begin
from guide.journal.keys import BadKey, WrongPassphrase
from guide.record.again import Differs, decide_again
from tests.job.small import ORDER, PASSPHRASE, Desk, order

SHIPPED = ORDER.replace("procedure: small", "procedure: charge-fixed-orifice")


def test_a_person_is_known_by_the_journal_and_unlocked_by_the_passphrase(tmp_path: Path) -> None:
    desk = Desk(tmp_path)

    assert desk.bench.people() == (KnownPerson("alex", "Alex Doe", "608 Universal", "T-1"),)
    with pytest.raises(WrongPassphrase):
        desk.bench.sign_in("alex", "something else entirely")
    with pytest.raises(NotHere, match="make yourself known"):
        desk.bench.sign_in("sam", PASSPHRASE)
    with pytest.raises(BadKey):
        desk.bench.enrol(KnownPerson("alex", "Alex Again", "none"), PASSPHRASE)
    desk.bench.close()


def test_an_enrolment_cut_short_after_the_keys_is_finished_by_the_next_try(tmp_path: Path) -> None:
    from datetime import UTC, datetime

    from guide.journal import keys

    moment = datetime(2026, 11, 25, tzinfo=UTC)
    keys.create(tmp_path / "keys", "alex", "Alex Doe", PASSPHRASE, moment, practice=False)
    bench = Bench.open(tmp_path, nature="real")
    bench.enrol(KnownPerson("alex", "Alex Doe", "608 Universal"), PASSPHRASE)

    assert bench.sign_in("alex", PASSPHRASE).person.id == "alex"
    bench.close()


def test_an_order_of_another_nature_is_refused(tmp_path: Path) -> None:
    desk = Desk(tmp_path)

    with pytest.raises(DoesNotFit, match="kept apart; chargewright run FILE opens it"):
        desk.bench.new_job(order(SHIPPED.replace("practice", "real")), desk.alex)
    desk.bench.close()


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("metering: fixed orifice", "metering: thermostatic valve", "metering"),
        ("receiver: none", "receiver: fitted", "receiver"),
        ("capacity: fixed", "capacity: varies", "capacity"),
    ],
)
def test_a_procedure_is_refused_where_it_is_not_for_this_appliance(
    tmp_path: Path, old: str, new: str, words: str
) -> None:
    desk = Desk(tmp_path)

    with pytest.raises(DoesNotFit, match=words):
        desk.bench.new_job(order(SHIPPED.replace(old, new)), desk.alex)
    assert desk.bench.journal.next_job_number() == 2, "a refused order takes no number"
    desk.bench.close()


def test_a_job_is_taken_up_with_the_order_and_procedure_it_began_with(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    work = desk.bench.new_job(order(SHIPPED), desk.alex)
    desk.bench.close()

    bench = Bench.open(tmp_path, nature="practice", clock=desk.clock, run="run-2")
    again = bench.take_up(work.state.job, bench.sign_in("alex", PASSPHRASE))

    assert again.state == work.state
    assert [line.job for line in bench.jobs()] == ["J-0002", "J-0001"]
    assert bench.jobs()[0].place == "Harbour School, roof unit 3"
    bench.close()


def test_a_job_that_is_not_there_is_said_to_be_missing(tmp_path: Path) -> None:
    desk = Desk(tmp_path)

    with pytest.raises(NotHere, match="J-9999"):
        desk.bench.take_up("J-9999", desk.alex)
    desk.bench.close()


def _late() -> str:
    return SHIPPED.replace("division: 0.25 oz", "division: 0.25 oz, calibration_due: 2026-11-24")


def test_what_is_past_its_calibration_is_asked_about_before_a_job_begins(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    late = order(_late())

    with pytest.raises(PastDue, match="due 2026-11-24"):
        desk.bench.new_job(late, desk.alex)
    assert desk.bench.journal.next_job_number() == 2, "nothing was opened"
    work = desk.bench.new_job(late, desk.alex, past_due_reason="the other scale is in the shop")

    told = departures(late, list(desk.bench.journal.events(work.state.job)))
    [departure] = [each for each in told if each.sort == "instrument"]
    assert "calibration was due on 2026-11-24" in departure.words
    assert work.text(departure.reason) == "the other scale is in the shop"
    start = begin(work.state.job, late, work.state.procedure)
    decide_again(start, list(desk.bench.journal.events(work.state.job)))
    desk.bench.close()


def test_an_order_is_refused_that_names_a_machine_it_must_not_be_worked_with(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    text = SHIPPED.replace("refrigerant: R-410A", "refrigerant: R-32")
    pump = "vacuum_pump: {id: P-1, rating: non-flammable}\n"

    with pytest.raises(DoesNotFit, match="P-1 is not made for that"):
        desk.bench.new_job(order(text + pump), desk.alex)
    desk.bench.close()


def test_a_job_opened_without_a_needed_reason_does_not_pass_as_decided(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    late = order(_late())
    work = desk.bench.new_job(late, desk.alex, past_due_reason="no other here")
    events = list(desk.bench.journal.events(work.state.job))
    body = {key: value for key, value in events[0].body.items() if key != "past_due_reason"}

    with pytest.raises(Differs, match="past their calibration"):
        decide_again(
            begin(work.state.job, late, work.state.procedure), [replace(events[0], body=body), *events[1:]]
        )
    desk.bench.close()
