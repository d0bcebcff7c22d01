"""The form of an order's file, and the texts in it as quantities, each fault named with its line."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails

from guide.errors import ChargewrightError
from guide.procedure.strict_yaml import Document, read_yaml
from guide.units import Kind, Quantity, UnitError, parse

Line = Annotated[str, Field(min_length=1, max_length=200)]
Nature = Literal["real", "practice", "demonstration"]
Rating = Literal["flammable", "non-flammable"]
Place = tuple[str | int, ...]
"""Where in the file something stands: keys and positions."""


class OrderError(ChargewrightError):
    """An order that can't be worked: which file, which entry, what would do."""


class _Entry(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class CustomerEntry(_Entry):
    """Who asked for the work."""

    name: Line
    address: Line


class CompanyEntry(_Entry):
    """Who does it."""

    name: Line
    certificate: Line | None = None


class SuperheatTableEntry(_Entry):
    """The maker's own table of target superheat: `wet_bulb: 50F 52F 54F`, then `superheat:` with a line for
    each outdoor temperature, such as `65F: – 6dF 10dF`. A dash is an en dash, or a hyphen in quotes.
    """

    source: Line
    wet_bulb: Annotated[str, Field(min_length=1, max_length=600)]
    superheat: Annotated[
        dict[Line, Annotated[str, Field(min_length=1, max_length=600)]], Field(min_length=2, max_length=60)
    ]


class ApplianceEntry(_Entry):
    """What is worked on."""

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
    target_superheat_table: SuperheatTableEntry | None = None
    superheat_minimum: Line | None = None
    superheat_maximum: Line | None = None
    settle_time: Line | None = None
    high_side_design_pressure: Line | None = None
    low_side_design_pressure: Line | None = None


class SiteEntry(_Entry):
    """The place's atmosphere and rules."""

    altitude: Line | None = None
    pressure: Line | None = None
    release_when_purging_hoses: Literal["allowed", "forbidden"]


class ScaleEntry(_Entry):
    """The scale under the cylinder."""

    id: Line
    division: Line
    calibration_due: date | None = None


class InstrumentEntry(_Entry):
    """One instrument; `accuracy` as in `1.3dF + 0.1% of reading` or `2% of span`, `range` its two ends."""

    id: Line
    make: Line | None = None
    serial: Line | None = None
    channels: Annotated[list[Line], Field(min_length=1, max_length=20)]
    accuracy: Line
    range: Annotated[list[Line], Field(min_length=2, max_length=2)] | None = None
    division: Line | None = None
    sensor: Literal["insulated", "bare"] | None = None
    calibration_due: date | None = None
    source: Line | None = None
    stream_channels: dict[Line, Line] = {}


class CylinderEntry(_Entry):
    """One cylinder."""

    id: Line
    refrigerant: Line
    contents: Literal["virgin", "recycled", "reclaimed", "recovered", "empty"]
    source: Line | None = None
    holds: Annotated[list[Line], Field(max_length=10)] = []
    water_capacity: Line | None = None
    tare: Line | None = None
    heel: Line | None = None
    label_gross: Line | None = None
    label_net: Line | None = None
    service_pressure: Line | None = None
    tested: date | None = None
    retest_due: date | None = None


class LineSetEntry(_Entry):
    """The pipes between the units, and what they add to the charge."""

    length: Line
    covered: Line
    adder: Line | None = None
    covered_adder: Line | None = None
    liquid_line: Line | None = None
    covered_liquid_line: Line | None = None


class AccessoryEntry(_Entry):
    """Something fitted that adds to the charge, such as a filter-drier."""

    name: Line
    adds: Line


class RoomEntry(_Entry):
    """The room that a leak of the indoor unit would fill."""

    area: Line
    mounted: Literal["floor", "window", "wall", "ceiling"] | None = None
    release_height: Line | None = None


class RecoveryMachineEntry(_Entry):
    """The recovery machine; its age decides how deep it has to go."""

    id: Line
    made: date
    rating: Rating | None = None
    calibration_due: date | None = None


class VacuumPumpEntry(_Entry):
    """The vacuum pump."""

    id: Line
    rating: Rating | None = None
    calibration_due: date | None = None


class DetectorEntry(_Entry):
    """The leak detector."""

    id: Line
    calibration_due: date | None = None


class RegulatorEntry(_Entry):
    """The regulator on the nitrogen cylinder, with the pressure at which its relief opens."""

    id: Line
    relief: Line | None = None
    calibration_due: date | None = None


class OrderFile(_Entry):
    """A whole order as it is written."""

    order: Line
    nature: Nature
    procedure: Line
    reason: Line
    company: CompanyEntry
    customer: CustomerEntry
    appliance: ApplianceEntry
    site: SiteEntry
    scale: ScaleEntry
    instruments: Annotated[list[InstrumentEntry], Field(max_length=40)] = []
    cylinders: Annotated[list[CylinderEntry], Field(min_length=1, max_length=20)]
    line_set: LineSetEntry | None = None
    accessories: Annotated[list[AccessoryEntry], Field(max_length=10)] = []
    room: RoomEntry | None = None
    recovery_machine: RecoveryMachineEntry | None = None
    vacuum_pump: VacuumPumpEntry | None = None
    detector: DetectorEntry | None = None
    nitrogen_regulator: RegulatorEntry | None = None
    ticket: Line | None = None


class Written:
    """An order's file whose form is checked; it makes quantities of texts and places of faults."""

    def __init__(self, data: bytes, name: str) -> None:
        """Read the file.

        Raises:
            OrderError, ProcedureError: with the file's name, the place and what would do.
        """
        self._document: Document = read_yaml(data, name)
        try:
            self.entry = OrderFile.model_validate(self._document.root)
        except ValidationError as error:
            first = error.errors()[0]
            raise self.fail(first["loc"], _plain(first)) from error

    def fail(self, place: Place, what: str) -> OrderError:
        """The error for a fault at a place."""
        mark = self._document.at(place)
        where = ".".join(str(part) for part in place)
        return OrderError(f"{self._document.name}:{mark.line}:{mark.column}: {where}: {what}")

    def quantity(
        self, place: Place, text: str | None, kind: Kind, site_pressure_Pa: Decimal | None = None
    ) -> Quantity | None:
        """The quantity in a text, or None where nothing is written.

        Raises:
            OrderError: it is no such quantity.
        """
        if text is None:
            return None
        try:
            return parse(text, kind, site_pressure_Pa=site_pressure_Pa)
        except UnitError as error:
            raise self.fail(place, str(error)) from error

    def needed(
        self, place: Place, text: str, kind: Kind, site_pressure_Pa: Decimal | None = None
    ) -> Quantity:
        """The quantity in a text.

        Raises:
            OrderError: it is no such quantity.
        """
        quantity = self.quantity(place, text, kind, site_pressure_Pa)
        assert quantity is not None
        return quantity

    def mass_per_length(self, place: Place, text: str) -> Decimal:
        """A mass per length such as `0.6oz/ft` or `30g/m` [kg/m].

        Raises:
            OrderError: it is none.
        """
        mass, slash, length = text.partition("/")
        if not slash:
            raise self.fail(place, f"{text!r} is no mass per length; write 0.6oz/ft or 30g/m")
        per = self.needed(place, f"1 {length.strip()}", Kind.LENGTH)
        return self.needed(place, mass.strip(), Kind.MASS).si / per.si

    def area(self, place: Place, text: str) -> Decimal:
        """An area such as `40m2` or `430ft2` [m2].

        Raises:
            OrderError: it is none, or not above zero.
        """
        found = re.fullmatch(r"([0-9.]+) ?(m|ft)[2²]", text.strip())
        if found is not None:
            side = self.needed(place, f"1{found[2]}", Kind.LENGTH).si
            figure = self.needed(place, f"{found[1]}m", Kind.LENGTH).si
            if figure > 0:
                return figure * side * side
        raise self.fail(place, f"{text!r} is no area; write 40m2 or 430ft2")


def _plain(error: ErrorDetails) -> str:
    if error["type"] == "missing":
        return "is missing; write it"
    if error["type"] == "extra_forbidden":
        return "is not an entry of an order; remove it or check its spelling"
    return str(error["msg"])
