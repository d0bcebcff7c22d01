"""How a careful technician moves an amount by the scale: throttled, the cylinder shut at its weight.

Each plan is walked one move at a time, since what comes next hangs on what scale, gauge and hose show after
the last. Openings and times are PROPOSED: what a cracked valve feeds a running unit without flooding it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal, Protocol

from guide.rig.acts import Act, Handling
from guide.rig.by_hand import Move, Pause
from guide.rig.hookup import Hookup

Way = Literal["in", "out"]
CRACKED: Final = 0.1
"""Of a hand valve: 5 to 10 g/s of liquid."""
TRICKLE: Final = 0.02
"""Of a cylinder's valve: some 5 g/s of liquid, so that it can be shut at a weight."""
WIDE: Final = 1.0
SLOW_BELOW_kg: Final = 0.12
"""How near the weight the flow is made slow."""
NO_MORE_s: Final = 20
"""After so long without the scale moving nothing more will come."""
FILLING_s: Final = 10
"""How long hose and valves are given before the scale has to move."""
LONGEST_s: Final = 3600
DRAINING_s: Final = 300
DRAINED_s: Final = 20
_MOVED_kg: Final = 0.0005


class View(Protocol):
    """What can be seen while refrigerant moves."""

    @property
    def hookup(self) -> Hookup:
        """How everything stands."""

    def read(self, channel: str) -> float:
        """What an instrument shows [K, Pa absolute, kg]."""


def feed_plan(view: View, kg: float, way: Way) -> Iterator[Move]:
    """Move an amount between the cylinder on the scale, whose hose is on, and the unit; then empty the hose.

    Into a unit that runs: liquid through the low side, little by little. Into one at rest: liquid through the
    high side. Out of it: liquid from the high side. The hose is drawn down into the running unit afterwards.
    """
    runs = view.hookup.runs
    if way == "out":
        yield from _until_weight(view, kg, way, side="high", hand=CRACKED, cylinder=WIDE)
    elif runs:
        yield from _until_weight(view, kg, way, side="low", hand=CRACKED, cylinder=TRICKLE)
    else:
        yield from _until_weight(view, kg, way, side="high", hand=WIDE, cylinder=WIDE)
    if runs:
        yield from draw_down(view)


def draw_down(view: View) -> Iterator[Move]:
    """Let what the charging hose holds into the running unit, little by little, and shut both valves."""
    yield from _shut(view, "high")
    if view.hookup.low_hand <= 0.0:
        yield Handling(Act.OPEN_HAND_VALVE, "low", CRACKED)
    passed = 0
    while view.hookup.centre.liquid and passed < DRAINING_s:
        yield Pause(5)
        passed += 5
    yield Pause(DRAINED_s)
    yield from _shut(view, "low")


def recover_plan(view: View, most_kg: float, enough_Pa: float) -> Iterator[Move]:
    """Let the recovery machine draw until the pressure is low enough or the cylinder took its most."""
    start_kg = view.read("cylinder_weight")
    for side in ("low", "high"):
        if view.hookup.hand(side) < WIDE:
            yield Handling(Act.OPEN_HAND_VALVE, side, WIDE)
    yield Handling(Act.OPEN_CYLINDER, amount=WIDE)
    yield Handling(Act.START_MACHINE)
    passed = 0
    while passed < LONGEST_s:
        yield Pause(5)
        passed += 5
        if view.read("cylinder_weight") - start_kg >= most_kg or view.read("system_pressure") <= enough_Pa:
            break
    yield Handling(Act.STOP_MACHINE)
    yield Handling(Act.CLOSE_CYLINDER)


def _until_weight(
    view: View, kg: float, way: Way, *, side: str, hand: float, cylinder: float
) -> Iterator[Move]:
    """Open, watch the scale, shut the cylinder at the weight. Its valve is throttled near the end."""
    start_kg = last_kg = view.read("cylinder_weight")
    slow = kg <= SLOW_BELOW_kg
    yield Handling(Act.OPEN_HAND_VALVE, side, CRACKED if slow else hand)
    yield Handling(Act.OPEN_CYLINDER, amount=TRICKLE if slow and hand >= CRACKED else cylinder)
    passed = still = 0
    while passed < LONGEST_s and still < NO_MORE_s:
        now_kg = view.read("cylinder_weight")
        rate = abs(now_kg - last_kg)
        gone_kg = start_kg - now_kg if way == "in" else now_kg - start_kg
        left_kg = kg - gone_kg
        if left_kg <= rate / 2.0 or left_kg <= _MOVED_kg:
            break
        if not slow and left_kg <= max(SLOW_BELOW_kg, 2.0 * rate):
            slow = True
            yield Handling(Act.OPEN_HAND_VALVE, side, CRACKED)
            yield Handling(Act.OPEN_CYLINDER, amount=TRICKLE)
        flows = (last_kg - now_kg if way == "in" else now_kg - last_kg) > _MOVED_kg / 5.0
        still = 0 if flows or passed < FILLING_s else still + 1
        last_kg = now_kg
        yield Pause(1)
        passed += 1
    yield Handling(Act.CLOSE_CYLINDER)
    if side == "high":
        yield from _shut(view, "high")


def _shut(view: View, side: str) -> Iterator[Move]:
    if view.hookup.hand(side) > 0.0:
        yield Handling(Act.CLOSE_HAND_VALVE, side)
