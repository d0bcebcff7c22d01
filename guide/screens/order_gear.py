"""Fields of an order that only some procedures ask for: line set, machines, design pressures. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from guide.job.order import Order
from guide.procedure.model import OrderFigure, Procedure, Reading, Wait, Weigh
from guide.screens.ask import Ask, Choice, pick, quantity, text
from guide.screens.filling import Cell, Filling

_RATED: Final = tuple(Choice(word, word) for word in ("flammable", "non-flammable", "unknown"))

_FIELDS: Final = MappingProxyType(
    {
        "low_side_design_pressure": (
            quantity("appliance.low_side_design_pressure", "Low-side design", "psig", note="nameplate"),
        ),
        "high_side_design_pressure": (
            quantity("appliance.high_side_design_pressure", "High-side design", "psig", note="nameplate"),
        ),
        "line_set": (
            quantity("line_set.length", "Line set, length", "ft", needed=False, note="may stay empty"),
            quantity("line_set.covered", "Charge covers", "ft", needed=False, note="maker's manual"),
            text("line_set.adder", "Maker's adder", needed=False, note="0.6oz/ft or 30g/m"),
        ),
        "recovery_machine": (
            text("recovery_machine.id", "Recovery machine"),
            text("recovery_machine.made", "made on", note="2021-05-01"),
            pick("recovery_machine.rating", "Recovery machine is for", _RATED),
        ),
        "vacuum_pump": (
            text("vacuum_pump.id", "Vacuum pump"),
            pick("vacuum_pump.rating", "Vacuum pump is for", _RATED),
        ),
        "detector": (text("detector.id", "Leak detector"),),
        "nitrogen_regulator": (
            text("nitrogen_regulator.id", "Nitrogen regulator"),
            quantity("nitrogen_regulator.relief", "its relief opens at", "psig"),
        ),
    }
)
_KEYS: Final = frozenset(ask.key for asks in _FIELDS.values() for ask in asks)


def needs_of(procedure: Procedure) -> tuple[str, ...]:
    """Which of these entries a procedure asks for, in the order of the form."""
    wanted = set(procedure.needs_order)
    for _, step in procedure.steps():
        proof = step.proof
        if isinstance(proof, Weigh) and proof.target is OrderFigure.WEIGH_IN_CHARGE:
            wanted.add("line_set")
        for limit in proof.limits if isinstance(proof, Reading | Wait) else ():
            if limit.value is OrderFigure.RECOVERY_LEVEL:
                wanted.add("recovery_machine")
            elif isinstance(limit.value, OrderFigure):
                wanted.add(limit.value.value)
    return tuple(name for name in _FIELDS if name in wanted)


def gear_asks(needs: tuple[str, ...], last: Order | None = None) -> tuple[Ask, ...]:
    """The fields for these entries, begun with what the last order says of tools."""
    offered = dict(_offered(last)) if last else {}
    return tuple(_begun(ask, offered.get(ask.key, "")) for name in needs for ask in _FIELDS[name])


def _offered(last: Order) -> Iterator[tuple[str, str]]:
    machine, pump = last.gear.recovery_machine, last.gear.vacuum_pump
    if machine:
        yield "recovery_machine.id", machine.id
        yield "recovery_machine.made", machine.made.isoformat()
        yield "recovery_machine.rating", machine.rating
    if pump:
        yield "vacuum_pump.id", pump.id
        yield "vacuum_pump.rating", pump.rating
    if last.gear.detector:
        yield "detector.id", last.gear.detector.id
    if regulator := last.gear.nitrogen_regulator:
        yield "nitrogen_regulator.id", regulator.id
        yield "nitrogen_regulator.relief", regulator.relief.typed if regulator.relief else ""


def _begun(ask: Ask, start: str) -> Ask:
    if not start:
        return ask
    if ask.choices:
        return replace(ask, picked=[choice.value for choice in ask.choices].index(start))
    return replace(ask, start=start)


def with_gear(filling: Filling, needs: tuple[str, ...], last: Order | None = None) -> Filling:
    """The form with the fields that a procedure asks for; what was filled in before stays."""
    base = tuple(ask for ask in filling.asks if ask.key not in _KEYS)
    asks = (*base, *gear_asks(needs, last))
    if tuple(ask.key for ask in asks) == tuple(ask.key for ask in filling.asks):
        return filling
    cells = dict(zip((ask.key for ask in filling.asks), filling.cells, strict=True))
    fresh = Filling.of(asks).cells
    kept: tuple[Cell, ...] = tuple(cells.get(ask.key, new) for ask, new in zip(asks, fresh, strict=True))
    return replace(filling, asks=asks, cells=kept)
