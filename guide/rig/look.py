"""One look at a simulated unit at a step of a job: all there is to go by, and how an ordinary unit looks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final, Protocol

from guide.charging.round import Metering
from guide.job.state import JobState
from guide.procedure.model import Confirm, Step
from guide.procedure.strict_yaml import read_yaml
from guide.rig.acts import Handling
from guide.rig.faults import Fault, Graded
from guide.rig.hookup import Hookup

SEEN_FROM: Final = 0.2
"""From which grade a fault can be seen (PROPOSED)."""


class Beginning(Protocol):
    """As much of a scenario as shows."""

    @property
    def metering(self) -> Metering:
        """What feeds the indoor coil."""

    @property
    def faults(self) -> tuple[Graded, ...]:
        """What was wrong at the start."""


class Present(Protocol):
    """As much of what is really so as shows."""

    @property
    def faults(self) -> tuple[Graded, ...]:
        """What is wrong now."""


@dataclass(frozen=True, slots=True)
class Sight:
    """What is seen; which of the step's answers is true once `cure` is done."""

    words: str
    answer: str
    cure: tuple[Handling, ...] = ()
    """What a careful technician does about it there and then."""


@dataclass(frozen=True, slots=True)
class Look:
    """One look: at which step, at what, on a job as it stands."""

    step: Step
    proof: Confirm
    beginning: Beginning
    present: Present
    state: JobState
    hookup: Hookup | None
    vacuum_Pa: float | None

    def grade(self, fault: Fault, *places: str) -> float:
        """How strong a fault is now, where it has one of some places; 0 where it is not there."""
        return _grade(self.present.faults, fault, places)

    def mended(self, fault: Fault, *places: str) -> bool:
        """Whether a fault that showed at the start is gone."""
        return _grade(self.beginning.faults, fault, places) >= SEEN_FROM > self.grade(fault, *places)

    def says(self, answer: str, words: str = "", cure: tuple[Handling, ...] = ()) -> Sight:
        """A sight with one of the step's answers, in the words of an ordinary unit where none are given."""
        return Sight(words or ordinary(self.step), answer, cure)

    def accepts(self, at: int, words: str = "", cure: tuple[Handling, ...] = ()) -> Sight:
        """A sight with one of the answers that let the work go on."""
        return self.says(self.proof.accept[at], words, cure)

    def refuses(self, at: int, words: str, cure: tuple[Handling, ...] = ()) -> Sight:
        """A sight with one of the answers that keep the step open."""
        return self.says(self.proof.refuse[at], words, cure)


def ordinary(step: Step) -> str:
    """What is seen at a step where nothing is wrong.

    Raises:
        KeyError: nobody wrote it down.
    """
    return sentences()[step.do]


@lru_cache(maxsize=1)
def sentences() -> Mapping[str, str]:
    """What is seen where nothing is wrong, by the action of each step that is answered by looking."""
    path = Path(__file__).with_name("sights.yaml")
    root = read_yaml(path.read_bytes(), path.name).root
    assert isinstance(root, dict)
    return {do: " ".join(str(words).split()) for do, words in root.items()}


def _grade(faults: tuple[Graded, ...], fault: Fault, places: tuple[str, ...]) -> float:
    return max(
        (f.grade for f in faults if f.fault is fault and (not places or f.where in places)), default=0.0
    )
