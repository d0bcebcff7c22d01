"""The simulated stream speaks the contract and fills every channel of its order."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, datetime
from typing import cast

from guide.instruments.board import Board, Now, fills
from guide.instruments.feed import Feed
from guide.instruments.line import read_line
from guide.instruments.readings import Readings
from guide.instruments.watched import Watched
from guide.job.order import read_order
from guide.rig.orders import demonstration_order
from guide.rig.pace import PacedClock
from guide.rig.sender import lines
from guide.rig.stream import plant_of


def test_every_channel_of_the_order_is_live_from_the_simulated_stream() -> None:
    order = demonstration_order()
    utc = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
    now = Now(0.0, utc.timestamp())
    board = Board(order)
    board.take([read_line(text.encode()) for text in lines(fills(order), plant_of(order, 1), utc, 0)], now)
    units = {"suction_pressure": "psig", "hose_pressure": "psig", "liquid_pressure": "psig"}
    units |= {"hose_vacuum": "micron", "cylinder_weight": "lb+oz"}
    for channel, _ in fills(order).values():
        live = board.live(channel, units.get(channel, "F"), now)
        assert live is not None, channel
        assert live.state == "live", (channel, live.words)


def test_an_order_may_name_the_source_and_its_channels_as_the_stream_does() -> None:
    text = demonstration_order().text.replace(
        "{id: SIM-G2, channels: [liquid_pressure],",
        "{id: SIM-G2, source: gauge-2, stream_channels: {high: liquid_pressure},"
        " channels: [liquid_pressure],",
    )
    order = read_order(text.encode(), "order.yaml")
    assert fills(order)[("gauge-2", "high")] == ("liquid_pressure", "SIM-G2")
    assert ("SIM-G2", "liquid_pressure") not in fills(order)


def test_a_channel_is_answered_within_a_millisecond_with_ten_minutes_behind_it() -> None:
    order = demonstration_order()
    board, plant = Board(order), plant_of(order, 1)
    utc = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
    samples = [read_line(text.encode()) for text in lines(fills(order), plant, utc, 0)]
    for second in range(700):
        board.take(samples, Now(float(second), utc.timestamp()))
    began = time.process_time()
    for _ in range(100):
        board.live("suction_pressure", "psig", Now(699.0, utc.timestamp()))
    assert (time.process_time() - began) / 100 < 0.001
    assert len(board.history("suction_pressure")) == 600


class _Overrun:
    """A feed whose follower could not take every line."""

    lost, last_fault = "", ""
    bad, dropped, unkept = 0, 54, False


def test_lines_that_pass_while_time_is_let_run_are_not_told_as_a_fault() -> None:
    order, feed = demonstration_order(), cast("Feed", _Overrun())
    start = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
    assert Readings(feed).said(order) == "54 lines left out"
    assert Readings(feed, PacedClock(start)).said(order) == ""


def test_a_value_from_before_the_clock_began_to_count_is_not_kept() -> None:
    watched, now = Watched(), PacedClock(datetime(2026, 11, 25, 10, 0, tzinfo=UTC)).now()
    late = replace(now, mono_ns=now.mono_ns + 5_000_000_000)
    watched.hear(lambda _: ((-3412.5, 1.0), (2.0, 3.0)), ("system_vacuum",), late)
    assert [sample.si for sample in watched.all()["system_vacuum"]] == [3.0]
