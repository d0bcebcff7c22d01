"""What a simulated unit loses and does to itself while nobody touches it. SI."""

from __future__ import annotations

from typing import Final

from guide.rig.circuit import Inside
from guide.rig.happenings import Kind
from guide.rig.unit_state import AIR, CIRCUIT, UnitState

FLOOD_QUALITY: Final = 0.9
FLOOD_S: Final = 600.0
"""How much liquid a compressor stands, and for how long, before it is told (PROPOSED)."""
ICE_K: Final = 271.0
ICE_S: Final = 900.0
"""How cold the indoor coil boils, and for how long, before it is told to be iced over (PROPOSED)."""
TOO_HOT_K: Final = 380.4
"""225 °F at the discharge line, where makers' service literature puts the limit (MEMORY)."""
TRIPS_AFTER_S: Final = 30.0
"""How long a unit goes on that can't run steadily (PROPOSED)."""
LEAKS_ABOVE: Final = 1.05
"""From this many times the air's pressure on refrigerant goes out of a leak (PROPOSED)."""


def leak(state: UnitState, seconds: float) -> None:
    """Let refrigerant out where the circuit or a port is not tight."""
    if (
        not state.holds_refrigerant()
        or state.rest_Pa(state.now_s) <= LEAKS_ABOVE * state.scenario.site_pressure_Pa
    ):
        return
    rate = state.troubles.leak_kg_per_s
    for side, core in state.troubles.cores_kg_per_s.items():
        rate += 0.0 if state.set.lines[side].joined else core
    if rate > 0.0:
        state.carry(CIRCUIT, AIR, rate * seconds)


def watch(state: UnitState, seconds: float) -> None:
    """See what a running unit does to itself."""
    if not state.runs:
        return
    if not state.holds_refrigerant():
        vacuum = state.circuit.inside is Inside.VACUUM
        state.happen(Kind.RAN_IN_VACUUM if vacuum else Kind.RAN_WITH_NITROGEN)
        _stop(state)
        return
    if state.aim is None:
        state.tripping_s += seconds
        if state.tripping_s >= TRIPS_AFTER_S:
            _trip(state)
        return
    state.tripping_s = 0.0
    worse = state.charge_kg > 1.002 * state.scenario.start_kg
    state.flooded_s = state.flooded_s + seconds if worse and state.aim.quality < FLOOD_QUALITY else 0.0
    if state.flooded_s > FLOOD_S:
        liquid = (1.0 - state.aim.quality) * state.aim.flow_kg_per_s
        state.happen(Kind.LIQUID_TO_COMPRESSOR, liquid, "low", once=True)
    state.iced_s = state.iced_s + seconds if state.aim.evaporating_K < ICE_K else 0.0
    if state.iced_s > ICE_S:
        state.happen(Kind.ICED, once=True)
    if state.lagged["discharge_K"].value > TOO_HOT_K:
        state.happen(Kind.TOO_HOT, state.lagged["discharge_K"].value, once=True)


def _trip(state: UnitState) -> None:
    if state.why_high:
        state.happen(Kind.HIGH_PRESSURE_TRIP, state.lagged["liquid_Pa"].value, "high")
    else:
        state.happen(Kind.LOW_PRESSURE_TRIP, state.lagged["suction_Pa"].value, "low")
    _stop(state)


def _stop(state: UnitState) -> None:
    state.runs, state.tripping_s = False, 0.0
    state.changed_s = state.now_s
    state.retarget()
