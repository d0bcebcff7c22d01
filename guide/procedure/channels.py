"""The channels a procedure may ask for: a closed list, each with its kind, units and plausible range.

Ranges are PROPOSED: wide enough for every refrigerant of the catalogue and for a system with a fault,
narrow enough to catch a slip of the unit (kPa typed as psi). They hold for plausibility only; a limit of
the work stands in the procedure with its source.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from guide.units import Kind


@dataclass(frozen=True, slots=True)
class Channel:
    """One thing that can be measured. `low` and `high` are quantities as text, in units of `kind`."""

    name: str
    kind: Kind
    label: str
    unit_ip: str
    unit_si: str
    low: str
    high: str


# A low end in absolute pressure, so that the range stays possible at any altitude.
_CHANNELS: Final = (
    Channel(
        "suction_pressure", Kind.PRESSURE, "Suction pressure, low side", "psig", "barg", "0 psia", "400 psig"
    ),
    Channel(
        "suction_line", Kind.TEMPERATURE, "Suction line at the service valve", "F", "C", "-60 F", "150 F"
    ),
    Channel(
        "liquid_pressure", Kind.PRESSURE, "Liquid pressure, high side", "psig", "barg", "0 psia", "700 psig"
    ),
    Channel("liquid_line", Kind.TEMPERATURE, "Liquid line at the service valve", "F", "C", "-40 F", "200 F"),
    Channel(
        "compressor_discharge_line",
        Kind.TEMPERATURE,
        "Discharge line at the compressor",
        "F",
        "C",
        "0 F",
        "350 F",
    ),
    Channel("indoor_db", Kind.TEMPERATURE, "Return air, dry bulb", "F", "C", "32 F", "130 F"),
    Channel("indoor_wb", Kind.TEMPERATURE, "Return air, wet bulb", "F", "C", "25 F", "110 F"),
    Channel("supply_db", Kind.TEMPERATURE, "Supply air, dry bulb", "F", "C", "10 F", "130 F"),
    Channel("outdoor_db", Kind.TEMPERATURE, "Outdoor air, dry bulb", "F", "C", "-40 F", "140 F"),
    Channel(
        "low_side_standing_pressure",
        Kind.PRESSURE,
        "Low-side pressure, unit at rest",
        "psig",
        "barg",
        "0 psia",
        "500 psig",
    ),
    Channel(
        "high_side_standing_pressure",
        Kind.PRESSURE,
        "High-side pressure, unit at rest",
        "psig",
        "barg",
        "0 psia",
        "500 psig",
    ),
    Channel(
        "low_gauge_open",
        Kind.PRESSURE,
        "Low-side gauge, open to the air",
        "psig",
        "barg",
        "9 psia",
        "10 psig",
    ),
    Channel(
        "high_gauge_open",
        Kind.PRESSURE,
        "High-side gauge, open to the air",
        "psig",
        "barg",
        "5 psia",
        "20 psig",
    ),
    Channel("hose_vacuum", Kind.PRESSURE, "Vacuum in the hoses", "micron", "Paa", "0 micron", "25000 micron"),
    Channel(
        "system_vacuum", Kind.PRESSURE, "Vacuum in the system", "micron", "Paa", "0 micron", "25000 micron"
    ),
    Channel(
        "hose_pressure", Kind.PRESSURE, "High-side gauge, hose shut off", "psig", "barg", "0 psia", "700 psig"
    ),
    Channel("test_pressure", Kind.PRESSURE, "Test pressure, nitrogen", "psig", "barg", "0 psia", "700 psig"),
    Channel(
        "gas_temperature",
        Kind.TEMPERATURE,
        "Gas in the system, by a pipe sensor",
        "F",
        "C",
        "-40 F",
        "200 F",
    ),
    Channel("system_pressure", Kind.PRESSURE, "Pressure in the system", "psig", "barg", "0 psia", "700 psig"),
    Channel("cylinder_weight", Kind.MASS, "Cylinder on the scale", "lb", "kg", "0 lb", "300 lb"),
)

CHANNELS: Final = MappingProxyType({channel.name: channel for channel in _CHANNELS})
"""Every known channel by name."""
