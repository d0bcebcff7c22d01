"""The sheet at a simulated unit: the same as at a real one, with hands, a clock that can run fast, hints."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Final, TypeVar

from guide.errors import ChargewrightError
from guide.screens import practice_unit as unit
from guide.screens import sheet as painted
from guide.screens.acts import Act
from guide.screens.ask import Choice, pick
from guide.screens.filling import Filling, Outcome
from guide.screens.head import WIDE
from guide.screens.job_page import JobPage
from guide.screens.paint import Lines, Role, Span, quiet, strong
from guide.screens.panel import Panel
from guide.screens.practice_run import Run, grave_among
from guide.screens.practice_said import (
    done_words,
    for_you_words,
    live_words,
    read_words,
    told_words,
)
from guide.screens.practice_shown import Doable
from guide.screens.practice_words import pace_words, strip

if TYPE_CHECKING:
    from guide.rig.acts import Handling
    from guide.rig.happenings import Happening

_T = TypeVar("_T")

_ACTS: Final = (
    Choice(unit.UNIT, "at the unit: valves, hoses, machines (also F3)", letter="v"),
    Choice(unit.CLOCK, "clock: how fast time runs (also F4)", letter="k"),
    Choice(unit.HINT, "question: a hint for this step, it costs", letter="q"),
)
_NOT_HERE: Final = frozenset({Act.SWITCH.value, Act.HAND.value, Act.PHOTO.value})
"""Acts of a real job that mean nothing at a simulated one."""


class PracticePage(JobPage):
    """The run of a lesson, worked by hand."""

    in_hand = False

    def __init__(self, run: Run, *, notice: str = "") -> None:
        self._run = run
        self._at_unit = 0
        self._at_words = ""
        self._listed: tuple[Doable, ...] = ()
        self._doable: Doable | None = None
        self._was_left: float | None = None
        self._gone = False
        self._was_over = run.over
        super().__init__(run.bench, run.technician, run.work, notice=notice)
        self._said = quiet("Esc, then v: your hands at the unit. Esc, then k: how fast time runs.")

    # -- what is shown ------------------------------------------------------------------------

    def on_mount(self) -> None:
        """The readings of the simulated unit are those of the page."""
        self.chargewright.readings = self._run.readings
        self._busy = "the unit is being set up …"
        self._catch_up()

    def view(self) -> painted.View:
        """The sheet, with the strip that says what this is, and what is seen at a step."""
        view = super().view()
        narrow = self.size.width < 60
        view = replace(view, elsewhere=strip(self._run.clock.factor, self._run.help, narrow=narrow))
        words = self._found()
        if not words:
            return view
        if narrow:  # beside the question, which is never cut
            return replace(view, turn=replace(view.turn, call=f"{words} {view.turn.call}".rstrip()))
        return replace(view, meant=(words, *view.meant))

    def _found(self) -> str:
        """What eyes find at this step: a sight, or values that only eyes can read."""
        sight = self._run.sight_here()
        if sight:
            return f"You see: {sight}"
        order, step = self._work.state.order, self._work.focus().step
        return read_words(self._run.shown_here(), step, order)

    def lines(self, width: int, height: int) -> Lines:
        """The sheet; the list of steps stays away while the next one is to be chosen."""
        choosing = self._panel is not None and self._panel.act == unit.NEXT
        return painted.sheet(self.view(), min(width, WIDE - 1) if choosing else width, height)

    def _seen(self) -> tuple[str, ...]:
        run = self._run
        state = self._work.state
        # what the scale shows comes first: where there is little room, a hand on a valve needs that most
        return (*live_words(run.readings, state.order, self._shown.order), *run.seen)

    def _renew(self) -> None:
        super()._renew()
        if self._panel is None:
            candidates, asked = self._run.to_choose(), self._run.to_conclude()
            if candidates:
                self._panel = unit.next_panel(candidates)
            elif asked is not None and not self._run.over:
                self._panel = unit.conclude_panel(*asked)
        elif self._panel.act == unit.UNIT:
            self._panel = self._unit_panel()

    def _unit_panel(self) -> Panel:
        doables = self._run.doables
        if self._panel is not None and self._panel.act == unit.UNIT and self._panel.filling.asks:
            self._keep_place(self._panel.filling.cells[0].picked or 0)
        self._at_unit = unit.place_kept(doables, self._at_words, self._at_unit)
        self._listed = tuple(doables)
        self._keep_place(self._at_unit)
        return unit.unit_panel(doables, self._seen(), picked=self._at_unit, warn=self._run.unit.lost)

    def _keep_place(self, at: int) -> None:
        """Remember where the cursor is by the words it is on: the list changes with the unit."""
        self._at_unit = at
        self._at_words = self._listed[at].words if at < len(self._listed) else ""

    def _cylinders(self) -> dict[str, str]:
        """What each cylinder of the order holds, by its id."""
        return {each.id: f"{each.refrigerant}, {each.contents}" for each in self._work.state.order.cylinders}

    # -- time ---------------------------------------------------------------------------------

    def _tick(self) -> None:
        super()._tick()
        self._mind_the_clock()
        self._catch_up()

    def _mind_the_clock(self) -> None:
        """At the end of a wait time runs as in life again, and not a tick later."""
        if words := self._run.called():
            self._as_in_life()
            self.app.bell()
            self._said = Span(f"SOMEBODY CALLS YOU AWAY: {words}", Role.NOTICE)
        left, factor = self._run.left_s(), self._run.clock.factor
        over = self._was_left is not None and self._was_left > 0 and not left
        self._was_left = left
        if factor <= 1:
            return
        if over:
            self._as_in_life("The wait is over")
        elif left is not None and 0 < left <= factor * self.chargewright.tick_s:
            self.set_timer(left / factor, self._tick)

    def _as_in_life(self, why: str = "") -> None:
        if self._run.clock.factor != 1:
            self._run.clock.run_at(1)
            if why:
                self._said = strong(f"{why}: time runs as in life again.")

    def _set_pace(self, pace: int) -> None:
        self._run.clock.run_at(pace)
        self._said = strong(f"{pace_words(pace)[:1].upper()}{pace_words(pace)[1:]}.")

    # -- the unit -----------------------------------------------------------------------------

    def _catch_up(self) -> None:
        """Let the unit follow the clock; one at a time, never in the way of a key."""
        if not self._gone:
            self.run_worker(self._follow_unit(), group="unit", exclusive=False)

    async def _follow_unit(self) -> None:
        if self._lock.locked():
            return  # whoever holds it brings the unit up to date, or the next tick does
        returns = self._run.brought_back
        happened = await self._at_the_unit(self._run.follow)
        self._busy = ""
        if self._run.brought_back > returns:
            self._said = quiet("The simulated unit had broken off; it is set up again as the log has it.")
        if happened:
            await self._tell(happened)
        await self._do_for()
        self._renew()
        self.repaint()

    async def _at_the_unit(self, do: Callable[[], _T]) -> _T | None:
        """Let something be logged or done that may take a moment; None where it failed, which is said."""
        from guide.journal.reading import NotLogged

        async with self._lock:
            try:
                return await asyncio.to_thread(do)
            except NotLogged as error:
                self._said = painted.said_not_logged(str(error))
            except ChargewrightError as error:
                self._said = painted.said_refused(str(error))
        return None

    async def _handle(self, words: str, handling: Handling) -> None:
        came = await self._at_the_unit(lambda: self._run.handle(handling))
        if came is None:
            return
        if came.fault:
            self._said = painted.said_refused(came.fault)
        else:
            self._said = strong(done_words(words, self._work.now().stamp))
        await self._tell(came.happened)

    async def _do_for(self) -> None:
        """With the hands done for the learner: do what is due at this place and say it."""
        if self._run.help != "fill" or self._work.locked:
            return
        done = await self._at_the_unit(self._run.do_for)
        if done is None or not done[0]:
            return
        self._said = quiet(for_you_words(done[0]))
        await self._tell(done[1])

    async def _tell(self, happened: tuple[Happening, ...]) -> None:
        """Something happened: it is said where that is told at once; something grave ends the run."""
        grave = grave_among(happened)
        if grave is not None:
            self._as_in_life()
            stopped = await self._at_the_unit(lambda: self._run.end(grave))
            if stopped is not None and not self._gone:
                self._gone = True
                self.app.bell()
                self.chargewright.follow(self.chargewright.practice.stopped(self._run, stopped), leaving=True)
        elif happened and self._run.tells:
            self._as_in_life()
            self._said = Span(f"! {told_words(happened)}", Role.FAULT)

    # -- keys ---------------------------------------------------------------------------------

    async def pressed(self, key: str, character: str | None) -> None:
        """A key; F3 and F4 are doubles of what stands behind Esc."""
        free = self._locking.panel is None and not self._gallery.open and not self._playing
        before = self._work.state.last_seq
        if key == "f3" and free:
            self._panel = self._unit_panel()
        elif key == "f4" and free:
            self._set_pace(unit.next_pace(self._run.clock.factor))
        else:
            await super().pressed(key, character)
        told = self._was_over or self._work.state.stopped is None  # else it is about to be told why
        if self._run.over and told and self._work.state.closed is None and not self._gone:
            self._leave()
        elif self._work.state.last_seq != before:
            self._catch_up()

    def _open_menu(self) -> None:
        super()._open_menu()
        assert self._panel is not None
        asked = self._panel.filling.asks[0]
        kept = tuple(choice for choice in asked.choices if choice.value not in _NOT_HERE)
        offered = _ACTS if self._work.focus().step is not None else _ACTS[:2]
        asks = (pick(asked.key, asked.label, (*offered, *kept), picked=0),)
        self._panel = replace(self._panel, filling=Filling.of(asks))

    async def _panel_done(self, shown: Panel) -> None:
        act = shown.filling.text("act") if shown.act == Act.MENU else ""
        if act == unit.UNIT:
            self._panel = None
            self._panel = self._unit_panel()
        elif act == unit.CLOCK:
            self._panel = unit.clock_panel(self._run.clock.factor)
        elif act == unit.HINT:
            self._panel = self._hint_panel()
        else:
            await super()._panel_done(shown)

    def _hint_panel(self) -> Panel | None:
        step = self._work.focus().step
        if step is None:
            return None
        return unit.hint_panel(step.id, self._run.hints_taken(), self._run.coach.hint_costs)

    async def _in_panel(self, shown: Panel, key: str, character: str | None) -> None:
        if shown.act not in unit.MINE or shown.reads:
            await super()._in_panel(shown, key, character)
            return
        if key == "escape":
            self._left_panel(shown)
            return
        filling, outcome = shown.filling.press(key, character)
        shown = self._panel = replace(shown, filling=filling)
        if outcome is Outcome.DONE:
            await self._mine_done(shown)

    def _left_panel(self, shown: Panel) -> None:
        if shown.act in {unit.NEXT, unit.CONCLUDE}:
            self._open_menu()
        elif shown.act == unit.HOW:
            self._panel = None
            self._panel = self._unit_panel()
        else:
            self._panel = None

    async def _mine_done(self, shown: Panel) -> None:
        if shown.act == unit.UNIT:
            doable = unit.picked_doable(shown, self._listed)
            if doable is None:
                return
            self._doable = doable
            if len(doable.ways) == 1:
                await self._handle(unit.done(doable, 0), doable.ways[0][1])
                self._panel = self._unit_panel()
            else:
                self._keep_place(shown.filling.cells[0].picked or 0)
                self._panel = unit.how_panel(doable, self._seen(), self._cylinders())
        elif shown.act == unit.HOW and self._doable is not None:
            words, handling = unit.picked_way(shown, self._doable)
            await self._handle(words, handling)
            self._panel = None
            self._panel = self._unit_panel()
        elif shown.act == unit.CLOCK:
            self._panel = None
            self._set_pace(int(shown.filling.text("pace")))
        elif shown.act == unit.HINT:
            await self._hint(shown)
        elif shown.act == unit.NEXT:
            await self._choose(shown.filling.text("step"))
        elif shown.act == unit.CONCLUDE:
            trouble = shown.filling.text("trouble")
            await self._at_the_unit(lambda: self._run.conclude(trouble))
            self._panel = None

    async def _hint(self, shown: Panel) -> None:
        if shown.filling.text("hint") == unit.BACK:
            self._panel = None
            return
        await self._at_the_unit(self._run.take_hint)
        self._panel = self._hint_panel()

    async def _choose(self, picked: str) -> None:
        right = await self._at_the_unit(lambda: self._run.choose(picked))
        if right is None:
            return
        self._panel = None
        step = self._work.focus().step
        named = step.id if step is not None else ""
        if right:
            self._said = strong(f"Yes: {named} comes next.")
        else:
            self._said = Span(f"! Not that one yet: {named} comes first. Read why.", Role.FAULT)

    # -- leaving ------------------------------------------------------------------------------

    async def _unlock(self, key: str, character: str | None) -> None:
        """A passphrase goes on; the person is known in this run only."""
        if key == "escape":
            self._leave()
            return
        technician = await self._locking.press(key, character, self._sign_in)
        if technician is not None:
            self._technician = technician
            self._work.unlock(technician.log_key)
            self._said = quiet("Unlocked.")

    def lock_key(self) -> None:
        """The key is let go, and nobody's time runs fast."""
        self._as_in_life()
        super().lock_key()

    def _leave(self) -> None:
        """To the score where the run is over, else to the lessons; the run stays where it stands."""
        if self._gone:
            return
        self._gone = True
        practice = self.chargewright.practice
        onward = practice.over(self._run) if self._run.over else practice.left(self._run)
        self.chargewright.follow(onward, leaving=True)
