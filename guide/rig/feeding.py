"""Refrigerant that flows through hoses and valves, second by second. SI.

The middle of the gauge set takes the pressure at which as much comes as goes; each opening passes
A sqrt(2 rho dp) of what stands before it. Hoses between shut valves hold what they held. Two figures are
PROPOSED: how much throttled liquid a running compressor's suction line boils off, and how fast a hose fills.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from guide.charging.water_vapor import MICRON_Pa
from guide.rig.cylinder_contents import LIQUID_J_per_kg_K
from guide.rig.fluid import air_kg, air_Pa, in_a_row_m2, passes_kg_per_s
from guide.rig.happenings import Kind
from guide.rig.hookup import CENTRE, MACHINE, SIDES, HOSE_m3
from guide.rig.hoses import CYLINDER_m2, HAND_m2, PORT_m2
from guide.rig.unit_state import AIR, CIRCUIT, TRACE_kg, UnitState

BOILS_OFF_SHARE: Final = 0.08
"""Liquid a suction line and the motor boil off, as a share of what the compressor draws: 7 K of superheat
boil 3 to 4 % (CALCULATED for the six refrigerants), the motor's heat the rest (PROPOSED)."""
BOILS_OFF_kg_per_s: Final = 0.020
"""What it boils off in any case: a cracked hand valve never floods, a half open one does (PROPOSED)."""
FILLS_kg_per_s: Final = 0.03
MACHINE_m3_per_s: Final = 1.2e-4
"""What a recovery machine draws: about 5 g/s of vapour at 1 MPa (PROPOSED)."""
MACHINE_LIQUID_kg_per_s: Final = 0.03
MACHINE_FLOOR_Pa: Final = 25_000.0
PUMP_TAU_S: Final = 6.0
PUMP_FLOOR_Pa: Final = 180.0 * MICRON_Pa
PUMP_kg_per_s: Final = 0.02
"""What goes through a vacuum pump that is opened to refrigerant (PROPOSED)."""
TOLD_FROM_kg: Final = 0.001
"""Less refrigerant than this is not told: what every fitting holds."""


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
        _into_pump(state)
    elif state.machine_runs and state.set.lines[CENTRE].joined == MACHINE:
        _through_machine(state)
    else:
        _by_pressure(state)


def first_refrigerant(state: UnitState) -> None:
    """Refrigerant comes into a circuit that held a vacuum or nitrogen: what gas there was stays in it."""
    if state.holds_refrigerant():
        return
    gas_Pa = state.circuit.gas_Pa
    state.circuit.fill_with_refrigerant()
    state.pump_path = False
    left = air_kg(gas_Pa, state.plant.circuit_m3, state.outdoor_K)
    state.air_kg = 0.0
    if gas_Pa > 2000.0 * MICRON_Pa:
        state.let_air_in(left)
    else:
        state.air_kg = left
    state.felt_kg = state.charge_kg


def into_circuit(state: UnitState, source: str, mass_kg: float) -> float:
    """Bring refrigerant into the circuit; how much [kg]. Another refrigerant is told."""
    if state.opened:
        state.blown_kg += state.carry(source, AIR, mass_kg)
        return 0.0
    first_refrigerant(state)
    before_kg = state.charge_kg
    moved = state.carry(source, CIRCUIT, mass_kg)
    if not state.runs:
        boils = min(moved, max(0.0, state.full_of_vapour_kg() - before_kg))
        state.chill_K *= 1.0 - min(1.0, moved * LIQUID_J_per_kg_K / state.metal_J_per_K())
        state.boiled(boils)
    cylinder = state.contents.get(source)
    if moved > 0.0:
        state.changed_s = state.now_s
        state.drawn_s, state.draws = None, 0
        if cylinder is not None and cylinder.stock.designation != state.scenario.designation:
            state.happen(Kind.WRONG_REFRIGERANT, moved, source, once=True)
    return moved


def out_of_circuit(state: UnitState, sink: str, mass_kg: float, *, vapour: bool = False) -> float:
    """Bring refrigerant out of the circuit into a cylinder or the air; how much [kg].

    What leaves as `vapour` while liquid is left has to boil first.
    """
    boils = vapour and not state.runs and state.has_liquid()
    moved = state.carry(CIRCUIT, sink, mass_kg)
    if boils:
        state.boiled(moved)
    if moved > 0.0:
        state.changed_s = state.now_s
        filled(state, sink)
    return moved


def filled(state: UnitState, cylinder: str) -> None:
    """Tell when a cylinder holds more than it may."""
    known = state.contents.get(cylinder)
    if known is None or known.overfilled or known.gross_kg <= known.stock.limit_gross_kg + 0.02:
        return
    known.overfilled = True
    state.happen(Kind.CYLINDER_OVERFILLED, known.gross_kg - known.stock.limit_gross_kg, cylinder)


def _ends(state: UnitState) -> list[_End]:
    found = []
    for side in SIDES:
        if not state.set.reaches(side):
            continue
        area = in_a_row_m2(HAND_m2 * state.set.hand[side], PORT_m2)
        pressure = state.side_Pa(side, state.now_s)
        liquid = side == "high" and state.has_liquid()
        found.append(_End(CIRCUIT, pressure, area, _density(state, pressure, liquid=liquid), liquid, side))
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


def _density(state: UnitState, pressure_Pa: float, *, liquid: bool) -> float:
    if liquid:
        return state.fluid.liquid_kg_per_m3(state.outdoor_K)
    return max(0.05, state.fluid.vapour_mass_kg(1.0, state.outdoor_K, pressure_Pa))


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


def _through_machine(state: UnitState) -> None:
    """The recovery machine draws from every side that is open to it and pushes into the cylinder."""
    cylinder = state.contents.get(state.on_scale)
    if cylinder is None or cylinder.opening <= 0.0:
        return
    for name in state.set.middle():
        line = state.set.lines[name]
        drawn = state.carry(name, state.on_scale, min(line.refrigerant_kg, 0.3 * line.refrigerant_kg + 1e-5))
        line.air_kg *= 0.7
        if drawn:
            filled(state, state.on_scale)
    if not state.holds_refrigerant():
        return
    for side in SIDES:
        if not state.set.reaches(side):
            continue
        pressure = state.side_Pa(side, state.now_s)
        area = in_a_row_m2(HAND_m2 * state.set.hand[side], PORT_m2)
        liquid = side == "high" and state.has_liquid()
        density = _density(state, pressure, liquid=liquid)
        if not liquid and pressure > MACHINE_FLOOR_Pa:  # air goes along with the vapour it is mixed with
            state.air_kg *= math.exp(-MACHINE_m3_per_s / state.plant.circuit_m3)
        most = MACHINE_LIQUID_kg_per_s if liquid else MACHINE_m3_per_s * density
        rate = min(most, passes_kg_per_s(area, density, pressure - MACHINE_FLOOR_Pa))
        if out_of_circuit(state, state.on_scale, rate, vapour=not liquid) > 0.0 and not state.has_liquid():
            if state.drawn_s is None or state.now_s - state.drawn_s > 60:
                state.draws += 1
            state.drawn_s = state.now_s


def _into_pump(state: UnitState) -> None:
    """Whatever is open to the running pump goes through it."""
    gone = 0.0
    for name in state.set.middle():
        gone += state.carry(name, AIR, state.set.lines[name].refrigerant_kg)
    centre = state.contents.get(state.set.lines[CENTRE].joined)
    if centre is not None and centre.opening > 0.0:
        gone += state.carry(centre.stock.id, AIR, PUMP_kg_per_s)
    if state.pump_path and state.holds_refrigerant():
        pressure = max(state.rest_Pa(state.now_s) - state.oil_Pa(state.now_s), 0.0)
        full = state.fluid.saturation_Pa(state.outdoor_K)
        rate = PUMP_kg_per_s * min(1.0, pressure / (0.1 * full))
        gone += state.carry(CIRCUIT, AIR, max(rate, 1e-4))
        if state.charge_kg <= 1e-3:
            gone += state.carry(CIRCUIT, AIR, state.charge_kg)
            state.circuit.pump_on()
            state.air_kg = 0.0
    state.loose_kg += gone
    if gone <= TRACE_kg and state.loose_kg > 0.0:
        tell_pumped(state)


def tell_pumped(state: UnitState) -> None:
    """Say how much refrigerant went through the pump."""
    if state.loose_kg > TOLD_FROM_kg:
        state.happen(Kind.REFRIGERANT_IN_PUMP, state.loose_kg)
    state.loose_kg = 0.0


def tell_blown(state: UnitState) -> None:
    """Say how much refrigerant went through the circuit's open joint into the air."""
    if state.blown_kg > TOLD_FROM_kg:
        state.happen(Kind.REFRIGERANT_LOST, state.blown_kg, "low")
    state.blown_kg = 0.0


def pump_hoses(state: UnitState, seconds: float) -> None:
    """Draw the air out of the hoses that are open to the running pump."""
    if not (state.pump_runs and state.pump_joined):
        return
    keeps = math.exp(-seconds / PUMP_TAU_S)
    for name in state.set.middle():
        line = state.set.lines[name]
        now_Pa = air_Pa(line.air_kg, HOSE_m3, state.outdoor_K)
        after_Pa = PUMP_FLOOR_Pa + (now_Pa - PUMP_FLOOR_Pa) * keeps if now_Pa > PUMP_FLOOR_Pa else now_Pa
        line.air_kg = air_kg(after_Pa, HOSE_m3, state.outdoor_K)
