"""The shipped procedure as one flat text, and small ways to spoil it.

The flat text is put together here line by line, by other means than the program's own: it is what the
author would have written without common parts.
"""

from __future__ import annotations

import re
from pathlib import Path

from guide.procedure.faults import Fault
from guide.procedure.reader import check

FOLDER = Path(__file__).resolve().parents[2] / "procedures"
PATH = FOLDER / "charge-fixed-orifice.yaml"


def _sections(text: str) -> dict[str, list[str]]:
    """The lines below each key at the left margin, the key's own line first; comments left out."""
    found: dict[str, list[str]] = {}
    key = ""
    for line in text.splitlines():
        if match := re.match(r"([a-z_]+):", line):
            key = match[1]
        if key and line.strip() and not line.startswith("#"):
            found.setdefault(key, []).append(line)
    return found


def _part(name: str, number: str, first: str, rest: str, head: dict[str, list[str]]) -> list[str]:
    """The lines of a common part where it is used; what it adds to the head goes there."""
    part = _sections((FOLDER / "parts" / f"{name}.yaml").read_text(encoding="utf-8"))
    for key in ("needs", "sources"):
        have = {line.strip() for line in head.setdefault(key, [f"{key}:"])}
        head[key] += [line for line in part.get(key, [])[1:] if line.strip() not in have]
    steps = [re.sub(r'^  - id: "([0-9]+)"$', rf'  - id: "{number}.\1"', line) for line in part["steps"]]
    return [first + part["id"][0], *(rest + line for line in (*part["title"], *steps))]


def flat(path: Path) -> str:
    """A procedure that uses common parts (without conditions of their own), written out."""
    head = _sections(path.read_text(encoding="utf-8"))
    parts = head.pop("parts")
    abort = head.pop("on_abort")
    written: list[str] = []
    number = 0
    for line in parts:
        number += line.startswith("  - ")
        if match := re.fullmatch(r"  - use: (\S+)", line):
            written += _part(match[1], str(number), "  - ", "    ", head)
        else:
            written.append(line)
    match = re.fullmatch(r"  use: (\S+)", abort[1])
    assert match is not None
    after = ["on_abort:", *_part(match[1], "A", "  ", "  ", head)]
    return "\n".join([*(line for lines in head.values() for line in lines), *written, *after]) + "\n"


TEXT = flat(PATH)


def spoiled(old: str, new: str) -> str:
    """The shipped text with its first `old` replaced; `old` must be there."""
    assert old in TEXT, old
    return TEXT.replace(old, new, 1)


def faults(text: str) -> list[Fault]:
    return check(text.encode(), "spoiled.yaml")


def rules(text: str) -> set[str]:
    return {fault.rule for fault in faults(text)}
