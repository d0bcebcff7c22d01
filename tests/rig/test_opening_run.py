"""The opening procedure where no check of the charge holds: what was weighed in stands, and the job ends."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from guide.job.focus import Front
from guide.job.order import Order, read_order
from guide.record.verify import verify_record
from guide.rig.rehearsal import prepare

PRACTICE = Path(__file__).resolve().parents[2] / "jobs" / "practice-opening.yaml"
POUND_kg = Decimal("0.45359237")


def order(old: str = "", new: str = "") -> Order:
    """The practice order, one entry changed."""
    text = PRACTICE.read_text(encoding="utf-8")
    assert old in text
    return read_order(text.replace(old, new, 1).encode(), PRACTICE.name)


@pytest.mark.parametrize(
    ("changed", "answers"),
    [
        (("receiver: none", "receiver: fitted"), {}),
        (("", ""), {"15.1": "too cold or too hot for a check", "9.6": "stays above 500 micron"}),
    ],
    ids=["a receiver", "too cold, and dried three times"],
)
def test_where_no_check_holds_the_weighed_in_charge_stands(
    changed: tuple[str, str], answers: dict[str, str], tmp_path: Path
) -> None:
    """8 lb and 25 ft at 0.6 oz/ft are 8 lb 15 oz (CALCULATED, as in the charging reference, section 3)."""
    made = prepare(order(*changed), tmp_path / "job", answers=answers)
    while made.step() is not None:
        pass
    state = made.work.state
    made.close()

    assert made.work.focus().front is Front.CLOSED
    assert state.facts["charge check"] == "weighed"
    assert state.rounds == ()
    assert abs(state.charged_kg() - Decimal("8.9375") * POUND_kg) < Decimal("0.005")
    assert made.issued is not None
    report = verify_record(made.issued.pdf.read_bytes())
    assert report.intact, report.first_wrong
