"""The model run that a trainee's run is laid beside: the careful technician at the same unit, unseen."""

from __future__ import annotations

import secrets
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson
from guide.journal.port import SimulatedClock
from guide.rig.learning.beginning import beginning, stamp
from guide.rig.learning.lesson import Help
from guide.rig.learning.lesson_reader import Ready
from guide.rig.learning.run import Told, over, told
from guide.rig.player import Player
from guide.rig.rig import Rig

_MODEL = KnownPerson("model", "Careful Technician", "none, simulated", "none")


def model_told(ready: Ready, seed: int) -> tuple[Told, ...]:
    """The events of the model run of a lesson on a seed; nothing of it is kept.

    Raises:
        ChargewrightError: the careful technician can't work it.
    """
    with tempfile.TemporaryDirectory(prefix="chargewright-") as folder:
        clock = SimulatedClock(datetime.now(UTC), boot="model")
        bench = Bench.open(Path(folder), nature="practice", clock=clock)
        try:
            passphrase = secrets.token_urlsafe(24)
            bench.enrol(_MODEL, passphrase)
            technician = bench.sign_in(_MODEL.id, passphrase)
            work = bench.new_job(
                ready.order, technician, past_due_reason="nothing real is measured",
                lesson=stamp(ready, seed, Help.NONE),
            )  # fmt: skip
            player = Player(work, Rig(beginning(ready, seed), by_hand=False), clock)
            while not over(ready.lesson, work.state) and player.step() is not None:
                pass
            return told(work.events())
        finally:
            bench.close()
