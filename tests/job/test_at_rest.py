"""What was read with the unit at rest counts when a round is judged."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from guide.job import payloads as p
from guide.job.assess import assess, read_at_rest
from guide.job.state import Entry
from guide.refrigerant import saturation
from tests.job.small import Desk, a_round, order

FIFTEEN = Decimal(15)


def resting(above_outdoor_K: float, channel: str = "high_side_standing_pressure") -> p.ReadingValue:
    outdoor = next(value for value in a_round() if value.channel == "outdoor_db")
    pressure = saturation.curve("R-410A").bubble_pressure_Pa(float(outdoor.si) + above_outdoor_K)
    return p.ReadingValue(
        channel=channel, si=Decimal(round(pressure)), unit="Paa", typed=f"{pressure:.0f}Paa", source="typed"
    )


def test_a_pressure_at_rest_above_saturation_outdoors_names_another_gas() -> None:
    """Condensing against saturation, compressor off, tells it (FOUND, Purdue report, charging.md 7)."""
    unit = order().appliance()

    def judged(*at_rest: p.ReadingValue) -> str | None:
        return assess(
            unit, [], a_round(), minutes_since_change=FIFTEEN, net_charged_kg=Decimal(0), at_rest=at_rest
        ).suspect

    assert judged(resting(8.0)) == "non-condensables"
    assert judged(resting(0.0)) == judged()


def test_the_last_pressure_at_rest_of_the_job_is_the_one_that_counts(desk: Desk) -> None:
    state = desk.work.state
    first, last = resting(0.0), resting(8.0)
    low = resting(0.0, "low_side_standing_pressure")
    entries = tuple(Entry(seq, "1.1", one.channel, one) for seq, one in enumerate((first, low, last), 1))

    assert read_at_rest(replace(state, entries=(*state.entries, *entries))) == (last, low)
