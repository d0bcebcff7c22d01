"""One act of a pair of hands at a simulated unit: which of the acts it is, and what it connects."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from guide.rig import hose_acts, machine_acts, unit_acts
from guide.rig.acts import Act, Handling
from guide.rig.at_hand import CannotBeDone as CannotBeDone  # noqa: PLC0414 - raised by `act`
from guide.rig.connecting import connect
from guide.rig.unit_state import UnitState


def act(state: UnitState, handling: Handling) -> None:
    """Do one act; what happens is noted in the state.

    Raises:
        CannotBeDone: it can't be done as things stand; nothing has changed.
    """
    _ACTS[handling.act](state, handling)
    connect(state)


_ACTS: Final[Mapping[Act, Callable[[UnitState, Handling], None]]] = {
    Act.SWITCH_ON: unit_acts.switch_on,
    Act.SWITCH_OFF: unit_acts.switch_off,
    Act.LOCK: unit_acts.lock,
    Act.UNLOCK: unit_acts.unlock,
    Act.ZERO: machine_acts.zero,
    Act.JOIN: hose_acts.join,
    Act.PART: hose_acts.part,
    Act.PURGE: hose_acts.purge,
    Act.OPEN_SHUTOFF: hose_acts.open_shutoff,
    Act.CLOSE_SHUTOFF: hose_acts.close_shutoff,
    Act.OPEN_HAND_VALVE: hose_acts.open_hand_valve,
    Act.CLOSE_HAND_VALVE: hose_acts.close_hand_valve,
    Act.OPEN_CYLINDER: machine_acts.open_cylinder,
    Act.CLOSE_CYLINDER: machine_acts.close_cylinder,
    Act.TURN_FOR_LIQUID: machine_acts.turn,
    Act.TURN_FOR_VAPOUR: machine_acts.turn,
    Act.STAND: machine_acts.stand,
    Act.START_PUMP: machine_acts.start_pump,
    Act.STOP_PUMP: machine_acts.stop_pump,
    Act.START_MACHINE: machine_acts.start_machine,
    Act.STOP_MACHINE: machine_acts.stop_machine,
    Act.SET_REGULATOR: machine_acts.set_regulator,
    Act.RELEASE: hose_acts.release,
    Act.OPEN_CIRCUIT: unit_acts.open_circuit,
    Act.MEND: unit_acts.mend,
    Act.CLAMP: unit_acts.clamp,
    Act.CLEAN: unit_acts.clean,
    Act.SMELL_OUT: unit_acts.look_for_leaks,
}
