"""How times, weights and temperatures are said on the pages. Pure."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from guide.job import payloads as p
from guide.job.order import Order
from guide.journal.event import Stamp
from guide.screens.paint import clean
from guide.units import COMPOUND_MASS, Quantity, UnitError, from_si, kind_of, show, usual_digits
from guide.units import Kind as UnitKind

_POUND_kg: Final = Decimal("0.45359237")
"""From here on an amount is said in pounds and ounces."""


def clock(stamp: Stamp, *, seconds: bool = True) -> str:
    """Local time of day of a stamp, as 10:42:07 or 10:42."""
    return _local(stamp).strftime("%H:%M:%S" if seconds else "%H:%M")


def day_and_time(stamp: Stamp) -> str:
    """Local date and time of a stamp, as 2026-11-25 10:42."""
    return _local(stamp).strftime("%Y-%m-%d %H:%M")


def _local(stamp: Stamp) -> datetime:
    hours, minutes = int(stamp.local_offset[1:3]), int(stamp.local_offset[4:6])
    offset = timedelta(hours=hours, minutes=minutes)
    moment = datetime.fromisoformat(stamp.utc)
    return moment - offset if stamp.local_offset[0] == "-" else moment + offset


def local(utc: str, local_offset: str) -> str:
    """A moment of the journal as local date and time."""
    return day_and_time(Stamp(utc, local_offset, 0, "none"))


def countdown(seconds: float) -> str:
    """Time left, as 14:32 or 1:02:09."""
    whole = max(0, int(seconds + 0.999))
    hours, minutes, rest = whole // 3600, whole % 3600 // 60, whole % 60
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes:02d}:{rest:02d}"


def weight_unit(order: Order) -> str:
    """The unit in which cylinders are weighed: that of the order's scale."""
    return COMPOUND_MASS if order.scale_division.unit in {"oz", "lb", COMPOUND_MASS} else "kg"


def _digits(order: Order) -> int:
    """Decimals of an ounce or a kilogram that the scale shows."""
    compound = weight_unit(order) == COMPOUND_MASS
    shown = from_si(order.scale_division.si, "oz" if compound else "kg")
    exponent = shown.normalize().as_tuple().exponent
    return min(3, max(1, -exponent)) if isinstance(exponent, int) else 1


def weight(si: Decimal, order: Order) -> str:
    """A cylinder's weight, as fine as the scale shows it."""
    return show(si, weight_unit(order), digits=_digits(order))


def amount(si: Decimal, order: Order, *, sign: bool = False) -> str:
    """An amount of refrigerant that moved or should move, as fine as the scale shows it."""
    compound = weight_unit(order) == COMPOUND_MASS
    unit = (COMPOUND_MASS if abs(si) >= _POUND_kg else "oz") if compound else "kg"
    words = show(abs(si), unit, digits=_digits(order))
    if si < 0:
        return f"-{words}"
    return f"+{words}" if sign else words


def nameplate(order: Order) -> str:
    """The nameplate's charge, in the unit of the scale."""
    unit = weight_unit(order)
    return show(order.nameplate_charge.si, unit, digits=3 if unit == "kg" else None)


def reading(value: p.ReadingValue, site_pressure_Pa: Decimal) -> str:
    """A reading in the unit it was typed in, at the decimals an instrument shows."""
    try:
        return show(value.si, value.unit, digits=usual_digits(value.unit), site_pressure_Pa=site_pressure_Pa)
    except UnitError:
        return value.typed


def reading_before(value: p.ReadingValue, unit: str, site_pressure_Pa: Decimal) -> str:
    """The value before, beside a field; without its unit where the field states the same one."""
    if value.unit != unit or unit == COMPOUND_MASS:
        return reading(value, site_pressure_Pa)
    digits = usual_digits(unit)
    return show(value.si, unit, digits=digits, with_unit=False, site_pressure_Pa=site_pressure_Pa)


def temperature_unit(readings: tuple[p.ReadingValue, ...]) -> str:
    """F or C, as the temperatures of a round were typed."""
    for value in readings:
        if value.unit in {"F", "R"}:
            return "F"
        if kind_of(value.unit) is UnitKind.TEMPERATURE:
            return "C"
    return "F"


def temperature(si: Decimal, unit: str) -> str:
    """A temperature in F or C."""
    return show(si, unit, digits=1)


def difference(si: Decimal, unit: str) -> str:
    """A temperature difference in the degrees of F or C, the number only."""
    return show(si, "dF" if unit == "F" else "dK", digits=1, with_unit=False)


def typed_difference(quantity: Quantity) -> str:
    """A difference as it was written, its unit as people say it: 200 dmicron is 200 micron."""
    return clean(quantity.typed.replace(quantity.unit, quantity.unit.removeprefix("d")))


def title_of(order: Order) -> str:
    """What an order calls its appliance, at its place."""
    return order.place
