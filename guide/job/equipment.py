"""What is used on a job: instruments, cylinders, line set, machines. Read from the order, checked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final, Literal

from guide.charging.refusal import FigureError
from guide.charging.weigh_in import line_set_allowance_kg
from guide.job.order_file import Written
from guide.refrigerant import catalogue
from guide.units import Kind, Quantity

Rated = Literal["flammable", "non-flammable", "unknown"]
"""For which refrigerants a machine is made, by what its plate says; never assumed."""

_LONGEST_LINE_m: Final = 200
"""PROPOSED: longer than any line set between two units of one split system."""


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A cylinder named on the order."""

    id: str
    refrigerant: str
    contents: str
    source: str | None


@dataclass(frozen=True, slots=True)
class LineSet:
    """The pipes between the units: length, what the factory charge covers, and the maker's adder."""

    length: Quantity
    covered: Quantity
    adder_typed: str
    covered_adder_typed: str | None
    allowance_kg: Decimal
    """What it asks beyond the nameplate charge; negative where it is shorter than covered."""


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
    recovery_machine: RecoveryMachine | None = None
    vacuum_pump: VacuumPump | None = None
    detector: Detector | None = None
    nitrogen_regulator: NitrogenRegulator | None = None


def cylinders(written: Written) -> tuple[Cylinder, ...]:
    """The order's cylinders, each with the catalogue's name of what is in it.

    Raises:
        OrderError: with the place and what would do.
    """
    found = []
    for index, cylinder in enumerate(written.entry.cylinders):
        try:
            inside = catalogue.find(cylinder.refrigerant)
        except catalogue.UnknownRefrigerant as error:
            raise written.fail(("cylinders", index, "refrigerant"), str(error)) from error
        found.append(Cylinder(cylinder.id, inside.designation, cylinder.contents, cylinder.source))
    if len({cylinder.id for cylinder in found}) != len(found):
        raise written.fail(("cylinders",), "two cylinders have one name")
    return tuple(found)


def gear(written: Written, site_pressure_Pa: Decimal) -> Gear:
    """Line set, machines, detector and regulator, as far as the order names them.

    Raises:
        OrderError: with the place and what would do.
    """
    entry = written.entry
    machine, pump, detector = entry.recovery_machine, entry.vacuum_pump, entry.detector
    if machine is not None and machine.made.year < 1900:
        raise written.fail(("recovery_machine", "made"), "is no day of such a machine; check its plate")
    return Gear(
        line_set=_line_set(written),
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


def _line_set(written: Written) -> LineSet | None:
    entry = written.entry.line_set
    if entry is None:
        return None
    length = written.needed(("line_set", "length"), entry.length, Kind.LENGTH)
    covered = written.needed(("line_set", "covered"), entry.covered, Kind.LENGTH)
    for key, quantity in (("length", length), ("covered", covered)):
        if not 0 <= quantity.si <= _LONGEST_LINE_m:
            raise written.fail(("line_set", key), f"lies outside 0 to {_LONGEST_LINE_m} m; check the unit")
    adder = written.mass_per_length(("line_set", "adder"), entry.adder)
    base = (
        None
        if entry.covered_adder is None
        else float(written.mass_per_length(("line_set", "covered_adder"), entry.covered_adder))
    )
    try:
        allowance = line_set_allowance_kg(
            float(length.si), float(adder), covered_m=float(covered.si), covered_adder_kg_per_m=base
        )
    except FigureError as error:
        raise written.fail(("line_set",), str(error)) from error
    rounded = Decimal(repr(allowance)).quantize(Decimal("1e-8"))
    return LineSet(length, covered, entry.adder, entry.covered_adder, rounded)
