"""A whole job on the simulated system in a folder of its own: from the order to the checked record.

For demonstrations and for practice orders that nobody works by hand. The keys are made for this one
run; their passphrase is random and is never written down, unless the caller brings one.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from guide.bench.bench import Bench, Issued
from guide.bench.people import KnownPerson, Technician
from guide.errors import ChargewrightError
from guide.job.focus import Front
from guide.job.order import Order
from guide.job.work import Work
from guide.journal.port import SimulatedClock
from guide.rig.appliance import SEED, START_FRACTION
from guide.rig.appliance import plant_for as plant_for  # noqa: PLC0414 - a rehearsal's plant
from guide.rig.circuit import SOUND, Trouble
from guide.rig.player import NO_ANSWERS, Player, PlayerStuck

PERSON = KnownPerson("rig", "Simulated Technician", "none, simulated", "none")


class NoFreshFolder(ChargewrightError):
    """The folder for a rehearsal is not a new, empty one."""


@dataclass(slots=True)
class Rehearsal:
    """One job on the simulated system. `step` until it gives None; then `issued` is there."""

    bench: Bench
    technician: Technician
    passphrase: str = field(repr=False)
    work: Work
    player: Player
    clock: SimulatedClock
    issued: Issued | None = None

    def step(self) -> str | None:
        """Do the next thing and say it in words, the signature included; None when the record is out.

        Raises:
            ChargewrightError: it can't go on; the message says where.
        """
        play = self.player.step()
        if play is not None:
            return play.words
        front = self.work.focus().front
        if self.issued is not None:
            return None
        if front is Front.SIGN:
            self.issued = self.bench.sign_off(self.work, self.technician, self.passphrase)
            return f"{self.technician.known.name} signs; record {self.issued.pdf.name}"
        if front is Front.CLOSED:
            self.issued = self.bench.issue_record(self.work, self.technician, self.passphrase)
            return f"the record is made; {self.issued.pdf.name}"
        raise PlayerStuck(f"the work stands at {front.value!r}, where the simulated technician can't go on")

    def local_time(self) -> str:
        """The simulated time of day, as a person at the unit would read it."""
        stamp = self.clock.now()
        hours, minutes = stamp.local_offset[1:].split(":")
        offset = timedelta(hours=int(hours), minutes=int(minutes))
        moment = datetime.fromisoformat(stamp.utc)
        return (moment - offset if stamp.local_offset[0] == "-" else moment + offset).strftime("%H:%M")

    def close(self) -> None:
        """Let go of the folder."""
        self.bench.close()


def fresh_folder(parent: Path, now: datetime) -> Path:
    """A new folder under `parent`, named by the time.

    Raises:
        NoFreshFolder: it can't be made.
    """
    folder = parent / f"{now.strftime('%Y%m%d-%H%M%S')}-{secrets.token_hex(3)}"
    return require_fresh(folder)


def require_fresh(folder: Path) -> Path:
    """The folder, made where it was missing.

    Raises:
        NoFreshFolder: it holds something already, is no folder, or can't be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        taken = any(folder.iterdir())
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise NoFreshFolder(f"{folder}: can't be made or read ({reason}); name a new folder") from error
    if taken:
        raise NoFreshFolder(f"{folder}: holds something already; name a new or empty folder")
    return folder


def prepare(
    order: Order, folder: Path, *, seed: int = SEED, start: datetime | None = None,
    start_fraction: float = START_FRACTION, passphrase: str | None = None, trouble: Trouble = SOUND,
    answers: Mapping[str, str] = NO_ANSWERS,
) -> Rehearsal:  # fmt: skip
    """Lay a journal in `folder`, make keys, open the job, and stand a simulated system beside it.

    Raises:
        ChargewrightError: the order is real work or does not fit its procedure, or the folder can't be used.
    """
    if order.nature == "real":
        raise PlayerStuck(f"order {order.number} is real work, and that needs a person")
    clock = SimulatedClock(start or datetime.now(UTC).astimezone(), boot=f"simulated-{secrets.token_hex(4)}")
    bench = Bench.open(folder, nature=order.nature, clock=clock)
    try:
        passphrase = passphrase or secrets.token_urlsafe(24)
        bench.enrol(PERSON, passphrase)
        technician = bench.sign_in(PERSON.id, passphrase)
        late = "nobody is at hand to change it; nothing real is measured" if bench.past_due(order) else None
        work = bench.new_job(order, technician, past_due_reason=late)
        plant = plant_for(order, seed=seed, start_fraction=start_fraction, trouble=trouble)
        player = Player(work, plant, clock, answers=answers)
    except BaseException:
        bench.close()
        raise
    return Rehearsal(bench, technician, passphrase, work, player, clock)
