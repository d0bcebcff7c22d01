"""An instrument of the order: what it fills, how far it may be off, between what it can read."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final

from guide.charging.round import Accuracy
from guide.job.order_file import InstrumentEntry, Place, Written
from guide.procedure.channels import CHANNELS
from guide.units import Kind, Quantity

_SHARE: Final = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,6})?) *% *of +(reading|span)")
_DIFFERENCE: Final = {
    Kind.TEMPERATURE: Kind.TEMPERATURE_DIFFERENCE,
    Kind.PRESSURE: Kind.PRESSURE_DIFFERENCE,
}


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument, the channels it fills and how far it may be off (SI, a difference)."""

    id: str
    channels: tuple[str, ...]
    accuracy: Decimal
    """The fixed part, with what is stated of the span."""
    accuracy_typed: str
    calibration_due: date | None
    source: str | None = None
    """What a stream of readings calls it, where that is not its id."""
    stream_channels: tuple[tuple[str, str], ...] = ()
    """(name in the stream, channel of the job), where the names differ."""
    make: str | None = None
    serial: str | None = None
    of_reading: Decimal = Decimal(0)
    division: Quantity | None = None
    range: tuple[Quantity, Quantity] | None = None
    insulated: bool = True
    """Whether its pipe sensor is insulated over. Every procedure that reads a pipe has that confirmed
    first, so an order has to say it where it is not so."""

    @property
    def kind(self) -> Kind:
        """What it measures."""
        return CHANNELS[self.channels[0]].kind

    def off(self, si: Decimal) -> Decimal:
        """How far a reading [SI, absolute] may be off: its stated limit, with half a division.

        As `guide.charging.uncertainty.limit_of`: a part of the reading counts from °F for a
        temperature; limit and half division are independent.
        """
        if not self.of_reading and self.division is None:
            return self.accuracy
        size = abs(si)
        if self.kind is Kind.TEMPERATURE:
            size = abs(si * Decimal("1.8") - Decimal("459.67")) / Decimal("1.8")
        stated = self.accuracy + self.of_reading * size
        half = self.division.si / 2 if self.division else Decimal(0)
        return (stated**2 + half**2).sqrt().quantize(Decimal("1e-6"))

    def reaches(self, si: Decimal) -> bool:
        """Whether a reading [SI, absolute] lies within its range, or none is stated."""
        return self.range is None or self.range[0].si <= si <= self.range[1].si

    def stated(self) -> Accuracy:
        """What the charging rules know of it."""
        return Accuracy(
            fixed=float(self.accuracy),
            of_reading=float(self.of_reading),
            division=float(self.division.si) if self.division else 0.0,
            lowest=float(self.range[0].si) if self.range else None,
            highest=float(self.range[1].si) if self.range else None,
            insulated=self.insulated,
        )


def instruments(written: Written, site_pressure_Pa: Decimal) -> tuple[Instrument, ...]:
    """The order's instruments; a range in gauge pressure becomes absolute with the site's pressure.

    Raises:
        OrderError: with the place and what would do.
    """
    return tuple(
        _instrument(written, ("instruments", index), each, site_pressure_Pa)
        for index, each in enumerate(written.entry.instruments)
    )


def _instrument(
    written: Written, path: Place, entry: InstrumentEntry, site_pressure_Pa: Decimal
) -> Instrument:
    kind = _kind(written, path, entry)
    ends = None
    if entry.range is not None:
        low, high = (written.needed((*path, "range"), text, kind, site_pressure_Pa) for text in entry.range)
        if not low.si < high.si:
            raise written.fail((*path, "range"), "does not rise; write its lower end first")
        ends = (low, high)
    division = written.quantity((*path, "division"), entry.division, _DIFFERENCE.get(kind, kind))
    if division is not None and division.si <= 0:
        raise written.fail((*path, "division"), "must be above zero")
    if entry.sensor is not None and "suction_line" not in entry.channels:
        raise written.fail((*path, "sensor"), "belongs to an instrument of the channel suction_line")
    accuracy, of_reading = _accuracy(written, (*path, "accuracy"), entry, kind, ends)
    for name, channel in entry.stream_channels.items():
        if channel not in entry.channels:
            raise written.fail((*path, "stream_channels", name), "is none of this instrument's channels")
    return Instrument(
        entry.id,
        tuple(entry.channels),
        accuracy,
        entry.accuracy,
        entry.calibration_due,
        entry.source,
        tuple(sorted(entry.stream_channels.items())),
        make=entry.make,
        serial=entry.serial,
        of_reading=of_reading,
        division=division,
        range=ends,
        insulated=entry.sensor != "bare",
    )


def _kind(written: Written, path: Place, entry: InstrumentEntry) -> Kind:
    kinds = set()
    for channel in entry.channels:
        known = CHANNELS.get(channel)
        if known is None:
            raise written.fail((*path, "channels"), f"channel {channel!r} is not known")
        kinds.add(known.kind)
    if len(kinds) != 1:
        raise written.fail((*path, "channels"), "mixes temperatures, pressures or weights; split it")
    return kinds.pop()


def _accuracy(
    written: Written, place: Place, entry: InstrumentEntry, kind: Kind, ends: tuple[Quantity, Quantity] | None
) -> tuple[Decimal, Decimal]:
    """The fixed part with what is stated of the span, and the share of the reading."""
    fixed, of_reading = Decimal(0), Decimal(0)
    seen = set()
    for term in (each.strip() for each in entry.accuracy.split("+")):
        match = _SHARE.fullmatch(term)
        what = match[2] if match else "fixed"
        if what in seen:
            raise written.fail(place, f"states its {what} part twice; keep one")
        seen.add(what)
        if match is None:
            part = written.needed(place, term, _DIFFERENCE.get(kind, kind)).si
            if part < 0:
                raise written.fail(place, "must be above zero")
            fixed += part
            continue
        share = Decimal(match[1]) / 100
        if share > 1:
            raise written.fail(place, "can't be off by more than 100 %")
        if what == "reading":
            of_reading = share
        elif ends is None:
            raise written.fail(place, "is stated of the span; write the range too, such as [0psig, 500psig]")
        else:
            fixed += share * (ends[1].si - ends[0].si)
    if fixed <= 0 and of_reading <= 0:
        raise written.fail(place, "must be above zero")
    return fixed, of_reading
