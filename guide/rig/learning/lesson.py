"""What a lesson is: what it teaches, on which unit with which trouble, how much help, and what counts.

A lesson comes from a file (`guide.rig.learning.lesson_file`); everything here is plain and frozen.
SI inside: temperatures in K, times in s, masses in kg.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from guide.rig.faults import Fault

UNDERCHARGE: Final = "undercharge"
OVERCHARGE: Final = "overcharge"
NOTHING_WRONG: Final = "nothing wrong"
TROUBLES: Final = (*(fault.value for fault in Fault), UNDERCHARGE, OVERCHARGE, NOTHING_WRONG)
"""Every name a conclusion may have."""


class Help(StrEnum):
    """How much help a run gives, most first."""

    WORKED = "worked"
    """The run is played, each step with its reason."""
    FILL = "fill"
    """Hands are done for the trainee, who reads and enters."""
    CHOOSE = "choose"
    """The trainee picks the next step before the sheet shows it, and does everything."""
    NONE = "none"
    """No help, and no word on how it went before the end."""


HELP_ORDER: Final = (Help.WORKED, Help.FILL, Help.CHOOSE, Help.NONE)


class Item(StrEnum):
    """One thing that counts."""

    SAFETY = "safety"
    ORDER = "order"
    AIR = "air kept out"
    REFRIGERANT = "refrigerant kept in"
    READINGS = "readings"
    WAITING = "waiting"
    CHARGE = "charge"
    INCREMENTS = "increments"
    CONCLUSION = "conclusion"
    INTERRUPTION = "interruption"
    TIME = "time"
    CLEANLINESS = "cleanliness"
    HINTS = "hints"


class ChargeBy(StrEnum):
    """By what the end of a run is judged."""

    SUPERHEAT = "superheat"
    SUBCOOLING = "subcooling"
    WEIGHT = "weight"
    """The charge against the right one."""
    UNTOUCHED = "untouched"
    """It wasn't the charge: none was to be moved."""


class Computed(StrEnum):
    """A model answer that is taken from the run itself."""

    NET_AMOUNT = "net amount"
    FIRST_SIGN = "first sign"
    TROUBLE = "trouble"
    CHARGE_LEFT = "charge left"
    AIR_AND_LOSS = "air and loss"
    DEAREST_POINT = "dearest point"


@dataclass(frozen=True, slots=True)
class Span:
    """A range to draw from, both ends included; a fixed value has both ends alike."""

    low: float
    high: float

    def at(self, share: float) -> float:
        """The value that lies `share` (0 to 1) of the way up."""
        return min(self.high, self.low + (self.high - self.low) * share)


@dataclass(frozen=True, slots=True)
class Objective:
    """What the trainee can do afterwards ("you can …"), the steps it shows in, the skill it is part of."""

    text: str
    steps: tuple[str, ...]
    skill: str


@dataclass(frozen=True, slots=True)
class FaultSpan:
    """A fault with the range its grade is drawn from."""

    fault: Fault
    grade: Span
    where: str = ""


@dataclass(frozen=True, slots=True)
class WeatherSpan:
    """The air of a run, each drawn from a range [K]."""

    outdoor_K: Span
    indoor_db_K: Span
    indoor_wb_K: Span


@dataclass(frozen=True, slots=True)
class Parts:
    """Which parts count: those before `first` are worked for the trainee, the lesson ends after `last`."""

    first: str
    last: str


@dataclass(frozen=True, slots=True)
class Conclusion:
    """The question at the end: which trouble it was. Without `answer` it is what the seed drew."""

    ask: str
    choices: tuple[str, ...]
    answer: str | None = None


@dataclass(frozen=True, slots=True)
class ChargeAim:
    """Where the charge has to end: by what, and how far off it may be [K, or a share of the right charge]."""

    by: ChargeBy
    within: float


@dataclass(frozen=True, slots=True)
class Question:
    """One of the five questions of the debrief; its model answer is written, or computed from the run."""

    ask: str
    choices: tuple[str, ...] = ()
    answer: str = ""
    computed: Computed | None = None


@dataclass(frozen=True, slots=True)
class Hint:
    """Three hints of a step: where to look, the rule behind it, the answer."""

    pointer: str
    rule: str
    answer: str

    def all(self) -> tuple[str, str, str]:
        """The three in the order they are given."""
        return (self.pointer, self.rule, self.answer)


@dataclass(frozen=True, slots=True)
class Weighed:
    """One item of the rubric and the points it carries."""

    item: Item
    points: int


@dataclass(frozen=True, slots=True)
class Rubric:
    """What counts in a run, 100 points in all; shown before the start."""

    items: tuple[Weighed, ...]

    def points(self, item: Item) -> int:
        """The points an item carries, 0 where it does not count."""
        return next((each.points for each in self.items if each.item is item), 0)

    @property
    def total(self) -> int:
        """All points."""
        return sum(each.points for each in self.items)


@dataclass(frozen=True, slots=True)
class Lesson:
    """A whole lesson. `order_text` is the practice order it is worked on, `order_name` its file's name."""

    id: str
    title: str
    summary: str
    objectives: tuple[Objective, ...]
    order_name: str
    order_text: bytes
    start: Span
    """Charge at the start, as a share of the right one."""
    faults: tuple[FaultSpan, ...]
    """Those that are always there."""
    draw_from: tuple[FaultSpan, ...]
    draw_count: int
    weather: WeatherSpan | None
    conclusion: Conclusion | None
    parts: Parts | None
    helps: tuple[Help, ...]
    rubric: Rubric
    aim: ChargeAim | None
    hints: Mapping[str, Hint]
    debrief: tuple[Question, ...]
    time_limit_s: float | None
    """Simulated time."""
    minimum: int
    unavoidable_loss_kg: float
    breaks_off: bool
    """The right end may be to break the job off: the trouble is one for another procedure."""
    sha256: str
    name: str = ""
    """What its file is called."""
    place: int | None = None
    """Where it stands from the first lesson to learn to the last; None behind them all."""

    @property
    def skills(self) -> tuple[str, ...]:
        """The skills it is about, each once."""
        return tuple(dict.fromkeys(objective.skill for objective in self.objectives))


@dataclass(frozen=True, slots=True)
class Loss:
    """Points lost, for what, and the event that lost them; `at_s` is simulated time after the opening."""

    item: Item
    points: int
    seq: int
    at_s: float
    words: str


@dataclass(frozen=True, slots=True)
class Score:
    """What a run came to. `points` and the points of all losses make up `of`."""

    points: int
    of: int
    safety: bool
    """Nothing at all was lost for safety."""
    passed: bool
    losses: tuple[Loss, ...] = ()
    by_item: Mapping[Item, int] = field(default_factory=lambda: MappingProxyType({}))
    """Points kept, item by item."""
    finished: bool = True
    """The work came to where the lesson ends."""
