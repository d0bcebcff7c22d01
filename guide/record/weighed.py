"""Tables of a record about weights: what a charge by weight is made of, how full cylinders get."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from guide.charging.refusal import FigureError
from guide.job.order import Cylinder, Order
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


def fill_limits(order: Order, figures: Figures) -> tuple[Table, ...]:
    """The gross weight at which each recovery cylinder is full, and by which rule, where that is known."""
    rows = tuple(row for cylinder in order.cylinders for row in _fill_limit(order, cylinder, figures))
    if not rows:
        return ()
    return (
        Table(
            title="Fill limits of the recovery cylinders",
            heads=("cylinder", "by its collar", "full at", "by", "retest due"),
            shares=(0.12, 0.3, 0.22, 0.22, 0.14),
            rows=rows,
        ),
    )


def _fill_limit(order: Order, cylinder: Cylinder, figures: Figures) -> Iterator[tuple[str, ...]]:
    if cylinder.collar is None or cylinder.contents not in {"empty", "recovered"}:
        return
    designation = order.refrigerant.designation
    due = cylinder.retest_due.isoformat() if cylinder.retest_due else "not stated"
    try:
        limit = cylinder.fill_limit(designation)
        stop_at = cylinder.stop_at_kg(designation, order.scale_division.si)
    except FigureError:
        yield cylinder.id, cylinder.stamped, "not known", "contents are not known", due
        return
    if limit is None or stop_at is None:
        return
    by = f"{limit.rule}, {limit.reckoned_for}" + (" (estimated)" if limit.estimated else "")
    yield cylinder.id, cylinder.stamped, figures.mass(stop_at), by, due


def room(order: Order) -> tuple[tuple[str, str], ...]:
    """How the charge stands against the room named on the order, as a labelled line."""
    check = order.room_check() if order.gear.room is not None else None
    return () if check is None else (("Room, as information", check.words),)


def _mass(kg: float, figures: Figures, *, signed: bool = False) -> str:
    return figures.mass(Decimal(repr(kg)).quantize(Decimal("1e-6")), signed=signed)
