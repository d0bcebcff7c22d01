"""What each act of a pair of hands does at a unit, and what happens because of it.

The figures of how much is lost in one breath, by a hiss or with a hose are `guide.rig.hoses`' own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from guide.errors import ChargewrightError
from guide.rig import feeding
from guide.rig.acts import Act, Handling
from guide.rig.circuit import Inside
from guide.rig.fluid import air_kg, air_Pa, passes_kg_per_s
from guide.rig.happenings import Kind
from guide.rig.hookup import CENTRE, MACHINE, NITROGEN, PUMP, SENSORS, SIDES, HOSE_m3
from guide.rig.hoses import (
    BREATH_VOLUMES,
    LEFT_AFTER_PURGE,
    FITTING_kg,
    HAND_m2,
    PORT_m2,
    fill_with_air,
)
from guide.rig.unit_state import AIR, CIRCUIT, UnitState

PRESSES_Pa: Final = 20_000.0
"""How far above the air something has to press before it is felt: about 3 psi (PROPOSED)."""
RELEASE_S: Final = 5.0
"""How long refrigerant blows before a person shuts the valve again (PROPOSED)."""
CLEANABLE: Final = ("filter", "outdoor coil")
DRIED_BY_A_DRIER: Final = 0.5


class CannotBeDone(ChargewrightError):
    """An act that hands can't do as things stand: why, and what would come first."""


def act(state: UnitState, handling: Handling) -> None:
    """Do one act; what happens is noted in the state.

    Raises:
        CannotBeDone: it can't be done as things stand; nothing has changed.
    """
    _ACTS[handling.act](state, handling)
    connect(state)


def connect(state: UnitState) -> None:
    """Let pump and nitrogen act on the circuit that they are open to, or no longer are."""
    reaches = any(state.set.reaches(side) for side in SIDES)
    path = state.pump_joined and state.pump_runs and reaches and not state.opened
    if path and not state.pump_path:
        _pump_opened(state)
    elif not path and state.pump_path and not state.holds_refrigerant():
        state.circuit.shut_off()
    state.pump_path = path
    if not path:
        feeding.tell_pumped(state)
    site_Pa = state.scenario.site_pressure_Pa
    if state.set.lines[CENTRE].joined == NITROGEN and state.regulator_Pa > site_Pa:
        for name in state.set.middle():
            line = state.set.lines[name]
            line.air_kg = air_kg(state.regulator_Pa, HOSE_m3, state.outdoor_K)
        if reaches and not state.opened:
            _nitrogen_opened(state)


def _pump_opened(state: UnitState) -> None:
    if state.holds_refrigerant():
        pressure = state.rest_Pa(state.now_s)
        if pressure > state.scenario.site_pressure_Pa + PRESSES_Pa:
            state.happen(Kind.PUMP_AGAINST_PRESSURE, pressure)
    else:
        if state.circuit.pressure_Pa > state.scenario.site_pressure_Pa + PRESSES_Pa:
            state.happen(Kind.PUMP_AGAINST_PRESSURE, state.circuit.pressure_Pa)
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
    if state.regulator_Pa > state.circuit.pressure_Pa or not _is_nitrogen(state):
        state.circuit.fill_with_nitrogen(max(state.regulator_Pa, state.circuit.pressure_Pa))
        state.air_kg = 0.0
    if limit is not None and state.circuit.pressure_Pa > 1.001 * limit:
        state.happen(Kind.OVER_DESIGN_PRESSURE, state.circuit.pressure_Pa, "low")


def _vapour_at_site_kg(state: UnitState) -> float:
    """What little refrigerant is left when it presses no more than the air does."""
    site_Pa = state.scenario.site_pressure_Pa + PRESSES_Pa
    return state.fluid.vapour_mass_kg(state.plant.circuit_m3, state.outdoor_K, site_Pa)


def _is_nitrogen(state: UnitState) -> bool:
    return state.circuit.inside is Inside.NITROGEN


def _pressure_Pa(state: UnitState) -> float:
    """What presses in the circuit most."""
    return max(state.side_Pa(side, state.now_s) for side in SIDES)


# -- the unit -----------------------------------------------------------------------------------


def _switch_on(state: UnitState, _: Handling) -> None:
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
    state.runs = True
    state.changed_s = state.now_s
    state.flooded_s = state.iced_s = state.tripping_s = 0.0
    state.said -= {Kind.ICED, Kind.TOO_HOT}


def _switch_off(state: UnitState, _: Handling) -> None:
    if state.runs:
        state.runs = False
        state.changed_s = state.now_s


def _lock(state: UnitState, handling: Handling) -> None:
    _switch_off(state, handling)
    state.locked = True


def _unlock(state: UnitState, _: Handling) -> None:
    state.locked = False


def _open_circuit(state: UnitState, _: Handling) -> None:
    if not state.locked:
        state.happen(Kind.WORKED_LIVE)
    _open_to_air(state)
    state.opened = True


def _open_to_air(state: UnitState) -> None:
    pressure, site_Pa = _pressure_Pa(state), state.scenario.site_pressure_Pa
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


def _mend(state: UnitState, _: Handling) -> None:
    if not state.locked:
        state.happen(Kind.WORKED_LIVE)
    if not state.opened:
        _open_to_air(state)
    state.opened = False
    state.circuit.mend()
    state.mended(leak_kg_per_s=0.0, cores_kg_per_s={}, restriction_Pa=0.0, valve_stuck=None)
    state.found.clear()


def _clean(state: UnitState, handling: Handling) -> None:
    if handling.at not in CLEANABLE:
        raise CannotBeDone(f"nothing here is called {handling.at[:40]!r}; there is {' and '.join(CLEANABLE)}")
    if state.runs:
        state.happen(Kind.WORKED_LIVE)
    state.cleaned.add(handling.at)
    state.mended(**({"indoor_air": 1.0} if handling.at == "filter" else {"fouling": 1.0}))


def _look_for_leaks(state: UnitState, _: Handling) -> None:
    presses = _pressure_Pa(state) > state.scenario.site_pressure_Pa + PRESSES_Pa
    state.found.clear()
    if presses and (state.troubles.leak_kg_per_s > 0.0 or state.circuit.leaks):
        state.found.append("a leak at a joint of the circuit")
    for side, rate in state.troubles.cores_kg_per_s.items():
        if presses and rate > 0.0:
            state.found.append(f"a leak at the core of the {side}-side port")


def _clamp(state: UnitState, handling: Handling) -> None:
    if handling.at not in SENSORS:
        raise CannotBeDone(f"no sensor is called {handling.at[:40]!r}; there are {', '.join(SENSORS)}")
    again = handling.at in state.clamped
    state.clamped.add(handling.at)
    if again and handling.at in state.troubles.probes:
        # whoever clamps a sensor anew does it with care
        rest = {name: share for name, share in state.troubles.probes.items() if name != handling.at}
        state.mended(probes=rest)


# -- hoses --------------------------------------------------------------------------------------


def _join(state: UnitState, handling: Handling) -> None:
    if handling.at in SIDES:
        line = state.set.lines[handling.at]
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


def _part(state: UnitState, handling: Handling) -> None:
    if handling.at == PUMP:
        state.pump_joined = state.pump_runs = False
        return
    if handling.at == CENTRE:
        if state.set.lines[CENTRE].joined:
            _part_centre(state)
        else:
            state.pump_joined = state.pump_runs = False
        return
    side = _side(handling)
    line = state.set.lines[side]
    if not line.joined:
        raise CannotBeDone(f"the {side}-side hose is on no port")
    if line.shutoff_open:
        # the port's core shuts behind the hose, but not before some of the charge has followed what was in it
        lost = state.carry(side, AIR, line.refrigerant_kg)
        if state.holds_refrigerant():
            pressure = state.side_Pa(side, state.now_s)
            liquid = side == "high" and state.has_liquid()
            density = _density(state, pressure, liquid=liquid)
            over_Pa = pressure - state.scenario.site_pressure_Pa
            lost += state.carry(CIRCUIT, AIR, RELEASE_S * passes_kg_per_s(PORT_m2, density, over_Pa))
        if _pressure_Pa(state) > state.scenario.site_pressure_Pa + PRESSES_Pa:
            state.happen(Kind.PARTED_UNDER_PRESSURE, lost, side)
        elif lost > 0.0:
            state.happen(Kind.REFRIGERANT_LOST, lost, side)
        fill_with_air(line, state.scenario.site_pressure_Pa, state.outdoor_K)
        state.changed_s = state.now_s
    else:
        state.carry(side, AIR, FITTING_kg)
    line.joined, line.shutoff_open = "", False


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
            lost += state.carry(CIRCUIT, AIR, _blown_kg(state, side))
    if (open_cylinder or open_sides) and lost > feeding.TOLD_FROM_kg:
        state.happen(Kind.PARTED_UNDER_PRESSURE, lost, CENTRE)
    elif lost > feeding.TOLD_FROM_kg:
        state.happen(Kind.REFRIGERANT_LOST, lost, CENTRE)
    centre.joined = ""


def _purge(state: UnitState, handling: Handling) -> None:
    name = handling.at or CENTRE
    if name == CENTRE:
        _purge_centre(state)
        return
    side = _side(handling)
    line = state.set.lines[side]
    if not line.joined:
        raise CannotBeDone(f"the {side}-side hose is on no port: nothing presses in it")
    pressure = state.side_Pa(side, state.now_s)
    if not state.holds_refrigerant() or pressure <= state.scenario.site_pressure_Pa + PRESSES_Pa:
        raise CannotBeDone(f"nothing presses at the {side}-side port that could blow the hose free")
    if state.runs and side == "high" and state.has_liquid():
        blown = HOSE_m3 * state.fluid.liquid_kg_per_m3(state.outdoor_K)
    else:
        blown = BREATH_VOLUMES * HOSE_m3 * _density(state, pressure, liquid=False)
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


def _open_shutoff(state: UnitState, handling: Handling) -> None:
    side = _side(handling)
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


def _close_shutoff(state: UnitState, handling: Handling) -> None:
    state.set.lines[_side(handling)].shutoff_open = False


def _open_hand_valve(state: UnitState, handling: Handling) -> None:
    side = _side(handling)
    state.set.hand[side] = _amount(handling)
    if not state.set.reaches(side):
        return
    if state.circuit.inside is Inside.VACUUM:
        air = sum(state.set.lines[name].air_kg for name in state.set.middle())
        state.circuit.let_in(air_Pa(air, state.plant.circuit_m3, state.outdoor_K))
        for name in state.set.middle():
            state.set.lines[name].air_kg = 0.0


def _close_hand_valve(state: UnitState, handling: Handling) -> None:
    state.set.hand[_side(handling)] = 0.0


def _release(state: UnitState, handling: Handling) -> None:
    side = _side(handling)
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
        state.lose(CIRCUIT, _blown_kg(state, side), side)
    state.changed_s = state.now_s


def _blown_kg(state: UnitState, side: str) -> float:
    """What blows out of the circuit at a hand valve before it is shut again."""
    pressure = state.side_Pa(side, state.now_s)
    density = _density(state, pressure, liquid=side == "high" and state.has_liquid())
    area = max(state.set.hand[side], 0.3) * HAND_m2
    return RELEASE_S * passes_kg_per_s(area, density, pressure - state.scenario.site_pressure_Pa)


def _zero(state: UnitState, _: Handling) -> None:
    """A gauge that is zeroed under pressure is off by that pressure from then on."""
    for side in SIDES:
        state.set.zero_Pa[side] = state.scenario.site_pressure_Pa - state.hose_Pa(side, state.now_s)
        if abs(state.set.zero_Pa[side]) < 1e-6:
            state.set.zero_Pa[side] = 0.0


# -- cylinders and machines ---------------------------------------------------------------------


def _stand(state: UnitState, handling: Handling) -> None:
    if handling.at not in state.contents:
        raise CannotBeDone(f"there is no cylinder {handling.at[:40]!r} here")
    state.on_scale = handling.at


def _open_cylinder(state: UnitState, handling: Handling) -> None:
    if not state.on_scale:
        raise CannotBeDone("no cylinder stands on the scale: put one there first")
    state.contents[state.on_scale].opening = _amount(handling)


def _close_cylinder(state: UnitState, _: Handling) -> None:
    for each in state.contents.values():
        each.opening = 0.0


def _turn(state: UnitState, handling: Handling) -> None:
    if not state.on_scale:
        raise CannotBeDone("no cylinder stands on the scale: put one there first")
    state.contents[state.on_scale].for_liquid = handling.act is Act.TURN_FOR_LIQUID


def _start_pump(state: UnitState, _: Handling) -> None:
    if not state.pump_joined:
        raise CannotBeDone("the vacuum pump is joined to nothing: join it first")
    state.pump_runs = True


def _stop_pump(state: UnitState, _: Handling) -> None:
    state.pump_runs = False


def _start_machine(state: UnitState, _: Handling) -> None:
    if state.set.lines[CENTRE].joined != MACHINE:
        raise CannotBeDone("the recovery machine is joined to nothing: join the charging hose to it first")
    state.machine_runs = True


def _stop_machine(state: UnitState, _: Handling) -> None:
    state.machine_runs = False


def _set_regulator(state: UnitState, handling: Handling) -> None:
    wanted_Pa = handling.amount or 0.0
    relief = state.scenario.relief_Pa
    state.regulator_Pa = wanted_Pa if relief is None else min(wanted_Pa, relief)
    if state.regulator_Pa <= state.scenario.site_pressure_Pa:
        state.regulator_Pa = 0.0


def _side(handling: Handling) -> str:
    if handling.at not in SIDES:
        raise CannotBeDone(f"{handling.act.value}: on which side? low or high, not {handling.at[:40]!r}")
    return handling.at


def _amount(handling: Handling) -> float:
    amount = 1.0 if handling.amount is None else handling.amount
    if not 0.0 <= amount <= 1.0:
        raise CannotBeDone(f"{handling.act.value}: how far goes from 0 to 1, not {amount:g}")
    return amount


def _density(state: UnitState, pressure_Pa: float, *, liquid: bool) -> float:
    if liquid:
        return state.fluid.liquid_kg_per_m3(state.outdoor_K)
    return state.fluid.vapour_mass_kg(1.0, state.outdoor_K, pressure_Pa)


_ACTS: Final[Mapping[Act, Callable[[UnitState, Handling], None]]] = {
    Act.SWITCH_ON: _switch_on,
    Act.SWITCH_OFF: _switch_off,
    Act.LOCK: _lock,
    Act.UNLOCK: _unlock,
    Act.ZERO: _zero,
    Act.JOIN: _join,
    Act.PART: _part,
    Act.PURGE: _purge,
    Act.OPEN_SHUTOFF: _open_shutoff,
    Act.CLOSE_SHUTOFF: _close_shutoff,
    Act.OPEN_HAND_VALVE: _open_hand_valve,
    Act.CLOSE_HAND_VALVE: _close_hand_valve,
    Act.OPEN_CYLINDER: _open_cylinder,
    Act.CLOSE_CYLINDER: _close_cylinder,
    Act.TURN_FOR_LIQUID: _turn,
    Act.TURN_FOR_VAPOUR: _turn,
    Act.STAND: _stand,
    Act.START_PUMP: _start_pump,
    Act.STOP_PUMP: _stop_pump,
    Act.START_MACHINE: _start_machine,
    Act.STOP_MACHINE: _stop_machine,
    Act.SET_REGULATOR: _set_regulator,
    Act.RELEASE: _release,
    Act.OPEN_CIRCUIT: _open_circuit,
    Act.MEND: _mend,
    Act.CLAMP: _clamp,
    Act.CLEAN: _clean,
    Act.SMELL_OUT: _look_for_leaks,
}
