"""An act of the hands in plain words, as it is told in hints, losses and when two runs stand side by side."""

from __future__ import annotations

from typing import Final

from guide.rig.acts import Act, Handling
from guide.rig.hookup import CENTRE, DRIER, MACHINE, NITROGEN, PUMP, SENSORS, SIDES

SENSOR_NAMES: Final = {
    "suction_line": "suction line sensor", "liquid_line": "liquid line sensor",
    "compressor_discharge_line": "discharge line sensor", "gas_temperature": "pipe sensor for the gas",
    "indoor_db": "return air sensor", "indoor_wb": "wet-bulb sensor", "supply_db": "supply air sensor",
    "outdoor_db": "outdoor air sensor",
}  # fmt: skip
"""What a sensor is called, by the channel it fills."""
assert SENSOR_NAMES.keys() == set(SENSORS)

TURNS: Final = (("barely", 0.03), ("a crack", 0.1), ("half", 0.5), ("all the way", 1.0))
"""How far a valve is opened: in words, and as a fraction."""
_NEAR: Final = 0.011

_PLAIN: Final = {
    Act.SWITCH_ON: "switch the unit on", Act.SWITCH_OFF: "switch the unit off",
    Act.LOCK: "open the disconnect and lock it", Act.UNLOCK: "unlock the disconnect",
    Act.ZERO: "zero the gauges", Act.CLOSE_CYLINDER: "close the cylinder's valve",
    Act.OPEN_CYLINDER: "open the cylinder's valve",
    Act.TURN_FOR_LIQUID: "turn the cylinder for liquid", Act.TURN_FOR_VAPOUR: "turn the cylinder for vapour",
    Act.START_PUMP: "start the vacuum pump", Act.STOP_PUMP: "stop the vacuum pump",
    Act.START_MACHINE: "start the recovery machine", Act.STOP_MACHINE: "stop the recovery machine",
    Act.SET_REGULATOR: "set the nitrogen regulator", Act.OPEN_CIRCUIT: "open a joint of the circuit",
    Act.SMELL_OUT: "look for leaks with detector or bubbles", Act.STAND: "stand a cylinder on the scale",
    Act.MEND: "mend, fit a new drier and close the circuit", Act.CLAMP: "put a sensor in its place",
    Act.JOIN: "join a hose", Act.PART: "take a hose off", Act.PURGE: "purge a hose with a breath",
    Act.OPEN_SHUTOFF: "open a shut-off", Act.CLOSE_SHUTOFF: "close a shut-off",
    Act.OPEN_HAND_VALVE: "open a hand valve", Act.CLOSE_HAND_VALVE: "close a hand valve",
    Act.RELEASE: "let the circuit blow into the open air", Act.CLEAN: "clean",
}  # fmt: skip
_ON_A_SIDE: Final = {
    Act.JOIN: "join the {}-side hose to its port", Act.PART: "take the {}-side hose off its port",
    Act.PURGE: "purge the {}-side hose with a breath",
    Act.OPEN_SHUTOFF: "open the shut-off at the {}-side port",
    Act.CLOSE_SHUTOFF: "close the shut-off at the {}-side port",
    Act.OPEN_HAND_VALVE: "open the {}-side hand valve", Act.CLOSE_HAND_VALVE: "close the {}-side hand valve",
    Act.RELEASE: "let the circuit blow into the open air on the {} side",
    Act.MEND: "change the core of the {}-side port with a core tool",
}  # fmt: skip


def spoken(handling: Handling) -> str:
    """A handling in plain words, such as "open the low-side hand valve a crack"."""
    act, at = handling.act, handling.at
    words = _place(act, at)
    if handling.amount is None:
        return words
    if act is Act.SET_REGULATOR:
        return f"{words} to {handling.amount / 1000:.0f} kPa absolute"
    turn = next((name for name, amount in TURNS if abs(amount - handling.amount) < _NEAR), None)
    return f"{words} {turn}" if turn else f"{words} by {handling.amount:.0%}"


def _place(act: Act, at: str) -> str:  # noqa: PLR0911 - one answer a kind of place
    if at in SIDES and act in _ON_A_SIDE:
        return _ON_A_SIDE[act].format(at)
    match act:
        case Act.CLAMP if at:
            return f"put the {SENSOR_NAMES.get(at, at.replace('_', ' '))} in its place"
        case Act.STAND if at:
            return f"stand {at} on the scale"
        case Act.CLEAN if at:
            return f"clean the {at}"
        case Act.MEND if at == DRIER:
            return "fit a new filter-drier and close the circuit"
        case Act.PURGE if at == CENTRE:
            return "purge the charging hose with a breath"
        case Act.JOIN if at == PUMP:
            return f"join the {PUMP}"
        case Act.JOIN if at:
            return f"join the charging hose to {_end(at)}"
        case Act.PART if at == PUMP:
            return f"take the {PUMP} off"
        case Act.PART if at == CENTRE:
            return "take the charging hose off"
    return f"{_PLAIN[act]}, {at}" if at else _PLAIN[act]


def _end(at: str) -> str:
    return {MACHINE: f"the {MACHINE}", NITROGEN: "the nitrogen"}.get(at, at)
