"""The cycle in a pressure-enthalpy diagram, now beside where it should be, as a picture. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from guide.charging.cycle import Corner, Cycle, cycle, wanted_cycle
from guide.charging.meaning import interpret
from guide.charging.round import FIELD_OF_CHANNEL, Round
from guide.charging.uncertainty import PA_PER_PSI
from guide.job.state import JobState
from guide.refrigerant.thermal import COVERED, Thermal, thermal
from guide.screens.chart import Curve, Picture

_J_A_BTU_PER_LB: Final = 2326.0
"""Exact by definition of the international table Btu and the pound (NIST SP 811, MEMORY)."""
_DOME_POINTS: Final = 40
_ROWS: Final = ("into compressor", "out of it", "before metering", "after it")


def cycle_picture_of(state: JobState, *, american: bool) -> Picture | None:
    """The newest round of the charging loop as a cycle; None where there is none, or no tables for it."""
    name = state.order.refrigerant.designation
    if not state.rounds or name not in COVERED:
        return None
    values = state.rounds[-1].read.readings
    fields = {FIELD_OF_CHANNEL[v.channel]: float(v.si) for v in values if v.channel in FIELD_OF_CHANNEL}
    now = Round(net_charged_kg=0.0, minutes_since_change=0.0, **fields)
    table = thermal(name)
    is_now = cycle(table, now)
    if is_now is None:
        return None
    wanted = wanted_cycle(table, now, interpret(state.order.appliance(), now))
    number = state.rounds[-1].read.number
    return cycle_picture(table, is_now, wanted, american=american, of=f"round {number}")


def cycle_picture(
    table: Thermal, now: Cycle, wanted: Cycle | None, *, american: bool, of: str = "",
    beside: str = "with the target",
) -> Picture:  # fmt: skip
    """A cycle as 1 to 4, joined, inside the dome of saturation; ○ where another would have its corners."""
    pressure, energy = (PA_PER_PSI, _J_A_BTU_PER_LB) if american else (1e5, 1e3)
    p_unit, h_unit = ("psia", "Btu/lb") if american else ("bar abs", "kJ/kg")

    def places(corners: Iterable[Corner]) -> tuple[tuple[float, float], ...]:
        return tuple((corner.enthalpy / energy, corner.pressure_Pa / pressure) for corner in corners)

    corners = places(now.corners)
    round_trip = (*corners, corners[0])
    low, high = now.suction.pressure_Pa, now.discharge.pressure_Pa
    dome = dome_corners(table, 0.8 * low, max(1.15 * high, 0.93 * table.highest_Pa))
    curves = [Curve(places(dome), ""), Curve(round_trip, "")]
    if wanted is not None:
        curves.append(Curve(places(wanted.corners), "○", joined=False))
    curves += [Curve((place,), str(number), joined=False) for number, place in enumerate(corners, start=1)]
    heads = [f"cycle {of}: 1 to 4 now" + (f"   ○ {beside}" if wanted is not None else "")]
    if not now.discharge_read:
        heads.append("2 assumes a sound compressor: the discharge line was not read")
    return Picture(
        heads=tuple(heads),
        short="1-4 now" + (f"  ○ {beside}" if wanted is not None else ""),
        x_label=f"enthalpy [{h_unit}]",
        y_label=p_unit,
        curves=tuple(curves),
        log=True,
        rows_head=f"{'':<17} {p_unit:>7} {h_unit:>7}",
        rows=tuple(
            f"{number} {words:<15} {p:>7.1f} {h:>7.1f}"
            for number, (words, (h, p)) in enumerate(zip(_ROWS, corners, strict=True), start=1)
        ),
        least_x=10.0,
    )


def dome_corners(table: Thermal, low_Pa: float, high_Pa: float) -> tuple[Corner, ...]:
    """Saturated liquid from low to high pressure, then saturated vapour back down."""
    low, high = max(low_Pa, table.lowest_Pa), min(high_Pa, table.highest_Pa)
    ratio = high / low
    steps = [low * ratio ** (index / _DOME_POINTS) for index in range(_DOME_POINTS + 1)]
    liquid = [Corner(p, table.liquid_enthalpy(p)) for p in steps]
    vapour = [Corner(p, table.vapour_enthalpy(p)) for p in reversed(steps)]
    return (*liquid, *vapour)
