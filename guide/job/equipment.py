"""What is used on a job: instruments, line set, accessories, room, machines. Read from the order, checked."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Final, Literal

from guide.charging.line_set import Adder, PRINTED_LEAST_kg_per_m, adder_for
from guide.charging.refusal import FigureError
from guide.charging.room_size import RELEASE_HEIGHTS_m
from guide.charging.weigh_in import line_set_allowance_kg, line_set_limit_kg
from guide.job.order_file import Written
from guide.units import Kind, Quantity

Rated = Literal["flammable", "non-flammable", "unknown"]
"""For which refrigerants a machine is made, by what its plate says; never assumed."""

_LARGEST_ACCESSORY_kg: Final = 20
"""PROPOSED: more than any accessory of such a system holds."""
_LONGEST_LINE_m: Final = 200
"""PROPOSED: longer than any line set between two units of one split system."""


@dataclass(frozen=True, slots=True)
class LineSet:
    """The pipes between the units: length, what the factory charge covers, and the adder.

    The adder is the maker's, or for a size of liquid line that of makers' tables or of the liquid in its
    bore; then `adder_typed` says which.
    """

    length: Quantity
    covered: Quantity
    adder_typed: str
    covered_adder_typed: str | None
    allowance_kg: Decimal
    """What it asks beyond the nameplate charge; negative where it is shorter than covered."""
    limit_kg: float = 0.0
    """How far that may be off at most."""


@dataclass(frozen=True, slots=True)
class Accessory:
    """Something fitted that adds to the charge."""

    name: str
    adds: Quantity


@dataclass(frozen=True, slots=True)
class Room:
    """The room that a leak of the indoor unit would fill: its area [m2] and the release height [m]."""

    area_m2: Decimal
    area_typed: str
    release_height_m: Decimal
    height_typed: str


@dataclass(frozen=True, slots=True)
class RecoveryMachine:
    """The recovery machine."""

    id: str
    made: date
    rating: Rated
    calibration_due: date | None


@dataclass(frozen=True, slots=True)
class VacuumPump:
    """The vacuum pump."""

    id: str
    rating: Rated
    calibration_due: date | None


@dataclass(frozen=True, slots=True)
class Detector:
    """The leak detector."""

    id: str
    calibration_due: date | None


@dataclass(frozen=True, slots=True)
class NitrogenRegulator:
    """The regulator on the nitrogen cylinder; `relief` is where its relief opens [Pa absolute]."""

    id: str
    relief: Quantity | None
    calibration_due: date | None


@dataclass(frozen=True, slots=True)
class Gear:
    """What an order may name beside instruments and cylinders; None where it names nothing."""

    line_set: LineSet | None = None
    accessories: tuple[Accessory, ...] = ()
    room: Room | None = None
    recovery_machine: RecoveryMachine | None = None
    vacuum_pump: VacuumPump | None = None
    detector: Detector | None = None
    nitrogen_regulator: NitrogenRegulator | None = None


def gear(written: Written, site_pressure_Pa: Decimal, refrigerant: str) -> Gear:
    """Line set, accessories, room, machines, detector and regulator, as far as the order names them.

    Raises:
        OrderError: with the place and what would do.
    """
    entry = written.entry
    machine, pump, detector = entry.recovery_machine, entry.vacuum_pump, entry.detector
    if machine is not None and machine.made.year < 1900:
        raise written.fail(("recovery_machine", "made"), "is no day of such a machine; check its plate")
    return Gear(
        line_set=_line_set(written, refrigerant),
        accessories=_accessories(written),
        room=_room(written),
        recovery_machine=None
        if machine is None
        else RecoveryMachine(machine.id, machine.made, machine.rating or "unknown", machine.calibration_due),
        vacuum_pump=None
        if pump is None
        else VacuumPump(pump.id, pump.rating or "unknown", pump.calibration_due),
        detector=None if detector is None else Detector(detector.id, detector.calibration_due),
        nitrogen_regulator=_regulator(written, site_pressure_Pa),
    )


def _regulator(written: Written, site_pressure_Pa: Decimal) -> NitrogenRegulator | None:
    entry = written.entry.nitrogen_regulator
    if entry is None:
        return None
    place = ("nitrogen_regulator", "relief")
    relief = written.quantity(place, entry.relief, Kind.PRESSURE, site_pressure_Pa)
    if relief is not None and relief.si <= site_pressure_Pa:
        raise written.fail(place, "must lie above the atmosphere; write the gauge pressure it opens at")
    return NitrogenRegulator(entry.id, relief, entry.calibration_due)


def _line_set(written: Written, refrigerant: str) -> LineSet | None:
    entry = written.entry.line_set
    if entry is None:
        return None
    length = written.needed(("line_set", "length"), entry.length, Kind.LENGTH)
    covered = written.needed(("line_set", "covered"), entry.covered, Kind.LENGTH)
    for key, quantity in (("length", length), ("covered", covered)):
        if not 0 <= quantity.si <= _LONGEST_LINE_m:
            raise written.fail(("line_set", key), f"lies outside 0 to {_LONGEST_LINE_m} m; check the unit")
    adder = _adder(written, "adder", "liquid_line", refrigerant)
    if adder is None:
        raise written.fail(
            ("line_set",), "needs the maker's adder, or liquid_line: 3/8in where the maker prints none"
        )
    base = _adder(written, "covered_adder", "covered_liquid_line", refrigerant)
    try:
        allowance = line_set_allowance_kg(
            float(length.si),
            adder.kg_per_m,
            covered_m=float(covered.si),
            covered_adder_kg_per_m=base.kg_per_m if base else None,
        )
    except FigureError as error:
        raise written.fail(("line_set",), str(error)) from error
    limit = line_set_limit_kg(
        float(length.si), adder.kg_per_m, adder.uncertainty_kg_per_m, covered_m=float(covered.si)
    )
    rounded = Decimal(repr(allowance)).quantize(Decimal("1e-8"))
    return LineSet(length, covered, adder.source, base.source if base else None, rounded, limit)


def _adder(written: Written, key: str, size_key: str, refrigerant: str) -> Adder | None:
    """The adder that is written, else that of the liquid line's size."""
    entry = written.entry.line_set
    typed, size = getattr(entry, key), getattr(entry, size_key)
    if typed is not None:
        if size is not None:
            raise written.fail(("line_set", size_key), "stands beside the maker's adder; write one of them")
        each = float(written.mass_per_length(("line_set", key), typed))
        return Adder(each, min(each, PRINTED_LEAST_kg_per_m), typed)
    if size is None:
        return None
    try:
        found = adder_for(refrigerant, size)
    except FigureError as error:
        raise written.fail(("line_set", size_key), str(error)) from error
    return replace(found, source=f"{found.kg_per_m * 1000:.0f}g/m, {found.source}")


def _accessories(written: Written) -> tuple[Accessory, ...]:
    found = []
    for index, entry in enumerate(written.entry.accessories):
        adds = written.needed(("accessories", index, "adds"), entry.adds, Kind.MASS)
        if not 0 < adds.si <= _LARGEST_ACCESSORY_kg:
            raise written.fail(
                ("accessories", index, "adds"),
                f"lies outside 0 to {_LARGEST_ACCESSORY_kg} kg; check the unit",
            )
        found.append(Accessory(entry.name, adds))
    return tuple(found)


def _room(written: Written) -> Room | None:
    entry = written.entry.room
    if entry is None:
        return None
    area = written.area(("room", "area"), entry.area)
    if entry.release_height is not None:
        place = ("room", "release_height")
        height = written.needed(place, entry.release_height, Kind.LENGTH).si
        if entry.mounted is not None:
            raise written.fail(place, "stands beside mounted; write one of them")
        if not Decimal("0.1") <= height <= Decimal(10):
            raise written.fail(place, "lies outside 0.1 m to 10 m; check the unit")
        return Room(area, entry.area, height, entry.release_height)
    if entry.mounted is None:
        raise written.fail(("room",), "needs mounted: floor, window, wall or ceiling; or release_height")
    height = Decimal(repr(RELEASE_HEIGHTS_m[entry.mounted]))
    return Room(area, entry.area, height, f"{height}m, {entry.mounted}")
