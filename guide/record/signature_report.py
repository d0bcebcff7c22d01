"""What the checker of the PDF layer answers."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal


@dataclass(frozen=True, slots=True)
class Finding:
    """The first thing wrong: the number of the check that found it, and one line for a person."""

    check_number: int
    message: str


@dataclass(frozen=True, slots=True)
class Check:
    """One numbered check and how it went."""

    number: int
    title: str
    outcome: Literal["passed", "failed", "not reached"]


@dataclass(frozen=True, slots=True)
class Signature:
    """One signature that verifies. Names and times in it are claims of whoever held the key."""

    field: str
    certificate_der: bytes
    fingerprint_sha256: str
    common_name: str
    practice_mark: str | None
    self_issued: bool
    issuer: str
    claimed_time: datetime
    reason: str
    location: str | None


@dataclass(frozen=True, slots=True)
class SignatureReport:
    """The answer to "is it intact". ``signatures`` and ``level`` are given only for an intact file."""

    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
    signatures: tuple[Signature, ...]
    level: str | None

    @property
    def intact(self) -> bool:
        """Whether every check passed."""
        return not self.findings

    @property
    def technician(self) -> Signature | None:
        """The certifying signature of an intact record."""
        return self.signatures[0] if self.signatures else None

    @property
    def customer(self) -> Signature | None:
        """The customer's signature of an intact record, if there is one."""
        return self.signatures[1] if len(self.signatures) > 1 else None
