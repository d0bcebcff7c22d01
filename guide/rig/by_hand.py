"""Acts with the waiting in between, at a step of a job; and which of them are left to do as things stand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from guide.job.order import Order
from guide.job.state import JobState
from guide.procedure.model import Step
from guide.rig.acts import Act, Handling
from guide.rig.hookup import CENTRE, MACHINE, NITROGEN, PUMP, SIDES, Hookup


@dataclass(frozen=True, slots=True)
class Pause:
    """Nothing is done for so long [s]."""

    seconds: int


@dataclass(frozen=True, slots=True)
class Until:
    """Nothing is done until a pressure is read that is at most, or at least, so much [Pa absolute].

    It is given up after `most_s`, the reading where it may be.
    """

    channel: str
    most_s: int
    at_most_Pa: float | None = None
    at_least_Pa: float | None = None


@dataclass(frozen=True, slots=True)
class Centre:
    """The centre hose comes to a cylinder, a machine or the nitrogen, the hand valves shut meanwhile."""

    to: str


Move = Handling | Pause | Until
Piece = Move | Centre


@dataclass(frozen=True, slots=True)
class Place:
    """A step to be done, on a job as it stands."""

    step: Step
    state: JobState
    hookup: Hookup | None = None

    @property
    def order(self) -> Order:
        """The job's order."""
        return self.state.order

    @property
    def site_Pa(self) -> float:
        """The pressure of the air [Pa absolute]."""
        return float(self.order.site_pressure_Pa)

    def cylinder(self, *, recovery: bool) -> str:
        """The order's first cylinder to charge from, or to recover into; empty where there is none."""
        fit = (
            each.id
            for each in self.order.cylinders
            if each.refrigerant == self.order.refrigerant.designation
            and (each.contents in {"empty", "recovered"}) == recovery
        )
        return next(fit, "")


_SHUT_HANDS: Final = (Handling(Act.CLOSE_HAND_VALVE, "low"), Handling(Act.CLOSE_HAND_VALVE, "high"))
_NO_CYLINDER: Final = frozenset({"", MACHINE, NITROGEN})
Slot = tuple[str, str]
Value = str | float | bool

_SETS: Final[dict[Act, tuple[str, Value]]] = {
    Act.SWITCH_ON: ("runs", True),
    Act.SWITCH_OFF: ("runs", False),
    Act.LOCK: ("locked", True),
    Act.UNLOCK: ("locked", False),
    Act.OPEN_SHUTOFF: ("shut-off", True),
    Act.CLOSE_SHUTOFF: ("shut-off", False),
    Act.CLOSE_HAND_VALVE: ("hand valve", 0.0),
    Act.CLOSE_CYLINDER: ("cylinder", 0.0),
    Act.TURN_FOR_LIQUID: ("for liquid", True),
    Act.TURN_FOR_VAPOUR: ("for liquid", False),
    Act.START_PUMP: ("pump runs", True),
    Act.STOP_PUMP: ("pump runs", False),
    Act.START_MACHINE: ("machine runs", True),
    Act.STOP_MACHINE: ("machine runs", False),
    Act.CLAMP: ("clamped", True),
}


class _Standing:
    """How everything stands, as far as it is known, act by act."""

    def __init__(self, hookup: Hookup | None) -> None:
        self._now: dict[Slot, Value] = {} if hookup is None else _seen(hookup)

    def centre(self) -> str | None:
        """What the centre hose is joined to; None where nobody knows."""
        now = self._now.get(("joined", CENTRE))
        return None if now is None else str(now)

    def take(self, handling: Handling) -> bool:
        """Let one act be done; whether it changes anything, as far as that is known."""
        change = _change(handling)
        if change is None:
            return True
        slot, value = change
        if self._now.get(slot) == value:
            return False
        self._now[slot] = value
        return True


def undone(pieces: Iterable[Piece], hookup: Hookup | None) -> tuple[Move, ...]:
    """What is left of a plan when what is so already is left out; without a view hardly anything is."""
    standing = _Standing(hookup)
    return tuple(_left(pieces, standing))


def _left(pieces: Iterable[Piece], standing: _Standing) -> Iterator[Move]:
    for piece in pieces:
        if isinstance(piece, Centre):
            yield from _moved(piece.to, standing)
        elif not isinstance(piece, Handling) or standing.take(piece):
            yield piece


def _moved(to: str, standing: _Standing) -> Iterator[Handling]:
    """The centre hose taken from where it is to somewhere else: everything it joins shut first."""
    now = standing.centre()
    if now == to or not to:
        return
    acts = list(_SHUT_HANDS)
    if now not in _NO_CYLINDER and now is not None:
        acts.append(Handling(Act.CLOSE_CYLINDER))
    if now:
        acts.append(Handling(Act.PART, CENTRE))
    acts.append(Handling(Act.JOIN, to))
    yield from (act for act in acts if standing.take(act))


def _change(handling: Handling) -> tuple[Slot, Value] | None:  # noqa: PLR0911 - one return an act
    """What an act sets to what; None for one that can be done again and again."""
    act, at = handling.act, handling.at
    if act in _SETS:
        name, value = _SETS[act]
        return (name, at), value
    match act:
        case Act.JOIN if at in SIDES or at == PUMP:
            return ("joined", at), True
        case Act.JOIN:
            return ("joined", CENTRE), at
        case Act.PART:
            return ("joined", at), "" if at == CENTRE else False
        case Act.STAND:
            return ("on scale", ""), at
        case Act.OPEN_HAND_VALVE | Act.OPEN_CYLINDER:
            name = "hand valve" if act is Act.OPEN_HAND_VALVE else "cylinder"
            return (name, at), 1.0 if handling.amount is None else handling.amount
        case _:
            return None


def _seen(hookup: Hookup) -> dict[Slot, Value]:
    now: dict[Slot, Value] = {
        ("runs", ""): hookup.runs,
        ("locked", ""): hookup.locked,
        ("joined", CENTRE): hookup.centre.joined,
        ("joined", PUMP): hookup.pump_joined,
        ("on scale", ""): hookup.on_scale,
        ("cylinder", ""): hookup.cylinder_open,
        ("for liquid", ""): hookup.for_liquid,
        ("pump runs", ""): hookup.pump_runs,
        ("machine runs", ""): hookup.machine_runs,
    }
    for side in SIDES:
        hose = hookup.hose(side)
        now["joined", side] = bool(hose.joined)
        now["shut-off", side] = hose.shutoff_open
        now["hand valve", side] = hookup.hand(side)
    for channel in hookup.clamped:
        now["clamped", channel] = True
    return now
