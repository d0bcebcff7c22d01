"""One line of the journal: its fields, its bytes, its hash."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from guide.errors import ChargewrightError
from guide.journal import tree
from guide.journal.canonical import (
    MAX_BYTES,
    MAX_INTEGER,
    CanonicalError,
    Json,
    canonical,
    plain,
    require_canonical,
)

FORMAT_VERSION = 1
FIRST_JOB_PREV = "0" * 64
JOURNAL_JOB = "journal"  # the pseudo job of events that belong to no job: a person enrolled, a backup made
OPENED = "opened"  # the kind that opens a job; its body carries the gap-free "number"
CLOSED = "closed"  # the kind that closes a job

_LOG = re.compile(r"(?:practice-|demonstration-)?[0-9a-f]{32}")
_JOB = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_BY = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_KIND = re.compile(r"[a-z][a-z0-9 ._-]{0,63}")
_HASH = re.compile(r"[0-9a-f]{64}")
_UTC = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", re.ASCII)
_OFFSET = re.compile(r"[+-](?:0\d|1[0-5]):[0-5]\d", re.ASCII)
_MONO = re.compile(r"0|[1-9]\d{0,19}", re.ASCII)
_BOOT = re.compile(r"[A-Za-z0-9-]{1,64}")
_KEYS = frozenset(
    {"v", "log", "seq", "job", "job_seq", "job_prev", "by", "kind", "body"}
    | {"utc", "local_offset", "mono_ns", "boot"}
)


class BadEvent(ChargewrightError):
    """An event that breaks the form."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """When something happened, by the three clocks a laptop has.

    `utc` is wall time with microseconds ("2026-11-25T10:42:07.123456Z"), `local_offset` the
    offset then in force ("+01:00"), `mono_ns` nanoseconds of a clock that nobody can set and
    that counts suspended time, `boot` names the period within which `mono_ns` may be compared.

    Raises:
        BadEvent: a field is not in that form, or the date does not exist.
    """

    utc: str
    local_offset: str
    mono_ns: int
    boot: str

    def __post_init__(self) -> None:
        _require(_matches(_UTC, self.utc) and _exists(self.utc), "utc", self.utc)
        _require(_matches(_OFFSET, self.local_offset), "local_offset", self.local_offset)
        _require(type(self.mono_ns) is int and 0 <= self.mono_ns < 10**20, "mono_ns", self.mono_ns)
        _require(_matches(_BOOT, self.boot), "boot", self.boot)


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened, as it stands in the log for good.

    `seq` counts all events of the log from 0, `job_seq` those of the job from 0; `job_prev` is
    the leaf hash (hexadecimal) of the job's event before this one, 64 zeros for its first.
    `by` is the identifier of a person, never a name.

    Raises:
        BadEvent: a field is not in its form.
    """

    v: int
    log: str
    seq: int
    job: str
    job_seq: int
    job_prev: str
    stamp: Stamp
    by: str
    kind: str
    body: Mapping[str, Json]

    def __post_init__(self) -> None:
        _require(type(self.v) is int and self.v == FORMAT_VERSION, "v", self.v)
        _require(_matches(_LOG, self.log), "log", self.log)
        _require(type(self.seq) is int and 0 <= self.seq <= MAX_INTEGER, "seq", self.seq)
        _require(_matches(_JOB, self.job), "job", self.job)
        _require(type(self.job_seq) is int and 0 <= self.job_seq <= self.seq, "job_seq", self.job_seq)
        _require(_matches(_HASH, self.job_prev), "job_prev", self.job_prev)
        _require((self.job_seq == 0) == (self.job_prev == FIRST_JOB_PREV), "job_prev", self.job_prev)
        _require(_matches(_BY, self.by), "by", self.by)
        _require(_matches(_KIND, self.kind), "kind", self.kind)
        _require(isinstance(self.body, Mapping), "body", self.body)

    def to_bytes(self) -> bytes:
        """The canonical bytes, which are what is stored and hashed.

        Raises:
            BadEvent: the body has no canonical form, or the event is too long.
        """
        stamp = self.stamp
        try:
            data = canonical(
                {
                    "v": self.v,
                    "log": self.log,
                    "seq": self.seq,
                    "job": self.job,
                    "job_seq": self.job_seq,
                    "job_prev": self.job_prev,
                    "utc": stamp.utc,
                    "local_offset": stamp.local_offset,
                    "mono_ns": str(stamp.mono_ns),
                    "boot": stamp.boot,
                    "by": self.by,
                    "kind": self.kind,
                    "body": self.body,
                }
            )
        except CanonicalError as error:
            raise BadEvent(f"event of kind {self.kind!r} can't be written: {error}") from error
        if len(data) > MAX_BYTES:
            raise BadEvent(
                f"event of kind {self.kind!r} can't be written: {len(data)} bytes, limit {MAX_BYTES}"
            )
        return data

    @property
    def leaf_hash(self) -> str:
        """RFC 9162 leaf hash of the canonical bytes, lower-case hexadecimal."""
        return tree.leaf_hash(self.to_bytes()).hex()

    @classmethod
    def from_bytes(cls, data: bytes) -> Event:
        """Read an event from its canonical bytes; anything but exactly those is refused.

        Raises:
            BadEvent: not canonical, a member missing or too many, a field not in its form.
        """
        try:
            value = require_canonical(data)
        except CanonicalError as error:
            raise BadEvent(f"not an event: {error}") from error
        if not isinstance(value, dict) or value.keys() != _KEYS:
            raise BadEvent(f"not an event: its members must be exactly {', '.join(sorted(_KEYS))}")
        mono_ns = value["mono_ns"]
        _require(_matches(_MONO, mono_ns), "mono_ns", mono_ns)
        return cls(
            v=value["v"],
            log=value["log"],
            seq=value["seq"],
            job=value["job"],
            job_seq=value["job_seq"],
            job_prev=value["job_prev"],
            stamp=Stamp(value["utc"], value["local_offset"], int(mono_ns), value["boot"]),
            by=value["by"],
            kind=value["kind"],
            body=value["body"],
        )


def frozen_copy(body: Mapping[str, Json]) -> Mapping[str, Json]:
    """A plain copy of a body, so that later changes to the caller's dict change no event.

    Raises:
        BadEvent: the body has no canonical form.
    """
    try:
        copy = plain(body)
    except CanonicalError as error:
        raise BadEvent(f"event body can't be written: {error}") from error
    if not isinstance(copy, Mapping):
        raise BadEvent("event body can't be written: it must be an object with named members")
    return copy


def _require(condition: bool, field: str, value: object) -> None:  # noqa: FBT001 - reads as an assertion
    if not condition:
        raise BadEvent(f"not an event: field {field!r} can't be {str(value)[:80]!r}")


def _matches(pattern: re.Pattern[str], value: object) -> bool:
    return isinstance(value, str) and pattern.fullmatch(value) is not None


def _exists(utc: str) -> bool:
    try:
        datetime.fromisoformat(utc)
    except ValueError:
        return False
    return True
