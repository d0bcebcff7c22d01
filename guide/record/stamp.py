"""What the visible stamp of a signature says beside the name: meaning and place, from the job itself."""

from __future__ import annotations

from guide.errors import ChargewrightError
from guide.escape import MARK, for_terminal
from guide.job.state import JobState

_LONGEST = 200


class Unsigned(ChargewrightError):
    """A job that nobody has signed off."""


def stamp_words(state: JobState) -> tuple[str, str | None]:
    """Meaning and place of the technician's signature, each on one printable line.

    Raises:
        Unsigned: there is no sign-off in the log to take the meaning from.
    """
    if not state.signed:
        raise Unsigned(f"job {state.job} is not signed off; sign it before a record is made")
    return _line(state.signed[-1].meaning) or "signed off", _line(state.order.place) or None


def _line(text: str) -> str:
    shown = for_terminal(text).replace(MARK, "?")[:_LONGEST].strip()
    return "".join(character if character.isprintable() else " " for character in shown)
