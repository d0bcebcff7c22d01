"""A screen that is painted: lines out, keys in, one after the other, whatever a key sets off."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Mapping
from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.screen import Screen

from guide.screens.canvas import Canvas
from guide.screens.paint import Lines, Role
from guide.screens.palette import DAY, NIGHT, SUN, Ink
from guide.screens.settings import Light

if TYPE_CHECKING:
    from guide.screens.app import ChargewrightApp


_PALETTES = {Light.DAY: DAY, Light.SUN: SUN, Light.NIGHT: NIGHT}


class Page(Screen[None], inherit_bindings=False):
    """One painted screen.

    Keys are taken up one by one by a worker of the page, so that a slow act (a disk, a key that is
    unlocked) never holds up the painting, and no key overtakes another.
    """

    AUTO_FOCUS = "Canvas"

    def __init__(self) -> None:
        super().__init__()
        self._keys: asyncio.Queue[tuple[str, str | None, float]] = asyncio.Queue()
        self.key_at = 0.0

    @property
    def chargewright(self) -> ChargewrightApp:
        """The app this page belongs to."""
        from guide.screens.app import ChargewrightApp

        app = self.app
        assert isinstance(app, ChargewrightApp)
        return app

    @property
    def palette(self) -> Mapping[Role, Ink]:
        """The colours in use."""
        return _PALETTES[self.chargewright.settings.light]

    def compose(self) -> ComposeResult:
        """One canvas."""
        yield Canvas(colour=not self.app.no_color)

    def on_mount(self) -> None:
        """Begin to take keys."""
        self.run_worker(self._take_keys(), group="keys", exclusive=True)
        self.repaint()

    def on_resize(self, _event: events.Resize) -> None:
        """Paint for the new size."""
        self.repaint()

    def on_screen_resume(self) -> None:
        """Paint again after another page was in front."""
        self.repaint()

    def on_key(self, event: events.Key) -> None:
        """Queue a key; whoever queued it earlier is served first."""
        event.stop()
        event.prevent_default()
        now = time.monotonic()
        self.chargewright.last_key_at = now
        self._keys.put_nowait((event.key, event.character, now))

    def on_canvas_pasted(self, event: Canvas.Pasted) -> None:
        """Paste into the active field."""
        self.pasted(event.text)
        self.repaint()

    async def _take_keys(self) -> None:
        while True:
            key, character, at = await self._keys.get()
            if key == "f2":
                self.chargewright.turn_light()
            else:
                self.key_at = at
                await self.pressed(key, character)
            self.repaint()

    def repaint(self) -> None:
        """Paint what the page shows now."""
        if not self.is_mounted or not self.size.width:
            return
        for canvas in self.query(Canvas):
            canvas.paint(self.lines(self.size.width, self.size.height), self.palette)

    def lines(self, width: int, height: int) -> Lines:
        """What the page shows, in exactly `height` lines."""
        raise NotImplementedError

    async def pressed(self, key: str, character: str | None) -> None:
        """Do what a key asks; `key_at` is when it was pressed, by the running clock."""
        raise NotImplementedError

    def pasted(self, text: str) -> None:
        """Take pasted text; pages without a field let it fall."""
