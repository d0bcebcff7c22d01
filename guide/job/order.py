"""An order: what is to be done where, on which appliance, with what. Read once, checked, then trusted."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from guide.charging import recovery_level
from guide.charging.refusal import FigureError
from guide.charging.room_size import GROUPS, LEAST_LFL_kg_per_m3, RELEASE_HEIGHTS_m, RoomCheck, check
from guide.charging.round import FIELD_OF_CHANNEL, Appliance, Metering
from guide.charging.target_maker import MakerTable
from guide.charging.weigh_in import (
    ACCESSORY_SHARE,
    Charge,
    NAMEPLATE_DIVISION_kg,
    Part,
    charge,
    weigh_in_charge_kg,
)
from guide.job.cylinder import Cylinder as Cylinder  # noqa: PLC0414 - part of what an order is
from guide.job.cylinder import cylinders
from guide.job.equipment import Gear, gear
from guide.job.instrument import Instrument as Instrument  # noqa: PLC0414 - likewise
from guide.job.instrument import instruments
from guide.job.order_file import Nature, Written
from guide.job.order_file import OrderError as OrderError  # noqa: PLC0414 - raised by `read_order`
from guide.job.superheat_table import superheat_table
from guide.procedure.model import OrderFigure
from guide.refrigerant import catalogue, saturation
from guide.units import COMPOUND_MASS, Kind, Quantity, show, standard_pressure_at

_CAPACITY_FIXED = {"fixed": True, "held by the maker's test mode": True, "varies": False}
_CLASSES = {
    catalogue.PressureClass.LOW: recovery_level.PressureClass.LOW,
    catalogue.PressureClass.MEDIUM: recovery_level.PressureClass.MEDIUM,
    catalogue.PressureClass.HIGH: recovery_level.PressureClass.HIGH,
    catalogue.PressureClass.VERY_HIGH: recovery_level.PressureClass.VERY_HIGH,
}


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
    target_table: MakerTable | None
    superheat_range: tuple[Quantity, Quantity] | None
    """Between which a valve holds its superheat, by its maker."""
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
    gear: Gear
    ticket: str | None
    sha256: str
    text: str

    def facts(self) -> dict[str, str]:
        """What a procedure's conditions may ask of the order."""
        machine, pump = self.gear.recovery_machine, self.gear.vacuum_pump
        return {
            "metering": self.metering.value,
            "refrigerant": self.refrigerant.designation,
            "safety group": self.refrigerant.safety_group,
            "application": self.application,
            "receiver": self.receiver,
            "capacity": self.capacity,
            "release when purging hoses": self.release_when_purging,
            "recovery machine rating": machine.rating if machine else "unknown",
            "vacuum pump rating": pump.rating if pump else "unknown",
            "line set": "named" if self.gear.line_set else "none named",
            "target subcooling": "named" if self.target_subcooling else "none named",
        }

    def figure(self, figure: OrderFigure) -> Quantity | None:
        """A figure that a procedure takes from the order, or None where the order does not give it.

        Pressures are absolute [Pa]. The recovery level is that of 40 CFR 82.156(a), Table 1, by the
        machine named (`guide.charging.recovery_level`); the charge to weigh in is the nameplate's with what
        the line set adds (`guide.charging.weigh_in`).

        Raises:
            FigureError: nothing would be left to weigh in.
        """
        match figure:
            case OrderFigure.LOW_SIDE_DESIGN_PRESSURE:
                return self.low_side_design_pressure
            case OrderFigure.HIGH_SIDE_DESIGN_PRESSURE:
                return self.high_side_design_pressure
            case OrderFigure.RECOVERY_LEVEL:
                return self._recovery_level()
            case OrderFigure.WEIGH_IN_CHARGE:
                return self._weigh_in_charge()

    def _recovery_level(self) -> Quantity | None:
        machine = self.gear.recovery_machine
        if machine is None or "small appliance" in self.application.casefold():
            return None  # Table 1 is not meant for small appliances
        level = recovery_level.recovery_level_Pa(
            _CLASSES[self.refrigerant.pressure_class], float(self.nameplate_charge.si), machine.made
        )
        si = Decimal(repr(level)).quantize(Decimal("1e-4"))
        unit = "psia" if self.nameplate_charge.unit in {"lb", "oz", COMPOUND_MASS} else "kPaa"
        return Quantity(Kind.PRESSURE, si, show(si, unit, digits=2), unit)

    def _weigh_in_charge(self) -> Quantity:
        adds = [self.gear.line_set.allowance_kg] if self.gear.line_set else []
        adds += [accessory.adds.si for accessory in self.gear.accessories]
        if not adds:
            return self.nameplate_charge
        total = weigh_in_charge_kg(float(self.nameplate_charge.si), float(sum(adds)))
        si = Decimal(repr(total)).quantize(Decimal("1e-8"))
        unit = self.nameplate_charge.unit
        digits = {COMPOUND_MASS: 2, "oz": 2, "g": 0}.get(unit, 3)
        return Quantity(Kind.MASS, si, show(si, unit, digits=digits), unit)

    def weigh_in(self) -> Charge:
        """The charge to weigh in, part by part, with its uncertainty.

        Raises:
            FigureError: nothing would be left to weigh in.
        """
        parts = [
            Part("nameplate", float(self.nameplate_charge.si), NAMEPLATE_DIVISION_kg, self.full_charge_method)
        ]
        line = self.gear.line_set
        if line is not None:
            what = f"{line.length.typed}, of which {line.covered.typed} covered; {line.adder_typed}"
            parts.append(Part("line set", float(line.allowance_kg), line.limit_kg, what))
        for accessory in self.gear.accessories:
            mass_kg = float(accessory.adds.si)
            parts.append(Part(accessory.name, mass_kg, ACCESSORY_SHARE * mass_kg, "as the order says"))
        return charge(parts, scale_division_kg=float(self.scale_division.si))

    def room_check(self) -> RoomCheck | None:
        """How the charge stands against the room; None unless the refrigerant burns and its limit is known.

        Raises:
            FigureError: nothing would be left to weigh in.
        """
        known, group = self.refrigerant.lfl, self.refrigerant.safety_group
        if known is None or group not in GROUPS:
            return None
        name = self.refrigerant.designation
        lfl = min(float(known.value_kg_per_m3), LEAST_LFL_kg_per_m3.get(name, math.inf))
        room = self.gear.room
        floor_m = RELEASE_HEIGHTS_m["floor"]
        checked = check(
            name,
            group,
            lfl,
            float(self._weigh_in_charge().si),
            area_m2=float(room.area_m2) if room else None,
            release_height_m=float(room.release_height_m) if room else floor_m,
        )
        if known.mark != "CALCULATED" or name in LEAST_LFL_kg_per_m3:
            return checked
        unsure = f" Its flammable limit, {lfl:.3f} kg/m3, is calculated and may be off by a quarter."
        return replace(checked, words=checked.words + unsure)

    def calibrations(self) -> Iterator[tuple[str, date | None]]:
        """Everything that is calibrated, by name, with the day its calibration falls due."""
        for instrument in self.instruments:
            yield f"instrument {instrument.id}", instrument.calibration_due
        yield f"scale {self.scale_id}", self.scale_calibration_due
        gear = self.gear
        for name, each in (
            ("recovery machine", gear.recovery_machine),
            ("vacuum pump", gear.vacuum_pump),
            ("detector", gear.detector),
            ("nitrogen regulator", gear.nitrogen_regulator),
        ):
            if each is not None:
                yield f"{name} {each.id}", each.calibration_due

    def past_due(self, day: date) -> tuple[tuple[str, date], ...]:
        """What is past its calibration on a day, by name, with the day it fell due."""
        return tuple((name, due) for name, due in self.calibrations() if due is not None and due < day)

    def cylinder(self, cylinder_id: str) -> Cylinder | None:
        """The cylinder of that name, if the order has it."""
        return next((c for c in self.cylinders if c.id == cylinder_id), None)

    def instrument_for(self, channel: str) -> Instrument | None:
        """The instrument the order assigns to a channel."""
        return next((i for i in self.instruments if channel in i.channels), None)

    def appliance(self, curve: saturation.Curve | None = None) -> Appliance:
        """The unit as the charging rules need it, with the shipped curve unless another is given."""
        accuracies = {
            FIELD_OF_CHANNEL[channel]: instrument.stated()
            for instrument in reversed(self.instruments)  # the first of a channel counts
            for channel in instrument.channels
            if channel in FIELD_OF_CHANNEL
        }
        indoor = (
            (float(self.indoor_minimum.si), float(self.indoor_maximum.si))
            if self.indoor_minimum and self.indoor_maximum
            else None
        )
        unit = Appliance(
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
            outdoor_minimum_K=self._outdoor_minimum_K(),
            indoor_range_K=indoor,
            settle_minutes=float(self.settle_time.si) / 60 if self.settle_time else 15.0,
            scale_division_kg=float(self.scale_division.si),
            accuracies=accuracies,
            target_table=self.target_table,
        )
        if self.superheat_range is None:
            return unit
        low, high = self.superheat_range
        return replace(unit, superheat_range_K=(float(low.si), float(high.si)))

    def _outdoor_minimum_K(self) -> float | None:
        """The maker's least outdoor temperature, else where the maker's table starts: it says the same."""
        if self.outdoor_minimum is None and self.target_table is not None:
            return self.target_table.outdoor_db_K[0]
        return _float(self.outdoor_minimum)


def _float(quantity: Quantity | None) -> float | None:
    return None if quantity is None else float(quantity.si)


def read_order(data: bytes, name: str) -> Order:
    """An order from the bytes of its file.

    Raises:
        OrderError: with the file's name, the place and what would do.
    """
    written = Written(data, name)
    entry, unit = written.entry, written.entry.appliance
    site_pressure, site_from = _site_pressure(written)
    try:
        refrigerant = catalogue.find(unit.refrigerant)
    except catalogue.UnknownRefrigerant as error:
        raise written.fail(("appliance", "refrigerant"), str(error)) from error
    nameplate = written.needed(("appliance", "nameplate_charge"), unit.nameplate_charge, Kind.MASS)
    if not Decimal("0.05") <= nameplate.si <= Decimal(500):
        raise written.fail(("appliance", "nameplate_charge"), "lies outside 0.05 kg to 500 kg; check it")
    division = written.needed(("scale", "division"), entry.scale.division, Kind.MASS)
    if not Decimal(0) < division.si <= Decimal("0.2"):
        raise written.fail(("scale", "division"), "must be above zero and at most 200 g")
    order = Order(
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
        nameplate_charge=nameplate,
        full_charge_method=unit.full_charge_method,
        metering=Metering(unit.metering),
        application=unit.application,
        receiver=unit.receiver,
        capacity=unit.capacity,
        outdoor_minimum=_of(written, Kind.TEMPERATURE, "outdoor_minimum"),
        indoor_minimum=_of(written, Kind.TEMPERATURE, "indoor_minimum"),
        indoor_maximum=_of(written, Kind.TEMPERATURE, "indoor_maximum"),
        target_subcooling=_of(written, Kind.TEMPERATURE_DIFFERENCE, "target_subcooling"),
        target_superheat=_of(written, Kind.TEMPERATURE_DIFFERENCE, "target_superheat"),
        target_table=superheat_table(written),
        superheat_range=_superheat_range(written),
        settle_time=_of(written, Kind.DURATION, "settle_time"),
        high_side_design_pressure=_of(written, Kind.PRESSURE, "high_side_design_pressure", site_pressure),
        low_side_design_pressure=_of(written, Kind.PRESSURE, "low_side_design_pressure", site_pressure),
        site_pressure_Pa=site_pressure,
        site_pressure_from=site_from,
        release_when_purging=entry.site.release_when_purging_hoses,
        scale_id=entry.scale.id,
        scale_division=division,
        scale_calibration_due=entry.scale.calibration_due,
        instruments=instruments(written, site_pressure),
        cylinders=cylinders(written, refrigerant.designation),
        gear=gear(written, site_pressure, refrigerant.designation),
        ticket=entry.ticket,
        sha256=hashlib.sha256(data).hexdigest(),
        text=data.decode(),
    )
    try:
        asked = order.figure(OrderFigure.WEIGH_IN_CHARGE)
    except FigureError as error:
        raise written.fail(("line_set",), str(error)) from error
    if asked is not None and asked.si > 3 * nameplate.si:
        raise written.fail(("line_set",), f"would bring the charge to {asked.typed}; check length and adder")
    return order


def _site_pressure(written: Written) -> tuple[Decimal, str]:
    site = written.entry.site
    if (site.altitude is None) == (site.pressure is None):
        raise written.fail(("site",), "give either altitude or pressure (a barometer, e.g. 29.9inHga)")
    if site.altitude is not None:
        altitude = written.needed(("site", "altitude"), site.altitude, Kind.LENGTH)
        if not Decimal(-450) <= altitude.si <= Decimal(6000):
            raise written.fail(("site", "altitude"), "lies outside -450 m to 6000 m; check the unit")
        return standard_pressure_at(altitude.si), f"altitude {site.altitude}"
    assert site.pressure is not None
    pressure = written.needed(("site", "pressure"), site.pressure, Kind.PRESSURE)
    if not Decimal(45_000) <= pressure.si <= Decimal(110_000):
        raise written.fail(("site", "pressure"), "is no atmospheric pressure; give the barometer's reading")
    return pressure.si, f"barometer {site.pressure}"


def _superheat_range(written: Written) -> tuple[Quantity, Quantity] | None:
    low = _of(written, Kind.TEMPERATURE_DIFFERENCE, "superheat_minimum")
    high = _of(written, Kind.TEMPERATURE_DIFFERENCE, "superheat_maximum")
    if low is None and high is None:
        return None
    if low is None or high is None:
        key = "superheat_maximum" if low is None else "superheat_minimum"
        raise written.fail(("appliance", key), "stands alone; give minimum and maximum, or neither")
    if not Decimal(0) <= low.si < high.si:
        raise written.fail(("appliance", "superheat_minimum"), "is not below the maximum; check both")
    return low, high


def _of(written: Written, kind: Kind, key: str, site_pressure_Pa: Decimal | None = None) -> Quantity | None:
    """A quantity of the appliance that may be absent."""
    return written.quantity(("appliance", key), getattr(written.entry.appliance, key), kind, site_pressure_Pa)
