"""A job killed at every commit and taken up again loses nothing and does nothing twice."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from guide.job import payloads as p
from guide.job.evolve import fold
from guide.job.order import read_order
from guide.job.state import JobState, Standing, begin
from guide.journal import integrity
from guide.journal.store import Journal
from guide.procedure import library
from tests.rig.lives import practice_order

ROOT = Path(__file__).resolve().parents[2]


class Afterwards:
    """What is left when the last life is over."""

    def __init__(self, folder: Path) -> None:
        run = subprocess.run(
            [sys.executable, "-m", "tests.rig.lives", str(folder)],
            cwd=ROOT, capture_output=True, text=True, timeout=300, check=False,
        )  # fmt: skip
        assert run.returncode == 0, run.stderr
        account = json.loads(run.stdout.splitlines()[-1])
        self.lives: int = account["lives"]
        self.acknowledged: dict[str, str] = account["acknowledged"]
        self.path = folder / "journal.db"
        with Journal.open(self.path, read_only=True) as journal:
            self.events = list(journal.events())
        self.order = read_order(practice_order(), "the order")
        self.procedure = library.load(self.order.procedure)
        self.job = [event for event in self.events if event.job == "J-0001"]

    def state(self) -> JobState:
        return fold(begin("J-0001", self.order, self.procedure), self.job)

    def payloads(self) -> list[p.Payload]:
        return [p.read_payload(event.kind, event.body) for event in self.job]


@pytest.fixture(scope="module")
def afterwards(tmp_path_factory: pytest.TempPathFactory) -> Afterwards:
    return Afterwards(tmp_path_factory.mktemp("killed"))


def test_every_commit_was_a_place_to_be_killed_at(afterwards: Afterwards) -> None:
    assert afterwards.lives > 150


def test_nothing_acknowledged_is_missing_or_changed(afterwards: Afterwards) -> None:
    kept = {str(event.seq): event.leaf_hash for event in afterwards.events}

    assert {seq: kept.get(seq) for seq in afterwards.acknowledged} == afterwards.acknowledged


def test_the_journal_is_sound(afterwards: Afterwards) -> None:
    assert integrity.check(afterwards.path).ok


def test_the_job_came_to_its_end_once(afterwards: Afterwards) -> None:
    kinds = Counter(event.kind for event in afterwards.job)

    assert kinds["opened"] == kinds["signed"] == kinds["closed"] == 1


def test_no_step_is_settled_twice(afterwards: Afterwards) -> None:
    done: Counter[tuple[str, str]] = Counter()
    for payload in afterwards.payloads():
        match payload:
            case p.Answered(accepted=True) | p.Chosen() | p.AdjustEnded() | p.NotApplicable():
                done["settled", payload.step] += 1
            case p.Read(accepted=True) | p.WaitEnded(accepted=True):
                done["settled", payload.step] += 1
            case p.Acknowledged():
                done[f"hazard {payload.hazard}", payload.step] += 1
            case p.PartEnded():
                done["part", payload.part] += 1
            case p.WaitBegun():
                done["begun", payload.step] += 1
            case _:
                pass

    assert {what: times for what, times in done.items() if times != 1} == {}


def test_every_step_is_settled(afterwards: Afterwards) -> None:
    state = afterwards.state()
    standings = {step.id: state.standing(step.id) for _, step in afterwards.procedure.steps()}

    assert set(standings.values()) == {Standing.DONE, Standing.NOT_APPLICABLE}


def test_refrigerant_is_counted_once(afterwards: Afterwards) -> None:
    state = afterwards.state()
    begun = [payload for payload in afterwards.payloads() if isinstance(payload, p.WeighBegun)]

    assert len(begun) == len(state.moves) > 1
    assert all(move.observed for move in state.moves)
    first, last = begun[0].before, state.moves[-1].after
    assert state.net_charged_kg() == first.si - last.si


def test_each_return_to_a_step_that_moves_refrigerant_weighed_the_cylinder_first(
    afterwards: Afterwards,
) -> None:
    adjusting = next(s.id for _, s in afterwards.procedure.steps() if type(s.proof).__name__ == "Adjust")
    inside = False
    returns = []
    for payload in afterwards.payloads():
        match payload:
            case p.WeighBegun():
                inside = True
            case p.WeighEnded():
                inside = False
            case p.Resumed() if inside:
                returns.append(payload.check)
            case _:
                pass

    assert returns
    assert None not in returns
    assert len(afterwards.state().step_rounds(adjusting)) > 1
