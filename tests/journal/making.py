"""Small makers shared by the tests of this room."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from guide.journal.checkpoint import Verifier
from guide.journal.event import Stamp
from guide.journal.keys import LogKey

STAMP = Stamp("2026-11-25T10:42:07.123456Z", "+01:00", 1_234_567_890, "0123456789abcdef")


def log_key(name: str = "chargewright/PRACTICE/jo", seed: int = 1) -> LogKey:
    private = Ed25519PrivateKey.from_private_bytes(bytes([seed]) * 32)
    return LogKey(name, private.public_key().public_bytes_raw(), private)


def verifier(name: str = "chargewright/PRACTICE/jo", seed: int = 1) -> Verifier:
    return log_key(name, seed).verifier


@contextmanager
def raw_database(path: Path, *, unguarded: bool = False) -> Iterator[sqlite3.Connection]:
    """The file as somebody with another program sees it; `unguarded` drops the triggers first."""
    connection = sqlite3.connect(path, isolation_level=None)
    try:
        if unguarded:
            names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
            for (name,) in names:
                connection.execute(f"DROP TRIGGER {name}")
        yield connection
    finally:
        connection.close()
