"""What the checks of a record have learnt so far, and how one says what it found."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.job.state import JobState
from guide.journal.checkpoint import Checkpoint
from guide.record.bundle import Bundle
from guide.record.signature_report import SignatureReport

HOSTILE_FAULTS: Final = (
    ChargewrightError, LookupError, ArithmeticError, ValueError, TypeError, AttributeError, AssertionError,
    RuntimeError, StopIteration,
)  # fmt: skip
"""What a forged log may make our own rules run into; a genuine one gives none of these."""


class Wrong(ChargewrightError):
    """What one check found."""


@dataclass(slots=True)
class Examined:
    """What the checks have learnt of a record so far."""

    pdf: bytes
    signature: SignatureReport
    program: str
    bundle: Bundle | None = None
    payloads: tuple[p.Payload, ...] = ()
    heads: list[Checkpoint] = field(default_factory=list)
    start: JobState | None = None
    state: JobState | None = None
    notes: list[str] = field(default_factory=list)

    @property
    def inside(self) -> Bundle:
        """The bundle, once it was read."""
        assert self.bundle is not None
        return self.bundle

    @property
    def opened(self) -> p.Opened:
        """The opening event, once the log was found whole."""
        first = self.payloads[0]
        assert isinstance(first, p.Opened)
        return first
