"""What following a stream costs: for `python -m tests.benchmark`, or by itself."""

from __future__ import annotations

import resource
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from guide.instruments.board import fills
from guide.instruments.feed import Feed
from guide.instruments.readings import Readings
from guide.rig.orders import demonstration_order
from guide.rig.sender import lines
from guide.rig.stream import plant_of

CHANNELS = 8


def processor_share(rate: float = 10.0, seconds: float = 5.0) -> tuple[float, float]:
    """Share of one processor that eight channels take at `rate` [1/s]: (this program, the feed's process)."""
    order = demonstration_order()
    plant = plant_of(order, 1)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "feed.ndjson"
        path.touch()
        before_feed = resource.getrusage(resource.RUSAGE_CHILDREN)
        readings = Readings(Feed(str(path)))
        time.sleep(0.5)
        board = readings.board(order)
        began, own = time.monotonic(), time.process_time()
        with path.open("a") as file:
            while time.monotonic() - began < seconds:
                texts = list(lines(fills(order), plant, datetime.now(UTC), 0))[:CHANNELS]
                file.writelines(text + "\n" for text in texts)
                file.flush()
                readings.poll()
                readings.live(order, "suction_pressure", "psig")
                time.sleep(1.0 / rate)
        own = time.process_time() - own
        assert len(board.history("suction_pressure")) >= int(seconds) - 1
        readings.close()
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
    theirs = after.ru_utime + after.ru_stime - before_feed.ru_utime - before_feed.ru_stime
    return own / seconds, theirs / seconds


if __name__ == "__main__":
    program, feed = processor_share()
    print(f"eight channels at 10 Hz, share of one processor: program {program:.3f}, feed {feed:.3f}")
