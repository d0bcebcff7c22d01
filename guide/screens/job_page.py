"""The step sheet at work: keys become commands, commands become lines. What is asked is decided in
`guide.screens.turn`, what follows in `guide.job.walk`, how it looks in `guide.screens.sheet`.
"""

from __future__ import annotations

import asyncio
import time
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job.state import focus_step_id
from guide.screens import acts, answer, switching
from guide.screens import sheet as painted
from guide.screens.acts import Act
from guide.screens.ask import Ask, Sort
from guide.screens.filling import Filling, Outcome
from guide.screens.hold import unwatched_s, with_unwatched
from guide.screens.leading import Leading
from guide.screens.locking import Locking
from guide.screens.looking import neighbours
from guide.screens.mode import Mode
from guide.screens.paint import Lines, Role, Span, quiet
from guide.screens.panelled import PanelledPage
from guide.screens.streamed import Streamed
from guide.screens.turn import turn, whole
from guide.screens.unit_system import in_system

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.bench.people import Technician
    from guide.job.work import Work
    from guide.rig.rehearsal import Rehearsal

NUMBERED = frozenset({Mode.ROUND, Mode.SETTLE, Mode.ADVISED_MOVE, Mode.WEIGH_END, Mode.LOOP_END})
"""Where the first question is what the numbers say; elsewhere F1 tells why the step is done."""

_READ_ON = frozenset({Mode.CUSTOMER, Mode.SIGN, Mode.RESUME, Mode.CLOSED})
"""Where the page keys read on what stands above the fields, and do not look at other steps."""


class JobPage(PanelledPage):
    """One job being worked, by a person or for a while by a player."""

    in_hand: ClassVar[bool] = True
    """Whether it counts among the jobs in hand, whose waits are told on the other pages."""

    def __init__(
        self, bench: Bench, technician: Technician, work: Work, *, rehearsal: Rehearsal | None = None,
        notice: str = "",
    ) -> None:  # fmt: skip
        super().__init__(bench, technician, work, rehearsal)
        self._looking: str | None = None
        self._turn_of: tuple[object, ...] = ()
        self._turn_since = 0.0
        self._left_s: float | None = None
        self._warn_page = 0
        self._leading = Leading(self._events, work.text, bench.records, notice=notice)
        self._locking = Locking(technician.known.id, technician.known.name)
        self._streamed = Streamed()
        self._away = (-1, 0)
        if words := work.certification_words():
            self._said = Span(f"! {' '.join(words)} You may go on; the record says so.", Role.FAULT)
        self._renew()

    # -- what is shown ------------------------------------------------------------------------

    def on_mount(self) -> None:
        """Begin: a clock that ticks, and the player where there is one (the keys are the base's)."""
        if self._rehearsal is None and self.in_hand:
            job = self._work.state.job
            self.chargewright.works[job] = self._work
            of, filling = self.chargewright.drafts.pop(job, ((), self._filling))
            if of == self._turn_of:
                self._filling = filling
        self.set_interval(self.chargewright.tick_s, self._tick)
        if self._rehearsal is not None:
            self._play_on()

    def _tick(self) -> None:
        self._renew()
        self.repaint()

    def lines(self, width: int, height: int) -> Lines:
        """The sheet."""
        return painted.sheet(self.view(), width, height)

    def view(self) -> painted.View:
        """Everything the sheet shows now."""
        state = self._work.state
        return painted.View(
            state=self._shown,
            focus=self._work.focus(),
            turn=self._turn,
            filling=self._filling,
            now=self._work.now().stamp,
            said=self._said,
            lead=self._leading.lead,
            panel=self._locking.panel or self._panel,
            looking=self._looking,
            busy=self._busy,
            playing=self._playing,
            detail=self._settings.detail,
            large=self._settings.large,
            page=self._warn_page,
            elsewhere=switching.elsewhere(self._works, state.job),
            meant=self._following.said(self._shown, self._work.focus().step),
            drawn=self._gallery.now(self._shown, self._settings.system),
        )

    def _renew(self) -> None:
        """Ask again what is asked now; fields stay as they are while it is the same."""
        state, focus, now = self._work.state, self._work.focus(), self._work.now().stamp
        system = self._settings.system
        self._shown = in_system(state, system)
        asked = turn(self._shown, focus, now, reading_again=self._again, system=system)
        if self._rehearsal is not None and asked.mode is Mode.SIGN:
            asked = replace(asked, asks=())
        if state.waiting is not None:
            asked = with_unwatched(asked, self._unwatched())
        asked = replace(asked, asks=self._beside(asked.asks))
        step, part = focus.step.id if focus.step else "", focus.part.id if focus.part else ""
        of = (
            asked.mode, focus.front, step, part, focus.hazard, len(state.entries),
            state.answers.get(step), state.weighing is None, tuple(ask.key for ask in asked.asks),
        )  # fmt: skip
        if of != self._turn_of:
            time_up = self._left_s is not None and asked.left_s is None
            if time_up and self._turn.mode in {Mode.WAITING, Mode.SETTLE}:
                self.app.bell()
                self._said = quiet("")  # what was said of the wait is no longer so
            self._turn_of = of
            self._warn_page = 0
            self._turn_since = time.monotonic()
            self._filling = Filling.of(asked.asks, state.order.site_pressure_Pa)
        elif asked.asks != self._filling.asks:
            self._filling = self._filling.with_asks(asked.asks)
        self._turn = asked
        self._left_s = asked.left_s
        self._leading.renew(state, focus.front, now)

    def _unwatched(self) -> int:
        """Seconds of the hold without anybody at the program; read anew only when something was logged."""
        seq = self._work.state.last_seq
        if self._away[0] != seq:
            try:
                self._away = (seq, unwatched_s(self._events()))
            except ChargewrightError:
                self._away = (seq, 0)
        return self._away[1]

    def _beside(self, asks: tuple[Ask, ...]) -> tuple[Ask, ...]:
        """The fields with what a stream says of them, where one is followed."""
        readings = self.chargewright.readings if self.is_attached else None
        if readings is None:
            return asks
        if news := self._streamed.hear(readings, self._work.state.order, asks):
            self._said = quiet(news)
        self._following.hear(readings, self._work.state, self._work.focus().step)
        return self._streamed.beside(asks)

    # -- keys ---------------------------------------------------------------------------------

    async def pressed(self, key: str, character: str | None) -> None:
        """A key, wherever the person is: playing, in a panel, looking around, at work."""
        if self._playing:
            self._playing = False
            self._turn_of = ()  # what the player filled in goes; a person types it anew
            self._said = quiet("You have taken over. Esc, then a, lets it play on.")
            self._renew()
            return
        if self._locking.panel is not None:
            await self._unlock(key, character)
        elif self._panel is not None:
            await self._in_panel(self._panel, key, character)
        elif self._gallery.open:
            self._gallery.key(key)
        elif self._looking is not None:
            self._look_further(key)
        elif key == "escape":
            self._open_menu()
        elif key == "f1":
            numbers = self._turn.mode in NUMBERED and self._work.state.rounds
            self._panel = acts.panel(Act.NUMBERS if numbers else Act.WHY, self._shown, self._people)
        else:
            await self._at_work(key, character)
        self._renew()

    def pasted(self, text: str) -> None:
        """Into the field that is active."""
        if self._locking.panel is not None:
            self._locking.paste(text)
        elif self._panel is not None:
            self._panel = replace(self._panel, filling=self._panel.filling.paste(text))
        elif self._looking is None and not self._playing:
            self._filling = self._filling.paste(text)

    async def _at_work(self, key: str, character: str | None) -> None:
        if key == "enter" and self.key_at < self._turn_since + self.chargewright.bounce_s:
            return  # pressed before this turn could be read: a bounced or a hurried key
        if self._turn.mode is Mode.HAZARD and self._leafed(key):
            return
        if key == "enter":
            self._filling, asked_about = self._streamed.enter(self._filling, self._work.state.order)
            if asked_about:
                return
        self._filling, outcome = self._filling.press(key, character)
        if outcome in {Outcome.BACK, Outcome.AHEAD}:
            self._look(outcome)
        elif outcome is Outcome.DONE or (key == "enter" and whole(self._turn, self._filling)):
            await self._accept()

    def _leafed(self, key: str) -> bool:
        """Whether a key turned a page of a long warning; only its last page can be acknowledged."""
        left = painted.warning_left(self.view(), self.size.width, self.size.height)
        if key in {"enter", "pagedown", "down"} and left:
            self._warn_page += 1
            self._turn_since = time.monotonic()
            return True
        if key in {"pageup", "up"} and self._warn_page:
            self._warn_page -= 1
            return True
        return False

    async def _accept(self) -> None:
        match self._turn.mode:
            case Mode.WAITING:
                self._said = quiet("The wait is not over yet.")
            case Mode.SETTLE:
                self._again = True
            case Mode.CLOSED:
                self._leave()
            case Mode.SIGN:
                await self._sign()
            case Mode.WAIT_END:
                if not await self._follow(self._command):
                    self._again = False  # a hold that is not found failing before its time runs on
            case _:
                await self._follow(self._command)

    def _command(self) -> c.Command:
        return answer.command(
            self._work.state, self._work.focus(), self._turn, self._filling,
            person=self._technician.person, keep=self._work.keep,
        )  # fmt: skip

    # -- other jobs, and nobody there ---------------------------------------------------------

    async def _switch(self) -> None:
        """To the job that was taken up next after this one."""
        job = switching.after(self._works, self._work.state.job)
        if job is not None:
            self._keep_draft()
            self.chargewright.follow(self.chargewright.go(f"job:{job}"), leaving=True)

    def _keep_draft(self) -> None:
        """Half-filled fields are there again on coming back to this job."""
        secret = any(ask.sort is Sort.SECRET for ask in self._filling.asks)
        if self._rehearsal is None and self.in_hand and not secret:
            self.chargewright.drafts[self._work.state.job] = (self._turn_of, self._filling)

    def lock_key(self) -> None:
        """The key is let go after a while without anybody; what is on the page stays on it."""
        if self._rehearsal is None:
            self._work.lock()
            self._locking.lock()
            self.repaint()

    async def _unlock(self, key: str, character: str | None) -> None:
        """A passphrase goes on; Esc leaves to the first page, for somebody else."""
        if key == "escape":
            self._leave()
            return
        technician = await self._locking.press(key, character, self._sign_in)
        if technician is not None:
            self._technician = self.chargewright.technician = technician
            self._work.unlock(technician.log_key)
            self._said = quiet("Unlocked.")

    async def _sign_in(self, person: str, passphrase: str) -> Technician:
        self._busy = "unlocking …"
        self.repaint()
        try:
            return await asyncio.to_thread(self._bench.sign_in, person, passphrase)
        finally:
            self._busy = ""

    # -- looking around -----------------------------------------------------------------------

    def _look(self, way: Outcome) -> None:
        ahead = way is Outcome.AHEAD
        if self._turn.mode in _READ_ON and self._leading.scroll(self.size.width, ahead=ahead):
            return
        steps = neighbours(self._work.state)
        here = self._looking or focus_step_id(self._work.state)
        at = steps.index(here) if here in steps else len(steps)
        at += 1 if ahead else -1
        if 0 <= at < len(steps):
            back = steps[at] == focus_step_id(self._work.state)
            self._looking = None if back else steps[at]

    def _look_further(self, key: str) -> None:
        if key in {"up", "pageup", "left"}:
            self._look(Outcome.BACK)
        elif key in {"down", "pagedown", "right"}:
            self._look(Outcome.AHEAD)
        elif key in {"enter", "escape"}:
            self._looking = None

    # -- leaving, signing ---------------------------------------------------------------------

    def _leave(self) -> None:
        if self.chargewright.one_job:
            issued = self._work.state.issued
            self.app.exit(self._bench.records / issued[-1].file if issued else None)
            return
        if self._rehearsal is not None:
            self._rehearsal.close()
        self._keep_draft()
        self.app.pop_screen()

    async def _sign(self) -> None:
        """Sign and close, or make the record of a closed job."""
        rehearsal = self._rehearsal
        issued = await self._issue(rehearsal.passphrase if rehearsal else self._filling.text("passphrase"))
        if issued is None and not rehearsal:
            self._filling = Filling.of(self._turn.asks, self._work.state.order.site_pressure_Pa)
        elif rehearsal is not None:
            rehearsal.issued = issued
