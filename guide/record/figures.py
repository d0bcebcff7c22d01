"""Figures as a record prints them: in the order's system of units, with SI beside."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from guide.job import payloads as p
from guide.job.order import Order
from guide.journal.event import Stamp
from guide.units import COMPOUND_MASS, UnitError, show, usual_digits

_AMERICAN_MASSES = frozenset({"lb", "oz", COMPOUND_MASS})
_DIFFERENCES = {
    "psig": ("dpsi", "psi"), "psia": ("dpsi", "psi"), "inHgv": ("dpsi", "psi"), "inHga": ("dpsi", "psi"),
    "barg": ("dbar", "bar"), "bara": ("dbar", "bar"), "mbara": ("dPa", "Pa"),
    "kPag": ("dkPa", "kPa"), "kPaa": ("dkPa", "kPa"), "MPag": ("dkPa", "kPa"), "MPaa": ("dkPa", "kPa"),
    "Pag": ("dPa", "Pa"), "Paa": ("dPa", "Pa"), "micron": ("dmicron", "micron"),
    "Torr": ("dmicron", "micron"), "mmHga": ("dmicron", "micron"),
    "F": ("dF", "°F"), "R": ("dF", "°F"), "C": ("dK", "K"), "K": ("dK", "K"),
}  # fmt: skip
"""The difference that goes with a unit of reading, and how it is printed."""
_POUND_kg = Decimal("0.45359237")
_NOUGHTS = re.compile(r"(?:\.00|(?<=\.\d)0)(?= oz)")


@dataclass(frozen=True, slots=True)
class Figures:
    """How to print quantities: `american` puts °F, lb and oz first; gauge pressures need the site's."""

    american: bool
    site_pressure_Pa: Decimal

    @classmethod
    def of(cls, order: Order) -> Figures:
        """The system of units an order was written in, told by its nameplate charge."""
        return cls(order.nameplate_charge.unit in _AMERICAN_MASSES, order.site_pressure_Pa)

    def reading(self, value: p.ReadingValue) -> str:
        """One reading in the unit it was entered in."""
        try:
            return show(value.si, value.unit, site_pressure_Pa=self.site_pressure_Pa)
        except UnitError:
            return value.typed

    def rounded(self, value: p.ReadingValue) -> str:
        """A value that nobody read, to the digits that suit its unit."""
        try:
            return show(
                value.si, value.unit, digits=usual_digits(value.unit), site_pressure_Pa=self.site_pressure_Pa
            )
        except UnitError:
            return f"{value.si} (SI)"

    def difference(self, kelvin: Decimal | None) -> str:
        """A temperature difference such as `14.1 °F (7.8 K)`, or a dash."""
        if kelvin is None:
            return "–"
        return f"{kelvin * 9 / 5:.1f} °F ({kelvin:.1f} K)" if self.american else f"{kelvin:.1f} K"

    def spread(self, kelvin: Decimal | None, uncertainty: Decimal | None) -> str:
        """A temperature difference with its uncertainty, such as `14.1 ± 2.1 °F`, or a dash."""
        if kelvin is None:
            return "–"
        factor = Decimal(9) / 5 if self.american else Decimal(1)
        unit = "°F" if self.american else "K"
        if uncertainty is None:
            return f"{kelvin * factor:.1f} {unit}"
        return f"{kelvin * factor:.1f} ± {uncertainty * factor:.1f} {unit}"

    def temperature(self, kelvin: Decimal | None) -> str:
        """A temperature to a tenth of a degree, or a dash."""
        if kelvin is None:
            return "–"
        return show(kelvin, "F" if self.american else "C", digits=1)

    def mass(self, kg: Decimal, *, signed: bool = False) -> str:
        """A mass such as `8 lb 6.25 oz (3.806 kg)`, to a hundredth of an ounce."""
        sign = ("+" if kg > 0 else "") if signed else ""
        if not self.american:
            return f"{sign}{kg:.3f} kg"
        unit = COMPOUND_MASS if abs(kg) >= _POUND_kg else "oz"
        shown = _NOUGHTS.sub("", show(kg, unit, digits=2))
        return f"{sign}{shown} ({sign}{kg:.3f} kg)"

    def limit(self, verdict: p.LimitVerdict, unit: str) -> str:
        """A limit in the unit of its reading, such as `at most 500 micron` or `fall at most 1.0 psi`."""
        if verdict.change is not None:
            way = "rise" if verdict.bound == "at most" else "fall"
            return f"{way} at most {self.change(abs(verdict.limit), unit, signed=False)}"
        try:
            shown = show(
                verdict.limit, unit, digits=usual_digits(unit), site_pressure_Pa=self.site_pressure_Pa
            )
        except UnitError:
            shown = f"{verdict.limit} (SI)"
        return f"{verdict.bound} {shown}"

    def change(self, si: Decimal, unit: str, *, signed: bool = True) -> str:
        """A difference [Pa, K] in the unit its readings are in, such as `-0.4 psi`."""
        difference, shown_as = _DIFFERENCES.get(unit, ("", ""))
        if not difference:
            return f"{si} (SI)"
        digits = max(1, usual_digits(difference)) if shown_as != "micron" else 0
        text = show(si, difference, digits=digits, with_unit=False)
        return f"{'+' if signed and si > 0 else ''}{text} {shown_as}"


def local_time(stamp: Stamp) -> str:
    """Date and time at the place, to the second, with the offset from UTC."""
    sign = -1 if stamp.local_offset[0] == "-" else 1
    hours, minutes = stamp.local_offset[1:].split(":")
    offset = sign * timedelta(hours=int(hours), minutes=int(minutes))
    try:
        local = datetime.fromisoformat(stamp.utc) + offset
    except OverflowError:
        return stamp.utc
    return f"{local:%Y-%m-%d %H:%M:%S} {stamp.local_offset}"


def both_times(stamp: Stamp) -> str:
    """Local date and time with its offset, and the same moment in UTC."""
    return f"{local_time(stamp)} ({stamp.utc[:19]}Z)"


def utc_time(stamp: Stamp) -> str:
    """The time of day in UTC, to the second, such as `14:02:31Z`."""
    return f"{stamp.utc[11:19]}Z"


def span(seconds: int) -> str:
    """A time that passed, such as `2 h 05 min`."""
    if seconds < 60:
        return f"{seconds} s"
    minutes, rest = divmod(seconds, 60)
    if minutes < 60:
        return f"{minutes} min {rest:02d} s"
    return f"{minutes // 60} h {minutes % 60:02d} min"
