"""Runs of lessons worked in memory: a journal that forgets, a careful player, and hands that are logged."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cache
from typing import Any

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.assess import versions
from guide.job.focus import Front
from guide.job.state import begin
from guide.job.work import Work
from guide.journal.blob import Blob
from guide.journal.checkpoint import Signer
from guide.journal.event import FIRST_JOB_PREV, Event, Stamp
from guide.journal.port import SimulatedClock
from guide.procedure.model import Step
from guide.refrigerant.saturation import curve
from guide.rig.acts import Act, Handling
from guide.rig.doing import handlings
from guide.rig.learning import shelf
from guide.rig.learning.beginning import beginning, stamp
from guide.rig.learning.drawing import draw
from guide.rig.learning.lesson import Help, Item, Loss, Score
from guide.rig.learning.lesson_reader import Ready
from guide.rig.learning.run import Outcome, Run, outcome, told
from guide.rig.player import Player
from guide.rig.rig import Rig

START = datetime(2026, 7, 1, 8, tzinfo=UTC)
HASH = "0" * 64
PERSON = p.Person(id="trainee", name=HASH, certification_type="none", log_key="key", certificate_sha256=HASH)
RIGHT = Outcome(
    charge_kg=3.6, right_charge_kg=3.6, superheat_K=6.0, subcooling_K=5.5, target_superheat_K=6.0,
    target_subcooling_K=5.5,
)  # fmt: skip

UNSEALED = "low-loss ends and not under vacuum"
"""So that the hoses have to be emptied of air."""


class Forgetful:
    """A journal in memory."""

    def __init__(self) -> None:
        self.kept: list[Event] = []

    def append(
        self, job: str, payloads: Sequence[tuple[str, Mapping[str, Any]]], *, stamp: Stamp, by: str,
        blobs: Sequence[Blob] = (),
    ) -> tuple[Event, ...]:  # fmt: skip
        made = []
        for kind, body in payloads:
            seq = len(self.kept)
            prev = self.kept[-1].leaf_hash if self.kept else FIRST_JOB_PREV
            event = Event(1, "practice-" + "0" * 32, seq, job, seq, prev, stamp, by, kind, dict(body))
            self.kept.append(event)
            made.append(event)
        return tuple(made)

    def events(self, job: str | None = None) -> Iterator[Event]:
        return iter(self.kept)

    def blob(self, ref: str) -> Blob | None:
        return None

    def checkpoint(self, log_key: Signer) -> str:
        return ""

    def recover(self) -> None:
        return None


class Key:
    """A log key that signs nothing."""

    name = "none"

    def sign(self, data: bytes) -> bytes:
        return b""


@cache
def ready(lesson_id: str) -> Ready:
    """A shipped lesson."""
    return shelf.load(lesson_id)


@dataclass
class Story:
    """One run of a lesson on the simulated system, worked as far as asked."""

    lesson: Ready
    seed: int = 1
    level: Help = Help.NONE
    by_hand: bool = True
    """Whether what hands do at each step is logged."""
    leave_out: frozenset[Act] = frozenset()
    """Acts that are not done by hand."""
    log: Forgetful = field(default_factory=Forgetful)

    def __post_init__(self) -> None:
        order, procedure = self.lesson.order, self.lesson.procedure
        self.clock = SimulatedClock(START)
        state = begin("J-0001", order, procedure)
        self.work = Work(self.log, self.clock, state, person=PERSON, log_key=Key(), run="run-1")  # type: ignore[arg-type]
        self.work.do(
            c.Open(
                p.Opened(
                    number=1, nature="practice", clock="simulated", program="test", run="run-1", order=HASH,
                    order_sha256=order.sha256, procedure=HASH, procedure_id=procedure.id,
                    procedure_revision=procedure.revision, procedure_sha256=procedure.sha256,
                    versions=versions(curve(order.refrigerant.designation)), person=PERSON,
                    lesson=stamp(self.lesson, self.seed, self.level),
                )
            )
        )  # fmt: skip
        self.rig = Rig(beginning(self.lesson, self.seed), by_hand=False)
        answers = {
            step.id: UNSEALED for _, step in procedure.steps() if step.do.startswith("LOOK at the hose set")
        }
        self.player = Player(self.work, self.rig, self.clock, answers=answers)
        self._handled: set[str] = set()

    def handle(self, handling: Handling) -> None:
        """Log what hands do."""
        amount = None if handling.amount is None else f"{handling.amount:.6f}"
        self.work.do(
            c.Practise(
                p.Practised(
                    what="handled", act=handling.act.value, at=handling.at or None, amount=amount,
                )
            )
        )  # fmt: skip

    def practise(self, what: str, act: str, **named: Any) -> None:
        """Log something else of the practice."""
        self.work.do(c.Practise(p.Practised(what=what, act=act, **named)))

    def step(self) -> Step | None:
        """The step in front."""
        return self.work.focus().step

    def go(self, until: str | None = None, *, part: str | None = None) -> Story:
        """Work on to a step, or until a part is complete, or to the signature; hands go before answers."""
        while True:
            place = self.work.focus()
            if place.front is Front.STEP and place.step is not None:
                if place.step.id == until:
                    return self
                if self.by_hand and place.step.id not in self._handled:
                    self._handled.add(place.step.id)
                    for each in handlings(place.step, self.work.state):
                        if each.act not in self.leave_out:
                            self.handle(each)
            if part is not None and part in self.work.state.ended_parts:
                return self
            if self.player.step() is None:
                return self

    def sign(self) -> Story:
        """Sign, and with it close the job."""
        self.work.do(c.SignOff(HASH, HASH))
        return self

    def run(self, end: Outcome | None = None, **changed: Any) -> Run:
        """The run as it stands; its end as the simulated system says, unless told otherwise."""
        whole = Run(
            lesson=self.lesson.lesson,
            drawn=draw(self.lesson.lesson, self.seed),
            help=self.level,
            state=self.work.state,
            told=told(self.log.kept),
            end=end or outcome(self.rig.truth()),
        )
        return replace(whole, **changed)


def lost(score: Score, item: Item) -> list[Loss]:
    """What a score lost for one item."""
    return [loss for loss in score.losses if loss.item is item]
