"""What a person does with their hands at a simulated unit: one act at a time, at a place, by an amount.

An act carries no rule: whether it was wise shows in what happens (`guide.rig.happenings`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Act(StrEnum):
    """What can be done. In brackets: what `at` and `amount` mean for it."""

    SWITCH_ON = "switch on"
    """The unit at its control [nothing]."""
    SWITCH_OFF = "switch off"
    LOCK = "lock"
    """The disconnect, open [nothing]."""
    UNLOCK = "unlock"
    ZERO = "zero"
    """The gauges, in the open air [nothing]."""
    JOIN = "join"
    """A hose to its port, its own shut-off closed [at: low, high]; the centre hose to what `at` names:
    a cylinder's id, "vacuum pump", "recovery machine", "nitrogen"."""
    PART = "part"
    """A hose from its port [low, high], or the centre hose from what it was joined to [centre]."""
    PURGE = "purge"
    """A hose with a breath of vapour at its loose joint [low, high, centre]."""
    OPEN_SHUTOFF = "open shut-off"
    """At a port [low, high]."""
    CLOSE_SHUTOFF = "close shut-off"
    OPEN_HAND_VALVE = "open hand valve"
    """Of the gauge set [low, high]; amount: how far, 0 to 1 (0.1 is throttled)."""
    CLOSE_HAND_VALVE = "close hand valve"
    OPEN_CYLINDER = "open cylinder"
    """The valve of the cylinder on the scale; amount: how far, 0 to 1."""
    CLOSE_CYLINDER = "close cylinder"
    TURN_FOR_LIQUID = "turn for liquid"
    """The cylinder on the scale [nothing]."""
    TURN_FOR_VAPOUR = "turn for vapour"
    STAND = "stand on scale"
    """A cylinder [at: its id]."""
    START_PUMP = "start pump"
    STOP_PUMP = "stop pump"
    START_MACHINE = "start machine"
    """The recovery machine."""
    STOP_MACHINE = "stop machine"
    SET_REGULATOR = "set regulator"
    """Of the nitrogen [amount: Pa absolute; at or below site pressure is closed]."""
    RELEASE = "release"
    """What presses in the circuit into the open air, at a hand valve of the gauge set [low, high]."""
    OPEN_CIRCUIT = "open circuit"
    """Cut or unscrew a joint [nothing]."""
    MEND = "mend"
    """Find and close leaks, fit a new drier, close the circuit [nothing]; only fit the drier and close it
    [at: "drier"]; or change the valve core of a port whose hose is off, with a core tool [low, high]."""
    CLAMP = "clamp"
    """A pipe or air sensor to where it belongs [at: channel]."""
    CLEAN = "clean"
    """What was found dirty [at: "filter", "outdoor coil"]."""
    SMELL_OUT = "look for leaks"
    """With detector or bubbles, at joints and ports [nothing]."""


@dataclass(frozen=True, slots=True)
class Handling:
    """One act: what, where, how far [fraction of a turn, or Pa absolute]."""

    act: Act
    at: str = ""
    amount: float | None = None
