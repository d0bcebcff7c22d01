"""Acts at the three hoses: joined, parted, purged, opened and shut at both ends, let go into the air. SI.

How much is lost in one breath, by a hiss or with a hose are the figures of `guide.rig.hoses`.
"""

from __future__ import annotations

from typing import Final

from guide.rig.acts import Handling
from guide.rig.at_hand import (
    RELEASE_S,
    CannotBeDone,
    PRESSES_Pa,
    amount_of,
    blown_kg,
    density,
    pressing_Pa,
    side_of,
)
from guide.rig.circuit import Inside
from guide.rig.fluid import air_kg, air_Pa, passes_kg_per_s
from guide.rig.happenings import Kind
from guide.rig.hookup import CENTRE, MACHINE, NITROGEN, PUMP, SIDES, HOSE_m3
from guide.rig.hoses import (
    BREATH_VOLUMES,
    LEFT_AFTER_PURGE,
    FITTING_kg,
    HAND_m2,
    PORT_m2,
    fill_with_air,
)
from guide.rig.moving import TOLD_FROM_kg
from guide.rig.unit_state import AIR, CIRCUIT, UnitState

CORE_HISS_S: Final = 200.0
"""A hose that goes on or off a leaking core costs what the core loses in this time by itself (PROPOSED)."""


def join(state: UnitState, handling: Handling) -> None:
    """Join a hose to a port, the charging hose to a cylinder or machine, or the pump."""
    if handling.at in SIDES:
        line = state.set.lines[handling.at]
        if not line.joined:
            _core_hisses(state, handling.at)
        line.joined, line.shutoff_open = handling.at, line.shutoff_open and bool(line.joined)
        return
    if handling.at == PUMP:
        state.pump_joined = True
        return
    if handling.at not in {MACHINE, NITROGEN} and handling.at not in state.contents:
        raise CannotBeDone(f"there is no {handling.at[:40]!r} to join a hose to")
    centre = state.set.lines[CENTRE]
    if centre.joined == handling.at:
        return
    if centre.joined:
        _part_centre(state)
    centre.joined = handling.at


def part(state: UnitState, handling: Handling) -> None:
    """Take a hose off."""
    if handling.at == PUMP:
        state.pump_joined = state.pump_runs = False
        return
    if handling.at == CENTRE:
        if state.set.lines[CENTRE].joined:
            _part_centre(state)
        else:
            state.pump_joined = state.pump_runs = False
        return
    side = side_of(handling)
    line = state.set.lines[side]
    if not line.joined:
        raise CannotBeDone(f"the {side}-side hose is on no port")
    if line.shutoff_open:
        # the port's core shuts behind the hose, but not before some of the charge has followed what was in it
        lost = state.carry(side, AIR, line.refrigerant_kg)
        if state.holds_refrigerant():
            pressure = state.side_Pa(side, state.now_s)
            liquid = side == "high" and state.has_liquid()
            weight = density(state, pressure, liquid=liquid)
            over_Pa = pressure - state.scenario.site_pressure_Pa
            lost += state.carry(CIRCUIT, AIR, RELEASE_S * passes_kg_per_s(PORT_m2, weight, over_Pa))
        if pressing_Pa(state) > state.scenario.site_pressure_Pa + PRESSES_Pa:
            state.happen(Kind.PARTED_UNDER_PRESSURE, lost, side)
        elif lost > 0.0:
            state.happen(Kind.REFRIGERANT_LOST, lost, side)
        fill_with_air(line, state.scenario.site_pressure_Pa, state.outdoor_K)
        state.changed_s = state.now_s
    else:
        state.carry(side, AIR, FITTING_kg)
    line.joined, line.shutoff_open = "", False
    _core_hisses(state, side)


def _core_hisses(state: UnitState, side: str) -> None:
    """A leaking core blows while its hose is screwed on or off."""
    rate = state.troubles.cores_kg_per_s.get(side, 0.0)
    if rate > 0.0 and state.holds_refrigerant():
        state.lose(CIRCUIT, CORE_HISS_S * rate, side)


def _part_centre(state: UnitState) -> None:
    """The charging hose comes off: what it holds, and what is open to it, blows out."""
    centre = state.set.lines[CENTRE]
    cylinder = state.contents.get(centre.joined)
    lost = 0.0
    for name in state.set.middle():
        lost += state.carry(name, AIR, state.set.lines[name].refrigerant_kg)
        fill_with_air(state.set.lines[name], state.scenario.site_pressure_Pa, state.outdoor_K)
    open_sides = [side for side in SIDES if state.set.reaches(side)]
    open_cylinder = cylinder is not None and cylinder.opening > 0.0
    if open_cylinder:
        assert cylinder is not None
        over_Pa = cylinder.pressure_Pa - state.scenario.site_pressure_Pa
        rate = passes_kg_per_s(HAND_m2 * cylinder.opening, cylinder.outlet_kg_per_m3, over_Pa)
        lost += state.carry(cylinder.stock.id, AIR, RELEASE_S * rate)
        cylinder.opening = 0.0
    if state.holds_refrigerant():
        for side in open_sides:
            lost += state.carry(CIRCUIT, AIR, blown_kg(state, side))
    if (open_cylinder or open_sides) and lost > TOLD_FROM_kg:
        state.happen(Kind.PARTED_UNDER_PRESSURE, lost, CENTRE)
    elif lost > TOLD_FROM_kg:
        state.happen(Kind.REFRIGERANT_LOST, lost, CENTRE)
    centre.joined = ""


def purge(state: UnitState, handling: Handling) -> None:
    """Blow a hose free with a breath of what presses behind it."""
    name = handling.at or CENTRE
    if name == CENTRE:
        _purge_centre(state)
        return
    side = side_of(handling)
    line = state.set.lines[side]
    if not line.joined:
        raise CannotBeDone(f"the {side}-side hose is on no port: nothing presses in it")
    pressure = state.side_Pa(side, state.now_s)
    if not state.holds_refrigerant() or pressure <= state.scenario.site_pressure_Pa + PRESSES_Pa:
        raise CannotBeDone(f"nothing presses at the {side}-side port that could blow the hose free")
    if state.runs and side == "high" and state.has_liquid():
        blown = HOSE_m3 * state.fluid.liquid_kg_per_m3(state.outdoor_K)
    else:
        blown = BREATH_VOLUMES * HOSE_m3 * density(state, pressure, liquid=False)
    state.carry(side, AIR, line.refrigerant_kg)
    state.lose(CIRCUIT, blown, side)
    line.air_kg *= LEFT_AFTER_PURGE
    state.carry(CIRCUIT, side, state.fluid.vapour_mass_kg(HOSE_m3, state.outdoor_K, pressure))
    state.changed_s = state.now_s


def _purge_centre(state: UnitState) -> None:
    line = state.set.lines[CENTRE]
    if line.joined == NITROGEN:
        line.air_kg *= LEFT_AFTER_PURGE
        return
    cylinder = state.contents.get(line.joined)
    if cylinder is None:
        raise CannotBeDone("the charging hose is on no cylinder: nothing presses in it")
    if cylinder.pressure_Pa <= state.scenario.site_pressure_Pa + PRESSES_Pa:
        raise CannotBeDone(f"nothing presses in cylinder {line.joined} that could blow the hose free")
    volumes = 1.0 if cylinder.gives_liquid else BREATH_VOLUMES
    blown = volumes * HOSE_m3 * cylinder.outlet_kg_per_m3
    state.carry(CENTRE, AIR, line.refrigerant_kg)
    state.lose(line.joined, blown, CENTRE)
    line.air_kg *= LEFT_AFTER_PURGE
    state.carry(
        line.joined, CENTRE, state.fluid.vapour_mass_kg(HOSE_m3, state.outdoor_K, cylinder.pressure_Pa)
    )


def open_shutoff(state: UnitState, handling: Handling) -> None:
    """Open the shut-off at a port."""
    side = side_of(handling)
    line = state.set.lines[side]
    if not line.joined:
        raise CannotBeDone(f"the {side}-side hose is on no port: join it first")
    if line.shutoff_open:
        return
    line.shutoff_open = True
    joined = (side,) if state.set.hand[side] <= 0.0 else (side, CENTRE)
    air = sum(state.set.lines[name].air_kg for name in joined)
    if state.holds_refrigerant():
        for name in joined:
            state.set.lines[name].air_kg = 0.0
        state.let_air_in(air, side)
    elif state.circuit.inside is Inside.VACUUM:
        lift_Pa = air_Pa(air, state.plant.circuit_m3, state.outdoor_K)
        state.circuit.let_in(lift_Pa)
    state.changed_s = state.now_s


def close_shutoff(state: UnitState, handling: Handling) -> None:
    """Close the shut-off at a port."""
    state.set.lines[side_of(handling)].shutoff_open = False


def open_hand_valve(state: UnitState, handling: Handling) -> None:
    """Open a hand valve of the gauge set."""
    side = side_of(handling)
    state.set.hand[side] = amount_of(handling)
    if not state.set.reaches(side):
        return
    if state.circuit.inside is Inside.VACUUM:
        air = sum(state.set.lines[name].air_kg for name in state.set.middle())
        state.circuit.let_in(air_Pa(air, state.plant.circuit_m3, state.outdoor_K))
        for name in state.set.middle():
            state.set.lines[name].air_kg = 0.0


def close_hand_valve(state: UnitState, handling: Handling) -> None:
    """Close a hand valve of the gauge set."""
    state.set.hand[side_of(handling)] = 0.0


def release(state: UnitState, handling: Handling) -> None:
    """Let what presses in the circuit into the open air."""
    side = side_of(handling)
    if not state.set.live(side):
        raise CannotBeDone(f"the {side}-side hose is not open to the circuit: nothing comes out")
    site_Pa = state.scenario.site_pressure_Pa
    if state.circuit.inside is Inside.NITROGEN:
        state.circuit.open_to_air()
    elif state.circuit.inside is Inside.VACUUM:
        gap_Pa = site_Pa - state.circuit.pressure_Pa
        state.let_air_in(air_kg(gap_Pa, state.plant.circuit_m3, state.outdoor_K), side)
        state.circuit.open_to_air()
    else:
        state.lose(CIRCUIT, blown_kg(state, side), side)
    state.changed_s = state.now_s
