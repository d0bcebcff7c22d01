"""A lesson that is watched: the careful technician works it, up to the signature, which is nobody's here."""

from __future__ import annotations

from dataclasses import dataclass

from guide.bench.bench import Bench
from guide.bench.people import Technician
from guide.job.focus import Front
from guide.job.work import Work
from guide.rig.pace import PacedClock
from guide.rig.player import Player
from guide.rig.rehearsal import Rehearsal
from guide.rig.rig import Rig
from guide.rig.scenario import Scenario


@dataclass(slots=True)
class Watched(Rehearsal):
    """One run of a lesson with all the help there is. `step` until it gives None."""

    title: str = ""

    def step(self) -> str | None:
        """Do the next thing and say it in words; None where only the signature is left.

        Raises:
            ChargewrightError: it can't go on; the message says where.
        """
        if self.work.focus().front in {Front.SIGN, Front.CLOSED, Front.STOPPED}:
            return None
        play = self.player.step()
        return play.words if play is not None else None

    def close(self) -> None:
        """The folder is the trainee's and stays open."""


def watched(
    bench: Bench, technician: Technician, work: Work, clock: PacedClock, *, scenario: Scenario, title: str
) -> Watched:
    """The run of a lesson that plays; time passes only as the careful technician lets it."""
    clock.hold()
    player = Player(work, Rig(scenario, by_hand=False), clock)
    return Watched(bench, technician, "", work, player, clock, title=title)
