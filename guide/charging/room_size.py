"""How much of a flammable refrigerant an indoor room of a size may take: IEC and UL 60335-2-40, as
information.

Charge limits and the room's formula as in the regulations reference section 6.1, with its marks: reference
heights and the square-root branch FOUND, the straight branch inferred from a maker's printed tables that it
reproduces, 6 x LFL CALCULATED from the same, 26 x LFL for A3 FOUND, the rest MEMORY. It covers one room
without ventilation. Newer editions have further branches; nameplate and manual of the unit are the limit,
this is information beside them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from guide.charging.refusal import FigureError, positive

RELEASE_HEIGHTS_m: Final = MappingProxyType({"floor": 0.6, "window": 1.0, "wall": 1.8, "ceiling": 2.2})
"""Height from which refrigerant leaks, by how the indoor unit is mounted (FOUND)."""
LEAST_LFL_kg_per_m3: Final = MappingProxyType({"R-32": 0.306, "R-454B": 0.296})
"""Lower flammable limits smaller than the catalogue's that some source has (R-32: ASHRAE, by reckoning back
from a FOUND charge limit; R-454B 0.296 to 0.353 by source, MEMORY): the least holds."""
_TIMES: Final = MappingProxyType(
    {"A2L": (6.0, 52.0, 260.0), "A2": (4.0, 26.0, 130.0), "A3": (4.0, 26.0, 130.0)}
)
"""m1, m2 and m3 [kg] as multiples of the limit."""
GROUPS: Final = frozenset(_TIMES)
"""Safety groups that this rule is for."""

_FT2: Final = 0.3048 * 0.3048
_ASK: Final = "Ask the maker before it is charged."
_LIMIT: Final = "The limit is what nameplate and manual say."


class Standing(StrEnum):
    """How a charge stands against the limits."""

    FREE = "no least room"
    FITS = "the room is large enough"
    ROOM_TOO_SMALL = "the room is too small"
    ROOM_UNKNOWN = "the room is not known"
    VENTILATION = "only with ventilation or detection by the maker's instructions"
    OUTSIDE = "outside the standard"


@dataclass(frozen=True, slots=True)
class Limits:
    """The three charges [kg] at which the standard asks for more."""

    m1_kg: float
    m2_kg: float
    m3_kg: float


@dataclass(frozen=True, slots=True)
class RoomCheck:
    """What a charge means for a room, and the figures behind it."""

    standing: Standing
    limits: Limits
    least_area_m2: float
    most_charge_kg: float | None
    """For the room given; None where it is not known."""
    words: str
    refused: bool
    """Beyond what this program goes by: more than m3, or more than m2 of a refrigerant that is not A2L."""


def limits(safety_group: str, lfl_kg_per_m3: float) -> Limits:
    """m1, m2 and m3 of a flammable refrigerant [kg].

    Raises:
        FigureError: the group is not a flammable one, or the limit is not above zero.
    """
    times = _TIMES.get(safety_group.strip().upper())
    if times is None:
        raise FigureError(f"Safety group {safety_group[:10]!r} has no charge limit for a room by this rule")
    lfl = positive("The lower flammable limit", lfl_kg_per_m3)
    return Limits(*(factor * lfl for factor in times))


def most_charge_kg(lfl_kg_per_m3: float, release_height_m: float, area_m2: float) -> float:
    """The most that a room takes [kg]: the lesser of the straight and the square-root branch.

    Raises:
        FigureError: a figure is not above zero.
    """
    lfl = positive("The lower flammable limit", lfl_kg_per_m3)
    height = positive("The release height", release_height_m)
    area = positive("The room's area", area_m2)
    return min(0.75 * lfl * height * area, 2.5 * math.pow(lfl, 1.25) * height * math.sqrt(area))


def least_area_m2(charge_kg: float, lfl_kg_per_m3: float, release_height_m: float) -> float:
    """The least room [m2] for a charge: the greater of the two branches turned round.

    Raises:
        FigureError: a figure is not above zero.
    """
    mass = positive("The charge", charge_kg)
    lfl = positive("The lower flammable limit", lfl_kg_per_m3)
    height = positive("The release height", release_height_m)
    return max(mass / (0.75 * lfl * height), (mass / (2.5 * math.pow(lfl, 1.25) * height)) ** 2)


def check(
    designation: str, safety_group: str, lfl_kg_per_m3: float, charge_kg: float, *,
    area_m2: float | None, release_height_m: float = RELEASE_HEIGHTS_m["floor"],
) -> RoomCheck:  # fmt: skip
    """How a charge stands against a room; without a room, how large one would have to be.

    Raises:
        FigureError: the group is not a flammable one, or a figure is not above zero.
    """
    bounds = limits(safety_group, lfl_kg_per_m3)
    least = least_area_m2(charge_kg, lfl_kg_per_m3, release_height_m)
    most = None if area_m2 is None else most_charge_kg(lfl_kg_per_m3, release_height_m, area_m2)
    a2l = safety_group.strip().upper() == "A2L"
    refused = charge_kg > bounds.m3_kg or (charge_kg > bounds.m2_kg and not a2l)
    standing = _standing(bounds, charge_kg, most)
    what = f"{charge_kg:.2f} kg of {designation}"
    asks = (
        f"{what} asks for a room of {least:.1f} m2 ({least / _FT2:.0f} ft2) at a release height of "
        f"{release_height_m:g} m"
    )
    match standing:
        case Standing.FREE:
            least = 0.0
            words = f"{what}: up to {bounds.m1_kg:.2f} kg no least room is asked for."
        case Standing.OUTSIDE:
            words = (
                f"{what} is more than {bounds.m3_kg:.2f} kg, outside IEC 60335-2-40: the national code "
                f"decides, such as ASHRAE 15. {_ASK}"
            )
        case Standing.VENTILATION:
            words = (
                f"{what} is more than {bounds.m2_kg:.2f} kg: room size alone is not enough, ventilation or "
                f"detection by the maker's instructions decide. {_ASK}"
            )
        case Standing.ROOM_UNKNOWN:
            words = f"{asks}, if a room holds any of it; the order names none. {_LIMIT}"
        case Standing.ROOM_TOO_SMALL:
            words = f"{asks}; this one has {area_m2:.1f} m2, enough for {most:.2f} kg. {_LIMIT} {_ASK}"
        case Standing.FITS:
            words = f"{asks}; this one has {area_m2:.1f} m2, enough for {most:.2f} kg. {_LIMIT}"
    return RoomCheck(standing, bounds, least, most, words, refused)


def _standing(bounds: Limits, charge_kg: float, most: float | None) -> Standing:
    if charge_kg <= bounds.m1_kg:
        return Standing.FREE
    if charge_kg > bounds.m3_kg:
        return Standing.OUTSIDE
    if charge_kg > bounds.m2_kg:
        return Standing.VENTILATION
    if most is None:
        return Standing.ROOM_UNKNOWN
    return Standing.FITS if charge_kg <= most else Standing.ROOM_TOO_SMALL
