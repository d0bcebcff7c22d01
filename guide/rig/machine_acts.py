"""Acts at gauges, cylinders and machines: zero, scale, valves, pump, recovery machine, nitrogen. SI."""

from __future__ import annotations

from typing import Final

from guide.rig.acts import Act, Handling
from guide.rig.at_hand import CannotBeDone, amount_of
from guide.rig.hookup import CENTRE, MACHINE, SIDES
from guide.rig.unit_state import UnitState

NITROGEN_CYLINDER_Pa: Final = 200e5
"""What a full nitrogen cylinder holds, and so the most a regulator could give (MEMORY: 150 to 200 bar)."""


def zero(state: UnitState, _: Handling) -> None:
    """A gauge that is zeroed under pressure is off by that pressure from then on."""
    for side in SIDES:
        state.set.zero_Pa[side] = state.scenario.site_pressure_Pa - state.hose_Pa(side, state.now_s)
        if abs(state.set.zero_Pa[side]) < 1e-6:
            state.set.zero_Pa[side] = 0.0


def stand(state: UnitState, handling: Handling) -> None:
    """Put a cylinder on the scale."""
    if handling.at not in state.contents:
        raise CannotBeDone(f"there is no cylinder {handling.at[:40]!r} here")
    state.on_scale = handling.at


def open_cylinder(state: UnitState, handling: Handling) -> None:
    """Open the valve of the cylinder on the scale."""
    if not state.on_scale:
        raise CannotBeDone("no cylinder stands on the scale: put one there first")
    state.contents[state.on_scale].opening = amount_of(handling)


def close_cylinder(state: UnitState, _: Handling) -> None:
    """Close the valve of every cylinder."""
    for each in state.contents.values():
        each.opening = 0.0


def turn(state: UnitState, handling: Handling) -> None:
    """Turn the cylinder for liquid or for vapour."""
    if not state.on_scale:
        raise CannotBeDone("no cylinder stands on the scale: put one there first")
    state.contents[state.on_scale].for_liquid = handling.act is Act.TURN_FOR_LIQUID


def start_pump(state: UnitState, _: Handling) -> None:
    """Start the vacuum pump."""
    if not state.pump_joined:
        raise CannotBeDone("the vacuum pump is joined to nothing: join it first")
    state.pump_runs = True


def stop_pump(state: UnitState, _: Handling) -> None:
    """Stop the vacuum pump; its valve shuts."""
    state.pump_runs = False


def start_machine(state: UnitState, _: Handling) -> None:
    """Start the recovery machine."""
    if state.set.lines[CENTRE].joined != MACHINE:
        raise CannotBeDone("the recovery machine is joined to nothing: join the charging hose to it first")
    state.machine_runs = True


def stop_machine(state: UnitState, _: Handling) -> None:
    """Stop the recovery machine."""
    state.machine_runs = False


def set_regulator(state: UnitState, handling: Handling) -> None:
    """Set the nitrogen regulator; its relief bounds it."""
    wanted_Pa = handling.amount or 0.0
    if not wanted_Pa <= NITROGEN_CYLINDER_Pa:
        raise CannotBeDone(f"a regulator can't give {wanted_Pa / 1e5:.4g} bar: its cylinder holds 200")
    relief = state.scenario.relief_Pa
    state.regulator_Pa = wanted_Pa if relief is None else min(wanted_Pa, relief)
    if state.regulator_Pa <= state.scenario.site_pressure_Pa:
        state.regulator_Pa = 0.0
