"""What eyes and hands find at a simulated unit, its ports and hoses, where it is not as it should be.

How each fault looks is PROPOSED.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from guide.charging.round import Metering
from guide.rig.acts import Act, Handling
from guide.rig.faults import Fault
from guide.rig.hookup import CENTRE, MACHINE, NITROGEN, PUMP, SIDES, Hookup
from guide.rig.look import SEEN_FROM, Look, Sight
from guide.rig.spoken import SENSOR_NAMES


def _metering(look: Look) -> Sight:
    words = {
        Metering.FIXED_ORIFICE: "A piston sits in the fitting at the coil, and no bulb on the suction line.",
        Metering.THERMOSTATIC_VALVE: "A valve with a sensing bulb on the suction line feeds the coil.",
        Metering.ELECTRONIC_VALVE: "A valve with a coil and a cable on its head feeds the coil.",
    }
    return look.accepts(0, words[look.beginning.metering])


def _filter(look: Look) -> Sight:
    fault = Fault.LOW_INDOOR_AIRFLOW
    if look.mended(fault, "", "filter"):
        return look.accepts(1, "A new filter is in; the old one lies beside it, grey and thick with dust.")
    if look.grade(fault, "", "filter") >= SEEN_FROM:
        new = (Handling(Act.CLEAN, "filter"),)
        return look.accepts(1, "The filter is grey and thick with dust; a new one lies in the van.", new)
    return look.accepts(0)


def _registers(look: Look) -> Sight:
    if look.grade(Fault.LOW_INDOOR_AIRFLOW, "registers") >= SEEN_FROM:
        return look.refuses(0, "A wardrobe stands before the return grille; nobody may move it today.")
    return look.accepts(0)


def _outdoor_coil(look: Look) -> Sight:
    if look.mended(Fault.DIRTY_CONDENSER):
        return look.accepts(1, "The coil is rinsed and dry; light shows between its fins.")
    if look.grade(Fault.DIRTY_CONDENSER) >= SEEN_FROM:
        words = "The coil is matted all round with seed and dust; no light comes through."
        return look.accepts(1, words, (Handling(Act.CLEAN, "outdoor coil"),))
    return look.accepts(0)


def _bulb(look: Look) -> Sight:
    if look.beginning.metering is Metering.THERMOSTATIC_VALVE and look.grade(Fault.STUCK_VALVE) >= SEEN_FROM:
        return look.accepts(0, "The bulb sits tight on clean pipe; nothing is to be seen inside the valve.")
    return look.accepts(0)


# -- hoses -----------------------------------------------------------------------------------------


def _hose_set(look: Look) -> Sight:
    hookup = look.hookup
    empty = hookup is not None and all(hookup.hose(side).air_kg < 1e-7 for side in (*SIDES, CENTRE))
    if empty:
        return look.accepts(0, "Each hose has a shut-off at its end, and the set still holds its vacuum.")
    return look.accepts(1)


def _pump(look: Look) -> Sight:
    if look.state.order.instrument_for("hose_vacuum") is not None:
        return look.accepts(0)
    return look.accepts(1, "No vacuum gauge is on the order, and no pump came along.")


def _switched_off(look: Look) -> Sight:
    if look.hookup is not None and look.hookup.runs:
        return look.refuses(0, "Compressor and fans run.", (Handling(Act.SWITCH_OFF),))
    return look.accepts(0)


def _started(look: Look) -> Sight:
    if look.hookup is not None and not look.hookup.runs:
        return look.accepts(0, "Fans and compressor stand still.", (Handling(Act.SWITCH_ON),))
    return look.accepts(0)


def _turned(look: Look) -> Sight:
    if look.hookup is not None and look.hookup.on_scale and not look.hookup.for_liquid:
        return look.accepts(
            0, "The cylinder stands upright, its valve on top.", (Handling(Act.TURN_FOR_LIQUID),)
        )
    return look.accepts(0)


def _hoses_off(look: Look) -> Sight:
    on = [] if look.hookup is None else [side for side in SIDES if look.hookup.hose(side).joined]
    if on:
        which = " and ".join(f"{side}-side" for side in on)
        words = f"The {which} hose{' is' if len(on) == 1 else 's are'} still on."
        return look.accepts(0, words, tuple(Handling(Act.PART, side) for side in on))
    return look.accepts(0)


def _hoses_on(look: Look) -> Sight:
    hookup = look.hookup
    free = [] if hookup is None else [side for side in SIDES if not hookup.hose(side).joined]
    if free:
        which = " and ".join(f"{side}-side" for side in free)
        words = f"The caps were dry inside; the {which} hose{' hangs' if len(free) == 1 else 's hang'} free."
        return look.accepts(0, words, tuple(Handling(Act.JOIN, side) for side in free))
    return look.accepts(0)


def _hand_valves(look: Look) -> Sight:
    hookup = look.hookup
    open_ones = [] if hookup is None else [side for side in SIDES if hookup.hand(side) > 0]
    if open_ones:
        which = " and ".join(f"{side}-side" for side in open_ones)
        shut = tuple(Handling(Act.CLOSE_HAND_VALVE, side) for side in open_ones)
        return look.accepts(
            0, f"The {which} hand valve{' is' if len(open_ones) == 1 else 's are'} open.", shut
        )
    if len(look.proof.accept) > 1 and hookup is not None and not any(hookup.hose(s).joined for s in SIDES):
        return look.accepts(1, "No hose is on the unit.")
    return look.accepts(0)


def _shut_port(side: str) -> Callable[[Look], Sight]:
    def seen(look: Look) -> Sight:
        if look.hookup is not None and look.hookup.hose(side).shutoff_open:
            shut = (Handling(Act.CLOSE_SHUTOFF, side),)
            return look.accepts(0, "The shut-off at the hose end still stands open.", shut)
        return look.accepts(0)

    return seen


def _open_ports(look: Look) -> Sight:
    hookup = look.hookup
    shut = [] if hookup is None else [side for side in SIDES if not hookup.hose(side).shutoff_open]
    if shut:
        which = " and ".join(f"{side}-side" for side in shut)
        still = f"The {which} needle{'s stand' if len(shut) > 1 else ' stands'} still."
        return look.refuses(0, still, tuple(Handling(Act.OPEN_SHUTOFF, side) for side in shut))
    return look.accepts(0)


def _cylinder_shut(look: Look) -> Sight:
    hookup = look.hookup
    if hookup is None:
        return look.accepts(0)
    if hookup.cylinder_open > 0:
        return look.accepts(0, "The cylinder's valve stands open.", (Handling(Act.CLOSE_CYLINDER),))
    if look.proof.refuse and hookup.centre.liquid:
        drain = (Handling(Act.OPEN_HAND_VALVE, "low", 0.1),)
        return look.refuses(
            0, "The valve is shut, and the charging hose is heavy and cold with liquid.", drain
        )
    return look.accepts(0)


def _sensors(*channels: str) -> Callable[[Look], Sight]:
    """How sensors sit; one that lies beside its pipe is clamped anew."""

    def seen(look: Look) -> Sight:
        off = [
            f.where or channels[0]
            for f in look.present.faults
            if f.fault is Fault.PROBE_OFF and (f.where or "suction_line") in channels
        ]
        if off:
            anew = tuple(Handling(Act.CLAMP, channel) for channel in off)
            which = " and ".join(channel.replace("_", " ") for channel in off)
            return look.accepts(0, f"The sensor for {which} hangs loose beside its place.", anew)
        lying = [] if look.hookup is None else [each for each in channels if each not in look.hookup.clamped]
        if lying:
            which = " and ".join(SENSOR_NAMES[each] for each in lying)
            one = "lies" if len(lying) == 1 else "lie"
            put = tuple(Handling(Act.CLAMP, channel) for channel in lying)
            return look.accepts(0, f"The {which} {one} in the bag.", put)
        return look.accepts(0)

    return seen


def _core(look: Look) -> Sight:
    leaking = [f.where or "low" for f in look.present.faults if f.fault is Fault.LEAKING_CORE and f.grade > 0]
    if leaking:
        mend = tuple(Handling(Act.MEND, side) for side in leaking)
        return look.refuses(0, "Bubbles rise one after the other out of an open port.", mend)
    return look.accepts(0)


def _panels_left(look: Look) -> Sight:
    off = look.state.facts.get("panels") == "panels over live parts"
    refitted = any(
        step.do == "REFIT every panel." and step.id in look.state.answers
        for _, step in look.state.procedure.steps()
    )
    if off and not refitted:
        return look.accepts(1, "Panels lie beside the unit; your lock is on, and tape bars the way.")
    return look.accepts(0)


def _left_to_wait(look: Look) -> Sight:
    state = look.state
    if state.recovered_kg() > 0 and state.net_charged_kg() < 0:
        return look.accepts(0)
    return look.accepts(1, "The refrigerant is shut in the circuit.")


def _lock_left(look: Look) -> Sight:
    if look.hookup is not None and not look.hookup.locked and look.state.aborted:
        running = look.hookup.runs
        words = (
            "The unit runs, charged and shut."
            if running
            else "The circuit is charged and shut, the unit stopped."
        )
        return look.accepts(2 if running else 1, words)
    if look.hookup is not None and not look.hookup.locked:
        return look.refuses(0, "Your lock is off the disconnect.", (Handling(Act.LOCK),))
    return look.accepts(0)


# -- nitrogen and vacuum ---------------------------------------------------------------------------


def _nitrogen_on(look: Look) -> Sight:
    hookup = look.hookup
    if hookup is None:
        return look.accepts(0)
    if hookup.centre.joined != NITROGEN:
        return look.accepts(0, "The nitrogen's hose hangs free.", (Handling(Act.JOIN, NITROGEN),))
    cut_off = [side for side in SIDES if not hookup.reaches(side)]
    opened = tuple(_way_opened(side, hookup) for side in cut_off)
    if len(cut_off) == 1:
        return look.refuses(0, f"Nothing of the nitrogen gets to the {cut_off[0]} side.", opened)
    if cut_off:
        return look.accepts(0, "The nitrogen is on the manifold; the way to both sides is shut.", opened)
    return look.accepts(0)


def _way_opened(side: str, hookup: Hookup) -> Handling:
    """What comes first where nothing gets from the manifold to a side."""
    if not hookup.hose(side).joined:
        return Handling(Act.JOIN, side)
    if not hookup.hose(side).shutoff_open:
        return Handling(Act.OPEN_SHUTOFF, side)
    return Handling(Act.OPEN_HAND_VALVE, side, 1.0)


def _nitrogen_shut(look: Look) -> Sight:
    if look.hookup is not None and look.hookup.centre.joined == NITROGEN and look.hookup.regulator_Pa > 0:
        shut = (Handling(Act.SET_REGULATOR, amount=0.0),)
        return look.accepts(0, "The regulator still feeds the circuit.", shut)
    return look.accepts(0)


def _pump_on(look: Look) -> Sight:
    if look.hookup is not None and not look.hookup.pump_joined:
        return look.accepts(0, "The pump's hose hangs free.", (Handling(Act.JOIN, PUMP),))
    return look.accepts(0)


def _charging_hose_on(look: Look) -> Sight:
    hookup = look.hookup
    if hookup is None:
        return look.accepts(0)
    if hookup.cylinder_open > 0:
        return look.accepts(0, "The cylinder's valve stands open.", (Handling(Act.CLOSE_CYLINDER),))
    if hookup.centre.joined in {None, "", NITROGEN, MACHINE}:
        held = hookup.centre.joined
        words = f"The charging hose is still on the {held}." if held else "The charging hose hangs free."
        return look.accepts(0, words)
    return look.accepts(0)


def _pump_off(look: Look) -> Sight:
    hookup = look.hookup
    if hookup is None:
        return look.accepts(0)
    open_ones = [side for side in SIDES if hookup.reaches(side)]
    shut = tuple(Handling(Act.CLOSE_HAND_VALVE, side) for side in open_ones)
    if open_ones and hookup.pump_runs:
        words = "The valve at the circuit stands open, and the pump runs."
        return look.accepts(0, words, (*shut, Handling(Act.STOP_PUMP)))
    if open_ones:
        return look.refuses(0, "The pump stands still; the valve at the circuit is open.", shut)
    if hookup.pump_runs:
        words = "The valve at the circuit is shut; the pump still runs."
        return look.accepts(0, words, (Handling(Act.STOP_PUMP),))
    return look.accepts(0)


def _how_left(look: Look) -> Sight:
    return look.accepts(1 if look.hookup is not None and look.hookup.locked else 0)


BY_EYE_AND_HAND: Final[dict[str, Callable[[Look], Sight]]] = {
    "IDENTIFY the metering device at the indoor coil.": _metering,
    "LOOK at the air filter.": _filter,
    "LOOK at registers, grilles and dampers.": _registers,
    "LOOK at the outdoor coil all round.": _outdoor_coil,
    "LOOK at the sensing bulb of the valve.": _bulb,
    "LOOK at the hose set and its ends.": _hose_set,
    "SWITCH the unit off at its control.": _switched_off,
    "CONNECT the hoses to suction and liquid port.": _hoses_on,
    "START the unit in cooling.": _started,
    "TURN the cylinder so that liquid stands at its valve.": _turned,
    "DISCONNECT both hoses at the ports.": _hoses_off,
    "LOOK for a vacuum pump that works here.": _pump,
    "CLAMP the pipe sensors on suction and liquid line near the service valves.": _sensors(
        "suction_line", "liquid_line"
    ),
    "HANG the air sensors in their places.": _sensors("indoor_db", "indoor_wb", "supply_db", "outdoor_db"),
    "CLAMP a pipe sensor for the gas temperature.": _sensors("gas_temperature"),
    "CLOSE both hand valves of the manifold.": _hand_valves,
    "OPEN the shut-offs at both ports slowly.": _open_ports,
    "SHUT the shut-off at the liquid port.": _shut_port("high"),
    "SHUT the shut-off at the suction port.": _shut_port("low"),
    "CLOSE the cylinder valve.": _cylinder_shut,
    "TEST both ports for leaks before they are capped.": _core,
    "COVER every opening over live parts.": _panels_left,
    "BRING the circuit to a state that can wait.": _left_to_wait,
    "LOOK at your lock on the disconnect.": _lock_left,
    "LOOK at your lock once more.": _lock_left,
    "DECIDE how the unit is left.": _how_left,
    "CONNECT the nitrogen hose to both sides of the circuit.": _nitrogen_on,
    "SHUT the nitrogen off from the circuit.": _nitrogen_shut,
    "CONNECT the pump to both sides of the circuit.": _pump_on,
    "CONNECT the charging hose with the cylinder's valve shut.": _charging_hose_on,
    "SHUT the valve between circuit and pump.": _pump_off,
}
"""By a step's action."""
