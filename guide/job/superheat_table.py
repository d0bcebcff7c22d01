"""The maker's table of target superheat that an order carries."""

from __future__ import annotations

from guide.charging.refusal import FigureError
from guide.charging.round import Metering
from guide.charging.target_maker import MakerTable
from guide.job.order_file import Written
from guide.units import Kind

_PLACE = ("appliance", "target_superheat_table")
_DASHES = frozenset({"-", "–", "—"})


def superheat_table(written: Written) -> MakerTable | None:
    """The table of an order, or None where it carries none.

    Raises:
        OrderError: an entry is no temperature, the figures make no such table, or nothing would use it.
    """
    unit = written.entry.appliance
    entry = unit.target_superheat_table
    if entry is None:
        return None
    if Metering(unit.metering) is not Metering.FIXED_ORIFICE:
        raise written.fail(_PLACE, "serves a fixed orifice; a valve is charged to its target subcooling")
    if unit.target_superheat is not None:
        raise written.fail(_PLACE, "stands beside target_superheat; keep the one that holds for this unit")
    wet_bulbs = tuple(
        float(written.needed((*_PLACE, "wet_bulb"), text, Kind.TEMPERATURE).si)
        for text in entry.wet_bulb.split()
    )
    rows = {
        float(written.needed((*_PLACE, "superheat", outdoor), outdoor, Kind.TEMPERATURE).si): tuple(
            _figure(written, outdoor, cell) for cell in cells.split()
        )
        for outdoor, cells in entry.superheat.items()
    }
    if len(rows) != len(entry.superheat):
        raise written.fail((*_PLACE, "superheat"), "has two rows for one outdoor temperature; keep one")
    try:
        return MakerTable(entry.source, wet_bulbs, tuple(rows), tuple(rows.values()))
    except FigureError as error:
        raise written.fail(_PLACE, str(error)) from error


def _figure(written: Written, outdoor: str, cell: str) -> float | None:
    if cell in _DASHES:
        return None
    return float(written.needed((*_PLACE, "superheat", outdoor), cell, Kind.TEMPERATURE_DIFFERENCE).si)
