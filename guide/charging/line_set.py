"""How much refrigerant a foot of liquid line holds: by makers' tables, or by the liquid's density.

Makers print an adder in ounces a foot for each size of liquid line (FOUND in several installation manuals,
as collected in the charging reference section 3 and `data/lineset_charge_oz_per_ft.csv`). Where none is
printed the liquid that fills the bore is reckoned, saturated at 95 °F (CALCULATED). Makers' adders are 13
to 50 % above that (CALCULATED there), probably rounding and a part of the vapor line, so that a reckoned
adder is less sure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from guide.charging.refusal import FigureError, positive
from guide.charging.wording import KG_PER_OZ
from guide.refrigerant.liquid_density import NoDensity, liquid_density

INCH_m: Final = 0.0254
FOOT_m: Final = 0.3048
LINE_K: Final = 308.15
"""95 °F: liquid in the line at rating conditions (PROPOSED, as the reference's CALCULATED rows)."""

BORES_m: Final = MappingProxyType(
    {
        "1/4": 0.190 * INCH_m,
        "5/16": 0.2485 * INCH_m,
        "3/8": 0.311 * INCH_m,
        "1/2": 0.436 * INCH_m,
        "5/8": 0.555 * INCH_m,
        "3/4": 0.680 * INCH_m,
        "7/8": 0.785 * INCH_m,
    }
)
"""Bore of soft copper tube by its outside diameter in inches: the first four as in the reference, the
others by walls of 0.035 and 0.045 inch (MEMORY, ASTM B280)."""

_OZ_PER_FT: Final = KG_PER_OZ / FOOT_m
_PRINTED: Final = MappingProxyType(
    {
        ("R-410A", "1/4"): (0.27, 0.30),
        ("R-410A", "5/16"): (0.40, 0.40),
        ("R-410A", "3/8"): (0.60, 0.60),
        ("R-410A", "1/2"): (1.20, 1.20),
        ("R-22", "3/8"): (0.60, 0.60),
    }
)
"""Ounces a foot, least and greatest figure seen in print (FOUND)."""
RECKONED_SHARE: Final = 0.25
"""How far a reckoned adder may be off, as a share: half of the 50 % that makers' are above it (PROPOSED)."""
PRINTED_LEAST_kg_per_m: Final = 0.05 * _OZ_PER_FT
"""How far a printed adder may be off at least: half of the digit it is printed to, 0.1 oz/ft (PROPOSED)."""
DRIER_kg: Final = 6 * KG_PER_OZ
"""What a filter-drier fitted in the field adds (FOUND, one maker: 6 oz)."""


@dataclass(frozen=True, slots=True)
class Adder:
    """Refrigerant a metre of liquid line [kg/m], how far it may be off, and where it is from."""

    kg_per_m: float
    uncertainty_kg_per_m: float
    source: str


def adder_for(designation: str, outside: str) -> Adder:
    """The adder for a liquid line of an outside diameter in inches ("3/8"), of makers' tables if there is
    one.

    Raises:
        FigureError: a size that is not known, or a refrigerant whose liquid density is not known.
    """
    size = outside.strip().removesuffix("in").strip()
    if size not in BORES_m:
        raise FigureError(f"Liquid lines of {outside[:20]!r} are not known, only {', '.join(BORES_m)} inch")
    printed = _PRINTED.get((designation, size))
    if printed is not None:
        low, high = printed
        spread = max((high - low) / 2 * _OZ_PER_FT, PRINTED_LEAST_kg_per_m)
        return Adder(
            (low + high) / 2 * _OZ_PER_FT,
            spread,
            f"makers' tables for {designation}, {size} inch",
        )
    return reckoned_adder(designation, BORES_m[size])


def reckoned_adder(designation: str, bore_m: float) -> Adder:
    """The liquid at 95 °F that fills a bore, a metre of it: density times area (CALCULATED).

    Raises:
        FigureError: the bore is not above zero, or the density is not known.
    """
    area_m2 = math.pi / 4 * positive("The bore", bore_m) ** 2
    try:
        density = liquid_density(designation).at(LINE_K)
    except NoDensity as error:
        raise FigureError(str(error)) from error
    each = area_m2 * density
    return Adder(each, RECKONED_SHARE * each, f"liquid {designation} of {density:.0f} kg/m3 in a bore")
