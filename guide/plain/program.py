"""The program as a linear prompt: people, orders, jobs, records, one question after the other."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from guide.errors import ChargewrightError
from guide.plain.filling import Form, WantsMore, fill
from guide.plain.hearing import Listening
from guide.plain.voice import Gone, Interrupted, Voice
from guide.screens import enrolment as new
from guide.screens.ask import Ask, Choice, pick, secret, text
from guide.screens.filling import Filling

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.bench.people import Technician
    from guide.instruments.readings import Readings
    from guide.job.order import Order
    from guide.job.work import Work
    from guide.journal.port import Clock

_NEW, _RECORDS, _LEAVE = "new", "records", "leave"
_LARGEST_ORDER_BYTES: Final = 1_000_000


class OrderUnreadable(ChargewrightError):
    """An order's file can't be read."""


class PlainProgram:
    """One folder, worked by voice; `readings` is a stream that is followed meanwhile.

    `passphrase` came from a descriptor; tests give `clock` and `run`.
    """

    def __init__(
        self, voice: Voice, folder: Path, *,
        nature: Literal["real", "practice", "demonstration"] = "real",
        order: Order | None = None, passphrase: str | None = None,
        readings: Readings | None = None, clock: Clock | None = None, run: str | None = None,
    ) -> None:  # fmt: skip
        self._voice = voice
        self._folder = folder
        self._nature: Literal["real", "practice", "demonstration"] = nature
        self._order = order
        self._passphrase = passphrase
        self._clock = clock
        self._run = run
        self._listening = Listening(readings) if readings is not None else None
        self._technician: Technician | None = None

    def run(self) -> None:
        """Work until the person leaves or the input ends; both are ways to leave.

        Raises:
            ChargewrightError: the folder can't be opened.
        """
        from guide.bench.bench import Bench

        bench = Bench.open(self._folder, nature=self._nature, clock=self._clock, run=self._run)
        try:
            with self._listening or contextlib.nullcontext():
                if self._order is not None:
                    self._new_job(bench, self._order)
                else:
                    self._home(bench)
        except (Gone, Interrupted):
            pass
        finally:
            bench.close()
        self._last_word()

    def _last_word(self) -> None:
        try:
            self._voice.say("Left. Everything that was logged is on the disk.")
        except Gone:
            return

    # -- where one can go ---------------------------------------------------------------------

    def _home(self, bench: Bench) -> None:
        going = True
        while going:
            try:
                going = self._go(bench, self._pick_at_home(bench))
            except WantsMore:
                self._voice.say("Type the number of what you want. Ctrl-C or the last number leaves.")
            except (Gone, Interrupted):
                raise
            except ChargewrightError as error:
                self._voice.say(f"REFUSED: {error}")

    def _pick_at_home(self, bench: Bench) -> str:
        from guide.screens.say import local

        offset = bench.clock.now().local_offset
        jobs = tuple(
            Choice(
                f"job:{job.job}", f"{job.job} {job.place}",
                note=f"{job.status}, {local(job.last_utc, offset)}, {job.technician}",
            )
            for job in bench.jobs()
            if job.status != "closed"
        )  # fmt: skip
        self._voice.say("", f"{len(jobs)} open." if jobs else "No open job.")
        others = (
            Choice(_NEW, "new job"), Choice(_RECORDS, "records of closed jobs"), Choice(_LEAVE, "leave"),
        )  # fmt: skip
        return self._pick("What next?", (*jobs, *others))

    def _go(self, bench: Bench, where: str) -> bool:
        if where == _LEAVE:
            return False
        if where == _NEW:
            order = self._ask_order(bench)
            if order is not None:
                self._new_job(bench, order)
        elif where == _RECORDS:
            self._records(bench)
        else:
            self._take_up(bench, where.removeprefix("job:"))
        return True

    def _records(self, bench: Bench) -> None:
        closed = [job for job in bench.jobs() if job.status == "closed"]
        if not closed:
            self._voice.say("No job was closed yet.")
            return
        choices = tuple(
            Choice(
                job.job, f"{job.job} {job.place}", note="record made" if job.recorded else "RECORD MISSING"
            )
            for job in closed
        )
        self._take_up(bench, self._pick("Which job?", choices))

    def _take_up(self, bench: Bench, job: str) -> None:
        from guide.procedure.library import newer_revision

        technician = self._sign_in(bench)
        work = bench.take_up(job, technician)
        newer = newer_revision(work.state.procedure) if work.state.closed is None else None
        if newer:
            self._voice.say(newer)
        self._work(bench, technician, work)

    def _new_job(self, bench: Bench, order: Order) -> None:
        from guide.bench.bench import PastDue

        technician = self._sign_in(bench)
        try:
            work = bench.new_job(order, technician)
        except PastDue as late:
            self._voice.say(str(late))
            why = self._fill((text("why", "Why all the same", note="goes into the record"),)).text("why")
            work = bench.new_job(order, technician, past_due_reason=why)
        self._work(bench, technician, work)

    def _work(self, bench: Bench, technician: Technician, work: Work) -> None:
        from guide.plain.job import PlainJob

        hearing = self._listening.to(work.state.order) if self._listening else None
        record = PlainJob(
            self._voice, bench, technician, work, passphrase=self._passphrase, hearing=hearing
        ).run()
        if record is not None:
            self._voice.say(f"Record: {record}", f"Fingerprint: {work.state.issued[-1].fingerprint}")

    # -- who is at the keyboard ---------------------------------------------------------------

    def _sign_in(self, bench: Bench) -> Technician:
        while self._technician is None:
            people = bench.people()
            try:
                who = self._pick("Who are you?", new.names(people)) if people else new.SOMEBODY_NEW
                self._technician = self._enrol(bench) if who == new.SOMEBODY_NEW else self._unlock(bench, who)
            except WantsMore:
                self._voice.say("Nothing done.")
            except (Gone, Interrupted):
                raise
            except ChargewrightError as error:
                self._passphrase = None  # a wrong one from a descriptor is not tried for ever
                self._voice.say(f"REFUSED: {error}")
        return self._technician

    def _unlock(self, bench: Bench, who: str) -> Technician:
        given = self._passphrase
        if given is None:
            given = self._fill((secret("passphrase", "Passphrase"),)).text("passphrase")
        self._voice.say("Unlocking.")
        return bench.sign_in(who, given)

    def _enrol(self, bench: Bench) -> Technician:
        self._voice.say("Make yourself known.", new.MADE_FROM_IT)
        name = self._fill((new.NAME,)).text("name")
        taken = tuple(known.id for known in bench.people())
        known = new.person_in(self._fill(new.particulars(new.short_name(name, taken))), name)
        given = self._passphrase if self._passphrase is not None else self._new_passphrase()
        self._voice.say("Making your keys.")
        bench.enrol(known, given)
        return bench.sign_in(known.id, given)

    def _new_passphrase(self) -> str:
        while True:
            said = self._fill(new.NEW_PASSPHRASE)
            if said.text("passphrase") == said.text("again"):
                return said.text("passphrase")
            self._voice.say(f"{new.NOT_THE_SAME.capitalize()}.")

    # -- an order -----------------------------------------------------------------------------

    def _ask_order(self, bench: Bench) -> Order | None:
        try:
            where = self._pick(
                "The order", (Choice("file", "take it from a file"), Choice("typed", "type it here"))
            )
            return self._order_file(bench) if where == "file" else self._typed_order(bench)
        except WantsMore:
            return None

    def _order_file(self, bench: Bench) -> Order:
        said = self._fill((text("path", "Its file", note="path, ends in .yaml"),))
        order = read_order_file(Path(said.text("path")).expanduser())
        bench.require_nature(order)  # before anybody makes keys for a job that can't be opened here
        return order

    def _typed_order(self, bench: Bench) -> Order:
        from guide.job.order import read_order
        from guide.procedure import library
        from guide.screens.order_text import fault_in, order_filling, order_text

        procedures = tuple((name, library.load(name).title) for name in library.list_procedures())
        form = Form(order_filling(procedures, _last_order(bench)))
        self._voice.say("What stands on the nameplate counts. < goes to the field before.")
        while True:
            fill(self._voice, form)
            try:
                return read_order(order_text(form.filling, self._nature).encode(), "this order")
            except ChargewrightError as error:
                placed = fault_in(form.filling, str(error))
                self._voice.say(f"REFUSED: {error}")
                if placed is None:
                    raise
                form.filling = placed

    # -- asking -------------------------------------------------------------------------------

    def _fill(self, asks: tuple[Ask, ...]) -> Filling:
        form = Form(Filling.of(asks))
        fill(self._voice, form)
        return form.filling

    def _pick(self, label: str, choices: tuple[Choice, ...]) -> str:
        return self._fill((pick("which", label, choices),)).text("which")


def read_order_file(path: Path) -> Order:
    """An order from its file.

    Raises:
        OrderUnreadable: there is no such file, it can't be read, or it is far too large.
        OrderError: it is no order.
    """
    from guide.job.order import read_order

    try:
        if not path.is_file():
            raise OrderUnreadable(f"{path}: is no file; name a file that holds an order")
        with path.open("rb") as file:
            data = file.read(_LARGEST_ORDER_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "can't be read"
        raise OrderUnreadable(f"{path}: {reason}; name a file that holds an order") from error
    if len(data) > _LARGEST_ORDER_BYTES:
        raise OrderUnreadable(f"{path}: too large for an order; name the order's own file")
    return read_order(data, path.name)


def _last_order(bench: Bench) -> Order | None:
    """The order of the newest job, or None where there is none or it was withheld."""
    from guide.job import payloads as p
    from guide.job.order import read_order

    for job in bench.jobs()[:1]:
        opened = next((p.read_payload(e.kind, e.body) for e in bench.journal.events(job.job)), None)
        blob = bench.shelf.blob(opened.order) if isinstance(opened, p.Opened) else None
        return read_order(blob.text.encode(), "the last order") if blob else None
    return None


def at_the_terminal(make: Callable[[Voice], PlainProgram]) -> None:
    """Run a program at standard input and output.

    Raises:
        ChargewrightError: as `PlainProgram.run`.
    """
    from guide.plain.voice import Terminal

    voice = Terminal()
    with voice.listening():
        make(voice).run()
