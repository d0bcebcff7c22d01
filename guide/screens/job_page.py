"""The step sheet at work: keys become commands, commands become lines. What is asked is decided in
`guide.screens.turn`, what follows in `guide.job.walk`, how it looks in `guide.screens.sheet`.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job.exceptions import departures
from guide.job.focus import Front
from guide.job.state import focus_step_id
from guide.screens import acts, answer, say
from guide.screens import sheet as painted
from guide.screens.acts import Act
from guide.screens.ask import Ask, Sort
from guide.screens.explain import consequence
from guide.screens.filling import Filling, Outcome
from guide.screens.gallery import Gallery
from guide.screens.looking import neighbours
from guide.screens.paint import Lines, listed, quiet
from guide.screens.panel import Panel
from guide.screens.playing import PlayedPage
from guide.screens.review import recap, record_words, review
from guide.screens.settings import Settings
from guide.screens.streamed import Streamed
from guide.screens.turn import Mode, Turn, turn
from guide.screens.unit_system import in_system
from guide.screens.waits import waits
from guide.units import UnitError

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.bench.people import Technician
    from guide.job.work import Work
    from guide.rig.rehearsal import Rehearsal

NUMBERED = frozenset({Mode.ROUND, Mode.SETTLE, Mode.ADVISED_MOVE, Mode.WEIGH_END, Mode.LOOP_END})
"""Where the first question is what the numbers say; elsewhere F1 tells why the step is done."""

_CHANGES: Final[Mapping[Act, Callable[[Settings], Settings]]] = {
    Act.LIGHT: Settings.next_light,
    Act.UNITS: Settings.next_system,
    Act.DETAIL: Settings.next_detail,
    Act.LARGE: Settings.other_size,
}

_REVIEWED = frozenset({Front.CUSTOMER, Front.SIGN, Front.AMEND})


class JobPage(PlayedPage):
    """One job being worked, by a person or for a while by a player."""

    def __init__(
        self, bench: Bench, technician: Technician, work: Work, *, rehearsal: Rehearsal | None = None
    ) -> None:
        super().__init__(rehearsal)
        self._bench = bench
        self._technician = technician
        self._work = work
        self._locked = False
        self._people = {person.id: person.name for person in bench.people()}
        self._busy = ""
        self._panel: Panel | None = None
        self._looking: str | None = None
        self._again = False
        self._lead: tuple[str, ...] = ()
        self._lead_top = 0
        self._lead_of: tuple[int, Front] | None = None
        self._turn = Turn(Mode.CLOSED, "")
        self._turn_of: tuple[object, ...] = ()
        self._turn_since = 0.0
        self._left_s: float | None = None
        self._shown = work.state
        self._warn_page = 0
        self._gallery = Gallery(lambda: bench.journal.events(work.state.job))
        self._unlocking = acts.locked(technician.known.name)
        self._streamed = Streamed()
        self._renew()

    # -- what is shown ------------------------------------------------------------------------

    def on_mount(self) -> None:
        """Begin: a clock that ticks, and the player where there is one (the keys are the base's)."""
        if self._rehearsal is None:
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
        return painted.View(
            state=self._shown,
            focus=self._work.focus(),
            turn=self._turn,
            filling=self._filling,
            now=self._work.now().stamp,
            said=self._said,
            lead=self._lead,
            lead_top=self._lead_top,
            panel=self._unlocking if self._locked else self._panel,
            looking=self._looking,
            busy=self._busy,
            playing=self._playing,
            detail=self._settings.detail,
            large=self._settings.large,
            page=self._warn_page,
            elsewhere=self._elsewhere(),
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
            self._turn_of = of
            self._warn_page = 0
            self._turn_since = time.monotonic()
            self._filling = Filling.of(asked.asks, state.order.site_pressure_Pa)
        elif asked.asks != self._filling.asks:
            self._filling = self._filling.with_asks(asked.asks)
        self._turn = asked
        self._left_s = asked.left_s
        self._renew_lead(focus.front)

    def _beside(self, asks: tuple[Ask, ...]) -> tuple[Ask, ...]:
        """The fields with what a stream says of them, where one is followed."""
        readings = self.chargewright.readings if self.is_attached else None
        if readings is None:
            return asks
        if news := self._streamed.hear(readings, self._work.state.order, asks):
            self._said = quiet(news)
        return self._streamed.beside(asks)

    @property
    def _settings(self) -> Settings:
        return self.chargewright.settings if self.is_attached else Settings()

    def _renew_lead(self, front: Front) -> None:
        state = self._work.state
        if front is Front.RESUME:
            self._lead = recap(state, self._work.now().stamp)
        elif front is Front.CLOSED:
            self._lead = record_words(state, self._bench.records)
        elif front in _REVIEWED:
            if self._lead_of != (state.last_seq, front):
                self._lead = self._review()
        else:
            self._lead = ()
        if self._lead_of != (state.last_seq, front):
            self._lead_top = 0
            self._lead_of = (state.last_seq, front)

    def _review(self) -> tuple[str, ...]:
        state = self._work.state
        try:
            events = tuple(self._bench.journal.events(state.job))
            return review(state, departures(state.order, events), self._work.text)
        except ChargewrightError as error:
            return (f"The review can't be made: {error}",)

    # -- keys ---------------------------------------------------------------------------------

    async def pressed(self, key: str, character: str | None) -> None:
        """A key, wherever the person is: playing, in a panel, looking around, at work."""
        if self._playing:
            self._playing = False
            self._turn_of = ()  # what the player filled in goes; a person types it anew
            self._said = quiet("You have taken over. Esc, then a, lets it play on.")
            self._renew()
            return
        if self._locked:
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
        if self._locked:
            self._unlocking = replace(self._unlocking, filling=self._unlocking.filling.paste(text))
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
        elif outcome is Outcome.DONE or (key == "enter" and self._needs_no_name()):
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

    def _needs_no_name(self) -> bool:
        """Whether the customer's answer is whole without the name that would come next."""
        if self._turn.mode is not Mode.CUSTOMER or self._filling.at == 0:
            return False
        return self._filling.text("how") in {"refused", "not present"}

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
            case _:
                await self._follow(self._command, Act.OTHER_WAY)

    def _command(self) -> c.Command:
        return answer.command(
            self._work.state, self._work.focus(), self._turn, self._filling,
            person=self._technician.person, keep=self._work.keep,
        )  # fmt: skip

    # -- other jobs ---------------------------------------------------------------------------

    def _others(self) -> tuple[str, ...]:
        """The other jobs taken up in this run of the program, still open."""
        works = self.chargewright.works if self.is_attached else {}
        mine = self._work.state.job
        return tuple(job for job, work in works.items() if job != mine and work.state.closed is None)

    def _elsewhere(self) -> str:
        """What the others wait for, for the rule under the head."""
        works = self.chargewright.works if self.is_attached else {}
        return "   ".join(waits(works[job].state, works[job].now().stamp) for job in self._others())

    async def _switch(self) -> None:
        """To the job that was taken up next after this one."""
        others = self._others()
        if others:
            mine = self._work.state.job
            after = next((job for job in sorted(others) if job > mine), sorted(others)[0])
            self._keep_draft()
            self.chargewright.follow(self.chargewright.go(f"job:{after}"), leaving=True)

    def _keep_draft(self) -> None:
        """Half-filled fields are there again on coming back to this job."""
        if self._rehearsal is None and not any(ask.sort is Sort.SECRET for ask in self._filling.asks):
            self.chargewright.drafts[self._work.state.job] = (self._turn_of, self._filling)

    # -- locked -------------------------------------------------------------------------------

    def lock_key(self) -> None:
        """The key is let go after a while without anybody; what is on the page stays on it."""
        if self._rehearsal is None:
            self._locked = True
            self._work.lock()
            self._unlocking = acts.locked(self._technician.known.name)
            self.repaint()

    async def _unlock(self, key: str, character: str | None) -> None:
        """A passphrase goes on; Esc leaves to the first page, for somebody else."""
        if key == "escape":
            self._leave()
            return
        filling, outcome = self._unlocking.filling.press(key, character)
        self._unlocking = replace(self._unlocking, filling=filling)
        if outcome is not Outcome.DONE:
            return
        self._busy = "unlocking …"
        self.repaint()
        try:
            technician = await asyncio.to_thread(
                self._bench.sign_in, self._technician.known.id, filling.text("passphrase")
            )
        except ChargewrightError as error:
            again = acts.locked(self._technician.known.name).filling.with_fault("passphrase", str(error))
            self._unlocking = replace(self._unlocking, filling=again)
            return
        finally:
            self._busy = ""
        self._technician = self.chargewright.technician = technician
        self._work.unlock(technician.log_key)
        self._locked = False
        self._said = quiet("Unlocked.")

    # -- looking around -----------------------------------------------------------------------

    def _look(self, way: Outcome) -> None:
        if self._lead and self._turn.mode in {Mode.CUSTOMER, Mode.SIGN, Mode.RESUME, Mode.CLOSED}:
            whole = sum(len(listed(words, self.size.width)) for words in self._lead)
            self._lead_top = max(0, min(whole - 1, self._lead_top + (5 if way is Outcome.AHEAD else -5)))
            return
        steps = neighbours(self._work.state)
        here = self._looking or focus_step_id(self._work.state)
        at = steps.index(here) if here in steps else len(steps)
        at += -1 if way is Outcome.BACK else 1
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

    # -- acts ---------------------------------------------------------------------------------

    def _open_menu(self) -> None:
        others = any(person != self._work.state.present for person in self._people)
        offers = acts.possible(
            self._work.state, self._work.focus(), others=others, can_play=self._rehearsal is not None,
            settings=self._settings, elsewhere=len(self._others()),
            pictures=self._gallery.any(self._shown, self._settings.system),
        )  # fmt: skip
        self._panel = acts.menu(offers)

    async def _in_panel(self, shown: Panel, key: str, character: str | None) -> None:
        if key == "escape":
            self._panel = None
            return
        if shown.reads:
            moves = {"up": -1, "down": 1, "pageup": -8, "pagedown": 8}
            self._panel = None if key == "enter" else shown.scrolled(moves.get(key, 0))
            return
        filling, outcome = shown.filling.press(key, character)
        self._panel = replace(shown, filling=filling)
        if outcome is Outcome.DONE:
            await self._panel_done(self._panel)

    async def _panel_done(self, shown: Panel) -> None:
        state = self._work.state
        if shown.act == Act.MENU:
            self._panel = None
            await self._begin_act(Act(shown.filling.text("act")))
        elif shown.act == Act.CORRECT:
            self._panel = acts.correction(self._shown, acts.chosen_entry(self._shown, shown.filling))
        elif shown.act == Act.OTHER_WAY:
            reason = shown.filling.text("reason")
            step, keep = focus_step_id(state), self._work.keep
            if await self._follow(lambda: answer.choose(step, self._turn, self._filling, keep(reason))):
                self._panel = None
        else:
            focus, keep, person = self._work.focus(), self._work.keep, self._technician.person
            if await self._follow(lambda: acts.command(shown, state, focus, person, keep)):
                self._panel = None

    async def _begin_act(self, act: Act) -> None:
        if act in {Act.PLAY, Act.PLAY_ONE}:
            self._play_on(once=act is Act.PLAY_ONE)
        elif act in _CHANGES:
            self.chargewright.use(_CHANGES[act](self._settings))
        elif act is Act.PICTURE:
            self._gallery.begin()
        elif act is Act.SWITCH:
            await self._switch()
        elif act is Act.LEAVE:
            async with (
                self._lock
            ):  # whatever the player was doing is on the disk before the journal is let go
                self._leave()
        elif act is Act.AGAIN:
            self._again = True
        else:
            self._panel = acts.panel(act, self._shown, self._people)

    def _leave(self) -> None:
        if self.chargewright.one_job:
            issued = self._work.state.issued
            self.app.exit(self._bench.records / issued[-1].file if issued else None)
            return
        if self._rehearsal is not None:
            self._rehearsal.close()
        self._keep_draft()
        self.app.pop_screen()

    # -- commands -----------------------------------------------------------------------------

    async def _follow(self, make: Callable[[], c.Command], on_reason: Act | None = None) -> bool:
        """Make a command, log it, and only then say so. What was typed stays where it went wrong."""
        try:
            command = make()
        except answer.NeedsReason as error:
            self._needs_reason(str(error), on_reason)
            return False
        except UnitError as error:
            self._said = painted.said_refused(str(error))
            return False
        return await self._log(command)

    def _needs_reason(self, words: str, act: Act | None) -> None:
        if self._turn.mode is Mode.CUSTOMER:
            self._filling = self._filling.with_fault("name", words)
        elif act is not None:
            self._panel = acts.panel(act, self._work.state, self._people)

    async def _log(self, command: c.Command) -> bool:
        from guide.journal.reading import NotLogged

        async with self._lock:
            try:
                events = await asyncio.to_thread(self._work.do, command)
            except NotLogged as error:
                self._said = painted.said_not_logged(str(error))
                return False
            except ChargewrightError as error:
                self._said = painted.said_refused(str(error))
                return False
        self._again = False
        self._said = painted.said_logged(say.clock(events[0].stamp), consequence(self._work.state, events))
        return True

    async def _sign(self) -> None:
        """Sign and close, or make the record of a closed job; both take a moment."""
        rehearsal = self._rehearsal
        passphrase = rehearsal.passphrase if rehearsal else self._filling.text("passphrase")
        bench = self._bench
        make = bench.issue_record if self._work.state.closed is not None else bench.sign_off
        self._busy = "signing, writing and checking the record …"
        self.repaint()
        async with self._lock:
            try:
                issued = await asyncio.to_thread(make, self._work, self._technician, passphrase)
            except ChargewrightError as error:
                self._said = painted.said_refused(str(error))
                if not rehearsal and "passphrase" in self._filling.asks[0].key:
                    self._filling = Filling.of(self._turn.asks, self._work.state.order.site_pressure_Pa)
                return
            finally:
                self._busy = ""
        if rehearsal is not None:
            rehearsal.issued = issued
        self._said = painted.said_logged(say.clock(self._work.now().stamp), "signed and written")
