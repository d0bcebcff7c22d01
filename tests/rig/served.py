"""A rig's process as the tests talk to it: the stand-in served, here or in a process of its own."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final

from guide.journal.event import Stamp
from guide.rig import wire
from guide.rig.orders import demonstration_order
from guide.rig.pace import PacedClock
from tests.rig.runs import START

ORDER: Final = demonstration_order()
OPENED: Final[Stamp] = PacedClock(START, real_ns=lambda: 0).now()
STANDIN: Final = (sys.executable, "-P", "-m", "tests.rig.standin")
ROOT: Final = Path(__file__).resolve().parents[2]


def beginning(seed: int = 7) -> wire.Begin:
    return wire.begin(ORDER.text, opened=OPENED, seed=seed)


def told(feed: Path, channel: str) -> list[tuple[str, str]]:
    """(time, value) of a channel's readings in a feed."""
    lines = [json.loads(line) for line in feed.read_text().splitlines()]
    return [(line["t"], line["val"]) for line in lines if line["ch"] == channel]


def until(so: Callable[[], bool], patience_s: float = 20.0) -> None:
    """Wait until something is so."""
    began = time.monotonic()
    while not so():
        assert time.monotonic() - began < patience_s, "it never came to that"
        time.sleep(0.01)
