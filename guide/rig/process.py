"""The rig in a process of its own: `python -m guide.rig.process --feed FILE`.

Reads a command a line from standard input, answers each with a line on standard output (`guide.rig.wire`),
and appends readings to FILE. It has no clock: simulated time is what the commands say, so it never runs
ahead of the program. The end of its input ends it.
"""

from __future__ import annotations

import argparse
import bisect
import contextlib
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import BinaryIO, Protocol

from guide.errors import ChargewrightError
from guide.job.order import Order, read_order
from guide.procedure.channels import CHANNELS
from guide.rig import wire
from guide.rig.cycles import Cycles
from guide.rig.happenings import Happening
from guide.rig.hookup import SIDES, Hookup
from guide.rig.offers import Offer
from guide.rig.retrace import Done, bring_to, cut_s, redo
from guide.rig.rig import Rig, Truth
from guide.rig.scenario import Weather, scenario_for
from guide.rig.sender import Readable, Sender


class NotBegun(ChargewrightError):
    """A command came before the unit was set up."""


class Unit(Readable, Protocol):
    """What the process needs of a rig (`guide.rig.rig.Rig`)."""

    @property
    def happenings(self) -> Sequence[Happening]:
        """All that happened so far, oldest first."""

    def shown_saturation_K(self, side: str) -> float | None:
        """What the gauge of a side shows as saturation for the refrigerant it is set to."""

    @property
    def hookup(self) -> Hookup:
        """How hoses, valves and machines stand."""

    def possible(self) -> tuple[Offer, ...]:
        """What hands can do now."""

    def truth(self) -> Truth:
        """What is really so."""

    def cycles(self) -> Cycles:
        """How it settles, beside a sound unit with its right charge."""


Maker = Callable[[Order, wire.Begin], Unit]


class Served:
    """One rig and the commands it follows. Acts are kept: one that comes late is done in its place."""

    def __init__(self, feed: Path, make: Maker) -> None:
        self._feed = feed
        self._make = make
        self._fresh: Callable[[], Unit] | None = None
        self._unit: Unit | None = None
        self._sender: Sender | None = None
        self._acts: list[Done] = []
        self._told: Counter[Happening] = Counter()

    def reply(self, line: bytes) -> wire.Reply:
        """The answer to one line; whatever is wrong with it is said in words."""
        ok: object = None
        error = ""
        try:
            ok = self._follow(wire.read_command(line))
        except ChargewrightError as fault:
            error = str(fault)
        unit = self._unit
        return wire.Reply(
            t=0.0 if unit is None else unit.elapsed_s, ok=ok, error=error[:2000], happened=self._news()
        )

    def close(self) -> None:
        """Let go of the feed."""
        if self._sender is not None:
            self._sender.close()

    def _follow(self, command: wire.Command) -> object:
        match command:
            case wire.Begin():
                self._begin(command)
            case wire.To():
                unit, sender = self._begun()
                sender.run_to(unit, cut_s(command.t))
            case wire.Do():
                self._do(command.act)
            case wire.Retrace():
                self._acts = [Done(cut_s(act.t), act.handling, -1) for act in command.acts]
                self._again(command.t)
            case wire.Ask():
                return self._asked(command)
        return None

    def _begin(self, begin: wire.Begin) -> None:
        order = read_order(begin.order.encode(), "the order of the run")

        def fresh() -> Unit:
            return self._make(order, begin)

        unit = fresh()
        self.close()
        self._sender = Sender(self._feed, order, begin.utc)
        self._fresh, self._unit, self._acts = fresh, unit, []
        self._told.clear()
        self._sender.tell(unit)

    def _do(self, act: wire.GivenAct) -> None:
        unit, sender = self._begun()
        t_s = cut_s(act.t)
        done = Done(t_s, act.handling, -1)
        late = t_s < unit.elapsed_s
        bisect.insort(self._acts, done, key=lambda each: each.t_s)
        if late:
            for each, refusal in self._again(unit.elapsed_s):
                if each is done:
                    raise refusal
            return
        sender.run_to(unit, t_s)
        try:
            unit.do(act.handling)
        finally:
            sender.tell(unit)

    def _again(self, t_s: float) -> tuple[tuple[Done, ChargewrightError], ...]:
        """Bring a fresh unit to where the acts that are known lead; which of them it refused."""
        _, sender = self._begun()
        assert self._fresh is not None
        unit = self._fresh()
        refused = redo(unit, self._acts)
        bring_to(unit, t_s)
        self._unit = unit
        sender.tell(unit)
        return refused

    def _asked(self, ask: wire.Ask) -> object:  # noqa: PLR0911 - one return a question
        unit, _ = self._begun()
        match ask.what:
            case "hookup":
                return wire.values(unit.hookup)
            case "possible":
                return wire.values(unit.possible())
            case "truth":
                return wire.values(unit.truth())
            case "cycles":
                return wire.values(unit.cycles())
            case "happenings":
                return wire.values(unit.happenings)
            case "saturation":
                if ask.channel not in SIDES:
                    raise wire.BadMessage(f"{ask.channel[:40]!r} is no side; there are: {', '.join(SIDES)}")
                return unit.shown_saturation_K(ask.channel)
            case "reading":
                if ask.channel not in CHANNELS:
                    raise wire.BadMessage(f"{ask.channel[:40]!r} is no channel")
                return unit.read(ask.channel)

    def _begun(self) -> tuple[Unit, Sender]:
        if self._unit is None or self._sender is None:
            raise NotBegun("no unit is set up yet; send begin first")
        return self._unit, self._sender

    def _news(self) -> tuple[wire.GivenHappening, ...]:
        """What happened and was not told yet."""
        if self._unit is None:
            return ()
        known = Counter(self._told)
        news = []
        for happening in self._unit.happenings:
            if known[happening] > 0:
                known[happening] -= 1
            else:
                news.append(happening)
        self._told.update(news)
        return tuple(wire.GivenHappening.of(each) for each in news)


def serve(feed: Path, make: Maker, commands: BinaryIO, answers: BinaryIO) -> None:
    """Follow commands until their end, or until nobody reads the answers."""
    served = Served(feed, make)
    try:
        with contextlib.suppress(BrokenPipeError):
            while line := commands.readline(wire.LONGEST_LINE_BYTES + 1):
                answers.write(wire.written(served.reply(line)))
                answers.flush()
    finally:
        served.close()


def rig_of(order: Order, begin: wire.Begin) -> Rig:
    """The rig that the first command asks for.

    Raises:
        ChargewrightError: there can be no such system; the message says why.
    """
    given = begin.weather
    air = None if given is None else Weather(given.indoor_db_K, given.indoor_wb_K, given.outdoor_K)
    return Rig(
        scenario_for(
            order,
            seed=begin.seed,
            start_fraction=begin.start_fraction,
            faults=tuple(each.graded for each in begin.faults),
            weather=air,
        )
    )


def main(make: Maker = rig_of, arguments: Sequence[str] | None = None) -> int:
    """Serve until the end of standard input."""
    parser = argparse.ArgumentParser(prog="python -m guide.rig.process", description=__doc__)
    parser.add_argument("--feed", type=Path, required=True, help="the file that readings are appended to")
    serve(parser.parse_args(arguments).feed, make, sys.stdin.buffer, sys.stdout.buffer)
    return 0


if __name__ == "__main__":
    sys.exit(main())
