"""The journal as work leans on it: opened once, opened again after a write went wrong."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from guide.journal.blob import Blob
from guide.journal.checkpoint import Signer
from guide.journal.event import Event, Stamp
from guide.journal.store import Journal, Kind, probe


class Shelf:
    """A journal that can be taken up again. Everything but `recover` goes straight to it."""

    def __init__(self, path: Path, kind: Kind) -> None:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        probe(path.parent)
        self._path = path
        self._kind: Kind = kind
        self.journal = Journal.open_or_create(path, kind=kind)

    def append(
        self,
        job: str,
        payloads: Sequence[tuple[str, Mapping[str, Any]]],
        *,
        stamp: Stamp,
        by: str,
        blobs: Sequence[Blob] = (),
    ) -> tuple[Event, ...]:
        """Put events on the disk in one transaction; returns when they are there.

        Raises:
            NotLogged: they are not known to be there.
        """
        return self.journal.append(job, payloads, stamp=stamp, by=by, blobs=blobs)

    def events(self, job: str | None = None) -> Iterator[Event]:
        """The events of a job, in order."""
        return self.journal.events(job)

    def blob(self, ref: str) -> Blob | None:
        """The text behind a reference."""
        return self.journal.blob(ref)

    def checkpoint(self, log_key: Signer) -> str:
        """Sign the head of the log and keep the note."""
        return self.journal.checkpoint(log_key)

    def recover(self) -> None:
        """Open the journal again, as at a start.

        Raises:
            JournalUnusable, JournalBusy: it can't be opened.
        """
        self.journal.close()
        self.journal = Journal.open_or_create(self._path, kind=self._kind)

    def close(self) -> None:
        """Let go of the file and its lock."""
        self.journal.close()
