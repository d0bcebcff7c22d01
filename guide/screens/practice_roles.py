"""What the run of a lesson leans on: a clock, a simulated unit, a coach. Only their forms."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from guide.errors import ChargewrightError
from guide.job.focus import Front
from guide.job.state import JobState
from guide.journal.event import Stamp
from guide.procedure.model import Step
from guide.rig.acts import Handling
from guide.rig.by_hand import Move
from guide.rig.by_weight import View
from guide.rig.cycles import Cycles
from guide.rig.happenings import Happening
from guide.rig.hookup import Hookup
from guide.rig.retrace import Done
from guide.screens.practice_shown import Candidate, Doable, Stopped


class NothingShown(ChargewrightError):
    """A value that no instrument at the unit shows now."""


class Paced(Protocol):
    """A clock whose time runs at a factor of real time."""

    @property
    def factor(self) -> int:
        """How many times as fast as in life."""

    def run_at(self, factor: int) -> None:
        """Go on at another factor, without a leap."""

    def advance(self, seconds: float) -> None:
        """Let time pass at once."""

    def now(self) -> Stamp:
        """The simulated present."""


@dataclass(frozen=True, slots=True)
class Came:
    """What came of an act: why it could not be done, or nothing; what happened because of it."""

    fault: str = ""
    happened: tuple[Happening, ...] = ()


class Unit(Protocol):
    """The simulated unit, in a process of its own. Times are simulated seconds since the job's opening."""

    @property
    def lost(self) -> str:
        """In words that it answers no more; empty while it does."""

    def again(self, acts: Sequence[Done], t_s: float) -> None:
        """Set it up anew after it broke off, as these acts leave it at a moment."""

    def to(self, t_s: float) -> tuple[Happening, ...]:
        """Let it be that time; what happened until then."""

    def do(self, handling: Handling, t_s: float) -> Came:
        """Do something at a moment; what came of it."""

    def reading(self, channel: str) -> float | None:
        """What an instrument sees now [SI]; None where there is nothing to be read."""

    def hookup(self) -> Hookup:
        """How everything stands."""

    def doables(self) -> tuple[Doable, ...]:
        """What hands can do now."""

    def seen(self) -> tuple[str, ...]:
        """What is connected, open and running, in words."""

    def sight(self, step: Step, state: JobState) -> str:
        """What somebody who looks sees at a step."""

    def cycles(self) -> Cycles:
        """How it settles, beside a sound unit with its right charge."""

    def close(self) -> None:
        """Let it go."""


class Coach(Protocol):
    """What a lesson says while it runs."""

    @property
    def hint_costs(self) -> tuple[int, int, int]:
        """Points that the three hints of a step cost."""

    def hints(self, step: Step, state: JobState) -> tuple[str, str, str]:
        """Where to look, the rule, the answer."""

    @property
    def conclusion(self) -> tuple[str, tuple[str, ...]] | None:
        """What is asked at the end: the question and the troubles to pick from; None where nothing is."""

    def candidates(self, state: JobState) -> tuple[Candidate, ...]:
        """Steps of which one comes next; none or one where there is nothing to choose."""

    def moves(self, step: Step, state: JobState, front: Front, view: View) -> Iterable[Move]:
        """What careful hands do at this place, with the waiting in between; what is so already left out."""

    def stopped(self, happening: Happening) -> Stopped:
        """Why a run is over."""

    def over(self, state: JobState) -> bool:
        """Whether the part of the work that the lesson is about is done."""


class Seen:
    """A unit as whoever moves refrigerant sees it."""

    def __init__(self, unit: Unit) -> None:
        self._unit = unit

    @property
    def hookup(self) -> Hookup:
        """How everything stands."""
        return self._unit.hookup()

    def read(self, channel: str) -> float:
        """What an instrument shows [SI].

        Raises:
            NothingShown: none shows it now.
        """
        shown = self._unit.reading(channel)
        if shown is None:
            raise NothingShown(f"nothing shows {channel.replace('_', ' ')} now; connect it first")
        return shown
