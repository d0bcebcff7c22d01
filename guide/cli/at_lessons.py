"""What the commands of `chargewright practice` share: the trainees' folder, lessons by name, the way in."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from guide.cli.given import Common, Unusable

if TYPE_CHECKING:
    from guide.rig.learning.lesson import Lesson
    from guide.rig.learning.lesson_reader import Ready
    from guide.rig.trainees.roster import Roster


def roster_of(common: Common) -> Roster:
    """The trainees of the data folder."""
    from guide.rig.trainees.roster import Roster

    return Roster(common.places().practice)


def own_lessons(common: Common) -> Path:
    """The folder of a trainer's own lessons."""
    from guide.rig.learning.shelf import OWN

    return common.places().practice / OWN


def lesson_of(common: Common, name: str) -> Ready:
    """A lesson by its id.

    Raises:
        LessonError: there is none of that id, or it can't be worked.
    """
    from guide.rig.learning.shelf import load

    return load(name, own_lessons(common))


def workable(common: Common) -> Iterator[Lesson]:
    """Every lesson that can be worked; a trainer's own that is not finished is left out."""
    from guide.rig.learning.lesson_reader import LessonError, read_lesson
    from guide.rig.learning.shelf import paths

    for path in paths(own_lessons(common)).values():
        with contextlib.suppress(LessonError):
            yield read_lesson(path).lesson


def open_at_lesson(common: Common, lesson: str | None) -> None:
    """Open the terminal program at practice, or at one lesson of it.

    Raises:
        Unusable: it was asked for line by line, or with a passphrase from elsewhere.
    """
    if common.plain:
        raise Unusable(
            "--plain: lessons are not worked line by line; leave it out, or work a practice order with run"
        )
    if common.passphrase_fd is not None:
        raise Unusable("--passphrase-fd: the program asks for the passphrase itself; leave it out")
    from guide.screens.app import ChargewrightApp

    ChargewrightApp(common.places().practice, nature="practice", lesson=lesson).run()
