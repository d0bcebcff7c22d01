"""The same job in other units: what is asked and shown changes, what was typed stays as it was. Pure."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import Final

from guide.job import payloads as p
from guide.job.order import Order
from guide.job.state import JobState, RoundDone, Waiting
from guide.screens.settings import System
from guide.units import COMPOUND_MASS, Quantity, from_si

_METRIC: Final = MappingProxyType(
    {
        "F": "C", "R": "K", "dF": "dK", "dR": "dK", "psig": "barg", "psia": "bara", "micron": "Paa",
        "inHgv": "mbara", "inHga": "mbara", "dpsi": "dbar", "dmicron": "dPa", "lb": "kg",
        COMPOUND_MASS: "kg", "oz": "g", "ft": "m", "in": "mm",
    }
)  # fmt: skip
_INCH_POUND: Final = MappingProxyType(
    {
        "C": "F", "K": "R", "dK": "dF", "dC": "dF", "barg": "psig", "bara": "psia", "kPag": "psig",
        "kPaa": "psia", "MPag": "psig", "MPaa": "psia", "Pag": "psig", "Paa": "micron", "mbara": "micron",
        "Torr": "micron", "mmHga": "micron", "dbar": "dpsi", "dkPa": "dpsi", "dPa": "dmicron",
        "kg": COMPOUND_MASS, "g": "oz", "m": "ft", "mm": "in",
    }
)  # fmt: skip


def in_unit(unit: str, system: System) -> str:
    """The unit that stands for another in a system."""
    if system is System.ORDER:
        return unit
    return (_METRIC if system is System.SI else _INCH_POUND).get(unit, unit)


def in_system(state: JobState, system: System) -> JobState:
    """A job to be shown in a system. Only for showing: commands are made of the state as it is."""
    if system is System.ORDER:
        return state
    return replace(
        state,
        order=_order(state.order, system),
        entries=tuple(replace(e, value=_value(e.value, system)) for e in state.entries),
        rounds=tuple(_round(done, system) for done in state.rounds),
        waiting=_waiting(state.waiting, system) if state.waiting else None,
    )


def _order(order: Order, system: System) -> Order:
    division = order.scale_division
    unit = in_unit(division.unit, system)
    if unit == COMPOUND_MASS:
        unit = "oz"
    if unit == division.unit:
        return order
    typed = f"{from_si(division.si, unit).normalize():f}{unit}"
    return replace(order, scale_division=Quantity(division.kind, division.si, typed, unit))


def _value(value: p.ReadingValue, system: System) -> p.ReadingValue:
    unit = in_unit(value.unit, system)
    return value if unit == value.unit else value.model_copy(update={"unit": unit})


def _waiting(waiting: Waiting, system: System) -> Waiting:
    readings = tuple(_value(value, system) for value in waiting.begun.readings)
    return replace(waiting, begun=waiting.begun.model_copy(update={"readings": readings}))


def _round(done: RoundDone, system: System) -> RoundDone:
    readings = tuple(_value(value, system) for value in done.read.readings)
    return replace(done, read=done.read.model_copy(update={"readings": readings}))
