"""The player works whole jobs on a real journal, and goes on from wherever a job stands."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from guide.job import payloads as p
from guide.job.commands import Abort, Pause
from guide.job.focus import Front
from guide.job.order import Order, read_order
from guide.journal import integrity
from guide.procedure.reader import read_procedure
from guide.rig.orders import demonstration_order
from guide.rig.player import Player, PlayerStuck
from guide.rig.rehearsal import Rehearsal, plant_for, prepare

START = datetime(2026, 11, 25, 9, tzinfo=UTC)


@pytest.fixture
def rehearsal(tmp_path: Path) -> Iterator[Rehearsal]:
    made = prepare(demonstration_order(), tmp_path, start=START)
    yield made
    made.close()


def to_the_signature(player: Player) -> list[str]:
    words = []
    while (play := player.step()) is not None:
        words.append(play.words)
    return words


def played(order: Order, folder: Path, *, seed: int = 1, start_fraction: float = 0.9) -> Rehearsal:
    made = prepare(order, folder, seed=seed, start=START, start_fraction=start_fraction)
    to_the_signature(made.player)
    made.close()
    return made


def test_a_whole_job_comes_to_its_signature(rehearsal: Rehearsal) -> None:
    to_the_signature(rehearsal.player)

    state = rehearsal.work.state
    assert rehearsal.work.focus().front is Front.SIGN
    assert state.loop_ended is not None
    assert state.loop_ended.outcome == "in tolerance"
    assert state.customer is not None
    assert state.customer.how == "acknowledged"
    assert integrity.check(rehearsal.bench.folder / "journal.db").ok


def test_the_demonstration_needs_several_moves_and_ends_near_the_right_charge(rehearsal: Rehearsal) -> None:
    to_the_signature(rehearsal.player)

    state = rehearsal.work.state
    assert len(state.moves) >= 3
    assert float(state.net_charged_kg()) == pytest.approx(0.10 * 8 * 0.45359237, rel=0.35)


@pytest.mark.parametrize("fraction", [0.78, 1.0, 1.12])
def test_it_ends_in_tolerance_from_under_and_from_overcharge(tmp_path: Path, fraction: float) -> None:
    state = played(demonstration_order(), tmp_path, start_fraction=fraction).work.state

    assert state.loop_ended is not None
    assert state.loop_ended.outcome in {"in tolerance", "undecided, accepted"}
    assert abs(fraction + float(state.net_charged_kg()) / (8 * 0.45359237) - 1.0) < 0.045


def test_recovery_goes_into_the_empty_cylinder(tmp_path: Path) -> None:
    state = played(demonstration_order(), tmp_path, start_fraction=1.1).work.state

    assert {move.cylinder for move in state.moves} == {"SIM-R"}
    assert state.charged_kg() == 0
    assert state.recovered_kg() > 0


def test_the_same_seed_writes_the_same_job(tmp_path: Path) -> None:
    def bodies(folder: str, seed: int) -> list[tuple[str, object]]:
        made = prepare(demonstration_order(), tmp_path / folder, seed=seed, start=START)
        to_the_signature(made.player)
        found: list[tuple[str, object]] = []
        for event in made.bench.journal.events(made.work.state.job):
            payload = p.read_payload(event.kind, event.body)
            if isinstance(payload, p.Read | p.RoundRead | p.WaitEnded | p.WeighEnded | p.Answered):
                found.append((event.stamp.utc, payload.body()))
        made.close()
        return found

    first, again, other = bodies("a", 7), bodies("b", 7), bodies("c", 8)

    assert first == again != other


def test_asking_twice_gives_one_answer_and_moves_nothing_twice(rehearsal: Rehearsal) -> None:
    player = rehearsal.player
    while (play := player.next()) is not None:
        before = rehearsal.clock.now()
        assert player.next() is play
        assert rehearsal.clock.now() == before
        player.step()

    assert len(rehearsal.work.state.moves) >= 3


def test_readings_are_marked_as_simulated_and_say_what_was_shown(rehearsal: Rehearsal) -> None:
    to_the_signature(rehearsal.player)

    for entry in rehearsal.work.state.entries:
        assert entry.value.source == "simulated"
        assert entry.value.typed
        assert entry.value.instrument is not None or entry.channel not in {"suction_pressure", "suction_line"}


def test_weights_come_in_whole_divisions_of_the_scale(rehearsal: Rehearsal) -> None:
    to_the_signature(rehearsal.player)

    division = Decimal("0.25") * Decimal("0.028349523125")
    weights = [move.after.si for move in rehearsal.work.state.moves]
    assert weights
    for weight in weights:
        assert abs(weight / division - round(weight / division)) < Decimal("0.001")


def test_no_more_moves_than_was_advised(rehearsal: Rehearsal) -> None:
    to_the_signature(rehearsal.player)

    state = rehearsal.work.state
    advised = [r.read.assessment.amount_kg for r in state.rounds if r.read.assessment.action == "add"]
    for move, amount in zip(state.moves, advised, strict=True):
        assert abs(move.into_system_kg - amount) <= state.order.scale_division.si


@pytest.mark.parametrize("after", [0, 5, 25, 44, 48, 49, 50, 51, 60])
def test_it_goes_on_after_a_pause_anywhere(rehearsal: Rehearsal, after: int) -> None:
    for _ in range(after):
        rehearsal.player.step()
    work = rehearsal.work
    work.do(Pause(work.keep("a shower")))

    fresh = Player(work, plant_for(work.state.order), rehearsal.clock)
    to_the_signature(fresh)

    assert work.focus().front is Front.SIGN
    assert all(move.observed for move in work.state.moves)


def test_a_broken_off_job_is_left_in_a_safe_state(rehearsal: Rehearsal) -> None:
    for _ in range(20):
        rehearsal.player.step()
    work = rehearsal.work
    work.do(Abort(work.keep("thunderstorm")))

    words = to_the_signature(rehearsal.player)

    assert any("CLOSE the cylinder valve" in said for said in words)
    assert work.focus().front is Front.SIGN


OTHER_PROCEDURE = """
format: procedure/1
id: weigh-over
title: Recover and weigh in
revision: "1"
status: approved
approved: {date: "2026-11-25", by: nobody but a test}
applies:
  - {fact: metering, is: [fixed orifice]}
sources:
  none: no source, this is a test
parts:
  - id: move
    title: Move
    steps:
      - id: "1.1"
        do: LOOK at the unit.
        confirm: {ask: How is it?, accept: [odd, even], fact: kind}
      - id: "1.2"
        do: CHOOSE a way.
        choose:
          ask: Which?
          fact: way
          options:
            - {key: first, text: The first, when: [{fact: kind, is: [even]}]}
            - {key: second, text: The other}
      - id: "1.3"
        do: RECOVER refrigerant into the cylinder.
        weigh: {direction: out}
      - id: "1.4"
        do: EVACUATE the system.
        wait:
          at_least: 30 min
          channels:
            - channel: system_vacuum
          limits:
            - {channel: system_vacuum, at_most: 500 micron, source: "common practice, no source"}
      - id: "1.5"
        do: ADD refrigerant from the cylinder.
        weigh: {direction: in}
  - id: end
    title: End
    steps:
      - id: "2.1"
        do: SIGN the record.
        sign: {meaning: I did this.}
on_abort:
  id: abort
  title: Break off
  steps:
    - id: "A.1"
      do: CLOSE the valve.
      confirm: {ask: How?, accept: [shut]}
"""


def test_it_drives_another_procedure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    other = read_procedure(OTHER_PROCEDURE.encode(), "other.yaml")
    monkeypatch.setattr("guide.bench.bench.library.load", lambda _: other)

    state = played(demonstration_order(), tmp_path).work.state

    assert [move.cylinder for move in state.moves] == ["SIM-R", "SIM-N"]
    assert state.facts["way"] == "second"
    assert abs(state.recovered_kg() - state.charged_kg()) <= state.order.scale_division.si
    assert state.customer is not None


def test_a_limit_that_is_never_met_is_not_read_for_ever(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    strict = OTHER_PROCEDURE.replace("at_most: 500 micron", "at_most: 50 micron")
    other = read_procedure(strict.encode(), "other.yaml")
    monkeypatch.setattr("guide.bench.bench.library.load", lambda _: other)
    made = prepare(demonstration_order(), tmp_path, start=START)

    with pytest.raises(PlayerStuck, match=r"step 1\.4: read"):
        to_the_signature(made.player)
    made.close()


def test_without_a_fitting_cylinder_it_says_so(tmp_path: Path) -> None:
    text = demonstration_order().text.replace("contents: virgin", "contents: empty")
    made = prepare(read_order(text.encode(), "order"), tmp_path, start=START)

    with pytest.raises(PlayerStuck, match="no cylinder of R-410A that is one to charge from"):
        to_the_signature(made.player)
    made.close()


def test_real_work_is_never_played(tmp_path: Path) -> None:
    text = demonstration_order().text.replace("nature: demonstration", "nature: real")

    with pytest.raises(PlayerStuck, match="needs a person"):
        prepare(read_order(text.encode(), "order"), tmp_path)
    assert not (tmp_path / "journal.db").exists()
