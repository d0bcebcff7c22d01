"""An order: what is to be done where, on which appliance, with what. Read once, checked, then trusted."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails

from guide.charging.round import FIELD_OF_CHANNEL, Accuracy, Appliance, Metering
from guide.errors import ChargewrightError
from guide.procedure.channels import CHANNELS
from guide.procedure.strict_yaml import Document, read_yaml
from guide.refrigerant import catalogue, saturation
from guide.units import Kind, Quantity, UnitError, parse, standard_pressure_at

Line = Annotated[str, Field(min_length=1, max_length=200)]
Nature = Literal["real", "practice", "demonstration"]


_CAPACITY_FIXED = {"fixed": True, "held by the maker's test mode": True, "varies": False}


class OrderError(ChargewrightError):
    """An order that can't be worked: which file, which entry, what would do."""


class _Entry(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class _Customer(_Entry):
    name: Line
    address: Line


class _Company(_Entry):
    name: Line
    certificate: Line | None = None


class _ApplianceEntry(_Entry):
    id: Line
    place: Line
    description: Line | None = None
    model: Line | None = None
    serial: Line | None = None
    refrigerant: Line
    nameplate_charge: Line
    full_charge_method: Line = "nameplate"
    metering: Literal["fixed orifice", "thermostatic valve", "electronic valve"]
    application: Line
    receiver: Literal["none", "fitted"]
    capacity: Literal["fixed", "held by the maker's test mode", "varies", "unknown"]
    outdoor_minimum: Line | None = None
    indoor_minimum: Line | None = None
    indoor_maximum: Line | None = None
    target_subcooling: Line | None = None
    target_superheat: Line | None = None
    settle_time: Line | None = None
    high_side_design_pressure: Line | None = None
    low_side_design_pressure: Line | None = None


class _Site(_Entry):
    altitude: Line | None = None
    pressure: Line | None = None
    release_when_purging_hoses: Literal["allowed", "forbidden"]


class _Scale(_Entry):
    id: Line
    division: Line
    calibration_due: date | None = None


class _Instrument(_Entry):
    id: Line
    channels: Annotated[list[Line], Field(min_length=1, max_length=20)]
    accuracy: Line
    calibration_due: date | None = None
    source: Line | None = None
    stream_channels: dict[Line, Line] = {}


class _Cylinder(_Entry):
    id: Line
    refrigerant: Line
    contents: Literal["virgin", "recycled", "reclaimed", "recovered", "empty"]
    source: Line | None = None


class _OrderFile(_Entry):
    order: Line
    nature: Nature
    procedure: Line
    reason: Line
    company: _Company
    customer: _Customer
    appliance: _ApplianceEntry
    site: _Site
    scale: _Scale
    instruments: Annotated[list[_Instrument], Field(max_length=40)] = []
    cylinders: Annotated[list[_Cylinder], Field(min_length=1, max_length=20)]
    ticket: Line | None = None


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument, the channels it fills and how far it may be off (SI, a difference)."""

    id: str
    channels: tuple[str, ...]
    accuracy: Decimal
    accuracy_typed: str
    calibration_due: date | None
    source: str | None = None
    """What a stream of readings calls it, where that is not its id."""
    stream_channels: tuple[tuple[str, str], ...] = ()
    """(name in the stream, channel of the job), where the names differ."""


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A cylinder named on the order."""

    id: str
    refrigerant: str
    contents: str
    source: str | None


@dataclass(frozen=True, slots=True)
class Order:
    """An order, checked. Pressures absolute [Pa], temperatures [K], masses [kg]."""

    number: str
    nature: Nature
    procedure: str
    reason: str
    company: str
    company_certificate: str | None
    customer: str
    address: str
    appliance_id: str
    place: str
    description: str
    model: str
    serial: str
    refrigerant: catalogue.Refrigerant
    nameplate_charge: Quantity
    full_charge_method: str
    metering: Metering
    application: str
    receiver: str
    capacity: str
    outdoor_minimum: Quantity | None
    indoor_minimum: Quantity | None
    indoor_maximum: Quantity | None
    target_subcooling: Quantity | None
    target_superheat: Quantity | None
    settle_time: Quantity | None
    high_side_design_pressure: Quantity | None
    low_side_design_pressure: Quantity | None
    site_pressure_Pa: Decimal
    site_pressure_from: str
    release_when_purging: str
    scale_id: str
    scale_division: Quantity
    scale_calibration_due: date | None
    instruments: tuple[Instrument, ...]
    cylinders: tuple[Cylinder, ...]
    ticket: str | None
    sha256: str
    text: str

    def facts(self) -> dict[str, str]:
        """What a procedure's conditions may ask of the order."""
        return {
            "metering": self.metering.value,
            "refrigerant": self.refrigerant.designation,
            "safety group": self.refrigerant.safety_group,
            "application": self.application,
            "receiver": self.receiver,
            "capacity": self.capacity,
            "release when purging hoses": self.release_when_purging,
        }

    def cylinder(self, cylinder_id: str) -> Cylinder | None:
        """The cylinder of that name, if the order has it."""
        return next((c for c in self.cylinders if c.id == cylinder_id), None)

    def instrument_for(self, channel: str) -> Instrument | None:
        """The instrument the order assigns to a channel."""
        return next((i for i in self.instruments if channel in i.channels), None)

    def appliance(self, curve: saturation.Curve | None = None) -> Appliance:
        """The unit as the charging rules need it, with the shipped curve unless another is given."""
        accuracies = {
            FIELD_OF_CHANNEL[channel]: Accuracy(float(instrument.accuracy))
            for instrument in self.instruments
            for channel in instrument.channels
            if channel in FIELD_OF_CHANNEL
        }
        indoor = (
            (float(self.indoor_minimum.si), float(self.indoor_maximum.si))
            if self.indoor_minimum and self.indoor_maximum
            else None
        )
        return Appliance(
            curve=curve or saturation.curve(self.refrigerant.designation),
            safety_group=self.refrigerant.safety_group,
            metering=self.metering,
            nameplate_charge_kg=float(self.nameplate_charge.si),
            site_pressure_Pa=float(self.site_pressure_Pa),
            target_subcooling_K=_float(self.target_subcooling),
            target_superheat_K=_float(self.target_superheat),
            application=self.application,
            receiver=self.receiver,
            capacity_fixed=_CAPACITY_FIXED.get(self.capacity),
            outdoor_minimum_K=_float(self.outdoor_minimum),
            indoor_range_K=indoor,
            settle_minutes=float(self.settle_time.si) / 60 if self.settle_time else 15.0,
            scale_division_kg=float(self.scale_division.si),
            accuracies=accuracies,
        )


def _float(quantity: Quantity | None) -> float | None:
    return None if quantity is None else float(quantity.si)


def read_order(data: bytes, name: str) -> Order:
    """An order from the bytes of its file.

    Raises:
        OrderError: with the file's name, the place and what would do.
    """
    document = read_yaml(data, name)
    try:
        entry = _OrderFile.model_validate(document.root)
    except ValidationError as error:
        first = error.errors()[0]
        mark = document.at(first["loc"])
        where = ".".join(str(part) for part in first["loc"])
        raise OrderError(f"{document.name}:{mark.line}:{mark.column}: {where}: {_plain(first)}") from error
    return _Reader(document).order(entry, data)


def _plain(error: ErrorDetails) -> str:
    if error["type"] == "missing":
        return "is missing; write it"
    if error["type"] == "extra_forbidden":
        return "is not an entry of an order; remove it or check its spelling"
    return str(error["msg"])


class _Reader:
    """Turns an order's texts into quantities, naming file and line of whatever can't be used."""

    def __init__(self, document: Document) -> None:
        self._document = document

    def _fail(self, path: tuple[str | int, ...], what: str) -> OrderError:
        mark = self._document.at(path)
        where = ".".join(str(part) for part in path)
        return OrderError(f"{self._document.name}:{mark.line}:{mark.column}: {where}: {what}")

    def _quantity(
        self, path: tuple[str | int, ...], text: str | None, kind: Kind, site: Decimal | None = None
    ) -> Quantity | None:
        if text is None:
            return None
        try:
            return parse(text, kind, site_pressure_Pa=site)
        except UnitError as error:
            raise self._fail(path, str(error)) from error

    def _needed(self, path: tuple[str | int, ...], text: str, kind: Kind) -> Quantity:
        quantity = self._quantity(path, text, kind)
        assert quantity is not None
        return quantity

    def _site_pressure(self, site: _Site) -> tuple[Decimal, str]:
        if (site.altitude is None) == (site.pressure is None):
            raise self._fail(("site",), "give either altitude or pressure (a barometer, e.g. 29.9inHga)")
        if site.altitude is not None:
            altitude = self._needed(("site", "altitude"), site.altitude, Kind.LENGTH)
            if not Decimal(-450) <= altitude.si <= Decimal(6000):
                raise self._fail(("site", "altitude"), "lies outside -450 m to 6000 m; check the unit")
            return standard_pressure_at(altitude.si), f"altitude {site.altitude}"
        assert site.pressure is not None
        pressure = self._needed(("site", "pressure"), site.pressure, Kind.PRESSURE)
        if not Decimal(45_000) <= pressure.si <= Decimal(110_000):
            raise self._fail(("site", "pressure"), "is no atmospheric pressure; give the barometer's reading")
        return pressure.si, f"barometer {site.pressure}"

    def _instrument(self, index: int, entry: _Instrument) -> Instrument:
        path = ("instruments", index)
        kinds = set()
        for channel in entry.channels:
            known = CHANNELS.get(channel)
            if known is None:
                raise self._fail((*path, "channels"), f"channel {channel!r} is not known")
            kinds.add(known.kind)
        if len(kinds) != 1:
            raise self._fail((*path, "channels"), "mixes temperatures, pressures or weights; split it")
        difference = {
            Kind.TEMPERATURE: Kind.TEMPERATURE_DIFFERENCE,
            Kind.PRESSURE: Kind.PRESSURE_DIFFERENCE,
        }
        kind = kinds.pop()
        accuracy = self._needed((*path, "accuracy"), entry.accuracy, difference.get(kind, kind))
        if accuracy.si <= 0:
            raise self._fail((*path, "accuracy"), "must be above zero")
        for name, channel in entry.stream_channels.items():
            if channel not in entry.channels:
                raise self._fail((*path, "stream_channels", name), "is none of this instrument's channels")
        return Instrument(
            entry.id,
            tuple(entry.channels),
            accuracy.si,
            entry.accuracy,
            entry.calibration_due,
            entry.source,
            tuple(sorted(entry.stream_channels.items())),
        )

    def order(self, entry: _OrderFile, data: bytes) -> Order:
        site_pressure, site_from = self._site_pressure(entry.site)
        unit = entry.appliance
        try:
            refrigerant = catalogue.find(unit.refrigerant)
        except catalogue.UnknownRefrigerant as error:
            raise self._fail(("appliance", "refrigerant"), str(error)) from error
        charge = self._needed(("appliance", "nameplate_charge"), unit.nameplate_charge, Kind.MASS)
        if not Decimal("0.05") <= charge.si <= Decimal(500):
            raise self._fail(("appliance", "nameplate_charge"), "lies outside 0.05 kg to 500 kg; check it")
        division = self._needed(("scale", "division"), entry.scale.division, Kind.MASS)
        if not Decimal(0) < division.si <= Decimal("0.2"):
            raise self._fail(("scale", "division"), "must be above zero and at most 200 g")
        cylinders = []
        for index, cylinder in enumerate(entry.cylinders):
            try:
                inside = catalogue.find(cylinder.refrigerant)
            except catalogue.UnknownRefrigerant as error:
                raise self._fail(("cylinders", index, "refrigerant"), str(error)) from error
            cylinders.append(Cylinder(cylinder.id, inside.designation, cylinder.contents, cylinder.source))
        if len({c.id for c in cylinders}) != len(cylinders):
            raise self._fail(("cylinders",), "two cylinders have one name")

        def temperature(key: str) -> Quantity | None:
            return self._quantity(("appliance", key), getattr(unit, key), Kind.TEMPERATURE)

        def difference(key: str) -> Quantity | None:
            return self._quantity(("appliance", key), getattr(unit, key), Kind.TEMPERATURE_DIFFERENCE)

        def pressure(key: str) -> Quantity | None:
            return self._quantity(("appliance", key), getattr(unit, key), Kind.PRESSURE, site_pressure)

        return Order(
            number=entry.order,
            nature=entry.nature,
            procedure=entry.procedure,
            reason=entry.reason,
            company=entry.company.name,
            company_certificate=entry.company.certificate,
            customer=entry.customer.name,
            address=entry.customer.address,
            appliance_id=unit.id,
            place=unit.place,
            description=unit.description or "",
            model=unit.model or "",
            serial=unit.serial or "",
            refrigerant=refrigerant,
            nameplate_charge=charge,
            full_charge_method=unit.full_charge_method,
            metering=Metering(unit.metering),
            application=unit.application,
            receiver=unit.receiver,
            capacity=unit.capacity,
            outdoor_minimum=temperature("outdoor_minimum"),
            indoor_minimum=temperature("indoor_minimum"),
            indoor_maximum=temperature("indoor_maximum"),
            target_subcooling=difference("target_subcooling"),
            target_superheat=difference("target_superheat"),
            settle_time=self._quantity(("appliance", "settle_time"), unit.settle_time, Kind.DURATION),
            high_side_design_pressure=pressure("high_side_design_pressure"),
            low_side_design_pressure=pressure("low_side_design_pressure"),
            site_pressure_Pa=site_pressure,
            site_pressure_from=site_from,
            release_when_purging=entry.site.release_when_purging_hoses,
            scale_id=entry.scale.id,
            scale_division=division,
            scale_calibration_due=entry.scale.calibration_due,
            instruments=tuple(self._instrument(i, entry_) for i, entry_ in enumerate(entry.instruments)),
            cylinders=tuple(cylinders),
            ticket=entry.ticket,
            sha256=hashlib.sha256(data).hexdigest(),
            text=data.decode(),
        )
