"""Refrigerant that flows through hoses and valves, second by second. SI.

The middle of the gauge set takes the pressure at which as much comes as goes; each opening passes
A sqrt(2 rho dp) of what stands before it. Hoses between shut valves hold what they held. Two figures are
PROPOSED: how much throttled liquid a running compressor's suction line boils off, and how fast a hose fills.
What machine and pump draw is `guide.rig.drawing_out`, what comes into the circuit or out `guide.rig.moving`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from guide.rig.drawing_out import into_pump, through_machine
from guide.rig.fluid import in_a_row_m2, passes_kg_per_s
from guide.rig.happenings import Kind
from guide.rig.hookup import CENTRE, MACHINE, SIDES, HOSE_m3
from guide.rig.hoses import CYLINDER_m2, HAND_m2, PORT_m2
from guide.rig.moving import filled, into_circuit, out_of_circuit, port_density
from guide.rig.unit_state import CIRCUIT, TRACE_kg, UnitState

BOILS_OFF_SHARE: Final = 0.08
"""Liquid a suction line and the motor boil off, as a share of what the compressor draws: 7 K of superheat
boil 3 to 4 % (CALCULATED for the six refrigerants), the motor's heat the rest (PROPOSED)."""
BOILS_OFF_kg_per_s: Final = 0.020
"""What it boils off in any case: a cracked hand valve never floods, a half open one does (PROPOSED)."""
FILLS_kg_per_s: Final = 0.03
"""How fast a hose fills from what it is opened to (PROPOSED)."""


@dataclass(frozen=True, slots=True)
class _End:
    """Where refrigerant can come from or go to."""

    store: str
    pressure_Pa: float
    area_m2: float
    density: float
    liquid: bool
    side: str


def flows(state: UnitState) -> bool:
    """Whether something may flow, so that every second counts."""
    cylinder = state.contents.get(state.set.lines[CENTRE].joined)
    return (
        (cylinder is not None and cylinder.opening > 0.0)
        or state.machine_runs
        or (state.pump_runs and state.pump_path and state.holds_refrigerant())
        or (state.pump_runs and any(state.set.lines[n].refrigerant_kg > TRACE_kg for n in state.set.middle()))
        or all(state.set.reaches(side) for side in SIDES)
        or (any(state.set.reaches(side) for side in SIDES) and state.set.lines[CENTRE].refrigerant_kg > 0.002)
        or (len(state.set.middle()) > 1 and any(state.set.reaches(side) for side in SIDES))
    )


def pass_second(state: UnitState) -> None:
    """Let one second of flow pass."""
    if state.pump_runs and state.pump_joined:
        into_pump(state)
    elif state.machine_runs and state.set.lines[CENTRE].joined == MACHINE:
        through_machine(state)
    else:
        _by_pressure(state)


def _ends(state: UnitState) -> list[_End]:
    found = []
    for side in SIDES:
        if not state.set.reaches(side):
            continue
        area = in_a_row_m2(HAND_m2 * state.set.hand[side], PORT_m2)
        pressure = state.side_Pa(side, state.now_s)
        liquid = side == "high" and state.has_liquid()
        found.append(
            _End(CIRCUIT, pressure, area, port_density(state, pressure, liquid=liquid), liquid, side)
        )
    cylinder = state.contents.get(state.set.lines[CENTRE].joined)
    if cylinder is not None and cylinder.opening > 0.0:
        area = CYLINDER_m2 * cylinder.opening
        found.append(
            _End(
                cylinder.stock.id, cylinder.pressure_Pa, area, cylinder.outlet_kg_per_m3,
                cylinder.gives_liquid, "",
            )
        )  # fmt: skip
    return found


def _by_pressure(state: UnitState) -> None:
    ends = _ends(state)
    if not ends:
        _share_middle(state)
        return
    highest = max(ends, key=lambda end: end.pressure_Pa)
    lowest = min(ends, key=lambda end: end.pressure_Pa)
    middle_Pa = _middle_Pa(ends, highest)
    liquid_in_low = 0.0
    into = [end for end in ends if end.pressure_Pa < middle_Pa - 1.0]
    through = 0.0
    if highest.pressure_Pa > lowest.pressure_Pa + 50.0 and into:
        through = passes_kg_per_s(highest.area_m2, highest.density, highest.pressure_Pa - middle_Pa)
        weights = [passes_kg_per_s(e.area_m2, highest.density, middle_Pa - e.pressure_Pa) for e in into]
        for end, weight in zip(into, weights, strict=True):
            part = through * weight / (math.fsum(weights) or 1.0)
            moved = _deliver(state, highest, end, part)
            if end.side == "low" and highest.liquid:
                liquid_in_low += moved
    liquid_in_low += _settle_middle(state, ends, middle_Pa=middle_Pa, through=through)
    if through > 1e-6 and lowest.store == CIRCUIT:
        _air_goes_in(state, lowest.side)
    if liquid_in_low > 0.0:
        _look_for_flooding(state, liquid_in_low)


def _deliver(state: UnitState, source: _End, sink: _End, mass_kg: float) -> float:
    """Bring what passes the middle from one end to another; how much [kg]."""
    if source.store == sink.store:
        return mass_kg  # high side to low side: it stays in the circuit
    if sink.store == CIRCUIT:
        return into_circuit(state, source.store, mass_kg)
    return out_of_circuit(state, sink.store, mass_kg)


def _middle_Pa(ends: Sequence[_End], highest: _End) -> float:
    """The pressure of the middle at which as much comes as goes."""
    low = min(end.pressure_Pa for end in ends)
    high = highest.pressure_Pa
    if len(ends) == 1 or high - low < 50.0:
        return high
    for _ in range(30):
        guess = 0.5 * (low + high)
        comes = passes_kg_per_s(highest.area_m2, highest.density, highest.pressure_Pa - guess)
        goes = 0.0
        for end in ends:
            if end is highest:
                continue
            if end.pressure_Pa < guess:
                goes += passes_kg_per_s(end.area_m2, highest.density, guess - end.pressure_Pa)
            else:
                comes += passes_kg_per_s(end.area_m2, end.density, end.pressure_Pa - guess)
        if comes > goes:
            low = guess
        else:
            high = guess
    return 0.5 * (low + high)


def _settle_middle(state: UnitState, ends: Sequence[_End], *, middle_Pa: float, through: float) -> float:
    """Fill or empty the hoses of the middle; how much liquid of theirs went into the low side [kg]."""
    highest = max(ends, key=lambda end: end.pressure_Pa)
    lowest = min(ends, key=lambda end: end.pressure_Pa)
    liquid = highest.liquid and (through > 0.0 or len(ends) == 1)
    went = 0.0
    for name in state.set.middle():
        line = state.set.lines[name]
        if liquid:
            wanted = HOSE_m3 * state.fluid.liquid_kg_per_m3(state.outdoor_K)
        else:
            wanted = state.fluid.vapour_mass_kg(HOSE_m3, state.outdoor_K, middle_Pa)
        if line.refrigerant_kg < wanted:
            _fill_line(state, name, highest, min(wanted - line.refrigerant_kg, FILLS_kg_per_s))
            continue
        excess = line.refrigerant_kg - wanted
        if excess <= TRACE_kg:
            continue
        held_liquid = line.holds_liquid(state.fluid, state.outdoor_K)
        inside_Pa = max(line.pressure_Pa(state.fluid, state.outdoor_K), middle_Pa)
        density = (
            state.fluid.liquid_kg_per_m3(state.outdoor_K) if held_liquid else line.refrigerant_kg / HOSE_m3
        )
        goes = min(excess, passes_kg_per_s(lowest.area_m2, density, inside_Pa - lowest.pressure_Pa))
        if not held_liquid:
            goes = max(goes, min(excess, 0.2 * excess))
        if lowest.store == CIRCUIT:
            moved = into_circuit(state, name, goes)
            went += moved if held_liquid and lowest.side == "low" else 0.0
        else:
            state.carry(name, lowest.store, goes)
            filled(state, lowest.store)
    return went


def _fill_line(state: UnitState, name: str, source: _End, mass_kg: float) -> None:
    if source.store == CIRCUIT and not state.holds_refrigerant():
        return
    state.carry(source.store, name, mass_kg)


def _share_middle(state: UnitState) -> None:
    """Let hoses that are open to each other, and to nothing else, come to the same."""
    names = state.set.middle()
    if len(names) < 2:
        return
    lines = [state.set.lines[name] for name in names]
    refrigerant = math.fsum(line.refrigerant_kg for line in lines) / len(lines)
    air = math.fsum(line.air_kg for line in lines) / len(lines)
    for line in lines:
        line.refrigerant_kg, line.air_kg = refrigerant, air


def _air_goes_in(state: UnitState, where: str) -> None:
    """What air the hoses of the middle hold is swept into the circuit."""
    for name in state.set.middle():
        line = state.set.lines[name]
        air, line.air_kg = line.air_kg, 0.0
        state.let_air_in(air, where)


def _look_for_flooding(state: UnitState, liquid_kg_per_s: float) -> None:
    if not state.runs:
        state.liquid_low_kg += liquid_kg_per_s
        return
    drawn = state.aim.flow_kg_per_s if state.aim else 0.0
    if liquid_kg_per_s > max(BOILS_OFF_kg_per_s, BOILS_OFF_SHARE * drawn):
        state.happen(Kind.LIQUID_TO_COMPRESSOR, liquid_kg_per_s, "low", once=True)
