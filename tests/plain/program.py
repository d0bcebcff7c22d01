"""The plain program on the small job, at a pseudo-terminal; its clock runs on a minute with each look.

Waits pass that way without waiting.
`python -m tests.plain.program FOLDER [PLACE [STREAM]]` lays the job where there is none, and goes on with it
where there is; it follows STREAM where one is named.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson
from guide.instruments.feed import Feed
from guide.instruments.readings import Readings
from guide.job.order import read_order
from guide.journal import certificate
from guide.journal.event import Stamp
from guide.journal.port import SimulatedClock
from guide.plain.program import PlainProgram, at_the_terminal
from tests.screens.small_job import ORDER, PASSPHRASE, open_job, small_procedure

INSTRUMENTS = """\
instruments:
  - {id: V-1, channels: [hose_vacuum], accuracy: 20dmicron}
  - {id: G-1, channels: [suction_pressure], accuracy: 1dpsi}
"""


class HurriedClock(SimulatedClock):
    """Lets a minute pass with every look at it."""

    def now(self) -> Stamp:
        self.advance(60)
        return super().now()


def lay(folder: Path, place: str) -> None:
    """One known person, one job just opened."""
    bench = Bench.open(
        folder, nature="practice", clock=SimulatedClock(datetime(2026, 11, 25, 9, tzinfo=UTC)), run="laid"
    )
    bench.enrol(KnownPerson("ana", "Ana Ruiz", "EPA 608 Universal", "608-4471"), PASSPHRASE)
    order = read_order((ORDER.format(place=place, nature="practice") + INSTRUMENTS).encode(), "order.yaml")
    open_job(bench, bench.sign_in("ana", PASSPHRASE), order, small_procedure())
    bench.close()


def start_of(folder: Path) -> datetime:
    """A minute after the newest event."""
    from guide.journal.store import Journal

    with Journal.open(folder / "journal.db", read_only=True) as journal:
        newest = max(event.stamp.utc for event in journal.events())
    return datetime.fromisoformat(newest) + timedelta(minutes=1)


if __name__ == "__main__":
    certificate.KDF_ROUNDS = 1000  # that guessing is slow is proven in tests/journal/test_keys.py
    folder = Path(sys.argv[1])
    if not (folder / "journal.db").exists():
        lay(folder, sys.argv[2] if len(sys.argv) > 2 else "Harbour School, roof unit 3")
    clock = HurriedClock(start_of(folder), boot="hurried")
    followed = Readings(Feed(sys.argv[3])) if len(sys.argv) > 3 else None
    at_the_terminal(
        lambda voice: PlainProgram(voice, folder, nature="practice", clock=clock, readings=followed)
    )
    if followed is not None:
        followed.close()
