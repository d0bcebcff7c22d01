"""How far refrigerant has to be recovered before a circuit is opened, as an absolute pressure.

The rule is 40 CFR 82.156(a), Table 1 (FOUND, as copied in the regulations reference, section 1.4). Other
places have other rules; the stricter one holds.
"""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Final

from guide.charging.refusal import FigureError, positive

STANDARD_ATMOSPHERE_Pa: Final = 101_325.0
NEWER_FROM: Final = date(1993, 11, 15)
"""A recovery machine made or imported on this day or later reaches deeper levels (FOUND, Table 1)."""
LARGE_CHARGE_kg: Final = 200 * 0.45359237
"""Full charge of 200 lb, from which the deeper levels hold (FOUND, Table 1)."""
_INHG_Pa: Final = 3386.389
_MMHG_Pa: Final = 133.322387415


class PressureClass(StrEnum):
    """Classes of appliances by the pressure of their refrigerant (40 CFR 82.152)."""

    LOW = "low pressure"
    MEDIUM = "medium pressure"
    HIGH = "high pressure"
    VERY_HIGH = "very high pressure"


# (machine made before NEWER_FROM, made later), inches of mercury below the standard atmosphere
_SMALL_inHgv: Final = {
    PressureClass.MEDIUM: (4, 10),
    PressureClass.HIGH: (0, 0),
    PressureClass.VERY_HIGH: (0, 0),
}
_LARGE_inHgv: Final = {
    PressureClass.MEDIUM: (4, 15),
    PressureClass.HIGH: (4, 10),
    PressureClass.VERY_HIGH: (0, 0),
}


def recovery_level_Pa(pressure_class: PressureClass, full_charge_kg: float, machine_made: date) -> float:
    """The pressure [Pa absolute] to which an appliance is recovered before it is opened.

    `full_charge_kg` is the full charge of the appliance or of its isolated part, `machine_made` the day
    on which the recovery machine was made or imported. Table 1 counts from the standard atmosphere, so
    the level is the same at any altitude. Small appliances and vehicle air conditioners have rules of
    their own and are not meant here.

    Raises:
        FigureError: the charge is not above zero, or the day lies in no calendar of such machines.
    """
    positive("The full charge", full_charge_kg)
    if machine_made.year < 1900:
        raise FigureError(f"A recovery machine made in {machine_made.year}: check the date on its plate")
    if pressure_class is PressureClass.LOW:
        return 25 * _MMHG_Pa
    levels = _SMALL_inHgv if full_charge_kg < LARGE_CHARGE_kg else _LARGE_inHgv
    before, later = levels[pressure_class]
    return STANDARD_ATMOSPHERE_Pa - (later if machine_made >= NEWER_FROM else before) * _INHG_Pa
