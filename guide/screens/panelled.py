"""What one may do besides going on, at a job's page: the list behind Esc, its fields, what they set off."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from guide.job.state import focus_step_id
from guide.screens import acts, answer, switching
from guide.screens.acts import Act
from guide.screens.filling import Filling, Outcome
from guide.screens.following import Following
from guide.screens.gallery import Gallery
from guide.screens.mode import Mode, Turn
from guide.screens.panel import Panel
from guide.screens.settings import Settings
from guide.screens.worked import WorkedPage

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.bench.people import Technician
    from guide.job.work import Work
    from guide.journal.event import Event
    from guide.rig.rehearsal import Rehearsal

_CHANGES: Final[Mapping[Act, Callable[[Settings], Settings]]] = {
    Act.LIGHT: Settings.next_light,
    Act.UNITS: Settings.next_system,
    Act.DETAIL: Settings.next_detail,
    Act.LARGE: Settings.other_size,
}


class PanelledPage(WorkedPage):
    """A job's page with a panel that comes and goes; head and numbers stay around it."""

    def __init__(self, bench: Bench, technician: Technician, work: Work, rehearsal: Rehearsal | None) -> None:
        super().__init__(bench, technician, work, rehearsal)
        self._people = {person.id: person.name for person in bench.people()}
        self._panel: Panel | None = None
        self._turn = Turn(Mode.CLOSED, "")
        self._shown = work.state
        self._again = False
        self._following = Following()
        self._gallery = Gallery(self._events, self._following)

    async def _switch(self) -> None:
        """To the next open job."""
        raise NotImplementedError

    def _events(self) -> Iterable[Event]:
        return self._bench.journal.events(self._work.state.job)

    @property
    def _settings(self) -> Settings:
        return self.chargewright.settings if self.is_attached else Settings()

    @property
    def _works(self) -> Mapping[str, Work]:
        """The jobs taken up in this run of the program."""
        return self.chargewright.works if self.is_attached else {}

    def _open_menu(self) -> None:
        others = any(person != self._work.state.present for person in self._people)
        offers = acts.possible(
            self._work.state, self._work.focus(), others=others, can_play=self._rehearsal is not None,
            settings=self._settings, elsewhere=len(switching.others(self._works, self._work.state.job)),
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
        elif shown.act == Act.PHOTO:
            if await self._note_photo(shown.filling):
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

    def _needs_reason(self, words: str) -> None:
        if self._turn.mode is Mode.CUSTOMER:
            self._filling = self._filling.with_fault("name", words)
        else:
            act = Act.FINISH if self._turn.mode is Mode.WEIGH_NEXT else Act.OTHER_WAY
            self._panel = acts.panel(act, self._work.state, self._people)

    def _logged(self) -> None:
        self._again = False

    async def _note_photo(self, filling: Filling) -> bool:
        """Keep a picture beside the journal and note it; a path dropped on the window comes in quotes."""
        path, words = acts.photo_of(filling)

        def do() -> tuple[Event, ...]:
            before = self._work.state.last_seq
            self._bench.note_photo(self._work, path, words)
            return tuple(self._bench.journal.events(self._work.state.job, after=before))

        return await self._log(do)
