"""What pump and nitrogen do to a circuit as soon as they are open to it, and when they no longer are. SI."""

from __future__ import annotations

from guide.rig import feeding
from guide.rig.at_hand import PRESSES_Pa
from guide.rig.circuit import Inside
from guide.rig.drawing_out import tell_pumped
from guide.rig.fluid import air_kg
from guide.rig.happenings import Kind
from guide.rig.hookup import CENTRE, NITROGEN, SIDES, HOSE_m3
from guide.rig.moving import tell_blown
from guide.rig.unit_state import CIRCUIT, UnitState


def connect(state: UnitState) -> None:
    """Let pump and nitrogen act on the circuit that they are open to, or no longer are."""
    reaches = any(state.set.reaches(side) for side in SIDES) and not state.opened
    nitrogen = (
        state.set.lines[CENTRE].joined == NITROGEN and state.regulator_Pa > state.scenario.site_pressure_Pa
    )
    if nitrogen:
        for name in state.set.middle():
            state.set.lines[name].air_kg = air_kg(state.regulator_Pa, HOSE_m3, state.outdoor_K)
        if reaches:
            _nitrogen_opened(state)
    pumps = state.pump_joined and state.pump_runs and reaches
    if pumps:
        _pump_opened(state, nitrogen=nitrogen)
    elif state.pump_path and not state.holds_refrigerant():
        state.circuit.shut_off()
    state.pump_path = pumps
    if not pumps:
        tell_pumped(state)
    if not feeding.flows(state):
        tell_blown(state)


def _pump_opened(state: UnitState, *, nitrogen: bool) -> None:
    pressure = state.rest_Pa(state.now_s) if state.holds_refrigerant() else state.circuit.pressure_Pa
    if not state.pump_path and pressure > state.scenario.site_pressure_Pa + PRESSES_Pa:
        state.happen(Kind.PUMP_AGAINST_PRESSURE, pressure)
    if not state.holds_refrigerant() and not nitrogen:
        state.circuit.pump_on()


def _nitrogen_opened(state: UnitState) -> None:
    limit = state.scenario.low_side_design_Pa
    if state.holds_refrigerant():
        now_Pa = state.rest_Pa(state.now_s)
        if state.charge_kg > _vapour_at_site_kg(state):
            if state.regulator_Pa > now_Pa:
                gas = air_kg(state.regulator_Pa - now_Pa, state.plant.circuit_m3, state.outdoor_K)
                state.let_air_in(gas, NITROGEN)
            return
        state.lose(CIRCUIT, state.charge_kg)  # it goes out with the nitrogen
    if state.regulator_Pa > state.circuit.pressure_Pa or state.circuit.inside is not Inside.NITROGEN:
        state.circuit.fill_with_nitrogen(max(state.regulator_Pa, state.circuit.pressure_Pa))
        state.air_kg = 0.0
    if limit is not None and state.circuit.pressure_Pa > 1.001 * limit:
        state.happen(Kind.OVER_DESIGN_PRESSURE, state.circuit.pressure_Pa, "low", once=True)


def _vapour_at_site_kg(state: UnitState) -> float:
    """What little refrigerant is left when it presses no more than the air does."""
    site_Pa = state.scenario.site_pressure_Pa + PRESSES_Pa
    return state.fluid.vapour_mass_kg(state.plant.circuit_m3, state.outdoor_K, site_Pa)
