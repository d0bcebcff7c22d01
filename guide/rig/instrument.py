"""What a simulated instrument shows: a value rounded to its display, as text and as what the text says."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from guide.job import payloads as p
from guide.job.order import Order
from guide.procedure.channels import CHANNELS
from guide.units import COMPOUND_MASS, Kind, parse, show, usual_digits

_OUNCES: Final = frozenset({"lb", "oz", COMPOUND_MASS})


def shown(order: Order, channel: str, si: float, unit: str) -> p.ReadingValue:
    """A reading of `si` [K, Pa absolute, kg] as an instrument that shows `unit` would give it.

    The stored value is the displayed text's own, so what is kept and what was seen never differ.
    """
    kind = CHANNELS[channel].kind
    text = _weight(order, si) if kind is Kind.MASS else _text(order, si, unit)
    quantity = parse(text, kind, site_pressure_Pa=order.site_pressure_Pa)
    instrument = order.instrument_for(channel)
    name = order.scale_id if kind is Kind.MASS else instrument.id if instrument else None
    return p.ReadingValue(
        channel=channel, si=quantity.si, unit=quantity.unit, typed=text, source="simulated", instrument=name
    )


def weight(order: Order, gross_kg: float) -> p.ReadingValue:
    """A cylinder's weight as the order's scale shows it, in whole divisions."""
    return shown(order, "cylinder_weight", gross_kg, order.scale_division.unit)


def _text(order: Order, si: float, unit: str) -> str:
    return show(si, unit, digits=usual_digits(unit), site_pressure_Pa=order.site_pressure_Pa)


def _weight(order: Order, gross_kg: float) -> str:
    division = order.scale_division
    on_scale = round(Decimal(repr(gross_kg)) / division.si) * division.si
    unit = COMPOUND_MASS if division.unit in _OUNCES else division.unit
    return show(on_scale, unit, digits=_decimals(division.typed))


def _decimals(typed: str) -> int:
    """How many decimals the scale's division is written with, which is how many its display has."""
    digits = "".join(c for c in typed.partition(".")[2] if c.isdigit())
    return min(len(digits), 6)
