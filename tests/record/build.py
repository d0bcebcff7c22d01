"""Whole jobs worked from order to signed record, on a real journal in a fresh folder.

The shipped procedure is played on the simulated system; the small procedure of `tests.job.small` is
worked by hand where a test wants one certain act.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pypdf import PdfReader

from guide.bench.bench import Bench, Issued
from guide.bench.people import KnownPerson, Technician
from guide.job.order import Order, read_order
from guide.job.work import Work
from guide.journal.port import SimulatedClock
from guide.record.bundle import Bundle
from guide.record.gather import gather
from guide.record.write import make
from guide.refrigerant.saturation import curve
from guide.rig.player import Player
from tests.rig.straight_line import Setting, SimplePlant

PASSPHRASE = "seven gray herons"

ORDER = """\
order: HS-2291
nature: practice
procedure: charge-fixed-orifice
reason: cooling weak, service
company: {name: Example Cooling, certificate: EC-100}
customer: {name: Harbour School, address: "1 Quay Street, Example Town"}
appliance:
  id: RTU-3
  place: Harbour School, roof unit 3
  description: packaged roof unit
  model: EX-8
  serial: "0042"
  refrigerant: R-410A
  nameplate_charge: 8 lb 0 oz
  metering: fixed orifice
  application: unitary air conditioner in cooling
  receiver: none
  capacity: fixed
  high_side_design_pressure: 450 psig
  low_side_design_pressure: 250 psig
site: {altitude: 120 ft, release_when_purging_hoses: allowed}
scale: {id: S-2, division: 0.25 oz, calibration_due: 2027-02-01}
instruments:
  - {id: G-1, channels: [suction_pressure, liquid_pressure], accuracy: 3 dpsi, calibration_due: 2027-02-01}
  - {id: T-1, channels: [suction_line, liquid_line], accuracy: 1 dF}
cylinders:
  - {id: N-14, refrigerant: R-410A, contents: virgin, source: Example Supply}
  - {id: E-1, refrigerant: R-410A, contents: empty}
"""


@dataclass
class Bench1:
    """A bench with one technician signed in, and a clock that can be moved."""

    bench: Bench
    technician: Technician
    clock: SimulatedClock

    def new(self, text: str = ORDER) -> Work:
        return self.bench.new_job(order_of(text), self.technician)

    def sign_off(self, work: Work) -> Issued:
        return self.bench.sign_off(work, self.technician, PASSPHRASE)

    def signed(self, bundle: Bundle) -> bytes:
        """A record of a bundle, right or wrong, signed with the technician's own key."""
        key, certificate = self.technician.keys.signing_key(PASSPHRASE)
        when = datetime.fromisoformat(self.clock.now().utc)
        return make(bundle, private_key=key, certificate_der=certificate, when=when)[0]


def order_of(text: str) -> Order:
    return read_order(text.encode(), "order.yaml")


def set_up(
    folder: Path, *, nature: str = "practice", person: str = "mara", name: str = "Mara Quill"
) -> Bench1:
    clock = SimulatedClock(datetime(2026, 11, 25, 14, 0, tzinfo=UTC))
    bench = Bench.open(folder, nature=nature, clock=clock, run="run-1")  # type: ignore[arg-type]
    bench.enrol(KnownPerson(person, name, "608 Universal", "U-1"), PASSPHRASE)
    return Bench1(bench, bench.sign_in(person, PASSPHRASE), clock)


def play(desk: Bench1, work: Work, *, start_fraction: float = 0.90) -> None:
    """Work a job up to its signature."""
    order = work.state.order
    setting = Setting(
        curve=curve(order.refrigerant.designation),
        right_charge_kg=float(order.nameplate_charge.si),
        site_pressure_Pa=float(order.site_pressure_Pa),
        start_fraction=start_fraction,
    )
    player = Player(work, SimplePlant(setting), desk.clock)
    while player.step() is not None:
        pass


def whole_job(folder: Path, *, nature: str = "practice", text: str = ORDER) -> tuple[Bench1, Work, Issued]:
    desk = set_up(folder, nature=nature)
    work = desk.new(text.replace("nature: practice", f"nature: {nature}"))
    play(desk, work)
    return desk, work, desk.sign_off(work)


def bundle_of(desk: Bench1, work: Work) -> Bundle:
    return gather(desk.bench.journal, work.state)


def words_of(pdf: bytes, page: int | None = None) -> str:
    pages = PdfReader(io.BytesIO(pdf)).pages
    chosen = pages if page is None else [pages[page]]
    return " ".join(" ".join(each.extract_text().split()) for each in chosen)
