"""The tables of a journal file, the triggers that guard them.

The stored bytes (`event.raw`) are the truth; every other column of `event` is an index over
them, checked against them by `integrity`.
"""

from __future__ import annotations

from typing import Final

import sqlalchemy as sa

SCHEMA_VERSION: Final = 1
APPLICATION_ID: Final = 0x43574A31  # "CWJ1": lets a foreign SQLite file be told from a journal

metadata = sa.MetaData()

about = sa.Table(
    "about",
    metadata,
    sa.Column("one", sa.Integer, sa.CheckConstraint("one = 1"), primary_key=True),
    sa.Column("schema_version", sa.Integer, nullable=False),
    sa.Column("log", sa.Text, nullable=False),
    sa.Column("kind", sa.Text, nullable=False),
    sqlite_strict=True,
)

event = sa.Table(
    "event",
    metadata,
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("job", sa.Text, nullable=False),
    sa.Column("job_seq", sa.Integer, nullable=False),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("person", sa.Text, nullable=False),
    sa.Column("utc", sa.Text, nullable=False),
    sa.Column("leaf", sa.LargeBinary, nullable=False),
    sa.Column("raw", sa.LargeBinary, nullable=False),
    sa.UniqueConstraint("job", "job_seq"),
    sa.Index("event_kind", "kind"),
    sqlite_strict=True,
)

checkpoint = sa.Table(
    "checkpoint",
    metadata,
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("size", sa.Integer, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sqlite_strict=True,
)

blob = sa.Table(
    "blob",
    metadata,
    sa.Column("ref", sa.Text, primary_key=True),
    sa.Column("salt", sa.LargeBinary, nullable=False),
    sa.Column("text", sa.Text, nullable=False),
    sqlite_strict=True,
)


def _never(name: str, act: str, table: str, why: str) -> str:
    return f"CREATE TRIGGER {name} BEFORE {act} ON {table} BEGIN SELECT RAISE(ABORT, '{why}'); END"


def _unless(name: str, table: str, condition: str, why: str) -> str:
    return (
        f"CREATE TRIGGER {name} BEFORE INSERT ON {table} WHEN NOT ({condition}) "
        f"BEGIN SELECT RAISE(ABORT, '{why}'); END"
    )


# The checks on INSERT stop REPLACE too: a row that would displace another never has the next number.
# They hold on any connection, also one that left recursive_triggers off.
TRIGGERS: Final[dict[str, str]] = {
    "event_update": _never("event_update", "UPDATE", "event", "an event is never changed"),
    "event_delete": _never("event_delete", "DELETE", "event", "an event is never deleted"),
    "event_gap": _unless(
        "event_gap",
        "event",
        "NEW.seq = (SELECT COALESCE(MAX(seq) + 1, 0) FROM event)",
        "an event must be the next of the log",
    ),
    "event_job_gap": _unless(
        "event_job_gap",
        "event",
        "NEW.job_seq = (SELECT COALESCE(MAX(job_seq) + 1, 0) FROM event WHERE job = NEW.job)",
        "an event must be the next of its job",
    ),
    "checkpoint_update": _never("checkpoint_update", "UPDATE", "checkpoint", "a checkpoint is never changed"),
    "checkpoint_delete": _never("checkpoint_delete", "DELETE", "checkpoint", "a checkpoint is never deleted"),
    "checkpoint_gap": _unless(
        "checkpoint_gap",
        "checkpoint",
        "NEW.number = (SELECT COALESCE(MAX(number) + 1, 0) FROM checkpoint)",
        "a checkpoint must be the next",
    ),
    "about_insert": _unless(
        "about_insert", "about", "(SELECT COUNT(*) FROM about) = 0", "a journal has one identity"
    ),
    "about_update": _never("about_update", "UPDATE", "about", "a journal keeps its identity"),
    "about_delete": _never("about_delete", "DELETE", "about", "a journal keeps its identity"),
    "blob_update": _never("blob_update", "UPDATE", "blob", "a note is never changed, only erased"),
}


def lay(connection: sa.Connection, *, log: str, kind: str) -> None:
    """Create the tables, the triggers and the one row that says whose journal this is."""
    metadata.create_all(connection)
    for statement in TRIGGERS.values():
        connection.exec_driver_sql(statement)
    connection.execute(about.insert().values(one=1, schema_version=SCHEMA_VERSION, log=log, kind=kind))
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")


def missing_triggers(connection: sa.Connection) -> list[str]:
    """Names of triggers that are absent or no longer read as laid."""
    rows = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
    present = {row[0]: row[1] for row in rows}
    return [name for name, statement in TRIGGERS.items() if present.get(name) != statement]
