"""What the pages of practice show, as plain data: trainees, lessons, a score, a run beside the model run.

The pages know nothing of how a lesson is read, scored or kept; `guide.screens.practice_desk` fills these in.
"""

from __future__ import annotations

from dataclasses import dataclass

from guide.rig.acts import Handling


@dataclass(frozen=True, slots=True)
class Trainee:
    """Somebody who learns here: short name, name."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class LessonLine:
    """One lesson in a trainee's list; `standing` is where they stand with it, in words."""

    id: str
    title: str
    standing: str


@dataclass(frozen=True, slots=True)
class OpenRun:
    """A run that was left in the middle: its job, its lesson."""

    job: str
    lesson: str
    title: str
    help: str


@dataclass(frozen=True, slots=True)
class RubricLine:
    """What points are given for: the item, how many, what loses them."""

    item: str
    points: int
    loses: str


@dataclass(frozen=True, slots=True)
class Card:
    """One lesson before it begins."""

    id: str
    title: str
    objectives: tuple[str, ...]
    about: tuple[str, ...]
    """The unit, the work, the part that counts, how often it was run: a sentence each."""
    rubric: tuple[RubricLine, ...]
    minimum: int
    hint_costs: tuple[int, int, int]
    helps: tuple[str, ...]
    """The levels of help this lesson may be run with, the most help first."""
    suggested: str
    seed: int
    """The seed that was assigned, or a fresh one."""
    assigned: str = ""
    """By whom and until when, where a trainer assigned it."""


@dataclass(frozen=True, slots=True)
class Doable:
    """One thing that hands can do at the unit now, and the ways to do it."""

    words: str
    ways: tuple[tuple[str, Handling], ...]


@dataclass(frozen=True, slots=True)
class Candidate:
    """A step that might come next."""

    step: str
    words: str


@dataclass(frozen=True, slots=True)
class Lost:
    """Points that were lost, and the event that lost them: its number, place and time in words."""

    item: str
    points: int
    where: str
    words: str


@dataclass(frozen=True, slots=True)
class Scored:
    """What a run came to."""

    points: int
    of: int
    safety: bool
    passed: bool
    minimum: int
    lost: tuple[Lost, ...]
    afterwards: tuple[str, ...] = ()
    """Where the trainee stands with the lesson now; what comes next; when it is due again."""


@dataclass(frozen=True, slots=True)
class Stopped:
    """Why a run ended before its time: what it would have done, what led to it, what to do instead."""

    would: str
    cause: str
    instead: str


@dataclass(frozen=True, slots=True)
class Question:
    """One question after the run, with the answer it is laid beside."""

    ask: str
    choices: tuple[str, ...]
    """What can be picked; empty where a line is typed."""
    model: str


@dataclass(frozen=True, slots=True)
class BesideRow:
    """One step of the own run beside the same step of the model run."""

    step: str
    do: str
    model: tuple[str, ...]
    own: tuple[str, ...]
    differs: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
