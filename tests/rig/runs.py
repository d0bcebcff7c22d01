"""Events of a run that hands worked at a unit, as a journal would hold them, for tests."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime

from guide.job import payloads as p
from guide.journal.event import FIRST_JOB_PREV, Event, Stamp
from guide.rig.acts import Handling
from guide.rig.pace import PacedClock
from guide.rig.retrace import RunTime, practised

START = datetime(2026, 7, 1, 8, 0, tzinfo=UTC)
_HASH = "0" * 64


def opened() -> p.Opened:
    """An opening event's body."""
    person = p.Person(id="t", name=_HASH, certification_type="none", log_key="k", certificate_sha256=_HASH)
    versions = p.Versions(
        rules="r", target_table="t", target_table_sha256=_HASH, curve="c", curve_sha256=_HASH
    )
    return p.Opened(
        number=1, nature="practice", clock="simulated", program="p", run="run", order=_HASH,
        order_sha256=_HASH, procedure=_HASH, procedure_id="p", procedure_revision="1",
        procedure_sha256=_HASH, versions=versions, person=person,
        lesson=p.Lesson(id="l", sha256=_HASH, seed=3, help="none"),
    )  # fmt: skip


@dataclass
class Run:
    """A job's events as they come, and the time they tell."""

    clock: PacedClock
    events: list[Event] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.log(opened())
        self.time = RunTime.of(self.events)

    def log(self, payload: p.Payload) -> Stamp:
        seq = len(self.events)
        stamp = self.clock.now()
        prev = self.events[-1].leaf_hash if self.events else FIRST_JOB_PREV
        self.events.append(
            Event(
                1, "practice-" + "0" * 32, seq, "J-0001", seq, prev, stamp, "t", payload.KIND, payload.body()
            )
        )
        return stamp

    def handle(self, handling: Handling) -> float:
        """Log an act; its time since the opening [s]."""
        return self.time.take(self.log(practised(handling)))

    def now_s(self) -> float:
        """The time since the opening [s]."""
        return self.time.at(self.clock.now())

    def restart(self) -> None:
        """The program ends and is started again."""
        self.clock = PacedClock.after(self.events[-1].stamp, real_ns=lambda: 0)
        self.log(p.Noted(step="1.1", text=_HASH, late=False))
        self.time = RunTime.of(self.events)
