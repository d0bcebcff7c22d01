"""What else one may do at a plain prompt: the acts behind "?", and what Ctrl-C asks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from guide.plain.filling import Form, WantsMore, fill
from guide.plain.voice import Interrupted, Voice
from guide.plain.worked import Worked
from guide.screens import acts
from guide.screens.acts import Act
from guide.screens.ask import Choice, pick
from guide.screens.filling import Filling
from guide.screens.panel import Panel
from guide.screens.settings import Settings

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.bench.people import Technician
    from guide.job.work import Work
    from guide.journal.event import Event

_PAINTED: Final = frozenset({Act.PLAY, Act.PLAY_ONE, Act.LIGHT, Act.LARGE, Act.SWITCH, Act.PICTURE})
_CHANGES: Final[Mapping[Act, Callable[[Settings], Settings]]] = MappingProxyType(
    {Act.UNITS: Settings.next_system, Act.DETAIL: Settings.next_detail}
)
_ENDS: Final = frozenset({Act.PAUSE, Act.HAND})


class WithMore(Worked):
    """A job with a list of acts besides going on."""

    def __init__(self, voice: Voice, bench: Bench, technician: Technician, work: Work) -> None:
        super().__init__(voice, bench, technician, work)
        self._people = {person.id: person.name for person in bench.people()}

    def _more(self) -> bool:
        """Offer the other acts; whether the work goes on here."""
        state = self._work.state
        others = any(person != state.present for person in self._people)
        possible = acts.possible(
            state, self._work.focus(), others=others, can_play=False, settings=self._settings
        )
        offers = [offer for offer in possible if offer.act not in _PAINTED]
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
        if act in _CHANGES:
            self._use(_CHANGES[act](self._settings))
            self._voice.say(f"Units: {self._settings.system}. How much is said: {self._settings.detail}.")
            return True
        shown = acts.panel(act, self._shown, self._people)
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
        if act is Act.PHOTO:
            self._note_photo(form.filling)
            return True
        state, focus, keep = self._work.state, self._work.focus(), self._work.keep
        if act is Act.CORRECT:
            shown = acts.correction(self._shown, acts.chosen_entry(self._shown, form.filling))
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

    def _note_photo(self, filling: Filling) -> bool:
        """Keep a picture beside the journal and note it."""
        path, words = acts.photo_of(filling)

        def do() -> tuple[Event, ...]:
            before = self._work.state.last_seq
            self._bench.note_photo(self._work, path, words)
            return tuple(self._bench.journal.events(self._work.state.job, after=before))

        return self._do_logged(do)
