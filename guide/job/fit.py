"""Whether an order names what a procedure can't do without, and no machine that must not be used."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from guide.job.order import Order
from guide.procedure.model import Direction, Limit, OrderFigure, Procedure, Reading, Step, Wait, Weigh

_WRITE: Final = {
    "low_side_design_pressure": "appliance.low_side_design_pressure: 250psig, as its nameplate says",
    "high_side_design_pressure": "appliance.high_side_design_pressure: 450psig, as its nameplate says",
    "target_subcooling": "appliance.target_subcooling: 10dF, as the maker says",
    "line_set": "line_set: {length: 40ft, covered: 15ft, adder: 0.6oz/ft}, as measured and as the maker says",
    "recovery_machine": 'recovery_machine: {id: ..., made: "2021-05-01", rating: flammable or non-flammable}',
    "vacuum_pump": "vacuum_pump: {id: ..., rating: flammable or non-flammable}",
    "detector": "detector: {id: ...}",
    "nitrogen_regulator": "nitrogen_regulator: {id: ..., relief: 250psig}",
}
"""What to write for each entry that an order may leave out. The figures are examples of the form."""
_BEHIND: Final = {
    OrderFigure.LOW_SIDE_DESIGN_PRESSURE: "low_side_design_pressure",
    OrderFigure.HIGH_SIDE_DESIGN_PRESSURE: "high_side_design_pressure",
    OrderFigure.RECOVERY_LEVEL: "recovery_machine",
}


def lacking(order: Order, procedure: Procedure) -> str | None:
    """The first entry that the procedure needs and the order leaves out, and what to write; or None."""
    for entry in procedure.needs_order:
        if not _given(order, entry):
            form = _WRITE.get(entry, entry)
            return f"procedure {procedure.id} needs {entry} in order {order.number}; write {form}"
    for step in (step for part in (*procedure.parts, procedure.on_abort) for step in part.steps):
        for figure in _figures(step):
            if order.figure(figure) is None:
                form = _WRITE.get(_BEHIND.get(figure, ""), "it into the order")
                words = figure.replace("_", " ")
                return f"step {step.id} goes by the {words}, which order {order.number} lacks; write {form}"
    return None


def _given(order: Order, entry: str) -> bool:
    if entry in {"low_side_design_pressure", "high_side_design_pressure", "target_subcooling"}:
        return getattr(order, entry) is not None
    return getattr(order.gear, entry, None) is not None


def _figures(step: Step) -> Iterator[OrderFigure]:
    proof = step.proof
    limits: tuple[Limit, ...] = proof.limits if isinstance(proof, Reading | Wait) else ()
    for limit in limits:
        if isinstance(limit.value, OrderFigure):
            yield limit.value
    if isinstance(proof, Weigh) and proof.target is not None:
        yield proof.target


def unsafe_machine(order: Order) -> str | None:
    """Words for a machine, pump or regulator that must not be used on the order's unit, or None."""
    return _relief_too_high(order) or _not_rated(order)


def _relief_too_high(order: Order) -> str | None:
    """A relief that opens above the low-side design pressure lets nitrogen burst the circuit."""
    regulator, design = order.gear.nitrogen_regulator, order.low_side_design_pressure
    if regulator is None or regulator.relief is None or design is None or regulator.relief.si <= design.si:
        return None
    return (
        f"nitrogen regulator {regulator.id} opens its relief at {regulator.relief.typed}, above the low-side "
        f"design pressure of {design.typed}: name one that opens at or below it"
    )


def _not_rated(order: Order) -> str | None:
    refrigerant = order.refrigerant
    if refrigerant.flammable is False:
        return None
    what = (
        f"is flammable ({refrigerant.safety_group})"
        if refrigerant.flammable
        else "may be flammable (its safety group is not known)"
    )
    machine, pump = order.gear.recovery_machine, order.gear.vacuum_pump
    for name, entry in (("recovery machine", machine), ("vacuum pump", pump)):
        if entry is not None and entry.rating == "non-flammable":
            return (
                f"{refrigerant.designation} {what} and {name} {entry.id} is not made for that: "
                "name one that is"
            )
    return None


def room_against(order: Order, procedure: Procedure) -> str | None:
    """Words for a charge to weigh in that a room named can't take by its size alone, or None."""
    proofs = [step.proof for _, step in procedure.steps()]
    weighs_in = any(isinstance(proof, Weigh) and proof.direction is Direction.IN for proof in proofs)
    if order.gear.room is None or not weighs_in:
        return None
    check = order.room_check()
    return check.words if check is not None and check.refused else None
