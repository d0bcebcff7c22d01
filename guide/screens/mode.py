"""What is asked of the person now, as data: the mode, the call, the fields, what Enter does. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from guide.screens.ask import Ask

WEIGH_ON, FINISHED = "weigh on", "finished"
"""Answers where a step takes several weighings."""


class Mode(StrEnum):
    """What Enter will do at the end of the fields."""

    RESUME = "resume"
    HAZARD = "hazard"
    ANSWER = "answer"
    CHOOSE = "choose"
    READ = "read"
    WAIT_BEGIN = "begin the wait"
    WAITING = "waiting"
    WAIT_END = "end the wait"
    WEIGH_BEGIN = "begin the weighing"
    WEIGH_NEXT = "weigh on or finish"
    WEIGH_END = "end the weighing"
    ROUND = "round"
    SETTLE = "settle"
    ADVISED_MOVE = "move"
    LOOP_END = "end the loop"
    PART_END = "end the part"
    CUSTOMER = "customer"
    SIGN = "sign"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class Turn:
    """What is asked now: the mode, the call on the person, the fields, what Enter does."""

    mode: Mode
    accept: str
    asks: tuple[Ask, ...] = ()
    call: str = ""
    """A line above the fields that says what to do, where the step's own action does not."""
    left_s: float | None = None
    """Seconds of a wait that are left."""
