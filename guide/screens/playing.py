"""A job played for a while by a simulated technician: what it types is shown before it is logged."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.screens.entry import Typed
from guide.screens.filling import Cell, Filling
from guide.screens.page import Page
from guide.screens.paint import quiet
from guide.screens.sheet import said_refused

if TYPE_CHECKING:
    from guide.rig.rehearsal import Rehearsal


def filled_by(filling: Filling, command: c.Command) -> Filling:
    """The fields with what a command carries in them, as if a person had filled them in."""
    texts: dict[str, str] = {}
    match command:
        case c.Read() | c.BeginWait() | c.EndWait():
            texts = {value.channel: value.typed for value in command.readings}
        case c.Answer():
            texts = {"seen": command.seen}
        case c.Choose():
            texts = {"option": command.option}
        case c.BeginWeigh():
            texts = {"cylinder": command.cylinder, "before": command.before.typed}
        case c.EndWeigh():
            texts = {"after": command.after.typed}
        case c.ShowCustomer():
            texts = {"how": command.how}
    cells = tuple(
        _filled(cell, [choice.value for choice in ask.choices], texts.get(ask.key))
        for ask, cell in zip(filling.asks, filling.cells, strict=True)
    )
    return replace(filling, cells=cells, at=max(0, len(cells) - 1))


def _filled(cell: Cell, choices: list[str], text: str | None) -> Cell:
    if text is None:
        return cell
    if choices:
        return Cell(picked=choices.index(text) if text in choices else None)
    return Cell(Typed.of(text))


class PlayedPage(Page):
    """A page that a player may work for a while; any key takes over."""

    def __init__(self, rehearsal: Rehearsal | None) -> None:
        super().__init__()
        self._rehearsal = rehearsal
        self._playing = False
        self._lock = asyncio.Lock()
        self._said = quiet("")
        self._filling = Filling()

    def _tick(self) -> None:
        raise NotImplementedError

    def _leave(self) -> None:
        raise NotImplementedError

    def _play_on(self, *, once: bool = False) -> None:
        self._playing = True
        self.run_worker(self._play(once=once), group="play", exclusive=True)

    async def _play(self, *, once: bool) -> None:
        pause_s = self.chargewright.play_pause_s
        while await self._play_one(pause_s):
            if once:
                self._playing = False
                self._tick()
                return
            await asyncio.sleep(pause_s)

    async def _play_one(self, pause_s: float) -> bool:
        """One act of the player, shown before it is done; whether it goes on."""
        assert self._rehearsal is not None
        async with self._lock:
            try:
                play = await asyncio.to_thread(self._rehearsal.player.next)
                if play is not None:
                    self._filling = filled_by(self._filling, play.command)
                    self.repaint()
                    await asyncio.sleep(pause_s)
                if not self._playing:
                    return False
                words = await asyncio.to_thread(self._rehearsal.step)
            except ChargewrightError as error:
                self._playing = False
                self._said = said_refused(str(error))
                self._tick()
                return False
        if words is None:
            self._playing = False
            if self.chargewright.one_job:
                await asyncio.sleep(4 * pause_s)
                self._leave()
            return False
        self._said = quiet(words)
        self._tick()
        return self._playing
