"""What is to be done, as data: a procedure of parts, a part of steps, a step of one action and its proof.

Everything here is plain and frozen; `guide.procedure.reader` is the only way in from a file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from guide.charging.verdict import Bound as Bound  # noqa: PLC0414 - a limit's side is the verdict's
from guide.units import Quantity


class HazardWord(StrEnum):
    """Signal words, worst first (ANSI Z535.6 for the words and their order)."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


@dataclass(frozen=True, slots=True)
class Hazard:
    """A warning that stands before its step and is acknowledged before the step's action."""

    word: HazardWord
    text: str


@dataclass(frozen=True, slots=True)
class Condition:
    """A fact that must (or must not) have one of the named values. Conditions in a list all have to hold."""

    fact: str
    values: tuple[str, ...]
    negated: bool = False


class OrderFigure(StrEnum):
    """A figure that only the order can give: a limit or a target that hangs on the appliance and its gear."""

    LOW_SIDE_DESIGN_PRESSURE = "low_side_design_pressure"
    HIGH_SIDE_DESIGN_PRESSURE = "high_side_design_pressure"
    RECOVERY_LEVEL = "recovery_level"
    """To which absolute pressure the circuit is recovered before it is opened."""
    WEIGH_IN_CHARGE = "weigh_in_charge"
    """Nameplate charge and what the line set adds."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A bound on one channel, with the place it comes from (a key of the procedure's sources, or words)."""

    channel: str
    bound: Bound
    value: Quantity | OrderFigure
    source: str


class Drift(StrEnum):
    """Which way a value must not run during a hold."""

    RISE = "rise"
    FALL = "fall"


@dataclass(frozen=True, slots=True)
class ChangeLimit:
    """How far a channel may run between the start and the end of a hold.

    `at_most` is a difference of the channel's kind. With `gas_temperature`, a channel of the same hold, the
    pressure at the start is first carried to the temperature at the end: what a closed gas would show.
    """

    channel: str
    drift: Drift
    at_most: Quantity
    source: str
    gas_temperature: str | None = None


@dataclass(frozen=True, slots=True)
class ChannelAsk:
    """One value to be read: which channel, in which unit it is asked, and what is plausible (SI)."""

    channel: str
    ask: str
    unit: str
    low: Quantity
    high: Quantity
    settled_s: int = 0


@dataclass(frozen=True, slots=True)
class Confirm:
    """Something seen, answered with what was seen.

    `accept` are the answers that let the work go on; `refuse` are answers that are recorded
    and keep the step open, with `if_refused` saying what to do. The answer becomes the fact
    named by `fact`, if there is one.
    """

    ask: str
    accept: tuple[str, ...]
    refuse: tuple[str, ...] = ()
    if_refused: str = ""
    fact: str | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """Channels to read, each with unit and range, and the limits they must meet."""

    channels: tuple[ChannelAsk, ...]
    limits: tuple[Limit, ...] = ()


@dataclass(frozen=True, slots=True)
class Wait:
    """A timed hold of at least `at_least_s` seconds, with readings at its start and its end.

    `limits` bound the values at the end, `changes` what became of those at the start. A hold may fail
    early or go on for longer; it never passes before its time.
    """

    at_least_s: int
    channels: tuple[ChannelAsk, ...] = ()
    limits: tuple[Limit, ...] = ()
    changes: tuple[ChangeLimit, ...] = ()


class Direction(StrEnum):
    """Which way refrigerant moves across the scale, seen from the system."""

    IN = "in"
    OUT = "out"


@dataclass(frozen=True, slots=True)
class Weigh:
    """Refrigerant into or out of the system by scale: cylinder, weight before, weight after.

    `target` is how much there is to move. With `repeat` it may take several weighings and cylinders, until
    the person says that the step is finished.
    """

    direction: Direction
    target: OrderFigure | None = None
    repeat: bool = False


class ChargeMethod(StrEnum):
    """By which of the two figures a charge is judged."""

    SUPERHEAT = "superheat"
    SUBCOOLING = "subcooling"


@dataclass(frozen=True, slots=True)
class Adjust:
    """The charging loop: read, verdict, advice, move, wait `settle_s`, read again.

    `tolerance` is the allowed distance from the target (a temperature difference), with its source.
    """

    method: ChargeMethod
    settle_s: int
    channels: tuple[ChannelAsk, ...]
    tolerance: Quantity | None = None
    tolerance_source: str = ""


@dataclass(frozen=True, slots=True)
class Option:
    """One way of a branch; `when` says on which facts it applies."""

    key: str
    text: str
    when: tuple[Condition, ...] = ()


@dataclass(frozen=True, slots=True)
class Choose:
    """A branch: the first option that applies is offered; taking another needs a reason."""

    ask: str
    fact: str
    options: tuple[Option, ...]


@dataclass(frozen=True, slots=True)
class Sign:
    """Name, meaning and passphrase."""

    meaning: str


Proof = Confirm | Reading | Wait | Weigh | Adjust | Choose | Sign


@dataclass(frozen=True, slots=True)
class Step:
    """One action and what proves it.

    `do` is the action line (one verb, in capitals), `why` the teaching text, `when` the facts on
    which it applies. A `hold` step can be neither skipped nor bypassed.
    """

    id: str
    do: str
    proof: Proof
    why: str = ""
    hazards: tuple[Hazard, ...] = ()
    when: tuple[Condition, ...] = ()
    hold: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """A phase of the work, ended by an explicit completion call."""

    id: str
    title: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Procedure:
    """A whole procedure.

    `source` is the text it was read from, common parts put in their places, and `sha256` that text's hash.
    `needs_order` names entries that an order may leave out but this work can't do without.
    """

    id: str
    title: str
    revision: str
    status: str  # "approved" or "draft"
    approved_on: str
    approved_by: str
    applies: tuple[Condition, ...]
    needs: tuple[str, ...]
    needs_order: tuple[str, ...]
    sources: tuple[tuple[str, str], ...]
    parts: tuple[Part, ...]
    on_abort: Part
    sha256: str
    source: bytes

    def steps(self) -> Iterator[tuple[Part, Step]]:
        """Every step of the normal path, in order, with its part."""
        for part in self.parts:
            for step in part.steps:
                yield part, step

    def step(self, step_id: str) -> Step:
        """The step of that id, on the normal path or the abort path.

        Raises:
            KeyError: there is none.
        """
        for part in (*self.parts, self.on_abort):
            for step in part.steps:
                if step.id == step_id:
                    return step
        raise KeyError(step_id)
