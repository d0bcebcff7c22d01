"""The shipped procedure as text, and small ways to spoil it."""

from __future__ import annotations

from pathlib import Path

from guide.procedure.faults import Fault
from guide.procedure.reader import check

PATH = Path(__file__).resolve().parents[2] / "procedures" / "charge-fixed-orifice.yaml"
TEXT = PATH.read_text(encoding="utf-8")


def spoiled(old: str, new: str) -> str:
    """The shipped text with its first `old` replaced; `old` must be there."""
    assert old in TEXT, old
    return TEXT.replace(old, new, 1)


def faults(text: str) -> list[Fault]:
    return check(text.encode(), "spoiled.yaml")


def rules(text: str) -> set[str]:
    return {fault.rule for fault in faults(text)}
