"""The bench: people, natures kept apart, jobs listed, and what is said when something is missing."""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.bench.bench import Bench, DoesNotFit, NotHere
from guide.bench.people import KnownPerson
from guide.journal.keys import BadKey, WrongPassphrase
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

    with pytest.raises(DoesNotFit, match="kept apart"):
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
