"""One data folder in use: its journal, its people, its jobs, its records."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from guide import VERSION
from guide.bench.backup import Backup, NoBackup, make_backup
from guide.bench.fitting import why_not
from guide.bench.housekeeping import NOBODY, BackupMade, note_restored
from guide.bench.imported import Imported, imported, take_in
from guide.bench.people import KnownPerson, Technician
from guide.bench.photos import keep_photo
from guide.bench.shelf import Shelf
from guide.bench.staff import NotHere, Staff
from guide.errors import ChargewrightError
from guide.escape import for_file_name
from guide.job import payloads as p
from guide.job.assess import versions
from guide.job.commands import Issue, Note, Open, SignOff
from guide.job.evolve import fold
from guide.job.fit import lacking, room_against, unsafe_machine
from guide.job.order import Order, read_order
from guide.job.state import JobState, begin
from guide.job.work import Work
from guide.journal.event import CLOSED, JOURNAL_JOB, Event
from guide.journal.port import Clock, SimulatedClock, SystemClock
from guide.journal.store import JobHead, Journal, Kind
from guide.procedure import library
from guide.procedure.model import Procedure
from guide.procedure.reader import read_procedure
from guide.refrigerant import saturation

__all__ = ["Bench", "DoesNotFit", "Issued", "JobLine", "NotHere", "PastDue"]

AT_REST = frozenset({"paused", "handed-over"})
ENDED = frozenset({CLOSED, "record-issued"})


def _stopped(last: Event) -> bool:
    """Whether this event ended the run of a lesson before its time."""
    return last.kind == p.Practised.KIND and last.body.get("what") == "ended"


class DoesNotFit(ChargewrightError):
    """An order that can't become a job here."""


class PastDue(ChargewrightError):
    """Something is past its calibration: `names` says what, in words. A reason lets the job begin."""

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__(
            f"past their calibration: {'; '.join(names)}. Use others, or begin with a reason, "
            "which is recorded"
        )
        self.names = names


@dataclass(frozen=True, slots=True)
class JobLine:
    """One job in a list."""

    job: str
    number: int
    place: str
    procedure_title: str
    status: str
    """"open", "at rest" or "closed"."""
    recorded: bool
    events: int
    last_utc: str
    technician: str


@dataclass(frozen=True, slots=True)
class Issued:
    """A record that was handed over."""

    pdf: Path
    customer_copy: Path
    sha256: str
    fingerprint: str


class Bench:
    """One data folder in use. `run` names this run of the program in the log."""

    def __init__(self, folder: Path, shelf: Shelf, *, clock: Clock, run: str) -> None:
        self.folder = folder
        self.shelf = shelf
        self.clock = clock
        self.run = run
        self.staff = Staff(shelf, folder / "keys", clock)

    @classmethod
    def open(cls, folder: Path, *, nature: Kind, clock: Clock | None = None, run: str | None = None) -> Bench:
        """Open the folder for work, laying its journal where there is none.

        Raises:
            JournalUnusable, JournalBusy: it can't be written, or another window is working in it.
        """
        shelf = Shelf(folder / "journal.db", nature)
        bench = cls(folder, shelf, clock=clock or SystemClock(), run=run or secrets.token_hex(8))
        try:
            note_restored(shelf, folder, bench.clock.now())
        except ChargewrightError:
            bench.close()
            raise
        return bench

    @property
    def journal(self) -> Journal:
        """The journal as it is open now."""
        return self.shelf.journal

    @property
    def nature(self) -> Kind:
        """Whether work here is real, practice or a demonstration."""
        return self.journal.kind

    @property
    def records(self) -> Path:
        """Where finished records are put."""
        return self.folder / "records"

    @property
    def photos(self) -> Path:
        """Where photos are kept, one folder a job."""
        return self.folder / "photos"

    def close(self) -> None:
        """Let go of the journal."""
        self.shelf.close()

    # -- people -------------------------------------------------------------------------------

    def people(self) -> tuple[KnownPerson, ...]:
        """Everybody who made themselves known here, by id."""
        return self.staff.people()

    def enrol(self, known: KnownPerson, passphrase: str) -> None:
        """Make a person known; see `Staff.enrol`."""
        self.staff.enrol(known, passphrase)

    def sign_in(self, person_id: str, passphrase: str) -> Technician:
        """A person at work, their log key unlocked; see `Staff.sign_in`."""
        return self.staff.sign_in(person_id, passphrase)

    def replace_keys(self, person_id: str, passphrase: str) -> None:
        """New keys for a lost passphrase; see `Staff.replace_keys`."""
        self.staff.replace_keys(person_id, passphrase)

    # -- the folder ---------------------------------------------------------------------------

    def import_record(self, source: Path) -> Imported:
        """Keep a record made elsewhere, checked first, to be read only.

        Raises:
            NotImported, NotARecord: it is not sound, is here already, or can't be kept.
        """
        return take_in(source, self.folder, utc=self.clock.now().utc)

    def imported(self) -> tuple[Imported, ...]:
        """Records made elsewhere and kept here to be read; `guide.bench.imported.read` opens one."""
        return imported(self.folder)

    def backup(self, to: Path, technician: Technician | None = None) -> Backup:
        """Copy journal, keys, photos and records into a new folder, and note it in the journal.

        With a technician the head of the log is signed first, so that the backup's fingerprint covers all.

        Raises:
            NoBackup: `to` exists or can't be written; nothing is left behind.
            NotLogged: the copy was made, the note of it did not reach the disk.
        """
        if self.nature == "demonstration":
            raise NoBackup("no backup made: the keys of a demonstration were never written down")
        if technician is not None:
            self.shelf.checkpoint(technician.log_key)
        stamp = self.clock.now()
        made = make_backup(self.journal, self.folder, to, utc=stamp.utc)
        note = BackupMade(
            id=made.manifest.id, manifest_sha256=made.sha256, events=made.manifest.events,
            fingerprint=made.manifest.fingerprint,
        )  # fmt: skip
        by = technician.known.id if technician else NOBODY
        self.shelf.append(JOURNAL_JOB, [(BackupMade.KIND, note.body())], stamp=stamp, by=by)
        return made

    def _text(self, ref: str) -> str:
        return self.staff.text(ref)

    # -- jobs ---------------------------------------------------------------------------------

    def jobs(self) -> tuple[JobLine, ...]:
        """Every job of the journal, the newest first."""
        return tuple(self._line(head) for head in reversed(self.journal.jobs()))

    def _line(self, head: JobHead) -> JobLine:
        opened = self._opened(head.job)
        last = next(self.journal.events(head.job, after=head.last_seq - 1))
        kind = last.kind
        return JobLine(
            job=head.job,
            number=opened.number,
            place=read_order(self._text(opened.order).encode(), "the job's order").place,
            procedure_title=opened.procedure_id,
            status="closed" if kind in ENDED or _stopped(last) else "at rest" if kind in AT_REST else "open",
            recorded=kind == "record-issued",
            events=head.events,
            last_utc=head.last_utc,
            technician=last.by,
        )

    def _opened(self, job: str) -> p.Opened:
        for event in self.journal.events(job):
            payload = p.read_payload(event.kind, event.body)
            if isinstance(payload, p.Opened):
                return payload
            break
        raise NotHere(f"there is no job {job[:40]!r} here; the jobs are listed on the first screen")

    def new_job(
        self,
        order: Order,
        technician: Technician,
        *,
        past_due_reason: str | None = None,
        lesson: p.Lesson | None = None,
    ) -> Work:
        """Open a job in the register.

        `past_due_reason` says why the work begins with something past its calibration; `past_due` tells
        beforehand what that is.

        Raises:
            DoesNotFit: the order is of another nature, its procedure is not for this appliance, or it
                lacks what the procedure needs of it.
            PastDue: something is past its calibration, and no reason was given.
            NotLogged: the opening did not reach the disk.
        """
        procedure = library.load(order.procedure)
        self._require_fit(order, procedure)
        late = self.past_due(order)
        if late and past_due_reason is None:
            raise PastDue(late)
        number = self.journal.next_job_number()
        work = self._work(f"J-{number:04d}", order, procedure, technician)
        opened = p.Opened(
            number=number,
            nature=self.nature,
            clock="simulated" if isinstance(self.clock, SimulatedClock) else "system",
            program=VERSION,
            run=self.run,
            order=work.keep_document(order.text),
            order_sha256=order.sha256,
            procedure=work.keep_document(procedure.source.decode()),
            procedure_id=procedure.id,
            procedure_revision=procedure.revision,
            procedure_sha256=procedure.sha256,
            versions=versions(saturation.curve(order.refrigerant.designation)),
            person=technician.person,
            ticket=order.ticket,
            past_due_reason=work.keep(past_due_reason) if late and past_due_reason else None,
            lesson=lesson,
        )
        work.do(Open(opened))
        return work

    def past_due(self, order: Order) -> tuple[str, ...]:
        """What of the order's equipment is past its calibration now, in words."""
        today = date.fromisoformat(self.clock.now().utc[:10])
        return tuple(f"{name}, due {due.isoformat()}" for name, due in order.past_due(today))

    def require_nature(self, order: Order) -> None:
        """Say nothing where the order belongs into this journal.

        Raises:
            DoesNotFit: it does not; the message says how to get to where it does.
        """
        if order.nature != self.nature:
            raise DoesNotFit(
                f"order {order.number} is {order.nature}, this journal is {self.nature}, "
                "and the two are kept apart; chargewright run FILE opens it where it belongs"
            )

    def _require_fit(self, order: Order, procedure: Procedure) -> None:
        self.require_nature(order)
        if procedure.status != "approved":
            raise DoesNotFit(f"procedure {procedure.id} is a {procedure.status}; work from an approved one")
        fault = why_not(order, procedure) or lacking(order, procedure) or unsafe_machine(order)
        fault = fault or room_against(order, procedure)
        if fault is not None:
            raise DoesNotFit(fault)

    def take_up(self, job: str, technician: Technician) -> Work:
        """A job as the journal has it: open, at rest or closed; with the order and procedure it began with.

        Raises:
            NotHere: there is no such job.
            BadBody, Impossible: the journal does not hold a possible job.
        """
        order, procedure = self._began_with(job)
        return Work.take_up(
            self.shelf, self.clock, job, order, procedure,
            person=technician.person, log_key=technician.log_key, run=self.run,
        )  # fmt: skip

    def state_of(self, job: str) -> JobState:
        """A job as the journal has it, to be looked at only: nobody has to be signed in.

        Raises:
            NotHere: there is no such job.
            BadBody, Impossible: the journal does not hold a possible job.
        """
        return fold(begin(job, *self._began_with(job)), self.journal.events(job))

    def _began_with(self, job: str) -> tuple[Order, Procedure]:
        opened = self._opened(job)
        order = read_order(self._text(opened.order).encode(), "the job's order")
        procedure = read_procedure(self._text(opened.procedure).encode(), "the job's procedure")
        if procedure.sha256 != opened.procedure_sha256 or order.sha256 != opened.order_sha256:
            raise DoesNotFit(f"the order or procedure kept with job {job} is not the one it began with")
        return order, procedure

    def _work(self, job: str, order: Order, procedure: Procedure, technician: Technician) -> Work:
        return Work(
            self.shelf, self.clock, begin(job, order, procedure),
            person=technician.person, log_key=technician.log_key, run=self.run,
        )  # fmt: skip

    def note_photo(self, work: Work, source: Path, text: str, *, late: bool = False) -> p.Photo:
        """Keep a photo beside the journal and note it at the present step of a job.

        Raises:
            NoPhoto: the file can't be kept.
            Refused: a note can't be taken here.
            NotLogged: the note did not reach the disk.
        """
        photo = keep_photo(source, self.photos / for_file_name(work.state.job))
        work.do(Note(work.keep(text), late, photo))
        return photo

    # -- the record ---------------------------------------------------------------------------

    def sign_off(self, work: Work, technician: Technician, passphrase: str) -> Issued:
        """Sign the work, close the job, and hand over its record.

        Raises:
            WrongPassphrase: nothing was signed.
            Refused: the work is not finished.
            NotLogged: the signature did not reach the disk.
            ChargewrightError: the job is closed, but its record could not be written; `issue_record`
                makes it later.
        """
        technician.keys.signing_key(passphrase)
        work.do(SignOff(work.keep(technician.known.name), technician.certificate_sha256))
        return self.issue_record(work, technician, passphrase)

    def issue_record(self, work: Work, technician: Technician, passphrase: str) -> Issued:
        """Make, sign, check and write the record of a closed job, and note in the journal that it left.

        Raises:
            WrongPassphrase: the signing key stays locked.
            ChargewrightError: the record can't be made or written; the journal is untouched.
        """
        from guide.record.write import issue

        private_key, certificate = technician.keys.signing_key(passphrase)
        # a stop between the closing event and its checkpoint would leave the record without one
        self.shelf.checkpoint(technician.log_key)
        files = issue(
            self.journal, work.state, private_key=private_key, certificate_der=certificate,
            when=datetime.fromisoformat(self.clock.now().utc), folder=self.records,
        )  # fmt: skip
        work.do(Issue(sha256=files.sha256, file=files.pdf.name, fingerprint=files.fingerprint))
        return Issued(files.pdf, files.customer_copy, files.sha256, files.fingerprint)
