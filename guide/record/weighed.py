"""Tables of a record about weights: what a charge by weight is made of, how full cylinders get."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from guide.job import payloads as p
from guide.job.order import Order
from guide.job.state import JobState
from guide.procedure.model import OrderFigure, Weigh
from guide.record.content import Table
from guide.record.figures import Figures


def charge_parts(state: JobState, figures: Figures) -> tuple[Table, ...]:
    """Nameplate, line set, accessories, what each may be off; nothing where the nameplate is all there is."""
    order = state.order
    goes_by_it = any(
        isinstance(step.proof, Weigh) and step.proof.target is OrderFigure.WEIGH_IN_CHARGE
        for _, step in state.procedure.steps()
    )
    if not goes_by_it or not (order.gear.line_set or order.gear.accessories):
        return ()
    made = order.weigh_in()
    rows = [
        (part.name, _mass(part.kg, figures, signed=True), f"± {_mass(part.limit_kg, figures)}", part.source)
        for part in made.parts
    ]
    spread = f"± {_mass(made.uncertainty_kg, figures)}"
    rows.append(("to weigh in", _mass(made.total_kg, figures), spread, "all of them and the scale, factor 2"))
    return (
        Table(
            title="Charge to weigh in",
            heads=("what", "adds", "may be off", "by"),
            shares=(0.18, 0.24, 0.22, 0.36),
            rows=tuple(rows),
        ),
    )


def fill_limits(order: Order, payloads: Sequence[p.Payload], figures: Figures) -> tuple[Table, ...]:
    """The gross weight at which each cylinder recovered into is full, as it was told beforehand."""
    told = {
        payload.cylinder: payload.stop_at_kg
        for payload in payloads
        if isinstance(payload, p.WeighBegun) and payload.stop_at_kg is not None
    }
    if not told:
        return ()
    rows = []
    for name, stop_at in told.items():
        cylinder = order.cylinder(name)
        due = cylinder.retest_due.isoformat() if cylinder and cylinder.retest_due else "not stated"
        rows.append((name, cylinder.stamped if cylinder else "–", figures.mass(stop_at), due))
    return (
        Table(
            title="Fill limits of the recovery cylinders",
            heads=("cylinder", "by its collar", "full at", "retest due"),
            shares=(0.14, 0.44, 0.26, 0.16),
            rows=tuple(rows),
        ),
    )


def room(order: Order) -> tuple[tuple[str, str], ...]:
    """How the charge stands against the room named on the order, as a labelled line."""
    check = order.room_check() if order.gear.room is not None else None
    return () if check is None else (("Room, as information", check.words),)


def _mass(kg: float, figures: Figures, *, signed: bool = False) -> str:
    return figures.mass(Decimal(repr(kg)).quantize(Decimal("1e-6")), signed=signed)
