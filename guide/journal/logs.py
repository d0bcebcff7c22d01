"""What a log is called, and which kind of log a name tells of."""

from __future__ import annotations

from typing import Literal

Kind = Literal["real", "practice", "demonstration"]


def origin(log: str) -> str:
    """The name of a log on its checkpoints."""
    return f"chargewright/log/{log}"


def log_kind(log: str) -> Kind:
    """Whether a log identifier is that of a real log, or of practice or a demonstration."""
    word = log.partition("-")[0]
    return "practice" if word == "practice" else "demonstration" if word == "demonstration" else "real"
