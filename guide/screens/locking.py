"""A page whose person went away: the log key is let go, and a passphrase goes on where the job stands."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.screens.ask import secret
from guide.screens.filling import Filling, Outcome
from guide.screens.panel import Panel

if TYPE_CHECKING:
    from guide.bench.people import Technician

SignIn = Callable[[str, str], Awaitable["Technician"]]
"""Unlocks the keys of a person by id and passphrase; it takes a moment."""


def locked_panel(name: str) -> Panel:
    """What stands there while nobody's key is unlocked."""
    asks = (secret("passphrase", f"Passphrase of {name}"),)
    words = ("Nobody touched a key for a while. The job and its waits go on where they stood.",)
    return Panel("locked", "LOCKED", words, Filling.of(asks), accept="go on")


class Locking:
    """Whether a page is locked, and the field that unlocks it."""

    def __init__(self, person: str, name: str) -> None:
        self._person = person
        self._name = name
        self._panel: Panel | None = None

    @property
    def panel(self) -> Panel | None:
        """The field in the middle of the sheet, while it is locked."""
        return self._panel

    def lock(self) -> None:
        """Ask for the passphrase before anything else is done."""
        self._panel = locked_panel(self._name)

    def paste(self, text: str) -> None:
        """Into the field."""
        if self._panel is not None:
            self._panel = replace(self._panel, filling=self._panel.filling.paste(text))

    async def press(self, key: str, character: str | None, sign_in: SignIn) -> Technician | None:
        """The person at work again once the passphrase was right; None until then."""
        if self._panel is None:
            return None
        filling, outcome = self._panel.filling.press(key, character)
        self._panel = replace(self._panel, filling=filling)
        if outcome is not Outcome.DONE:
            return None
        try:
            technician = await sign_in(self._person, filling.text("passphrase"))
        except ChargewrightError as error:
            again = locked_panel(self._name)
            self._panel = replace(again, filling=again.filling.with_fault("passphrase", str(error)))
            return None
        self._panel = None
        return technician
