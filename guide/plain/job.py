"""One job worked line by line: what the sheet shows is said, what its keys do is typed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job.elapsed import in_words
from guide.job.exceptions import departures
from guide.job.focus import Front
from guide.job.state import focus_step_id
from guide.plain import words
from guide.plain.filling import Form, WantsMore, fill
from guide.plain.voice import Gone, Interrupted, TimeUp, Voice
from guide.screens import acts, answer, say
from guide.screens.acts import Act
from guide.screens.ask import Choice, pick
from guide.screens.explain import consequence
from guide.screens.filling import Filling
from guide.screens.panel import Panel
from guide.screens.review import recap, record_words, review
from guide.screens.turn import Mode, Turn, turn, whole
from guide.units import UnitError

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.bench.people import Technician
    from guide.job.work import Work
    from guide.plain.hearing import Hearing

_PAINTED = frozenset(
    {Act.PLAY, Act.PLAY_ONE, Act.LIGHT, Act.LARGE, Act.UNITS, Act.DETAIL, Act.SWITCH, Act.PICTURE}
)
_REVIEWED = frozenset({Front.CUSTOMER, Front.SIGN, Front.AMEND})
_ENDS = frozenset({Act.PAUSE, Act.HAND})
_READ = "read"


class PlainJob:
    """One job in one run of the program. `passphrase` saves asking for it at the signature."""

    def __init__(
        self, voice: Voice, bench: Bench, technician: Technician, work: Work, *,
        passphrase: str | None = None, hearing: Hearing | None = None,
    ) -> None:  # fmt: skip
        self._voice = voice
        self._bench = bench
        self._technician = technician
        self._work = work
        self._passphrase = passphrase
        self._hearing = hearing
        self._people = {person.id: person.name for person in bench.people()}
        self._again = False
        self._told: tuple[object, ...] = ()
        self._form = Form(Filling())
        self._form_of: tuple[object, ...] = ()

    def run(self) -> Path | None:
        """Work until the person leaves or nothing is left to do; the record's path where there is one.

        Raises:
            Gone: the input came to its end; the job was paused first.
        """
        self._voice.say(*self._work.certification_words())
        going = True
        while going:
            try:
                going = self._once()
            except WantsMore:
                going = self._more()
            except TimeUp:
                continue
            except Interrupted:
                going = self._leave_or_not()
            except Gone:
                self.pause("the input came to its end")
                raise
        issued = self._work.state.issued
        return self._bench.records / issued[-1].file if issued else None

    def pause(self, why: str) -> None:
        """Let the job rest at its place, where it is not at rest already."""
        if self._work.focus().front not in {Front.RESUME, Front.OPEN, Front.CLOSED}:
            self._log(lambda: c.Pause(self._work.keep(why)), quietly=True)

    # -- one turn -----------------------------------------------------------------------------

    def _once(self) -> bool:
        asked = turn(self._work.state, self._work.focus(), self._work.now().stamp, reading_again=self._again)
        self._tell(asked)
        if self._form_of != self._told:
            self._form = Form(Filling.of(asked.asks, self._work.state.order.site_pressure_Pa))
            self._form_of = self._told
        match asked.mode:
            case Mode.HAZARD:
                if self._line(f"Type {_READ} when you have:").casefold() != _READ:
                    self._voice.say(f"The warning stands until you type {_READ}.")
                    return True
            case Mode.WAITING | Mode.SETTLE:
                self._wait(asked)
                return True
            case Mode.CLOSED:
                self._line("Empty line leaves, ? for what else:")
                return False
            case Mode.SIGN:
                self._sign(asked)
                return True
            case _ if asked.asks:
                fill(
                    self._voice, self._form, hearing=self._hearing, over=lambda filling: whole(asked, filling)
                )
            case _:
                if self._line(f"Empty line: {asked.accept}. ? for what else:"):
                    self._voice.say("Nothing done. An empty line goes on.")
                    return True
        self._accept(asked)
        return True

    def _accept(self, asked: Turn) -> None:
        filling = self._form.filling
        try:
            command = answer.command(
                self._work.state, self._work.focus(), asked, filling,
                person=self._technician.person, keep=self._work.keep,
            )  # fmt: skip
        except answer.NeedsReason as error:
            self._voice.say(str(error))
            if asked.mode is Mode.CUSTOMER:
                self._form.filling = filling.with_fault("name", str(error))
            else:
                self._other_way(asked, filling)
            return
        except UnitError as error:
            self._refuse(str(error))
            return
        if not self._log(lambda: command) and asked.mode is Mode.WAIT_END:
            self._again = False  # a hold that is not found failing before its time runs on
        self._form.restart()

    def _other_way(self, asked: Turn, filling: Filling) -> None:
        state, keep = self._work.state, self._work.keep
        if asked.mode is Mode.WEIGH_NEXT:
            if reason := self._line("Why is it finished? Empty goes back:"):
                self._log(lambda: answer.finish(state, self._work.focus(), keep(reason)))
        elif reason := self._line("Why this way?"):
            self._log(lambda: answer.choose(focus_step_id(state), asked, filling, keep(reason)))
        self._form.restart()

    def _wait(self, asked: Turn) -> None:
        left = asked.left_s or 0.0
        told = f"{in_words(left)} left" if left else "Time is up"
        if asked.mode is Mode.WAITING:
            self._line(f"{told}. Empty line says how long again, ? for what else:", within_s=left)
            return
        written = self._line(
            f"{told}. Type {_READ} to {asked.accept}; empty line says how long again:",
            within_s=left if left else None,
        )
        self._again = written.casefold() == _READ

    def _sign(self, asked: Turn) -> None:
        secret = self._passphrase
        if secret is None:
            form = Form(Filling.of(asked.asks))
            fill(self._voice, form)
            secret = form.filling.text("passphrase")
        self._voice.say("Signing, writing and checking the record. This takes a moment.")
        bench = self._bench
        make = bench.issue_record if self._work.state.closed is not None else bench.sign_off
        try:
            make(self._work, self._technician, secret)
        except ChargewrightError as error:
            self._passphrase = None  # a wrong one from a descriptor is not tried for ever
            self._refuse(str(error))
            return
        self._voice.say(f"Logged {say.clock(self._work.now().stamp)}. Signed and written.")

    def _line(self, prompt: str, within_s: float | None = None) -> str:
        written = self._voice.line(prompt, within_s).strip()
        if written == "?":
            raise WantsMore("?")
        return written

    # -- what is said -------------------------------------------------------------------------

    def _tell(self, asked: Turn) -> None:
        """Say where the work stands, once a place."""
        state, focus = self._work.state, self._work.focus()
        step, part = focus.step.id if focus.step else "", focus.part.id if focus.part else ""
        of: tuple[object, ...] = (
            asked.mode, step, part, focus.hazard, len(state.entries), len(state.rounds),
            state.answers.get(step), state.weighing is None,
        )  # fmt: skip
        if of == self._told:
            return
        # a weighing under way stands in no part; its step says where it is
        new_place = not self._told or self._told[1] != step or (not step and self._told[2] != part)
        self._told = of
        rows = ["", words.standing(state)] if new_place or focus.front is Front.HAZARD else [""]
        match focus.front:
            case Front.RESUME:
                rows += recap(state, self._work.now().stamp)
            case Front.HAZARD if focus.step is not None:
                rows += words.hazard(focus.step, focus.hazard or 0)
            case Front.PART_END:
                rows += words.part_end(state, focus)
            case Front.CLOSED:
                rows += record_words(state, self._bench.records)
            case Front.STEP | Front.WEIGHING:
                rows += words.action(state, focus) if new_place or asked.mode is Mode.ANSWER else ()
                if asked.mode in {Mode.ADVISED_MOVE, Mode.LOOP_END} or (
                    state.rounds and asked.mode is Mode.SETTLE
                ):
                    rows += (*words.verdict(state), words.balance(state))
        if focus.front in _REVIEWED:
            rows += self._review()
        if asked.call and asked.mode is not Mode.ANSWER:
            rows.append(asked.call)
        self._voice.say(*rows)

    def _review(self) -> tuple[str, ...]:
        state = self._work.state
        try:
            events = tuple(self._bench.journal.events(state.job))
            return review(state, departures(state.order, events), self._work.text)
        except ChargewrightError as error:
            return (f"The review can't be made: {error}",)

    def _refuse(self, why: str) -> None:
        self._voice.say(f"REFUSED: {why}")

    # -- what else ----------------------------------------------------------------------------

    def _more(self) -> bool:
        """Offer the other acts; whether the work goes on here."""
        state = self._work.state
        others = any(person != state.present for person in self._people)
        offers = [
            offer
            for offer in acts.possible(state, self._work.focus(), others=others, can_play=False)
            if offer.act not in _PAINTED
        ]
        choices = (
            *(Choice(o.act.value, f"{o.words} ({o.letter})", letter=o.letter) for o in offers),
            Choice("back", "back to your place"),
        )
        form = Form(Filling.of((pick("act", "What else?", choices, picked=len(offers)),)))
        try:
            fill(self._voice, form)
            if form.filling.text("act") == "back":
                self._told = ()
                return True
            return self._do(Act(form.filling.text("act")))
        except WantsMore:
            return True

    def _do(self, act: Act) -> bool:
        if act is Act.LEAVE:
            self._voice.say("The job stays open at this place.")
            return False
        if act is Act.AGAIN:
            self._again = True
            return True
        shown = acts.panel(act, self._work.state, self._people)
        if shown is None:
            return True
        self._voice.say("", shown.title, *([shown.warn] if shown.warn else []))
        if shown.reads:
            self._voice.say(*shown.text)
            self._told = ()
            return True
        return self._fill_in(act, shown)

    def _fill_in(self, act: Act, shown: Panel) -> bool:
        form = Form(shown.filling)
        fill(self._voice, form)
        state, focus, keep = self._work.state, self._work.focus(), self._work.keep
        if act is Act.CORRECT:
            shown = acts.correction(state, acts.chosen_entry(state, form.filling))
            form = Form(shown.filling)
            self._voice.say(shown.title)
            fill(self._voice, form)
        person = self._technician.person
        filled = Panel(shown.act, shown.title, filling=form.filling)
        logged = self._log(lambda: acts.command(filled, state, focus, person, keep))
        return not (logged and act in _ENDS)

    def _leave_or_not(self) -> bool:
        choices = (
            Choice("on", "go on with the work"),
            Choice("pause", "pause the job and leave"),
            Choice("leave", "leave; the job stays open at this place"),
        )
        form = Form(Filling.of((pick("what", "You pressed Ctrl-C. What now?", choices, picked=0),)))
        try:
            fill(self._voice, form)
        except WantsMore:
            return True
        except Interrupted:
            return False
        what = form.filling.text("what")
        if what == "pause":
            self.pause("left by Ctrl-C")
        self._told = ()
        return what == "on"

    # -- the log ------------------------------------------------------------------------------

    def _log(self, make: Callable[[], c.Command], *, quietly: bool = False) -> bool:
        """Make a command, log it, and only then say so."""
        from guide.journal.reading import NotLogged

        try:
            events = self._work.do(make())
        except NotLogged as error:
            said = f"NOT LOGGED: {error}"
            logged = False
        except ChargewrightError as error:
            said = f"REFUSED: {error}"
            logged = False
        else:
            more = consequence(self._work.state, events)
            said = f"Logged {say.clock(events[0].stamp)}." + (f" {more.rstrip('.')}." if more else "")
            logged = True
            self._again = False
        try:
            self._voice.say(said)
        except Gone:
            if not quietly:
                raise
        return logged
