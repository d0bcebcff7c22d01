"""Rules for what proves a step: it can be met, and every figure says where it comes from."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from guide.procedure.model import (
    Adjust,
    Bound,
    Confirm,
    Limit,
    OrderFigure,
    Procedure,
    Reading,
    Step,
    Wait,
    Weigh,
)
from guide.procedure.strict_yaml import Path
from guide.procedure.wording import Complaint, steps_with_paths

_ENTRY_OF: Final = {
    OrderFigure.LOW_SIDE_DESIGN_PRESSURE: "low_side_design_pressure",
    OrderFigure.HIGH_SIDE_DESIGN_PRESSURE: "high_side_design_pressure",
    # the level hangs on the day the machine was made; the charge stands in every order
    OrderFigure.RECOVERY_LEVEL: "recovery_machine",
}
"""The optional entry of an order that a figure comes from."""


def holds_can_be_released(procedure: Procedure) -> Iterator[Complaint]:
    """Every proof can be met: an answer to accept, limits that a plausible value can keep."""
    for path, _, step in steps_with_paths(procedure):
        kind = "hold step" if step.hold else "step"
        if isinstance(step.proof, Confirm):
            if not step.proof.accept:
                yield (
                    (*path, "confirm", "accept"),
                    f"{kind} {step.id} has no answer that releases it; add one to 'accept'",
                )
            if step.proof.refuse and not step.proof.if_refused:
                yield (
                    (*path, "confirm", "refuse"),
                    f"{kind} {step.id} does not say what to do after a refused answer; add 'if_refused'",
                )
        elif isinstance(step.proof, Reading | Wait):
            yield from _impossible_limits(path, step, kind)
            yield from _unread_changes(path, step)


def _impossible_limits(path: Path, step: Step, kind: str) -> Iterator[Complaint]:
    proof = step.proof
    if not isinstance(proof, Reading | Wait):
        return
    place = (*path, "reading" if isinstance(proof, Reading) else "wait")
    asked = {ask.channel: ask for ask in proof.channels}
    for at, limit in enumerate(proof.limits):
        ask = asked.get(limit.channel)
        if ask is None:
            yield (
                (*place, "limits", at),
                f"step {step.id} limits '{limit.channel}' but does not read it; add it",
            )
            continue
        floor, ceiling = _window(limit.channel, proof.limits)
        low = ask.low.si if floor is None else max(ask.low.si, floor)
        high = ask.high.si if ceiling is None else min(ask.high.si, ceiling)
        if low > high:
            yield (
                (*place, "limits", at),
                f"no plausible value of '{limit.channel}' keeps the limits of {kind} {step.id}; "
                "correct limit or range",
            )


def _window(channel: str, limits: tuple[Limit, ...]) -> tuple[Decimal | None, Decimal | None]:
    """What the written limits leave; a figure of the order is not known at the desk."""
    written = [
        (one.bound, one.value.si)
        for one in limits
        if one.channel == channel and not isinstance(one.value, OrderFigure)
    ]
    floors = [value for bound, value in written if bound is Bound.AT_LEAST]
    ceilings = [value for bound, value in written if bound is Bound.AT_MOST]
    return max(floors, default=None), min(ceilings, default=None)


def _unread_changes(path: Path, step: Step) -> Iterator[Complaint]:
    if not isinstance(step.proof, Wait):
        return
    read = {ask.channel for ask in step.proof.channels}
    for at, change in enumerate(step.proof.changes):
        for channel in (change.channel, change.gas_temperature):
            if channel is not None and channel not in read:
                yield (
                    (*path, "wait", "changes", at),
                    f"step {step.id} judges the change of '{channel}' but does not read it; add it",
                )


def order_entries_are_demanded(procedure: Procedure) -> Iterator[Complaint]:
    """A figure that comes from an optional entry of the order needs that entry under 'needs_order'."""
    for path, _, step in steps_with_paths(procedure):
        for place, figure in _figures(step):
            entry = _ENTRY_OF.get(figure)
            if entry is not None and entry not in procedure.needs_order:
                yield (
                    (*path, *place),
                    f"step {step.id} takes '{figure}' from the order, which may lack it; "
                    f"add {entry} to 'needs_order'",
                )


def _figures(step: Step) -> Iterator[tuple[Path, OrderFigure]]:
    if isinstance(step.proof, Reading | Wait):
        key = "reading" if isinstance(step.proof, Reading) else "wait"
        for at, limit in enumerate(step.proof.limits):
            if isinstance(limit.value, OrderFigure):
                yield (
                    (key, "limits", at, "at_most" if limit.bound is Bound.AT_MOST else "at_least"),
                    limit.value,
                )
    elif isinstance(step.proof, Weigh) and step.proof.target is not None:
        yield ("weigh", "target"), step.proof.target


def sources_are_named(procedure: Procedure) -> Iterator[Complaint]:
    """Every limit names one of the procedure's sources, or says that it is common practice."""
    keys = {key for key, _ in procedure.sources}
    for path, _, step in steps_with_paths(procedure):
        for place, source in _cited(step):
            if source not in keys and not source.startswith("common practice"):
                yield (
                    (*path, *place),
                    f"source '{source}' of step {step.id} is not listed; add it to 'sources', "
                    "or write 'common practice, no source'",
                )


def _cited(step: Step) -> Iterator[tuple[Path, str]]:
    if isinstance(step.proof, Reading | Wait):
        key = "reading" if isinstance(step.proof, Reading) else "wait"
        for at, limit in enumerate(step.proof.limits):
            yield (key, "limits", at, "source"), limit.source
        if isinstance(step.proof, Wait):
            for at, change in enumerate(step.proof.changes):
                yield (key, "changes", at, "source"), change.source
    elif isinstance(step.proof, Adjust):
        yield ("adjust", "source"), step.proof.tolerance_source
