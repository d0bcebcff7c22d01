"""A small job on an opened circuit: recovery, a hold under nitrogen, weighing in to a target."""

from __future__ import annotations

from pathlib import Path

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.order import read_order
from guide.procedure.reader import read_procedure
from tests.screens.small_job import ORDER, PROCEDURE, Desk, lay, value

STEPS = """\
parts:
  - id: work
    title: Work
    steps:
      - id: "1.1"
        do: RECOVER the refrigerant.
        weigh: {direction: out, repeat: true}
      - id: "1.2"
        do: KEEP the circuit under pressure.
        hold: true
        wait:
          at_least: 60 min
          channels: [{channel: test_pressure}, {channel: gas_temperature}]
          limits:
            - {channel: test_pressure, at_most: {order: low_side_design_pressure}, source: nameplate}
          changes:
            - {channel: test_pressure, fall_at_most: 2 dpsi, gas_temperature: gas_temperature, source: holds}
      - id: "1.3"
        do: FEED liquid into the high side.
        weigh: {direction: in, target: {order: weigh_in_charge}, repeat: true}
  - id: sign
"""

MORE = """\
line_set: {length: 40ft, covered: 15ft, adder: 0.6oz/ft}
recovery_machine: {id: RM-1, made: "2021-05-01", rating: flammable}
instruments:
  - {id: G-1, channels: [test_pressure], accuracy: 0.2 psi}
  - {id: T-1, channels: [gas_temperature], accuracy: 0.5 dF}
"""


def lay_opened(folder: Path) -> Desk:
    """A folder with the job of an opened circuit just opened."""
    before, _, rest = PROCEDURE.partition("parts:\n")
    text = before + STEPS + rest[rest.index("    title: Sign\n") :].replace("3.1", "2.1")
    text = text.replace(
        "sources: {title24: the tests}", "sources: {nameplate: the nameplate, holds: the tests}"
    )
    needed = "needs: [a scale]\nneeds_order: [low_side_design_pressure, line_set]"
    text = text.replace("needs: [a scale]", needed)
    order = ORDER.format(place="Harbour School, roof unit 3", nature="demonstration") + MORE
    order = order.replace("  receiver: none", "  low_side_design_pressure: 250psig\n  receiver: none")
    return lay(
        folder,
        order=read_order(order.encode(), "order.yaml"),
        procedure=read_procedure(text.encode(), "opened.yaml"),
    )


def weighed(desk: Desk, step: str, way: str, cylinder: str, before: str, after: str) -> None:
    weight = value("cylinder_weight", before)
    desk.work.do(c.BeginWeigh(step, way, cylinder, weight))  # type: ignore[arg-type]
    desk.work.do(c.EndWeigh(step, value("cylinder_weight", after)))


def recovered(desk: Desk) -> None:
    weighed(desk, "1.1", "out", "R-3", "20lb0oz", "27lb8oz")
    desk.work.do(c.EndWeighing("1.1"))


def of_gas(pressure: str, temperature: str) -> tuple[p.ReadingValue, ...]:
    return (value("test_pressure", pressure), value("gas_temperature", temperature))


def holding(desk: Desk) -> None:
    recovered(desk)
    desk.work.do(c.BeginWait("1.2", of_gas("200psig", "80F")))
