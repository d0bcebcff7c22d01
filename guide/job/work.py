"""A job being worked: each command decided, logged, and only then part of the state.

This is the one place where the walk meets a log. The log and the clock come in from outside
(`guide.journal.store`, `guide.journal.port`), so that the room stays free of disk and database.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Protocol

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.certification import against_work
from guide.job.evolve import evolve, fold
from guide.job.focus import Focus, Refused, focus
from guide.job.order import Order
from guide.job.state import JobState, begin
from guide.job.walk import decide
from guide.journal.blob import Blob
from guide.journal.checkpoint import Signer
from guide.journal.event import Event, Stamp
from guide.procedure.model import Procedure

CHECKPOINT_AFTER = frozenset({"part-ended", "paused", "handed-over", "signed", "closed", "aborted"})
"""Kinds of event after which the head of the log is signed."""


class Clock(Protocol):
    """Where stamps come from."""

    def now(self) -> Stamp:
        """This moment."""


class Log(Protocol):
    """As much of a journal as working a job needs."""

    def append(
        self, job: str, payloads: Sequence[tuple[str, Mapping[str, Any]]], *, stamp: Stamp, by: str,
        blobs: Sequence[Blob] = (),
    ) -> tuple[Event, ...]:  # fmt: skip
        """Put events on the disk in one transaction; returns when they are there."""

    def events(self, job: str | None = None) -> Iterator[Event]:
        """The events of a job, in order."""

    def blob(self, ref: str) -> Blob | None:
        """The text behind a reference, unless it was withheld or erased."""

    def checkpoint(self, log_key: Signer) -> str:
        """Sign the head of the log and keep the note."""

    def recover(self) -> None:
        """After a write whose fate is unknown: find out what the disk holds, so that work can go on."""


class Work:
    """One job in one run of the program, by one person.

    `state` is always what the log says; a command that can't be logged changes nothing.
    """

    def __init__(
        self, log: Log, clock: Clock, state: JobState, *, person: p.Person, log_key: Signer, run: str
    ) -> None:
        self._log = log
        self._clock = clock
        self._log_key: Signer | None = log_key
        self._kept: list[Blob] = []
        self._in_doubt = False
        self.state = state
        self.person = person
        self.run = run
        self.checkpoints: list[str] = []

    @classmethod
    def take_up(
        cls, log: Log, clock: Clock, job: str, order: Order, procedure: Procedure,
        *, person: p.Person, log_key: Signer, run: str,
    ) -> Work:  # fmt: skip
        """A job as its log has it: new, at rest or closed. Starting after a crash is this same call.

        Raises:
            BadBody, Impossible: the log does not hold a possible job.
        """
        state = fold(begin(job, order, procedure), log.events(job))
        return cls(log, clock, state, person=person, log_key=log_key, run=run)

    def keep(self, text: str) -> str:
        """The reference under which a text goes into the log with the next command."""
        blob = Blob.of(text)
        self._kept.append(blob)
        return blob.ref

    def keep_document(self, text: str) -> str:
        """The same for a whole order or procedure."""
        blob = Blob.of_document(text)
        self._kept.append(blob)
        return blob.ref

    def now(self) -> c.Now:
        """This moment, in this run, by this person."""
        return c.Now(self._clock.now(), self.run, self.person.id)

    def do(self, command: c.Command) -> tuple[Event, ...]:
        """Follow a command: decide, log, then change the state.

        Raises:
            Refused: the command can't be followed here, or the log key is locked.
            NotLogged: it could, but did not reach the disk; the state is as before.
        """
        if self._log_key is None:
            raise Refused("locked: sign in again, then press Enter")
        kept, self._kept = tuple(self._kept), []
        if self._in_doubt:
            self._look_again()
        now = self.now()
        payloads = decide(self.state, command, now)
        events = self._append(payloads, now, kept)
        for event in events:
            self.state = evolve(self.state, event)
        if any(payload.KIND in CHECKPOINT_AFTER for payload in payloads):
            self.checkpoints.append(self._log.checkpoint(self._log_key))
        return events

    def _append(
        self, payloads: tuple[p.Payload, ...], now: c.Now, kept: tuple[Blob, ...]
    ) -> tuple[Event, ...]:
        bodies = [(payload.KIND, payload.body()) for payload in payloads]
        try:
            return self._log.append(self.state.job, bodies, stamp=now.stamp, by=now.by, blobs=kept)
        except ChargewrightError:
            self._in_doubt = True
            raise

    def _look_again(self) -> None:
        """A write failed: what the log holds now is the state, whether or not that write is in it."""
        self._log.recover()
        start = begin(self.state.job, self.state.order, self.state.procedure)
        self.state = fold(start, self._log.events(self.state.job))
        self._in_doubt = False

    def events(self) -> Iterator[Event]:
        """The job's events, as the log has them."""
        return self._log.events(self.state.job)

    @property
    def locked(self) -> bool:
        """Whether the log key was let go."""
        return self._log_key is None

    def lock(self) -> None:
        """Let the log key go; the job stands where it stands, and no command is followed."""
        self._log_key = None

    def unlock(self, log_key: Signer) -> None:
        """The same person is back with their log key."""
        self._log_key = log_key

    def certification_words(self) -> tuple[str, ...]:
        """What the technician's certification, as stated, leaves open for this work; shown, never a bar."""
        return against_work(self.state.order, self.person.certification_type)

    def focus(self) -> Focus:
        """What stands in front of the person."""
        return focus(self.state, self.run)

    def text(self, ref: str | None) -> str:
        """The text behind a reference, or words that say it was withheld."""
        if ref is None:
            return ""
        blob = self._log.blob(ref)
        return blob.text if blob else "[withheld]"
