"""How full a refillable cylinder may get, as the gross weight at which to stop, and what bars filling.

The rule of the trade is at most 80 % of the volume as liquid (FOUND, textbook and examination pages, as in
the regulations reference section 5.1), reckoned with the liquid's density at 77 °F (FOUND, trade press on
AHRI Guideline K). The law asks that liquid does not fill the cylinder at 131 °F (FOUND, 49 CFR 173.304(b)),
that the pressure at 131 °F stays within 5/4 of the service pressure (FOUND, 173.304a(c) for part of the
gases, MEMORY for all), and has filling densities of its own for some refrigerants (FOUND, 173.304a(a)(2)).
What the cylinder's own label demands is stricter or it does not matter. The strictest of all of these
holds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from guide.charging.refusal import FigureError, finite, positive
from guide.refrigerant.curve import Curve, OutOfRange
from guide.refrigerant.liquid_density import NoDensity, liquid_density

LIQUID_SHARE: Final = 0.80
"""Of the volume, as liquid at `FILLING_K` (FOUND: 80 %)."""
FILLING_K: Final = 298.15
"""77 °F, at which the 80 % are reckoned (FOUND, trade press on AHRI Guideline K of 2004)."""
HOTTEST_K: Final = 328.15
"""131 °F, at which liquid may not fill the cylinder (FOUND, 49 CFR 173.304(b))."""
WATER_kg_per_m3: Final = 999.0
"""Water at 60 °F, by which a collar's water capacity is a volume (FOUND, filling density's definition)."""
FILLING_DENSITY: Final = {"R-22": 1.05, "R-12": 1.19, "R-115": 1.10, "R-142b": 1.00}
"""Most refrigerant as a share of the water capacity (FOUND, 49 CFR 173.304a(a)(2))."""
PRESSURE_SHARE: Final = 5 / 4
"""Of the service pressure, at most, at 131 °F (FOUND for part of the gases)."""
RETEST_SOON: Final = timedelta(days=60)
"""How long before its day a retest is told of (PROPOSED)."""
RETEST_YEARS: Final = 5
"""For cylinders with recovered refrigerant (FOUND, 49 CFR 180.209: 5, 10 or 12; that it is 5 is MEMORY)."""
LABEL: Final = "the cylinder's label"
TARE_SLACK: Final = 0.01
"""By which share a cylinder may seem lighter than its tare: hose, stamp and scale (PROPOSED)."""

_PSI: Final = 6_894.757293168


@dataclass(frozen=True, slots=True)
class Collar:
    """What is stamped on a cylinder's collar or printed on its label; None where it is not known.

    Masses [kg], `service_pressure_Pa` gauge. `label_gross_kg` and `label_net_kg` are the most that the
    label allows, with and without the cylinder itself. `heel_kg` is what the last user left in it.
    """

    water_capacity_kg: float
    tare_kg: float
    label_gross_kg: float | None = None
    label_net_kg: float | None = None
    service_pressure_Pa: float | None = None
    heel_kg: float = 0.0


@dataclass(frozen=True, slots=True)
class FillLimit:
    """How much a cylinder may hold [kg], by which rule, and the density it was reckoned with [kg/m3]."""

    net_kg: float
    gross_kg: float
    rule: str
    reckoned_for: str
    """Designation of the refrigerant whose liquid is the lightest of the contents."""
    density_kg_per_m3: float | None
    """Of that liquid at 77 °F; None where only the label is known."""
    share_of_volume: float | None
    """Liquid's share of the volume at 77 °F when filled to the limit."""
    share_when_hot: float | None
    """Liquid's share of the volume at 131 °F when filled to the limit."""
    estimated: bool


def fill_limit(collar: Collar, contents: Iterable[str]) -> FillLimit:
    """The most that a cylinder may hold of the refrigerants named, the strictest rule deciding.

    Mixed contents are reckoned with the lightest liquid among them: whatever the mixture turns out to be
    made of, no share of the volume is then underrated by much (PROPOSED; mixtures of these liquids contract
    or swell by a percent).

    Raises:
        FigureError: contents not known, density and label not known, or the collar's figures impossible.
    """
    names = tuple(dict.fromkeys(contents))
    if not names:
        raise FigureError(
            "What is in the cylinder is not known: no fill limit; take an empty one of known history"
        )
    _sound(collar)
    labels = [kg for kg in (collar.label_net_kg, _net_of_gross(collar)) if kg is not None]
    try:
        rows = [liquid_density(name) for name in names]
        hot, _ = min((row.at(HOTTEST_K), row.designation) for row in rows)
        cold, lightest = min((row.at(FILLING_K), row.designation) for row in rows)
    except NoDensity as error:
        if not labels:
            raise FigureError(str(error)) from error
        net = min(labels)
        return FillLimit(net, collar.tare_kg + net, LABEL, names[0], None, None, None, estimated=False)
    volume_m3 = collar.water_capacity_kg / WATER_kg_per_m3
    limits = [
        (LIQUID_SHARE * volume_m3 * cold, "80 % liquid at 77 °F"),
        (volume_m3 * hot, "liquid not to fill it at 131 °F, 49 CFR 173.304(b)"),
        *(
            (FILLING_DENSITY[name] * collar.water_capacity_kg, f"filling density of {name}, 49 CFR 173.304a")
            for name in names
            if name in FILLING_DENSITY
        ),
        *((kg, LABEL) for kg in labels),
    ]
    net, rule = min(limits)
    return FillLimit(
        net_kg=net,
        gross_kg=collar.tare_kg + net,
        rule=rule,
        reckoned_for=lightest,
        density_kg_per_m3=cold,
        share_of_volume=net / (volume_m3 * cold),
        share_when_hot=net / (volume_m3 * hot),
        estimated=any(row.estimated for row in rows),
    )


def _net_of_gross(collar: Collar) -> float | None:
    return None if collar.label_gross_kg is None else collar.label_gross_kg - collar.tare_kg


def _sound(collar: Collar) -> None:
    positive("The water capacity", collar.water_capacity_kg)
    positive("The tare", collar.tare_kg)
    if finite("The heel", collar.heel_kg) < 0.0:
        raise FigureError(f"The heel must not be below zero, not {collar.heel_kg:g}: check it")
    if collar.label_net_kg is not None:
        positive("The net weight that the label allows", collar.label_net_kg)
    if collar.label_gross_kg is not None:
        positive("The gross weight that the label allows", collar.label_gross_kg)
        if collar.label_gross_kg <= collar.tare_kg:
            raise FigureError("The label's gross weight is not above the tare: read the collar again")


def room_kg(limit: FillLimit, gross_kg: float) -> float:
    """How much still goes into a cylinder of this weight [kg]; below zero when it is over its limit."""
    return limit.gross_kg - finite("The cylinder's weight", gross_kg)


def stop_at_kg(limit: FillLimit, division_kg: float) -> float:
    """The limit as the largest weight not above it that the scale can show [kg].

    Raises:
        FigureError: the division is not above zero.
    """
    positive("The scale's division", division_kg)
    return math.floor(limit.gross_kg / division_kg + 1e-9) * division_kg


def stamp_against(collar: Collar, gross_kg: float, *, said_empty: bool, division_kg: float) -> str | None:
    """Words where a cylinder's weight does not go with its collar, or None.

    Lighter than its tare: scale, zero or tare is wrong, and with the tare the limit. Said to be empty and
    heavier than its tare and heel: something is in it.
    """
    noise = max(3 * division_kg, TARE_SLACK * collar.tare_kg)
    if gross_kg < collar.tare_kg - noise:
        return "it weighs less than its tare: read the collar and the scale's zero again"
    if said_empty and gross_kg > collar.tare_kg + collar.heel_kg + noise:
        return "it is heavier than tare and heel: something is in it, find out what before anything is added"
    return None


def too_strong(collar: Collar, curve: Curve) -> str | None:
    """Words where the refrigerant at 131 °F presses harder than the cylinder is made for, or None.

    None too where the service pressure is not known or the curve ends before 131 °F above the limit.
    """
    if collar.service_pressure_Pa is None:
        return None
    most = PRESSURE_SHARE * positive("The service pressure", collar.service_pressure_Pa)
    try:
        pressure = curve.bubble_pressure_Pa(HOTTEST_K) - 101_325.0
    except OutOfRange:
        reaches = curve.highest_pressure_Pa - 101_325.0
        if reaches < most or curve.highest_temperature_K > HOTTEST_K:
            return None
        pressure = reaches
    if pressure <= most:
        return None
    return (
        f"{curve.designation} at 131 °F presses with {pressure / _PSI:.0f} psig, this cylinder is made for "
        f"{most / _PSI:.0f} psig there: take one of a higher service pressure"
    )


def retest_due(tested: date) -> date:
    """The day on which a cylinder for recovered refrigerant falls due again, five years after its test."""
    try:
        return tested.replace(year=tested.year + RETEST_YEARS)
    except ValueError:  # the 29th of February
        return tested.replace(year=tested.year + RETEST_YEARS, day=28)


def retest_against(due: date | None, day: date) -> str | None:
    """Why a cylinder must not be filled on a day, or None; one past its retest may be emptied (MEMORY)."""
    if due is not None and due < day:
        return f"its retest was due on {due.isoformat()}: it may be emptied, not filled"
    return None


def retest_near(due: date | None, day: date) -> str | None:
    """Words where a retest falls due soon, or None."""
    if due is None or not day <= due <= day + RETEST_SOON:
        return None
    return f"its retest is due on {due.isoformat()}"
