"""Acts at the unit itself: its control, its disconnect, its circuit, its coils and the sensors on it. SI."""

from __future__ import annotations

from typing import Final

from guide.charging.water_vapor import MICRON_Pa
from guide.rig.acts import Handling
from guide.rig.at_hand import CannotBeDone, PRESSES_Pa, pressing_Pa, side_of
from guide.rig.circuit import Inside
from guide.rig.fluid import air_kg
from guide.rig.happenings import Kind
from guide.rig.hookup import DRIER, SENSORS
from guide.rig.hoses import FITTING_kg
from guide.rig.unit_state import AIR, CIRCUIT, UnitState

CLEANABLE: Final = ("filter", "outdoor coil")
DAMPENS_Pa_per_s: Final = 10.0 * MICRON_Pa / 60.0
"""How fast the oil of an open circuit takes up water out of the air (PROPOSED)."""
DAMPENS_MOST_Pa: Final = 1500.0 * MICRON_Pa
LIQUID_AT_START_kg: Final = 0.1
"""How much liquid on the low side a starting compressor stands (PROPOSED)."""
SWALLOWED_S: Final = 10.0
TOLD_FROM_kg: Final = 1e-4


def switch_on(state: UnitState, _: Handling) -> None:
    """Start the unit at its control; what it starts on shows at once."""
    if state.locked:
        raise CannotBeDone("the disconnect is locked open: unlock it first")
    if state.opened:
        raise CannotBeDone("the circuit is open to the air: close it first")
    if state.runs:
        return
    if state.circuit.inside is Inside.VACUUM:
        state.happen(Kind.RAN_IN_VACUUM)
        return
    if state.circuit.inside is Inside.NITROGEN:
        state.happen(Kind.RAN_WITH_NITROGEN)
        return
    if state.rest_Pa(state.now_s) < 0.8 * state.scenario.site_pressure_Pa:
        state.happen(Kind.RAN_IN_VACUUM)
        return
    if state.liquid_low_kg > LIQUID_AT_START_kg:
        state.happen(Kind.LIQUID_TO_COMPRESSOR, state.liquid_low_kg / SWALLOWED_S, "low", once=True)
    state.liquid_low_kg = 0.0
    state.runs = True
    state.changed_s = state.now_s
    state.flooded_s = state.iced_s = state.tripping_s = 0.0
    state.said -= {Kind.ICED, Kind.TOO_HOT}


def switch_off(state: UnitState, _: Handling) -> None:
    """Stop the unit at its control."""
    if state.runs:
        state.runs = False
        state.changed_s = state.now_s


def lock(state: UnitState, handling: Handling) -> None:
    """Open the disconnect and lock it; the unit stops."""
    switch_off(state, handling)
    state.locked = True


def unlock(state: UnitState, _: Handling) -> None:
    """Take the lock off and close the disconnect."""
    state.locked = False


def open_circuit(state: UnitState, _: Handling) -> None:
    """Cut or unscrew a joint."""
    if not state.locked:
        state.happen(Kind.WORKED_LIVE)
    _open_to_air(state)
    if not state.opened:
        state.opened, state.opened_s = True, state.now_s


def _open_to_air(state: UnitState) -> None:
    pressure, site_Pa = pressing_Pa(state), state.scenario.site_pressure_Pa
    if pressure > site_Pa + PRESSES_Pa:
        state.happen(Kind.OPENED_UNDER_PRESSURE, pressure)
    state.runs = False
    if state.holds_refrigerant():
        state.lose(CIRCUIT, state.charge_kg)
    elif pressure < site_Pa - PRESSES_Pa:
        state.let_air_in(air_kg(site_Pa - pressure, state.plant.circuit_m3, state.outdoor_K))
    state.air_kg = 0.0
    state.circuit.open_to_air()
    state.changed_s = state.now_s


def mend(state: UnitState, handling: Handling) -> None:
    """Close leaks, fit a new drier, close the circuit; it is opened for that. At a port: change its core.

    At the drier: a new one is fitted and the circuit closed, and what leaks unseen goes on leaking.
    """
    if handling.at and handling.at != DRIER:
        _change_core(state, side_of(handling))
        return
    if not state.locked:
        state.happen(Kind.WORKED_LIVE)
    if not state.opened:
        _open_to_air(state)
    if state.opened:
        _took_up_water(state)
    state.opened = False
    if handling.at == DRIER:
        state.mended(restriction_Pa=0.0, valve_stuck=None)
    else:
        state.circuit.mend()
        state.mended(leak_kg_per_s=0.0, cores_kg_per_s={}, restriction_Pa=0.0, valve_stuck=None)
    state.found.clear()


def _change_core(state: UnitState, side: str) -> None:
    """With a core tool, under pressure: next to nothing goes out."""
    if state.set.lines[side].joined:
        raise CannotBeDone(f"the {side}-side hose is on the port: take it off first")
    if state.holds_refrigerant():
        state.carry(CIRCUIT, AIR, FITTING_kg)
    left = {name: rate for name, rate in state.troubles.cores_kg_per_s.items() if name != side}
    state.mended(cores_kg_per_s=left)
    state.found.clear()


def _took_up_water(state: UnitState) -> None:
    """The longer a circuit stood open, the more water its oil took up."""
    before_kg = state.water_kg()
    open_s = state.now_s - state.opened_s
    state.circuit.dampen(min(DAMPENS_Pa_per_s * open_s, DAMPENS_MOST_Pa))
    took_up_kg = state.water_kg() - before_kg
    if took_up_kg > TOLD_FROM_kg:
        state.happen(Kind.MOISTURE_IN, took_up_kg)


def clean(state: UnitState, handling: Handling) -> None:
    """Clean what was dirty."""
    if handling.at not in CLEANABLE:
        raise CannotBeDone(f"nothing here is called {handling.at[:40]!r}; there is {' and '.join(CLEANABLE)}")
    if state.runs:
        state.happen(Kind.WORKED_LIVE)
    state.cleaned.add(handling.at)
    state.mended(**({"indoor_air": 1.0} if handling.at == "filter" else {"fouling": 1.0}))


def look_for_leaks(state: UnitState, _: Handling) -> None:
    """Go round with detector or bubbles; what shows is kept in `found`."""
    presses = pressing_Pa(state) > state.scenario.site_pressure_Pa + PRESSES_Pa
    state.found.clear()
    if presses and (state.troubles.leak_kg_per_s > 0.0 or state.circuit.leaks):
        state.found.append("a leak at a joint of the circuit")
    for side, rate in state.troubles.cores_kg_per_s.items():
        if presses and rate > 0.0:
            state.found.append(f"a leak at the core of the {side}-side port")


def clamp(state: UnitState, handling: Handling) -> None:
    """Bring a sensor to its place; who does it again does it with care."""
    if handling.at not in SENSORS:
        raise CannotBeDone(f"no sensor is called {handling.at[:40]!r}; there are {', '.join(SENSORS)}")
    again = handling.at in state.clamped
    state.clamped.add(handling.at)
    if again and handling.at in state.troubles.probes:
        # whoever clamps a sensor anew does it with care
        rest = {name: share for name, share in state.troubles.probes.items() if name != handling.at}
        state.mended(probes=rest)
