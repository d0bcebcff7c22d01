"""What recovery machine and vacuum pump draw out of circuit, hoses and cylinders. SI."""

from __future__ import annotations

import math
from typing import Final

from guide.charging.water_vapor import MICRON_Pa
from guide.rig.fluid import air_kg, air_Pa, in_a_row_m2, passes_kg_per_s
from guide.rig.happenings import Kind
from guide.rig.hookup import CENTRE, SIDES, HOSE_m3
from guide.rig.hoses import HAND_m2, PORT_m2
from guide.rig.moving import TOLD_FROM_kg, filled, out_of_circuit, port_density
from guide.rig.unit_state import AIR, CIRCUIT, TRACE_kg, UnitState

MACHINE_m3_per_s: Final = 1.2e-4
"""What a recovery machine draws: about 5 g/s of vapour at 1 MPa (PROPOSED)."""
MACHINE_LIQUID_kg_per_s: Final = 0.03
"""What it draws of liquid (PROPOSED)."""
MACHINE_FLOOR_Pa: Final = 25_000.0
"""How low it draws: about 22 inches of mercury of vacuum (PROPOSED)."""
PUMP_TAU_S: Final = 6.0
PUMP_FLOOR_Pa: Final = 180.0 * MICRON_Pa
"""How fast, and how low, a vacuum pump draws hoses that are shut off from the circuit (PROPOSED)."""
PUMP_kg_per_s: Final = 0.02
"""What goes through a vacuum pump that is opened to refrigerant (PROPOSED)."""


def through_machine(state: UnitState) -> None:
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
        density = port_density(state, pressure, liquid=liquid)
        if not liquid and pressure > MACHINE_FLOOR_Pa:  # air goes along with the vapour it is mixed with
            state.air_kg *= math.exp(-MACHINE_m3_per_s / state.plant.circuit_m3)
        most = MACHINE_LIQUID_kg_per_s if liquid else MACHINE_m3_per_s * density
        rate = min(most, passes_kg_per_s(area, density, pressure - MACHINE_FLOOR_Pa))
        if out_of_circuit(state, state.on_scale, rate, vapour=not liquid) > 0.0 and not state.has_liquid():
            if state.drawn_s is None or state.now_s - state.drawn_s > 60:
                state.draws += 1
            state.drawn_s = state.now_s


def into_pump(state: UnitState) -> None:
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
