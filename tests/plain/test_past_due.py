"""What is past its calibration is asked about before a job begins, and the reason goes into the record."""

from __future__ import annotations

from pathlib import Path

from guide.bench.bench import Bench
from guide.job.exceptions import departures
from guide.job.order import read_order
from guide.plain.program import PlainProgram
from tests.job.small import ORDER, PASSPHRASE, Desk
from tests.plain.said import Said

LATE = ORDER.replace("procedure: small", "procedure: charge-fixed-orifice").replace(
    "division: 0.25 oz", "division: 0.25 oz, calibration_due: 2026-11-24"
)


def test_the_plain_prompt_asks_why_and_begins(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    desk.bench.close()
    order = read_order(LATE.encode(), "order.yaml")
    said = Said("1", "the other scale is in the shop")

    PlainProgram(
        said, tmp_path, nature="practice", clock=desk.clock, order=order, passphrase=PASSPHRASE
    ).run()

    assert "scale S-2, due 2026-11-24" in said.told
    bench = Bench.open(tmp_path, nature="practice", clock=desk.clock)
    [departure] = [
        each for each in departures(order, list(bench.journal.events("J-0002"))) if each.sort == "instrument"
    ]
    blob = bench.journal.blob(str(departure.reason))
    bench.close()
    assert blob is not None
    assert blob.text == "the other scale is in the shop"
