"""Views of a unit's state: what anybody sees of its connections, and which of its faults are over."""

from __future__ import annotations

from guide.rig.faults import Fault
from guide.rig.hookup import CENTRE, Hookup
from guide.rig.unit_state import DRY_Pa, UnitState


def hookup(state: UnitState) -> Hookup:
    """The frozen view."""
    seen = {name: line.seen(state.fluid, state.outdoor_K) for name, line in state.set.lines.items()}
    standing = state.contents.get(state.on_scale)
    return Hookup(
        low=seen["low"], high=seen["high"], centre=seen[CENTRE], low_hand=state.set.hand["low"],
        high_hand=state.set.hand["high"], on_scale=state.on_scale,
        cylinder_open=standing.opening if standing else 0.0,
        for_liquid=standing.for_liquid if standing else False, pump_joined=state.pump_joined,
        pump_runs=state.pump_runs, machine_runs=state.machine_runs, regulator_Pa=state.regulator_Pa,
        runs=state.runs, locked=state.locked, opened=state.opened, clamped=frozenset(state.clamped),
        set_for=state.set_for,
    )  # fmt: skip


def gone(state: UnitState) -> frozenset[str]:  # noqa: PLR0912 - one branch a fault
    """Names of the faults that were cleaned, seated anew or mended."""
    now, names = state.troubles, []
    for graded in state.scenario.faults:
        match graded.fault:
            case Fault.LOW_INDOOR_AIRFLOW:
                over = now.indoor_air == 1.0
            case Fault.DIRTY_CONDENSER:
                over = now.fouling == 1.0
            case Fault.RESTRICTION:
                over = now.restriction_Pa == 0.0
            case Fault.STUCK_VALVE:
                over = now.valve_stuck is None
            case Fault.NON_CONDENSABLES:
                over = state.air_kg < 0.1 * state.start_air_kg
            case Fault.LEAK:
                over = not state.circuit.leaks
            case Fault.LEAKING_CORE:
                over = not now.cores_kg_per_s
            case Fault.PROBE_OFF:
                over = not now.probes
            case Fault.GAUGE_OFF:
                over = not any(state.set.zero_Pa.values())
            case Fault.WET:
                over = state.circuit.wet_Pa < DRY_Pa
            case Fault.LIQUID_HOSE:
                over = not state.set.lines[CENTRE].holds_liquid(state.fluid, state.outdoor_K)
            case Fault.WRONG_SETTING:
                over = state.set_for == state.scenario.designation
            case _:
                over = False
        if over:
            names.append(graded.fault.value)
    return frozenset(names)
