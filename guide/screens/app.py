"""The terminal program. Its first frame waits for no library, no disk and no key."""

from __future__ import annotations

import asyncio
import re
import time
from collections.abc import Awaitable
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final, Literal

from textual.app import App
from textual.binding import Binding, BindingType

from guide.errors import ChargewrightError
from guide.screens.afar import Afar
from guide.screens.home import DEMO, KEEP, LESSONS, LOOK, NEW, OTHER, PEOPLE, RECORDS, TRAINER, Home
from guide.screens.paint import Role, Span
from guide.screens.practice_ways import Practice
from guide.screens.settings import Settings, keep_settings, read_settings

if TYPE_CHECKING:
    from guide.bench.bench import Bench, JobLine
    from guide.bench.people import Technician
    from guide.instruments.readings import Readings
    from guide.job.order import Order
    from guide.job.work import Work
    from guide.journal.port import Clock
    from guide.rig.rehearsal import Rehearsal
    from guide.screens.filling import Filling


PRACTICE_FOLDER: Final = "practice"
"""Where practice lies in the folder of real work; its keys are never those of real work."""
LOCK_AFTER_S: Final = 1800.0
"""Time without a key after which the passphrase is asked again [s] (PROPOSED); pages and waits stay."""


class ChargewrightApp(App[Path | None]):
    """Opens on the list of jobs, on one order, or on a demonstration; answers with the record's path.

    `order_file` is worked at once; `rehearsal` plays by itself until a key takes over and ends the
    program when its record is written. `lesson`, in practice, is the lesson to begin with. `clock` and `run`
    are given by tests.
    """

    TITLE = "chargewright"
    ENABLE_COMMAND_PALETTE = False
    CSS = "Screen { background: white; } Canvas { background: white; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+q", "leave", priority=True, show=False),
        Binding("ctrl+c", "leave", priority=True, show=False),
    ]

    def __init__(
        self,
        folder: Path,
        *,
        nature: Literal["real", "practice", "demonstration"] = "real",
        order_file: Path | None = None,
        rehearsal: Rehearsal | None = None,
        clock: Clock | None = None,
        run: str | None = None,
        bounce_s: float = 0.25,
        play_pause_s: float = 0.5,
        tick_s: float = 1.0,
        lock_after_s: float = LOCK_AFTER_S,
        readings: Readings | None = None,
        lesson: str | None = None,
    ) -> None:
        super().__init__()
        self.folder = folder
        self.nature = nature
        self.bench: Bench | None = None
        self.technician: Technician | None = None
        self.settings = read_settings(folder)
        self.one_job = order_file is not None or rehearsal is not None
        self.bounce_s = bounce_s
        self.play_pause_s = play_pause_s
        self.tick_s = tick_s
        self.lock_after_s = lock_after_s
        self.readings = readings
        self.last_key_at = time.monotonic()
        self.works: dict[str, Work] = {}
        self.afar = Afar()
        self.drafts: dict[str, tuple[tuple[object, ...], Filling]] = {}
        self._due: dict[str, bool] = {}
        self.practice = Practice(self)
        self._lesson = lesson
        self._order = order_file
        self._rehearsal = rehearsal
        self._clock = clock
        self._run = run
        self._home = Home()

    def on_mount(self) -> None:
        """The first page is there before anything is read."""
        self.push_screen(self._home)
        self.set_interval(min(30.0, self.lock_after_s), self._lock_when_idle)
        self.set_interval(max(1.0, self.tick_s), self._ring)
        self.call_after_refresh(self._begin)

    def _ring(self) -> None:
        """A wait of any open job has ended: the bell, and words on the first page."""
        works, others = self.works, self.afar.states
        if self.bench is None or not (works or others):
            return
        from guide.screens.waits import left_s

        now = self.bench.clock.now()
        for job in works.keys() | others.keys():
            left = left_s(works[job].state if job in works else others[job], now)
            running = left is not None and left > 0
            if self._due.get(job) and not running and left is not None:
                self.bell()
                self._home.said = Span(f"{job}: TIME IS UP", Role.STRONG)
            self._due[job] = running
        if self.screen is self._home:
            self._home.repaint()

    def _lock_when_idle(self) -> None:
        """Nobody touched a key for long: the log key is let go; pages stay, and so do the waits on them."""
        if time.monotonic() - self.last_key_at < self.lock_after_s:
            return
        if self.technician is None and not self.practice.learning:
            return
        from guide.screens.job_page import JobPage

        self.technician = None
        for work in self.works.values():
            work.lock()
        for page in self.screen_stack:
            if isinstance(page, JobPage):
                page.lock_key()
        self._home.say_fault("locked: nobody touched a key for a while. The jobs stand where they stood.")
        self._home.repaint()

    def _begin(self) -> None:
        self.run_worker(self._open(), group="open", exclusive=True)

    async def _open(self) -> None:
        if self._rehearsal is not None:
            self.bench = self._rehearsal.bench
            self.nature = self.bench.nature
            await self._show_rehearsal(self._rehearsal)
            return
        try:
            self.bench = await asyncio.to_thread(self._open_bench)
            jobs = await asyncio.to_thread(self.bench.jobs)
        except ChargewrightError as error:
            self._fault(error)
            return
        self._home.show_jobs(jobs)
        if self._order is not None:
            await self._work_order(self._order)
        elif self._lesson is not None:
            lesson, self._lesson = self._lesson, None
            await self._practise(lesson or None)
        await self._look_afar(jobs)

    async def _practise(self, lesson: str | None = None) -> None:
        try:
            await self.practice.open(lesson)
        except ChargewrightError as error:
            self._fault(error)

    def _open_bench(self) -> Bench:
        from guide.bench.bench import Bench

        return Bench.open(self.folder, nature=self.nature, clock=self._clock, run=self._run)

    def list_jobs(self) -> None:
        """Read the list of jobs again."""
        self.run_worker(self._list(), group="list", exclusive=True)

    async def _list(self) -> None:
        if self.bench is None:
            return
        try:
            jobs = await asyncio.to_thread(self.bench.jobs)
        except ChargewrightError as error:
            self._fault(error)
            return
        self._home.show_jobs(jobs)
        await self._look_afar(jobs)

    async def _look_afar(self, jobs: tuple[JobLine, ...]) -> None:
        """What the jobs wait for that nobody took up in this run; said once it is read."""
        if self.bench is not None:
            await asyncio.to_thread(self.afar.look, self.bench, jobs)
            self._home.repaint()

    def _fault(self, error: ChargewrightError) -> None:
        """Say on the first page what went wrong."""
        self._home.say_fault(str(error))
        self._home.repaint()

    def export_screenshot(self, *, title: str | None = None, simplify: bool = False) -> str:
        """A picture of the screen as SVG text that fetches nothing from a network, no font either."""
        svg = super().export_screenshot(title=title, simplify=simplify)
        return re.sub(r"@font-face \{.*?\}", "", svg, flags=re.DOTALL)

    def turn_light(self) -> None:
        """Day, bright sun, night."""
        self.use(self.settings.next_light())

    def use(self, settings: Settings) -> None:
        """Show pages like this from now on, and the next time."""
        self.settings = settings
        keep_settings(self.folder, settings)

    def action_leave(self) -> None:
        """Leave at once; everything that was logged is on the disk."""
        self.exit()

    def on_unmount(self) -> None:
        """Let go of the journal."""
        if self.bench is not None and self._rehearsal is None:
            self.bench.close()

    def follow(self, onward: Awaitable[None], *, leaving: bool = False) -> None:
        """Go on from a page, which may end meanwhile; with `leaving` it ends first."""
        self.run_worker(self._follow(onward, leaving=leaving), group="follow")

    async def _follow(self, onward: Awaitable[None], *, leaving: bool) -> None:
        if leaving:
            await self.pop_screen()
        try:
            await onward
        except ChargewrightError as error:
            self._fault(error)

    # -- where one can go ---------------------------------------------------------------------

    async def go(self, where: str) -> None:
        """Go to a page by its name on the first page."""
        if where == LOOK:
            from guide.screens.look import Look

            await self.push_screen(Look())
        elif where == DEMO:
            self.run_worker(self._demonstrate(), group="demo", exclusive=True)
        elif self.bench is None:
            self._home.say_fault("the journal is not open; see above")
        elif where == NEW:
            from guide.screens.order_page import NewOrder

            await self.push_screen(NewOrder(self._ordered))
        elif where == RECORDS:
            from guide.screens.records import Records

            bench = self.bench
            jobs, kept = await asyncio.to_thread(lambda: (bench.jobs(), bench.imported()))
            if self.bench is bench:  # nobody went over to the other journal meanwhile
                await self.push_screen(Records(jobs, kept))
        elif where == KEEP:
            from guide.screens.keeping import Keeping

            await self.push_screen(Keeping())
        elif where == OTHER:
            await self._to_the_other_journal()
        elif where == PEOPLE:
            await self._sign_in(self._signed_in, anew=True)
        elif where == LESSONS:
            await self._practise()
        elif where == TRAINER:
            await self._sign_in(self.practice.train)
        elif where.startswith("job:"):
            job = where.removeprefix("job:")
            await self._sign_in(lambda technician: self._take_up(job, technician))

    async def _to_the_other_journal(self) -> None:
        """From real work to practice or back: another folder with keys of its own. Nothing may be in hand."""
        if self.nature == "demonstration":
            self._home.say_fault("a demonstration stands alone; leave it to work elsewhere")
            return
        if any(work.state.closed is None for work in self.works.values()):
            self._home.say_fault("a job is in hand: leave with x, start the program again and go there first")
            return
        if self.bench is not None:
            self.bench.close()
        real = self.nature == "real"
        self.folder = self.folder / PRACTICE_FOLDER if real else self.folder.parent
        self.nature = "practice" if real else "real"
        self.bench, self.technician, self.afar = None, None, Afar()
        self.practice = Practice(self)
        self.works.clear()
        self._home.said = Span("")
        await self._open()

    async def _sign_in(self, after: object, *, anew: bool = False) -> None:
        from guide.screens.people import People

        assert self.bench is not None
        assert callable(after)
        if self.technician is not None and not anew:
            await after(self.technician)
        else:
            people = await asyncio.to_thread(self.bench.people)
            last = await asyncio.to_thread(self._last_person)
            await self.push_screen(People(people, after, last))

    def _last_person(self) -> str:
        """Who logged last in any job."""
        assert self.bench is not None
        jobs = self.bench.jobs()
        return max(jobs, key=lambda job: job.last_utc).technician if jobs else ""

    async def _signed_in(self, technician: Technician) -> None:
        self._home.say_busy(f"{technician.known.name} is at the keyboard.")

    async def _ordered(self, order: Order) -> None:
        await self._sign_in(lambda technician: self._new_job(order, technician))

    async def _work_order(self, path: Path) -> None:
        from guide.screens.order_page import read_order_file

        try:
            order = await asyncio.to_thread(read_order_file, path)
        except ChargewrightError as error:
            self._fault(error)
            return
        await self._ordered(order)

    async def _new_job(self, order: Order, technician: Technician, reason: str | None = None) -> None:
        from guide.bench.bench import PastDue
        from guide.screens.job_page import JobPage
        from guide.screens.order_page import NewOrder

        assert self.bench is not None
        bench = self.bench
        try:
            work = await asyncio.to_thread(lambda: bench.new_job(order, technician, past_due_reason=reason))
        except PastDue as late:
            from guide.screens.past_due import PastDueReason

            await self.push_screen(
                PastDueReason(late.names, lambda why: self._new_job(order, technician, why))
            )
            return
        except ChargewrightError as error:
            form = self.screen if isinstance(self.screen, NewOrder) else self._home
            form.say_fault(str(error))
            form.repaint()
            return
        page = JobPage(bench, technician, work)
        if isinstance(self.screen, NewOrder):
            await self.switch_screen(page)
        else:
            await self.push_screen(page)

    async def _take_up(self, job: str, technician: Technician) -> None:
        from guide.procedure.library import newer_revision
        from guide.screens.job_page import JobPage

        assert self.bench is not None
        try:
            work = await asyncio.to_thread(self.bench.take_up, job, technician)
        except ChargewrightError as error:
            self._fault(error)
            return
        newer = None
        if work.state.closed is None:
            newer = await asyncio.to_thread(newer_revision, work.state.procedure)
        await self.push_screen(JobPage(self.bench, technician, work, notice=newer or ""))

    async def _demonstrate(self) -> None:
        """Play the shipped demonstration in a folder of its own."""
        from guide.screens.demonstration import begin

        self._home.say_busy("setting up a simulated system …")
        try:
            rehearsal = await asyncio.to_thread(begin, self.folder)
        except ChargewrightError as error:
            self._fault(error)
            return
        await self._show_rehearsal(rehearsal)

    async def _show_rehearsal(self, rehearsal: Rehearsal) -> None:
        from guide.screens.job_page import JobPage

        await self.push_screen(
            JobPage(rehearsal.bench, rehearsal.technician, rehearsal.work, rehearsal=rehearsal)
        )
