"""One job worked line by line: what the sheet shows is said, what its keys do is typed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.job.elapsed import in_words
from guide.job.exceptions import departures
from guide.job.focus import Front
from guide.job.state import focus_step_id
from guide.plain import words
from guide.plain.filling import Form, WantsMore, fill
from guide.plain.more import WithMore
from guide.plain.voice import Gone, Interrupted, TimeUp, Voice
from guide.screens import answer, say
from guide.screens.filling import Filling
from guide.screens.hold import come_to, unwatched_s, with_unwatched
from guide.screens.mode import Mode, Turn
from guide.screens.review import recap, record_words, review
from guide.screens.turn import turn, whole
from guide.units import UnitError

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.bench.people import Technician
    from guide.job.work import Work
    from guide.plain.hearing import Hearing

_REVIEWED = frozenset({Front.CUSTOMER, Front.SIGN, Front.AMEND})
_READ = "read"
_FOLLOWED = frozenset({Mode.WAITING, Mode.WAIT_END, Mode.READ, Mode.ANSWER})
"""Where a stream tells of a hold or a pull-down that runs."""


class PlainJob(WithMore):
    """One job in one run of the program. `passphrase` saves asking for it at the signature."""

    def __init__(
        self, voice: Voice, bench: Bench, technician: Technician, work: Work, *,
        passphrase: str | None = None, hearing: Hearing | None = None,
    ) -> None:  # fmt: skip
        super().__init__(voice, bench, technician, work)
        self._passphrase = passphrase
        self._hearing = hearing
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

    # -- one turn -----------------------------------------------------------------------------

    def _once(self) -> bool:
        system, now = self._settings.system, self._work.now().stamp
        asked = turn(self._shown, self._work.focus(), now, reading_again=self._again, system=system)
        if self._work.state.waiting is not None:
            asked = with_unwatched(asked, unwatched_s(self._bench.journal.events(self._work.state.job)))
        self._tell(asked)
        if self._hearing is not None and asked.mode in _FOLLOWED:
            step = self._work.focus().step
            self._voice.say(*self._hearing.meant(self._work.state, self._shown, step))
        if self._form_of != self._told:
            self._form = Form(Filling.of(asked.asks, self._work.state.order.site_pressure_Pa))
            self._form_of = self._told
        elif [ask.key for ask in asked.asks] == [ask.key for ask in self._form.filling.asks]:
            self._form.filling = self._form.filling.with_asks(asked.asks)  # perhaps in other units
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
        if asked.mode is Mode.WAIT_END and not self._ends_so(filling):
            return
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

    def _ends_so(self, filling: Filling) -> bool:
        """Whether a hold is to end with what its values come to; it may also run on."""
        step = self._work.focus().step
        sentences = come_to(self._shown, step, filling) if step else ()
        if not sentences:
            return True
        self._voice.say(*sentences)
        if not self._line("Empty line ends the hold with this, any word lets it run on:"):
            return True
        self._again = False
        self._form.restart()
        return False

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

    # -- what is said -------------------------------------------------------------------------

    def _tell(self, asked: Turn) -> None:
        """Say where the work stands, once a place."""
        state, focus = self._shown, self._work.focus()
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
                if new_place or asked.mode is Mode.ANSWER:
                    rows += words.action(state, focus, self._settings.detail)
                rows += words.hold(state, focus.step, asked.mode) if focus.step else ()
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
        state = self._shown
        try:
            events = tuple(self._bench.journal.events(state.job))
            return review(state, departures(state.order, events), self._work.text)
        except ChargewrightError as error:
            return (f"The review can't be made: {error}",)
