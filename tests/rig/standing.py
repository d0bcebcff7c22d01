"""Jobs at their beginning, one for each shipped procedure, as the practice orders have them."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

from guide.job.order import Order, read_order
from guide.job.state import JobState, begin
from guide.procedure.library import load

JOBS: Final = Path(__file__).resolve().parents[2] / "jobs"
ORDERS: Final = {
    "charge-fixed-orifice": "demonstration.yaml",
    "charge-valve-subcooling": "practice-valve.yaml",
    "open-circuit-weigh-in": "practice-opening.yaml",
}


@cache
def order_for(procedure_id: str) -> Order:
    """The invented order that is worked by a procedure."""
    path = JOBS / ORDERS[procedure_id]
    return read_order(path.read_bytes(), path.name)


@cache
def state_for(procedure_id: str) -> JobState:
    """A job by a procedure, nothing done yet."""
    return begin("job", order_for(procedure_id), load(procedure_id))
