"""What a file's model says against the file, in words for the one who wrote it, and where that is."""

from __future__ import annotations

from collections.abc import Container

from pydantic_core import ErrorDetails

from guide.procedure.strict_yaml import Path


def told(detail: ErrorDetails, path: Path) -> str:
    """One complaint of a validation error in plain words; `path` is the place of it that exists."""
    kind, said = detail["type"], detail["msg"]
    where = str(path[-1]) if path else "the file"
    if kind == "extra_forbidden":
        return f"key '{where}' is not known here; remove it or correct its spelling"
    if kind == "missing":
        return f"key '{detail['loc'][-1]}' is missing; add it"
    if kind == "value_error":
        return said.removeprefix("Value error, ")
    return f"'{where}': {said[:1].lower()}{said[1:]}"


def existing(places: Container[Path], loc: Path) -> Path:
    """The part of a complaint's place that exists in the file (a missing key does not)."""
    for length in range(len(loc), 0, -1):
        if loc[:length] in places:
            return loc[:length]
    return ()
