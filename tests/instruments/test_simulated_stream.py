"""The simulated stream speaks the contract and fills every channel of its order."""

from __future__ import annotations

from datetime import UTC, datetime

from guide.instruments.board import Board, Now, fills
from guide.instruments.line import read_line
from guide.rig.orders import demonstration_order
from guide.rig.stream import lines, plant_of


def test_every_channel_of_the_order_is_live_from_the_simulated_stream() -> None:
    order = demonstration_order()
    utc = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
    now = Now(0.0, utc.timestamp())
    board = Board(order)
    board.take([read_line(text.encode()) for text in lines(order, plant_of(order, 1), utc, 0)], now)
    units = {"suction_pressure": "psig", "hose_pressure": "psig", "liquid_pressure": "psig"}
    units |= {"hose_vacuum": "micron", "cylinder_weight": "lb+oz"}
    for channel, _ in fills(order).values():
        live = board.live(channel, units.get(channel, "F"), now)
        assert live is not None, channel
        assert live.state == "live", (channel, live.words)
