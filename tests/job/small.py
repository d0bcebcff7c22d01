"""A small procedure with one step of every sort, an order, and a bench to work them on."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson, Technician
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.order import Order, read_order
from guide.job.state import begin
from guide.job.work import Work
from guide.journal import keys
from guide.journal.port import SimulatedClock
from guide.procedure.channels import CHANNELS
from guide.procedure.model import Procedure
from guide.procedure.reader import read_procedure
from guide.units import parse

PASSPHRASE = "seven gray herons"

ORDER = """\
order: HS-2291
nature: practice
procedure: small
reason: service
company: {name: Example Cooling}
customer: {name: Harbour School, address: 1 Quay}
appliance:
  id: RTU-3
  place: Harbour School, roof unit 3
  refrigerant: R-410A
  nameplate_charge: 8 lb 0 oz
  metering: fixed orifice
  application: unitary air conditioner in cooling
  receiver: none
  capacity: fixed
site: {altitude: 120 ft, release_when_purging_hoses: allowed}
scale: {id: S-2, division: 0.25 oz}
cylinders:
  - {id: N-14, refrigerant: R-410A, contents: virgin}
  - {id: R-3, refrigerant: R-410A, contents: recovered}
  - {id: X-9, refrigerant: R-22, contents: virgin}
  - {id: E-1, refrigerant: R-410A, contents: empty}
"""

PROCEDURE = """\
format: procedure/1
id: small
title: One step of every sort
revision: "2"
status: approved
approved: {date: "2026-11-25", by: the authors of these tests}
applies:
  - {fact: metering, is: [fixed orifice]}
needs: [gauges]
sources: {made: "made for these tests"}
parts:
  - id: first
    title: First
    steps:
      - id: "1.1"
        do: LOOK at the label.
        hazards:
          - DANGER: Line voltage kills.
          - WARNING: Liquid refrigerant freezes skin.
        confirm: {ask: What does it say?, accept: [as ordered], refuse: [another], if_refused: Stop.}
      - id: "1.2"
        do: ASK which hoses are here.
        confirm: {ask: Which hoses?, accept: [low-loss, plain], fact: hoses}
      - id: "1.3"
        do: CHOOSE how air is kept out.
        choose:
          ask: How?
          fact: hose method
          options:
            - {key: kept, text: Use the evacuated set., when: [{fact: hoses, is: [low-loss]}]}
            - {key: evacuated, text: Evacuate the hoses.}
      - id: "1.4"
        do: READ the vacuum.
        when: [{fact: hose method, is: [evacuated]}]
        hold: true
        reading:
          channels:
            - {channel: hose_vacuum, ask: vacuum, unit: micron}
          limits:
            - {channel: hose_vacuum, at_most: 1000 micron, source: made}
  - id: second
    title: Second
    steps:
      - id: "2.1"
        do: RUN the unit.
        wait: {at_least: 15 min}
      - id: "2.2"
        do: CORRECT the charge.
        adjust:
          method: superheat
          settle: 15 min
          tolerance: 5 dF
          source: made
          channels:
            - {channel: suction_pressure, ask: suction pressure, unit: psig}
            - {channel: suction_line, ask: suction line, unit: F}
            - {channel: liquid_pressure, ask: liquid pressure, unit: psig}
            - {channel: liquid_line, ask: liquid line, unit: F}
            - {channel: indoor_db, ask: return air, unit: F}
            - {channel: indoor_wb, ask: return air wet bulb, unit: F}
            - {channel: supply_db, ask: supply air, unit: F}
            - {channel: outdoor_db, ask: outdoor air, unit: F}
      - id: "2.3"
        do: SIGN the record.
        sign: {meaning: did the work}
on_abort:
  id: safe
  title: Leave it safe
  steps:
    - id: "A.1"
      do: CLOSE the cylinder valve.
      confirm: {ask: How is the valve?, accept: [closed]}
"""

STEADY = {
    "suction_pressure": "118.4 psig",
    "suction_line": "56 F",
    "liquid_pressure": "352 psig",
    "liquid_line": "97 F",
    "indoor_db": "80 F",
    "indoor_wb": "67 F",
    "supply_db": "61 F",
    "outdoor_db": "95 F",
}
"""A round of R-410A readings about 4 °F above its target superheat."""


def order(text: str = ORDER) -> Order:
    """The order, read as from a file."""
    return read_order(text.encode(), "order.yaml")


def procedure() -> Procedure:
    """The procedure, read as from a file."""
    return read_procedure(PROCEDURE.encode(), "small.yaml")


def reading(channel: str, text: str) -> p.ReadingValue:
    """One typed reading at the order's site."""
    quantity = parse(text, CHANNELS[channel].kind, site_pressure_Pa=order().site_pressure_Pa)
    return p.ReadingValue(
        channel=channel, si=quantity.si, unit=quantity.unit, typed=quantity.typed, source="typed"
    )


def weight(text: str) -> p.ReadingValue:
    """One weight of a cylinder."""
    return reading("cylinder_weight", text)


def a_round(**changed: str) -> tuple[p.ReadingValue, ...]:
    """A round of readings, some of them changed."""
    return tuple(reading(channel, text) for channel, text in (STEADY | changed).items())


@cache
def made_once(person_id: str, name: str) -> Path:
    """Keys of one person, made once a test run: hardening a passphrase is slow on purpose."""
    folder = Path(tempfile.mkdtemp(prefix="chargewright-keys-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    keys.create(folder, person_id, name, PASSPHRASE, datetime(2026, 11, 25, tzinfo=UTC), practice=True)
    return folder / person_id


class Desk:
    """A bench with one technician at work on one job of the small procedure."""

    def __init__(self, folder: Path, clock: SimulatedClock | None = None) -> None:
        self.clock = clock or SimulatedClock(datetime(2026, 11, 25, 9, 0, tzinfo=UTC))
        self.bench = Bench.open(folder, nature="practice", clock=self.clock, run="run-1")
        self.alex = self.join("alex", "Alex Doe", "608 Universal", "T-1")
        self.work = self.open_job(self.alex)

    def join(self, person_id: str, name: str, certification: str, number: str = "") -> Technician:
        """A person made known to the bench, and at work."""
        shutil.copytree(made_once(person_id, name), self.bench.folder / "keys" / person_id)
        self.bench.enrol(KnownPerson(person_id, name, certification, number), PASSPHRASE)
        return self.bench.sign_in(person_id, PASSPHRASE)

    def open_job(self, technician: Technician) -> Work:
        """A fresh job of the small procedure, its first event logged."""
        the_order, the_procedure = order(), procedure()
        number = self.bench.journal.next_job_number()
        state = begin(f"J-{number:04d}", the_order, the_procedure)
        work = Work(
            self.bench.shelf,
            self.clock,
            state,
            person=technician.person,
            log_key=technician.log_key,
            run=self.bench.run,
        )
        work.do(c.Open(opening(work, number, technician.person)))
        return work

    def again(self, run: str) -> Work:
        """The same job as a later run of the program takes it up."""
        return Work.take_up(
            self.bench.shelf,
            self.clock,
            self.work.state.job,
            order(),
            procedure(),
            person=self.alex.person,
            log_key=self.alex.log_key,
            run=run,
        )

    def to_loop(self) -> None:
        """Work up to the charging loop, evacuating the hoses."""
        work = self.work
        for hazard in (0, 1):
            work.do(c.Acknowledge("1.1", hazard))
        work.do(c.Answer("1.1", "as ordered"))
        work.do(c.Answer("1.2", "plain"))
        work.do(c.Choose("1.3", "evacuated"))
        work.do(c.Read("1.4", (reading("hose_vacuum", "400 micron"),)))
        work.do(c.EndPart("first"))
        work.do(c.BeginWait("2.1"))
        self.clock.advance(15 * 60)
        work.do(c.EndWait("2.1"))

    def to_signature(self) -> None:
        """Work up to the signature, adding two ounces on the way."""
        self.to_loop()
        work = self.work
        work.do(c.Read("2.2", a_round()))
        work.do(c.BeginWeigh("2.2", "in", "N-14", weight("22 lb 0 oz")))
        work.do(c.EndWeigh("2.2", weight("21 lb 14 oz")))
        self.clock.advance(15 * 60)
        work.do(c.Read("2.2", a_round(suction_line="53 F")))
        work.do(c.EndAdjust("2.2"))
        work.do(c.ShowCustomer("not present"))

    def close_job(self) -> None:
        """Sign off without a record file."""
        self.work.do(c.SignOff(self.work.keep("Alex Doe"), self.alex.certificate_sha256))


def opening(work: Work, number: int, person: p.Person) -> p.Opened:
    """The opening event of a job of the small procedure."""
    from guide.job.assess import versions
    from guide.refrigerant.saturation import curve

    the_order, the_procedure = order(), procedure()
    return p.Opened(
        number=number,
        nature="practice",
        clock="simulated",
        program="test",
        run=work.run,
        order=work.keep_document(the_order.text),
        order_sha256=the_order.sha256,
        procedure=work.keep_document(the_procedure.source.decode()),
        procedure_id=the_procedure.id,
        procedure_revision=the_procedure.revision,
        procedure_sha256=the_procedure.sha256,
        versions=versions(curve("R-410A")),
        person=person,
    )
