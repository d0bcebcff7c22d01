"""The lessons there are: those shipped with the program, and a trainer's own beside them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from guide.procedure.strict_yaml import printable
from guide.rig.learning.lesson_reader import LessonError, Ready, read_lesson

_ID = re.compile(r"[a-z][a-z0-9-]{0,63}")
OWN = "lessons"
"""The folder of a trainer's own lessons, in the folder of practice."""


def folder() -> Path:
    """The folder of the shipped lessons: package data in a wheel, the checkout's folder otherwise.

    Raises:
        LessonError: the installation carries none.
    """
    package = Path(__file__).resolve().parents[2]
    for place in (package / "_jobs" / "lessons", package.parent / "jobs" / "lessons"):
        if any(place.glob("*.yaml")):
            return place
    raise LessonError(f"{package}: no lessons installed with the program; install it again")


def paths(own: Path | None = None) -> dict[str, Path]:
    """The file of every lesson by its id, in order of ids. No file of somebody's own takes the place of a
    shipped lesson, or an easier one could be passed under its name.

    Raises:
        LessonError: the installation carries no lessons.
    """
    found = {path.stem: path for place in _places(own) for path in sorted(place.glob("*.yaml"))}
    return {name: found[name] for name in sorted(found) if _ID.fullmatch(name)}


def passed_over(own: Path) -> tuple[str, ...]:
    """Ids of files of somebody's own that a shipped lesson has already."""
    shipped = paths()
    return tuple(sorted(path.stem for path in own.glob("*.yaml") if path.stem in shipped))


def load(lesson_id: str, own: Path | None = None) -> Ready:
    """A lesson by its id.

    Raises:
        LessonError: there is none of that id, or it can't be worked.
    """
    known = paths(own)
    if lesson_id not in known:
        raise LessonError(f"there is no lesson '{printable(lesson_id)}'; there are: {', '.join(known)}")
    return read_lesson(known[lesson_id])


def _places(own: Path | None) -> Iterator[Path]:
    if own is not None and own.is_dir():
        yield own
    yield folder()
