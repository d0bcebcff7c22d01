"""Values from a stream beside the fields: offered, accepted with Enter, asked about when they disagree."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from textual.pilot import Pilot

from guide.instruments.board import Live, State
from guide.instruments.feed import Feed
from guide.instruments.readings import Readings
from guide.job.order import read_order
from guide.job.payloads import ReadingValue
from guide.screens.live import acceptable, with_live
from guide.screens.sheet import sheet
from tests.screens.driving import app_of, at, sees, shown, types
from tests.screens.small_job import ORDER, ROUND, Desk, lay, to_the_loop
from tests.screens.test_sheet import view_of, words_of

INSTRUMENTS = """\
instruments:
  - {id: G-1, channels: [suction_pressure], accuracy: 1 psi}
  - {id: T-1, channels: [suction_line], accuracy: 0.5 dF}
"""


class Stream:
    """A file that grows, as an instrument's program would write it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        path.write_bytes(b"")

    def says(self, source: str, channel: str, value: str, unit: str, ref: str | None) -> None:
        line: dict[str, object] = {
            "v": 1, "src": source, "ch": channel, "val": value, "unit": unit, "q": "good",
        }  # fmt: skip
        if ref:
            line["ref"] = ref
        with self.path.open("ab") as file:
            file.write(json.dumps(line).encode() + b"\n")


@pytest.fixture
def stream(tmp_path: Path) -> Stream:
    return Stream(tmp_path / "feed.ndjson")


@pytest.fixture
def readings(stream: Stream) -> Iterator[Readings]:
    followed = Readings(Feed(str(stream.path)))
    time.sleep(0.8)  # the feed's process reads from the file's end, so it has to be there first
    yield followed
    followed.close()


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    text = ORDER.format(place="Harbour School, roof unit 3", nature="demonstration") + INSTRUMENTS
    made = lay(tmp_path / "data", order=read_order(text.encode(), "order.yaml"))
    to_the_loop(made)
    return made


async def to_the_live_field(pilot: Pilot[Path | None], stream: Stream, readings: Readings) -> None:
    """The first field of the round is active, the stream's value beside it."""
    app_of(pilot).readings = readings
    await sees(pilot, "Round 1")
    await pilot.press("tab")
    stream.says("G-1", "suction_pressure", "118.2", "psi", "gauge")
    for _ in range(100):
        await pilot.press("tab")
        if "live 118.2" in shown(app_of(pilot)):
            break
        await pilot.pause(0.05)
    await sees(pilot, "live 118.2")
    while "▶ Suction pressure" not in shown(app_of(pilot)):
        await pilot.press("up")


async def test_enter_on_an_empty_field_accepts_the_live_value_and_the_log_says_so(
    desk: Desk, stream: Stream, readings: Readings
) -> None:
    async with at(desk) as pilot:
        await to_the_live_field(pilot, stream, readings)
        await pilot.press("enter")
        for channel, typed in list(ROUND.items())[1:]:
            assert channel != "suction_pressure"
            await types(pilot, typed.rstrip("psigF"), "enter")
        await sees(pilot, "advice  ADD")

    values = {value.channel: value for value in desk.work.state.rounds[-1].read.readings}
    assert values["suction_pressure"].source == "stream"
    assert values["suction_pressure"].instrument == "G-1"
    assert values["suction_pressure"].line_sha256 is not None
    assert values["suction_line"].source == "typed"


async def test_a_typed_value_far_from_the_live_one_is_asked_about_once(
    desk: Desk, stream: Stream, readings: Readings
) -> None:
    async with at(desk) as pilot:
        await to_the_live_field(pilot, stream, readings)
        await types(pilot, "130", "enter")
        await sees(pilot, "more apart than both can be off")
        await pilot.press("enter")
        await sees(pilot, "▶ Suction line")


async def test_an_accepted_value_typed_over_is_typed_and_asked_about_again(
    desk: Desk, stream: Stream, readings: Readings
) -> None:
    async with at(desk) as pilot:
        await to_the_live_field(pilot, stream, readings)
        await pilot.press("enter", "up")
        await pilot.press(*["backspace"] * 10)
        await types(pilot, "130", "enter")
        await sees(pilot, "more apart than both can be off")


SUCTION = ReadingValue(
    channel="suction_pressure", si=Decimal(916000), unit="psig", typed="118.2 psig", source="stream"
)


@pytest.mark.parametrize("size", [(80, 24), (40, 12)])
@pytest.mark.parametrize(
    ("state", "says"),
    [("stale", "OLD 118.2, 12 s"), ("bad", "BAD"), ("lost", "LOST"), ("live", "live 118.2")],
)
def test_a_value_beside_its_field_says_when_it_is_too_old_or_bad_and_is_then_not_taken(
    desk: Desk, state: State, says: str, size: tuple[int, int]
) -> None:
    heard = Live("suction_pressure", SUCTION, "G-1", "G-1", 12.0, state, 3.0, "type it")
    view = view_of(desk.work)
    asks = with_live(view.filling.asks, {"suction_pressure": heard})
    filling = view.filling.with_asks(asks)
    text = words_of(sheet(replace(view, filling=filling), *size))
    assert says[:10] in text
    assert (acceptable(filling, {"suction_pressure": heard}) is not None) == (state == "live")
    if size[0] == 80:
        assert says in text
        assert "from G-1" in text
        assert ("12 s old, steady for 3 s" in text) == (state == "live")
