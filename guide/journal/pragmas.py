"""How a connection to a journal file is set up. Apart from the tables: these settings load quickly."""

from __future__ import annotations

import sqlite3
import sys
from typing import Final

# What a writing connection must have, as SQLite answers when asked back. recursive_triggers makes
# the delete triggers fire for REPLACE; secure_delete overwrites an erased note inside the file.
WRITER_PRAGMAS: Final[dict[str, int | str]] = {
    "journal_mode": "wal",
    "synchronous": 2,
    "foreign_keys": 1,
    "recursive_triggers": 1,
    "secure_delete": 1,
    "trusted_schema": 0,
    "cell_size_check": 1,
    "busy_timeout": 2000,
}
READER_PRAGMAS: Final[dict[str, int | str]] = {
    "query_only": 1,
    "trusted_schema": 0,
    "cell_size_check": 1,
    "busy_timeout": 2000,
}
# macOS answers fsync before the disk has written; these ask for the real thing (MEMORY; not tested there)
_MAC_PRAGMAS: Final[dict[str, int | str]] = {"fullfsync": 1, "checkpoint_fullfsync": 1}


class PragmaRefusedError(sqlite3.OperationalError):
    """SQLite did not take a setting that the journal relies on."""


def set_pragmas(connection: sqlite3.Connection, *, read_only: bool) -> None:
    """Set what the journal relies on, and read each setting back.

    Raises:
        PragmaRefusedError: a setting was not taken (a network folder without shared memory
            refuses the write-ahead log, for one).
        sqlite3.Error: the file can't be read as a database.
    """
    wanted = dict(READER_PRAGMAS if read_only else WRITER_PRAGMAS)
    if sys.platform == "darwin" and not read_only:
        wanted |= _MAC_PRAGMAS
    for name, value in wanted.items():
        connection.execute(f"PRAGMA {name} = {value}")
        (answer,) = connection.execute(f"PRAGMA {name}").fetchone()
        if answer != value:
            raise PragmaRefusedError(f"setting {name} stayed {answer} instead of {value}")
