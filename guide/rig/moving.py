"""Refrigerant that comes into the circuit or out of it, and what is to be told of that. SI."""

from __future__ import annotations

from typing import Final

from guide.charging.water_vapor import MICRON_Pa
from guide.rig.cylinder_contents import LIQUID_J_per_kg_K
from guide.rig.fluid import air_kg
from guide.rig.happenings import Kind
from guide.rig.unit_state import AIR, CIRCUIT, UnitState

MUCH_GAS_Pa: Final = 2000.0 * MICRON_Pa
"""A circuit that held more than this when refrigerant came in has air in it that is told (PROPOSED)."""
TOLD_FROM_kg: Final = 0.001
"""Less refrigerant than this is not told: what every fitting holds (PROPOSED)."""


def first_refrigerant(state: UnitState) -> None:
    """Refrigerant comes into a circuit that held a vacuum or nitrogen: what gas there was stays in it."""
    if state.holds_refrigerant():
        return
    gas_Pa = state.circuit.gas_Pa
    state.circuit.fill_with_refrigerant()
    state.pump_path = False
    left = air_kg(gas_Pa, state.plant.circuit_m3, state.outdoor_K)
    state.air_kg = 0.0
    if gas_Pa > MUCH_GAS_Pa:
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


def tell_blown(state: UnitState) -> None:
    """Say how much refrigerant went through the circuit's open joint into the air."""
    if state.blown_kg > TOLD_FROM_kg:
        state.happen(Kind.REFRIGERANT_LOST, state.blown_kg, "low")
    state.blown_kg = 0.0


def port_density(state: UnitState, pressure_Pa: float, *, liquid: bool) -> float:
    """Density of what stands before a port of the circuit [kg/m³]."""
    if liquid:
        return state.fluid.liquid_kg_per_m3(state.outdoor_K)
    return max(0.05, state.fluid.vapour_mass_kg(1.0, state.outdoor_K, pressure_Pa))
