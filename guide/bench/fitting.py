"""Whether a procedure is for an order's appliance; where not, what would do instead."""

from __future__ import annotations

from guide.charging.applicability import facts_against
from guide.job.order import Order
from guide.procedure import library
from guide.procedure.faults import ProcedureError
from guide.procedure.model import Adjust, Condition, Procedure


def why_not(order: Order, procedure: Procedure) -> str | None:
    """What about the order the procedure is not for, and what to do instead; None if it fits."""
    against = _first_against(order, procedure)
    if against is None:
        return None
    wanted = f"{'not ' if against.negated else ''}{' or '.join(against.values)}"
    value = order.facts().get(against.fact, "unknown")
    said = [f"procedure {procedure.id} is for {against.fact}: {wanted}; the order says {value}"]
    charges = any(isinstance(step.proof, Adjust) for _, step in procedure.steps())
    if charges and against.fact != "metering":
        said += [sentence.rstrip(".") for sentence in facts_against(order.appliance())]
    others = ", ".join(name for name in library.list_procedures() if _is_for(name, order)) or "none"
    said.append(f"Procedures for this order: {others}")
    return ". ".join(said)


def _is_for(procedure_id: str, order: Order) -> bool:
    try:
        return _first_against(order, library.load(procedure_id)) is None
    except ProcedureError:  # what is wrong with another file is told where that one is used
        return False


def _first_against(order: Order, procedure: Procedure) -> Condition | None:
    facts = order.facts()
    return next(
        (
            condition
            for condition in procedure.applies
            if (facts.get(condition.fact, "unknown") in condition.values) == condition.negated
        ),
        None,
    )
