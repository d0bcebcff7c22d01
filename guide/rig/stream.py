"""Writes a stream of readings from the simulated system, for practice, tests and benchmarks.

`python -m guide.rig.stream ORDER.yaml --seed 1 --rate 10 > feed.ndjson`
"""

from __future__ import annotations

import argparse
import contextlib
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from guide.errors import ChargewrightError
from guide.instruments.board import fills
from guide.job.order import Order, read_order
from guide.rig.appliance import plant_for
from guide.rig.rig import Rig
from guide.rig.sender import lines

_CYLINDER_kg: Final = 14.5


def plant_of(order: Order, seed: int) -> Rig:
    """The simulated system of an order, at nine tenths of its right charge, a cylinder on the scale."""
    plant = plant_for(order, seed=seed)
    plant.put_on_scale(order.cylinders[0].id, _CYLINDER_kg)
    return plant


def main() -> int:
    """Write until nobody reads, or until `--seconds` are over."""
    parser = argparse.ArgumentParser(prog="python -m guide.rig.stream", description=__doc__)
    parser.add_argument("order", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=float, default=1.0, help="readings a second of each channel")
    parser.add_argument("--seconds", type=float, default=float("inf"))
    given = parser.parse_args()
    try:
        order = read_order(given.order.read_bytes(), str(given.order))
    except (ChargewrightError, OSError) as error:
        sys.stderr.write(f"{error}\n")
        return 2
    plant, filled = plant_of(order, given.seed), fills(order)
    step_s = 1.0 / min(max(given.rate, 0.01), 1000.0)
    began, count = time.monotonic(), 0
    with contextlib.suppress(BrokenPipeError, KeyboardInterrupt):
        while count * step_s < given.seconds:
            for text in lines(filled, plant, datetime.now(UTC), count):
                sys.stdout.write(text + "\n")
            sys.stdout.flush()
            plant.pass_time(step_s)
            count += 1
            time.sleep(max(0.0, began + count * step_s - time.monotonic()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
