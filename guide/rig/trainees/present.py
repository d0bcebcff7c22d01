"""The real present, for entries of a trainee's journal; practice itself runs on simulated time."""

from __future__ import annotations

from datetime import UTC, date, datetime


def now_utc() -> str:
    """The moment, as entries of a trainee's journal say it."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def today() -> date:
    """The day where the person is."""
    return datetime.now().astimezone().date()
