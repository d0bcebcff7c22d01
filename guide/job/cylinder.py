"""Cylinders named on an order: what is in them, what their collars say, and at which weight filling stops."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from guide.charging import cylinder_limit as limits
from guide.charging.cylinder_limit import Collar, FillLimit
from guide.charging.refusal import FigureError
from guide.job.order_file import CylinderEntry, Place, Written
from guide.refrigerant import catalogue, saturation
from guide.units import Kind

MIXED: Final = "mixed"
UNKNOWN: Final = "unknown"
_WORDS: Final = MappingProxyType(
    {
        "water_capacity": "water capacity",
        "tare": "tare",
        "heel": "heel",
        "label_gross": "label allows gross",
        "label_net": "label allows net",
        "service_pressure": "service pressure",
    }
)
_BY_LABEL: Final = " and write label_gross or label_net"
_SMALLEST_kg, _LARGEST_kg = Decimal("0.2"), Decimal(2000)


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A cylinder named on the order; `refrigerant` is a designation, `mixed` or `unknown`.

    `holds` is what may be in it, one designation unless it is mixed; `collar` is None where the order does
    not give it, `written` is it as it was written.
    """

    id: str
    refrigerant: str
    contents: str
    source: str | None
    holds: tuple[str, ...] = ()
    collar: Collar | None = None
    written: tuple[tuple[str, str], ...] = ()
    retest_due: date | None = None

    @property
    def stamped(self) -> str:
        """What the order says of its collar, in words; empty where it says nothing."""
        return ", ".join(f"{_WORDS[key]} {typed}" for key, typed in self.written)

    def fill_limit(self, added: str) -> FillLimit | None:
        """How full it may get when refrigerant of a designation is added; None without its collar.

        Raises:
            FigureError: what is in it is not known, or its liquid's density is not.
        """
        if self.collar is None:
            return None
        if not self.holds:
            raise FigureError(f"What cylinder {self.id} holds is not known: no fill limit; take an empty one")
        return limits.fill_limit(self.collar, (*self.holds, added))

    def stop_at_kg(self, added: str, division_kg: Decimal) -> Decimal | None:
        """The gross weight at which filling stops, as the scale shows it [kg]; None without its collar.

        Raises:
            FigureError: as `fill_limit`.
        """
        limit = self.fill_limit(added)
        if limit is None:
            return None
        steps = Decimal(repr(limit.gross_kg / float(division_kg) + 1e-9)) // 1
        return (steps * division_kg).quantize(Decimal("1e-8"))

    def gives_kg(self, gross_kg: Decimal) -> Decimal | None:
        """About how much it can still give [kg], down to its tare and heel; None without its collar."""
        if self.collar is None:
            return None
        return gross_kg - Decimal(repr(self.collar.tare_kg + self.collar.heel_kg)).quantize(Decimal("1e-8"))

    def against_filling(
        self, designation: str, gross_kg: Decimal, division_kg: Decimal, day: date, *, in_use: bool
    ) -> str | None:
        """Why nothing may be recovered into it as it stands on the scale, or None.

        `in_use`: refrigerant went into it on this job, so that it weighs more than its tare for that.
        """
        late = limits.retest_against(self.retest_due, day)
        if late is not None or self.collar is None:
            return late
        said_empty = self.contents == "empty" and not in_use
        wrong = limits.stamp_against(
            self.collar, float(gross_kg), said_empty=said_empty, division_kg=float(division_kg)
        )
        return wrong or limits.too_strong(self.collar, saturation.curve(designation))


def cylinders(written: Written, appliance_refrigerant: str) -> tuple[Cylinder, ...]:
    """The order's cylinders, each with the catalogue's name of what is in it.

    Raises:
        OrderError: with the place and what would do.
    """
    found = [
        _cylinder(written, index, each, appliance_refrigerant)
        for index, each in enumerate(written.entry.cylinders)
    ]
    if len({cylinder.id for cylinder in found}) != len(found):
        raise written.fail(("cylinders",), "two cylinders have one name")
    return tuple(found)


def _cylinder(written: Written, index: int, entry: CylinderEntry, added: str) -> Cylinder:
    place: Place = ("cylinders", index)
    word = entry.refrigerant.strip().casefold()
    if word in {MIXED, UNKNOWN}:
        if entry.contents != "recovered":
            raise written.fail(
                (*place, "contents"), f"of a cylinder with {word} refrigerant is recovered, nothing else"
            )
        holds = tuple(_designation(written, (*place, "holds"), name) for name in entry.holds)
        if word == UNKNOWN and holds:
            raise written.fail(
                (*place, "holds"), "names what is said to be unknown; write refrigerant: mixed"
            )
        name = word
    else:
        if entry.holds:
            raise written.fail((*place, "holds"), "stands only where refrigerant: mixed")
        name = _designation(written, (*place, "refrigerant"), entry.refrigerant)
        holds = (name,)
    cylinder = Cylinder(
        id=entry.id,
        refrigerant=name,
        contents=entry.contents,
        source=entry.source,
        holds=holds,
        collar=_collar(written, place, entry),
        written=tuple((key, getattr(entry, key)) for key in _WORDS if getattr(entry, key) is not None),
        retest_due=_retest(written, place, entry),
    )
    try:
        if cylinder.collar is not None and holds:
            limits.fill_limit(cylinder.collar, (*holds, added))
    except FigureError as error:
        if entry.contents in {"empty", "recovered"}:
            label = "" if cylinder.collar is None or "label" not in str(error) else _BY_LABEL
            raise written.fail(place, f"{error}{label}") from error
    return cylinder


def _designation(written: Written, place: Place, name: str) -> str:
    try:
        return catalogue.find(name).designation
    except catalogue.UnknownRefrigerant as error:
        raise written.fail(place, str(error)) from error


def _retest(written: Written, place: Place, entry: CylinderEntry) -> date | None:
    if entry.tested is None:
        return entry.retest_due
    if entry.retest_due is not None:
        raise written.fail((*place, "tested"), "stands beside retest_due; write one of them")
    return limits.retest_due(entry.tested)


def _collar(written: Written, place: Place, entry: CylinderEntry) -> Collar | None:
    masses: dict[str, float] = {}
    for key in ("water_capacity", "tare", "heel", "label_gross", "label_net"):
        typed = getattr(entry, key)
        if typed is None:
            continue
        mass = written.needed((*place, key), typed, Kind.MASS).si
        if not (Decimal(0) if key == "heel" else _SMALLEST_kg) <= mass <= _LARGEST_kg:
            raise written.fail((*place, key), f"lies outside {_SMALLEST_kg} to {_LARGEST_kg} kg; check it")
        masses[key] = float(mass)
    service = written.quantity(
        (*place, "service_pressure"), entry.service_pressure, Kind.PRESSURE, Decimal(101_325)
    )
    if service is not None and service.si <= 101_325:
        raise written.fail((*place, "service_pressure"), "must lie above the atmosphere; write 400psig")
    if "water_capacity" not in masses or "tare" not in masses:
        given = [*masses, *(["service_pressure"] if service else [])]
        if given:
            lacks = "tare" if "water_capacity" in masses else "water_capacity"
            raise written.fail((*place, given[0]), f"needs {lacks} beside it; both stand on the collar")
        return None
    return Collar(
        water_capacity_kg=masses["water_capacity"],
        tare_kg=masses["tare"],
        label_gross_kg=masses.get("label_gross"),
        label_net_kg=masses.get("label_net"),
        service_pressure_Pa=None if service is None else float(service.si - 101_325),
        heel_kg=masses.get("heel", 0.0),
    )
