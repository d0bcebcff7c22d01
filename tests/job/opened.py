"""A procedure with the steps of an opened circuit: recovery, nitrogen, vacuum, charge by weight, loop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.state import begin
from guide.job.work import Work
from guide.procedure.channels import CHANNELS
from guide.procedure.model import (
    Bound,
    ChangeLimit,
    ChannelAsk,
    Confirm,
    Direction,
    Drift,
    Limit,
    OrderFigure,
    Part,
    Procedure,
    Reading,
    Step,
    Wait,
    Weigh,
)
from guide.units import Kind, parse
from tests.job.small import ORDER, Desk, opening, order, procedure

FULL_ORDER = (
    ORDER.replace("capacity: fixed", "capacity: fixed\n  low_side_design_pressure: 250 psig")
    + """\
line_set: {length: 40ft, covered: 15ft, adder: 0.6oz/ft}
recovery_machine: {id: M-1, made: "2021-05-01", rating: non-flammable}
vacuum_pump: {id: P-1, rating: non-flammable}
instruments:
  - {id: G-1, channels: [test_pressure], accuracy: 0.2 dpsi}
  - {id: T-1, channels: [gas_temperature], accuracy: 0.5 dF}
  - {id: V-1, channels: [system_vacuum], accuracy: 20 dmicron}
"""
)


def ask(channel: str, unit: str) -> ChannelAsk:
    """A channel asked for, over a wide range."""
    kind = CHANNELS[channel].kind
    low, high = {Kind.PRESSURE: ("0 psia", "700 psig"), Kind.TEMPERATURE: ("-40 F", "200 F")}[kind]
    site = order().site_pressure_Pa
    return ChannelAsk(
        channel,
        channel,
        unit,
        parse(low, kind, site_pressure_Pa=site),
        parse(high, kind, site_pressure_Pa=site),
    )


def _difference(text: str) -> ChangeLimit:
    return ChangeLimit(
        "test_pressure", Drift.FALL, parse(text, Kind.PRESSURE_DIFFERENCE), "made", "gas_temperature"
    )


def opened_procedure() -> Procedure:
    """The small procedure with parts of an opened circuit before its charging loop."""
    small = procedure()
    gas, vacuum = ask("test_pressure", "psig"), ask("system_vacuum", "micron")
    recover = Part(
        "recover",
        "Recover",
        (
            Step("R.1", "RECOVER the charge.", Weigh(Direction.OUT, repeat=True)),
            Step("R.2", "LET the pressure stand.", Wait(300)),
        ),
    )
    test = Part(
        "test",
        "Pressure test",
        (
            Step(
                "T.1",
                "RAISE the pressure.",
                Reading(
                    (gas,),
                    (Limit("test_pressure", Bound.AT_MOST, OrderFigure.LOW_SIDE_DESIGN_PRESSURE, "plate"),),
                ),
            ),
            Step(
                "T.2",
                "HOLD the pressure.",
                Wait(600, (gas, ask("gas_temperature", "F")), changes=(_difference("1 dpsi"),)),
            ),
            Step(
                "T.3",
                "HOLD the vacuum.",
                Wait(
                    600,
                    (vacuum,),
                    (Limit("system_vacuum", Bound.AT_MOST, parse("500 micron", Kind.PRESSURE), "made"),),
                    (
                        ChangeLimit(
                            "system_vacuum",
                            Drift.RISE,
                            parse("200 dmicron", Kind.PRESSURE_DIFFERENCE),
                            "made",
                        ),
                    ),
                ),
            ),
        ),
    )
    charge = Part(
        "charge",
        "Weigh in",
        (
            Step("W.1", "WEIGH in.", Weigh(Direction.IN, OrderFigure.WEIGH_IN_CHARGE, repeat=True)),
            Step("W.2", "LOOK at the sight glass.", Confirm("What?", ("clear",))),
        ),
    )
    return replace(small, parts=(recover, test, charge, small.parts[1]), needs_order=("line_set",))


def read(channel: str, text: str) -> p.ReadingValue:
    """One typed reading at the order's site."""
    quantity = parse(text, CHANNELS[channel].kind, site_pressure_Pa=order().site_pressure_Pa)
    return p.ReadingValue(
        channel=channel, si=quantity.si, unit=quantity.unit, typed=quantity.typed, source="typed"
    )


def gas(pressure: str, temperature: str) -> tuple[p.ReadingValue, ...]:
    """A pressure under test with the gas's temperature."""
    return read("test_pressure", pressure), read("gas_temperature", temperature)


class OpenDesk(Desk):
    """A bench with a job of an opened circuit."""

    def __init__(self, folder: Path, text: str = FULL_ORDER) -> None:
        super().__init__(folder)
        self.work = self.open_circuit(text)

    def open_circuit(self, text: str = FULL_ORDER) -> Work:
        """A fresh job of the opened circuit."""
        number = self.bench.journal.next_job_number()
        work = Work(
            self.bench.shelf, self.clock, begin(f"J-{number:04d}", order(text), opened_procedure()),
            person=self.alex.person, log_key=self.alex.log_key, run=self.bench.run,
        )  # fmt: skip
        work.do(c.Open(opening(work, number, self.alex.person)))
        return work

    def weigh(self, step: str, way: str, cylinder: str, before: str, after: str) -> None:
        """One weighing."""
        self.work.do(
            c.BeginWeigh(step, "in" if way == "in" else "out", cylinder, read("cylinder_weight", before))
        )
        self.clock.advance(600)
        self.work.do(c.EndWeigh(step, read("cylinder_weight", after)))

    def recovered(self) -> None:
        """The whole charge is recovered into two cylinders."""
        self.weigh("R.1", "out", "E-1", "10 lb", "15 lb")
        self.weigh("R.1", "out", "R-3", "30 lb", "33 lb")
        self.work.do(c.EndWeighing("R.1"))
        self.hold("R.2", 300)
        self.work.do(c.EndPart("recover"))

    def hold(
        self, step: str, seconds: float, start: tuple[p.ReadingValue, ...] = (),
        end: tuple[p.ReadingValue, ...] = (),
    ) -> None:  # fmt: skip
        """A timed hold from its start to its end."""
        self.work.do(c.BeginWait(step, start))
        self.clock.advance(seconds)
        self.work.do(c.EndWait(step, end))

    def tight(self) -> None:
        """Pressure and vacuum held."""
        self.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
        self.hold("T.2", 600, gas("240 psig", "80 F"), gas("235.3 psig", "70 F"))
        self.hold("T.3", 600, (read("system_vacuum", "300 micron"),), (read("system_vacuum", "350 micron"),))
        self.work.do(c.EndPart("test"))

    def charged(self) -> None:
        """The charge is weighed in from two cylinders."""
        self.weigh("W.1", "in", "N-14", "22 lb", "17 lb")
        self.weigh("W.1", "in", "R-3", "33 lb", "29 lb 1 oz")
        self.work.do(c.EndWeighing("W.1"))
        self.work.do(c.Answer("W.2", "clear"))
        self.work.do(c.EndPart("charge"))

    def kept(self) -> Mapping[str, Decimal]:
        """The job's refrigerant figures [kg]."""
        state = self.work.state
        return {
            "charged": state.charged_kg(),
            "recovered": state.recovered_kg(),
            "net": state.net_charged_kg(),
            "loop": state.moved_in_loop_kg(),
        }
