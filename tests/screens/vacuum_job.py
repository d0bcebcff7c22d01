"""A small job under vacuum: a pull-down, a standing test, a hold under nitrogen, and a stream that tells."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

from guide.instruments.line import Sample
from guide.instruments.readings import Readings
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
        do: EVACUATE the circuit for as long as the gauge falls.
        confirm: {ask: Where does the gauge come to?, accept: [500 micron or lower, stays above]}
      - id: "1.2"
        do: EVACUATE the circuit to 500 micron or lower.
        reading:
          channels: [{channel: system_vacuum, settled: 60 s}]
          limits: [{channel: system_vacuum, at_most: 500 micron, source: deep}]
      - id: "1.3"
        do: KEEP the circuit shut under vacuum.
        hold: true
        wait:
          at_least: 15 min
          channels: [{channel: system_vacuum}]
          limits: [{channel: system_vacuum, at_most: 700 micron, source: deep}]
          changes: [{channel: system_vacuum, rise_at_most: 200 dmicron, source: deep}]
      - id: "1.4"
        do: KEEP the circuit under pressure.
        hold: true
        wait:
          at_least: 60 min
          channels: [{channel: test_pressure}, {channel: gas_temperature}]
          changes:
            - {channel: test_pressure, fall_at_most: 2 dpsi, gas_temperature: gas_temperature, source: deep}
      - id: "1.5"
        do: EVACUATE the circuit a second time for fifteen minutes.
        wait:
          at_least: 15 min
          channels: [{channel: system_vacuum}]
  - id: sign
"""
MORE = """\
vacuum_pump: {id: P-1, rating: flammable}
instruments:
  - {id: V-1, channels: [system_vacuum], accuracy: 10 dmicron}
  - {id: G-1, channels: [test_pressure], accuracy: 0.2 psi}
  - {id: T-1, channels: [gas_temperature], accuracy: 0.5 dF}
"""
SOURCES = {
    "system_vacuum": ("V-1", "micron"),
    "test_pressure": ("G-1", "psig"),
    "gas_temperature": ("T-1", "F"),
}


class Told:
    """A feed that hands on what a test lets it say."""

    def __init__(self) -> None:
        self.lost, self.last_fault = "", ""
        self.bad = self.dropped = 0
        self.unkept = False
        self._waiting: list[Sample] = []

    def says(self, channel: str, number: float) -> None:
        source, unit = SOURCES[channel]
        text = f"{number:.1f}"
        self._waiting.append(Sample(source, channel, Decimal(text), text, unit, "good", None, "0" * 64))

    def taken(self) -> list[Sample]:
        batch, self._waiting = self._waiting, []
        return batch

    def close(self) -> None:
        """Nothing runs."""


def lay_vacuum(folder: Path) -> Desk:
    """A folder with the job just opened, nothing read yet."""
    before, _, rest = PROCEDURE.partition("parts:\n")
    text = before + STEPS + rest[rest.index("    title: Sign\n") :].replace("3.1", "2.1")
    text = text.replace("sources: {title24: the tests}", "sources: {deep: the tests}")
    order = ORDER.format(place="Harbour School, roof unit 3", nature="demonstration") + MORE
    return lay(
        folder,
        order=read_order(order.encode(), "order.yaml"),
        procedure=read_procedure(text.encode(), "vacuum.yaml"),
    )


def stream_of(desk: Desk) -> tuple[Told, Readings]:
    """A stream on the desk's own clock."""
    feed = Told()
    return feed, Readings(feed, desk.clock)  # type: ignore[arg-type]


def drawn(desk: Desk) -> None:
    """It was seen where the gauge comes to; the vacuum is to be read."""
    desk.work.do(c.Answer("1.1", "stays above"))


def pulled(desk: Desk) -> None:
    """The pull-down is read: the standing test comes next."""
    drawn(desk)
    desk.work.do(c.Read("1.2", (value("system_vacuum", "400 micron"),)))


def stands(desk: Desk) -> None:
    """The standing test runs."""
    pulled(desk)
    desk.work.do(c.BeginWait("1.3", (value("system_vacuum", "400 micron"),)))


def pressed(desk: Desk) -> None:
    """The hold under nitrogen runs."""
    stands(desk)
    desk.clock.advance(901)
    desk.work.do(c.EndWait("1.3", (value("system_vacuum", "420 micron"),)))
    start: tuple[p.ReadingValue, ...] = (value("test_pressure", "300 psig"), value("gas_temperature", "75 F"))
    desk.work.do(c.BeginWait("1.4", start))


def pass_time(
    desk: Desk, feed: Told, seconds: float, says: Callable[[float], dict[str, float]],
    then: Callable[[], object],
) -> None:  # fmt: skip
    """Let time pass in steps of five seconds, the stream telling `says(seconds)` at each; then listen."""
    for step in range(1, int(seconds / 5) + 1):
        desk.clock.advance(5)
        for channel, number in says(5.0 * step).items():
            feed.says(channel, number)
        then()


def draws_again(desk: Desk) -> None:
    """A stage of several evacuations runs."""
    pressed(desk)
    desk.clock.advance(3601)
    end = (value("test_pressure", "300 psig"), value("gas_temperature", "75 F"))
    desk.work.do(c.EndWait("1.4", end))
    desk.work.do(c.BeginWait("1.5", (value("system_vacuum", "20000 micron"),)))
