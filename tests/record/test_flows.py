"""However a job goes, its record passes the checks: no act that the walk allows makes a record unsound."""

from __future__ import annotations

import contextlib
import random
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from guide.bench.people import KnownPerson
from guide.job import commands as c
from guide.job.focus import Refused
from guide.job.work import Work
from guide.record.signature import extract_attachments
from guide.record.verify import verify_record
from guide.refrigerant.saturation import curve
from guide.rig.player import Player, PlayerStuck
from tests.record.build import PASSPHRASE, Bench1, play, set_up
from tests.rig.straight_line import Setting, SimplePlant


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Bench1]:
    made = set_up(tmp_path / "bench")
    made.bench.enrol(KnownPerson("otto", "Otto Fenn", "608 Universal"), PASSPHRASE)
    yield made
    made.bench.close()


def _note(work: Work, dice: random.Random) -> None:
    work.do(c.Note(work.keep("something odd was heard"), late=dice.random() < 0.3))


def _pause(work: Work, _: random.Random) -> None:
    work.do(c.Pause(work.keep("lunch")))


def _redo(work: Work, dice: random.Random) -> None:
    steps = [step.id for part in work.state.path() for step in part.steps]
    work.do(c.Redo(dice.choice(steps), work.keep("not sure any more")))


def _skip(work: Work, _: random.Random) -> None:
    step = work.focus().step
    work.do(c.Skip(step.id if step else "1.1", work.keep("could not be reached")))


def _correct(work: Work, dice: random.Random) -> None:
    if not work.state.entries:
        return
    entry = dice.choice(work.state.entries)
    others = [e.value for e in work.state.entries if e.channel == entry.channel and e.value != entry.value]
    if others:
        new = dice.choice(others).model_copy(update={"channel": entry.value.channel})
        work.do(c.Correct(entry.seq, entry.channel, new, work.keep("misread")))


def _abort(work: Work, dice: random.Random) -> None:
    if dice.random() < 0.1:
        work.do(c.Abort(work.keep("lightning")))


ACTS: tuple[Callable[[Work, random.Random], None], ...] = (_note, _pause, _redo, _skip, _correct, _abort)


@pytest.mark.parametrize("seed", range(6))
def test_a_job_with_all_sorts_of_turns_makes_a_sound_record(desk: Bench1, seed: int) -> None:
    dice = random.Random(seed)
    work = desk.new()
    order = work.state.order
    plant = SimplePlant(
        Setting(
            curve=curve(order.refrigerant.designation),
            right_charge_kg=float(order.nameplate_charge.si),
            site_pressure_Pa=float(order.site_pressure_Pa),
            start_fraction=dice.choice([0.85, 0.95, 1.0, 1.1]),
        )
    )
    player = Player(work, plant, desk.clock)
    for turn in range(600):
        if dice.random() < 0.15:
            with contextlib.suppress(Refused):
                dice.choice(ACTS)(work, dice)
        if dice.random() < 0.02:
            desk.bench.run = f"run-{turn + 2}"
            work = desk.bench.take_up(work.state.job, desk.technician)
            player = Player(work, plant, desk.clock)
        try:
            if player.step() is None:
                break
        except PlayerStuck:
            work.do(c.Abort(work.keep("can't go on")))
    issued = desk.sign_off(work)
    report = verify_record(issued.pdf.read_bytes())
    assert report.first_wrong is None


def test_a_job_handed_to_another_technician_makes_a_sound_record(desk: Bench1) -> None:
    work = desk.new()
    player = Player(work, SimplePlant(_setting(work)), desk.clock)
    for _ in range(12):
        player.step()
    work.do(c.HandOver("otto", work.keep("end of the shift")))
    desk.technician = desk.bench.sign_in("otto", PASSPHRASE)
    work = desk.bench.take_up(work.state.job, desk.technician)
    play(desk, work)
    issued = desk.sign_off(work)
    report = verify_record(issued.pdf.read_bytes())
    assert report.intact
    assert report.signer.claimed_name == "Otto Fenn"


def _setting(work: Work) -> Setting:
    order = work.state.order
    return Setting(
        curve=curve(order.refrigerant.designation),
        right_charge_kg=float(order.nameplate_charge.si),
        site_pressure_Pa=float(order.site_pressure_Pa),
    )


def test_a_second_job_in_one_journal_makes_a_sound_record_with_the_first_not_in_it(desk: Bench1) -> None:
    first, second = desk.new(), desk.new()
    play(desk, first)
    play(desk, second)
    records = [desk.sign_off(work).pdf.read_bytes() for work in (second, first)]
    for record, own, other in zip(records, ("J-0002", "J-0001"), (b"J-0001", b"J-0002"), strict=True):
        report = verify_record(record)
        assert report.intact
        assert report.facts["job"] == own
        assert other not in extract_attachments(record)["log.ndjson"]


def test_a_job_broken_off_makes_a_sound_record_that_says_so(desk: Bench1) -> None:
    work = desk.new()
    work.do(c.Abort(work.keep("the roof is not safe")))
    play(desk, work)
    issued = desk.sign_off(work)
    assert verify_record(issued.pdf.read_bytes()).intact
    assert work.state.aborted
