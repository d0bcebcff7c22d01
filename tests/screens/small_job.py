"""A small job for the tests of the screens: two readings, one wait, one charging loop, one signature."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Literal

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson, Technician
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.assess import versions
from guide.job.focus import Front
from guide.job.order import Order, read_order
from guide.job.state import begin
from guide.job.work import Work
from guide.journal.port import SimulatedClock
from guide.procedure.model import Procedure
from guide.procedure.reader import read_procedure
from guide.refrigerant import saturation
from guide.units import kind_of, parse

PASSPHRASE = "a long enough phrase"
START = datetime(2026, 11, 25, 9, 42, 7, tzinfo=UTC)

ORDER = """\
order: T-1
nature: {nature}
procedure: small
reason: "cools too little"
company: {{name: Invented Cooling}}
customer: {{name: Harbour School, address: 14 Quay Street}}
appliance:
  id: U-3
  place: "{place}"
  refrigerant: R-410A
  nameplate_charge: 8lb0oz
  metering: fixed orifice
  application: unitary air conditioner in cooling
  receiver: none
  capacity: fixed
site: {{altitude: 0ft, release_when_purging_hoses: forbidden}}
scale: {{id: S-1, division: 0.5oz}}
cylinders:
  - {{id: N-14, refrigerant: R-410A, contents: virgin}}
  - {{id: R-3, refrigerant: R-410A, contents: empty}}
"""

PROCEDURE = """\
format: procedure/1
id: small
title: Small charge check
revision: "4"
status: approved
approved: {date: "2026-11-25", by: the tests}
applies:
  - {fact: metering, is: [fixed orifice]}
needs: [a scale]
sources: {title24: the tests}
parts:
  - id: brief
    title: Brief
    steps:
      - id: "1.1"
        do: WEAR eye protection and gloves.
        hazards:
          - WARNING: Liquid refrigerant freezes skin and blinds eyes.
          - CAUTION: Liquid that is not throttled breaks a running compressor.
        why: One drop is enough.
        confirm:
          ask: What do you wear?
          accept: [goggles and gloves]
          refuse: [nothing yet]
          if_refused: Put them on before any valve is opened.
      - id: "1.2"
        do: READ the vacuum in the hoses.
        reading:
          channels: [{channel: hose_vacuum, settled: 10 s}]
          limits: [{channel: hose_vacuum, at_most: 1000 micron, source: common practice}]
      - id: "1.3"
        do: CHOOSE how air is kept out.
        choose:
          ask: Which way?
          fact: air kept out by
          options:
            - {key: sealed, text: Hose set under vacuum, when: [{fact: safety group, is: [A1]}]}
            - {key: evacuate, text: Evacuate the hoses first}
  - id: charge
    title: Charge
    steps:
      - id: "2.1"
        do: RUN the unit for fifteen minutes.
        hold: true
        wait: {at_least: 15 min}
      - id: "2.2"
        do: CORRECT the charge by superheat in small moves.
        hazards:
          - WARNING: Liquid refrigerant freezes skin and blinds eyes.
        why: Small steps. This system answers slowly.
        adjust:
          method: superheat
          settle: 15 min
          tolerance: 5 dF
          source: title24
          channels:
            - channel: suction_pressure
            - channel: suction_line
            - channel: liquid_pressure
            - channel: liquid_line
            - channel: indoor_db
            - channel: indoor_wb
            - channel: supply_db
            - channel: outdoor_db
  - id: sign
    title: Sign
    steps:
      - id: "3.1"
        do: SIGN the record.
        sign: {meaning: I did this work.}
on_abort:
  id: abort
  title: Break off safely
  steps:
    - id: "A.1"
      do: CLOSE the cylinder valve.
      confirm: {ask: How does it stand?, accept: [shut]}
"""

ROUND = {
    "suction_pressure": "118.2psig",
    "suction_line": "58.0F",
    "liquid_pressure": "352psig",
    "liquid_line": "99.0F",
    "indoor_db": "78F",
    "indoor_wb": "67F",
    "supply_db": "59F",
    "outdoor_db": "95F",
}
"""A settled round of a system that is a little short: superheat about 18 °F against a target of 12 °F."""

RIGHT_ROUND = {**ROUND, "suction_line": "52.0F", "liquid_line": "97.0F"}
"""The same with superheat at its target."""


def small_procedure() -> Procedure:
    return read_procedure(PROCEDURE.encode(), "small.yaml")


def small_order(place: str = "Harbour School, roof unit 3", nature: str = "demonstration") -> Order:
    return read_order(ORDER.format(place=place, nature=nature).encode(), "order.yaml")


@dataclass
class Desk:
    """A bench with one person, one job, and a clock that moves only when told to."""

    bench: Bench
    technician: Technician
    work: Work
    clock: SimulatedClock
    passphrase: str = PASSPHRASE


def lay(
    folder: Path,
    *,
    nature: Literal["practice", "demonstration"] = "demonstration",
    order: Order | None = None,
    procedure: Procedure | None = None,
) -> Desk:
    """A folder with the small job just opened."""
    clock = SimulatedClock(START, boot="simulated")
    bench = Bench.open(folder, nature=nature, clock=clock, run="run-1")
    bench.enrol(KnownPerson("ana", "Ana Ruiz", "EPA 608 Universal", "608-4471"), PASSPHRASE)
    technician = bench.sign_in("ana", PASSPHRASE)
    work = open_job(bench, technician, order or small_order(nature=nature), procedure or small_procedure())
    return Desk(bench, technician, work, clock)


def open_job(bench: Bench, technician: Technician, order: Order, procedure: Procedure) -> Work:
    state = begin("J-0007", order, procedure)
    work = Work(
        bench.shelf, bench.clock, state, person=technician.person, log_key=technician.log_key, run=bench.run
    )
    opened = p.Opened(
        number=1,
        nature=bench.nature,
        clock="simulated",
        program="test",
        run=bench.run,
        order=work.keep_document(order.text),
        order_sha256=order.sha256,
        procedure=work.keep_document(procedure.source.decode()),
        procedure_id=procedure.id,
        procedure_revision=procedure.revision,
        procedure_sha256=procedure.sha256,
        versions=versions(saturation.curve(order.refrigerant.designation)),
        person=technician.person,
    )
    work.do(c.Open(opened))
    return work


def value(channel: str, typed: str) -> p.ReadingValue:
    kind = kind_of({"F": "F", "g": "psig", "n": "micron", "z": "oz", "b": "lb"}[typed[-1]])
    quantity = parse(typed, kind, site_pressure_Pa=Decimal(101325))
    return p.ReadingValue(channel=channel, si=quantity.si, unit=quantity.unit, typed=typed, source="typed")


def round_of(values: dict[str, str]) -> tuple[p.ReadingValue, ...]:
    return tuple(value(channel, typed) for channel, typed in values.items())


def to_the_loop(desk: Desk) -> None:
    """Work the job up to the charging loop, settled and its warning read."""
    work, do = desk.work, desk.work.do
    do(c.Acknowledge("1.1", 0))
    do(c.Acknowledge("1.1", 1))
    do(c.Answer("1.1", "goggles and gloves"))
    do(c.Read("1.2", (value("hose_vacuum", "400micron"),)))
    do(c.Choose("1.3", "sealed"))
    do(c.EndPart("brief"))
    do(c.BeginWait("2.1"))
    desk.clock.advance(15 * 60 + 1)
    do(c.EndWait("2.1"))
    do(c.Acknowledge("2.2", 0))
    assert work.focus().front is Front.STEP


def read_round(desk: Desk, values: dict[str, str] | None = None) -> None:
    desk.work.do(c.Read("2.2", round_of(values or ROUND)))


def begin_weighing(desk: Desk) -> None:
    desk.work.do(c.BeginWeigh("2.2", "in", "N-14", value("cylinder_weight", "22lb0.5oz")))


def to_the_end(desk: Desk) -> None:
    """Work the job up to the customer."""
    to_the_loop(desk)
    read_round(desk, RIGHT_ROUND)
    desk.work.do(c.EndAdjust("2.2"))
    desk.work.do(c.EndPart("charge"))
    assert desk.work.focus().front is Front.CUSTOMER


Stage = Callable[[Desk], None]
