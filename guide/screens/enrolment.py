"""What a new person is asked about themselves, for every way of asking. Pure."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from guide.screens.ask import Ask, Choice, secret, text

if TYPE_CHECKING:
    from guide.bench.people import KnownPerson
    from guide.screens.filling import Filling

SOMEBODY_NEW: Final = "\n"
"""Picked instead of a name; no short name can be like it."""

MADE_FROM_IT: Final = (
    "Your keys are made from the passphrase, on this machine only. They sign what you log and the records "
    "you hand over. Nobody can reset it: keep it where only you find it."
)

NONE_NEEDED: Final = "none needed here"
NAME: Final = text("name", "Your name", note="as it stands on records")
PARTICULARS: Final = (
    text("id", "Short name", note="letters, digits: ana, t07"),
    text(
        "certification_type",
        "Certification",
        suggestions=(
            "EPA 608 Universal",
            "EPA 608 Type II",
            "EU certificate, category I",
            NONE_NEEDED,
        ),
    ),
    text("certification_number", "Its number", needed=False, note="may stay empty"),
)
NEW_PASSPHRASE: Final = (
    secret("passphrase", "Passphrase", note="10 characters or more"),
    secret("again", "The same again"),
)
NOT_THE_SAME: Final = "the two are not the same"

_SHORT_NAME = re.compile(r"[^a-z0-9]")


def names(people: tuple[KnownPerson, ...]) -> tuple[Choice, ...]:
    """Everybody known, and somebody new."""
    known = (Choice(person.id, f"{person.name} ({person.id})") for person in people)
    return (*known, Choice(SOMEBODY_NEW, "somebody new: make yourself known"))


def short_name(name: str, taken: tuple[str, ...] = ()) -> str:
    """A short name made from a name: its first word, with more of it where that is taken."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    words = [kept for word in plain.split() if (kept := _SHORT_NAME.sub("", word))]
    if not words:
        return ""
    tries = [words[0][:12], (words[0] + "".join(word[0] for word in words[1:]))[:12]]
    tries += [f"{words[0][:12]}{number}" for number in range(2, 100)]
    return next((short for short in tries if short not in taken), "")


def particulars(short: str) -> tuple[Ask, ...]:
    """What is asked after the name, a short name already in its field."""
    return (replace(PARTICULARS[0], start=short), *PARTICULARS[1:])


def person_in(filling: Filling, name: str) -> KnownPerson:
    """The person that the filled-in particulars describe."""
    from guide.bench.people import KnownPerson

    return KnownPerson(
        filling.text("id"), name, filling.text("certification_type"), filling.text("certification_number")
    )
