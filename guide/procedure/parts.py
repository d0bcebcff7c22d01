"""Where common parts lie, and how a file's bytes come in."""

from __future__ import annotations

from functools import cache
from pathlib import Path as FilePath

from guide.procedure.assembly import NAME, Fetch
from guide.procedure.faults import ProcedureError
from guide.procedure.strict_yaml import LARGEST_FILE_BYTES, YamlRefused, printable, read_yaml


@cache
def folder() -> FilePath:
    """The folder of the shipped procedures: package data in a wheel, the checkout's folder otherwise.

    Raises:
        ProcedureError: the installation carries none.
    """
    package = FilePath(__file__).resolve().parents[1]
    for place in (package / "_procedures", package.parent / "procedures"):
        if any(place.glob("*.yaml")):
            return place
    raise ProcedureError(f"{package}: no procedures installed with the program; install it again")


def beside(path: FilePath) -> Fetch:
    """Common parts for the procedure at `path`: from the folder 'parts' beside it, else the shipped ones."""

    def fetch(name: str) -> tuple[str, bytes]:
        places = (path.parent / "parts", folder() / "parts")
        if NAME.fullmatch(name) is not None:
            for place in places:
                # a name may also be taken by something that would never end when read
                if (file := place / f"{name}.yaml").is_file():
                    return str(file), read_bytes(file)
        there = sorted({file.stem for place in places for file in place.glob("*.yaml")})
        raise ProcedureError(
            f"there is no common part '{printable(name)}'; there are: {', '.join(there[:30]) or 'none'}"
        )

    return fetch


def is_part(data: bytes) -> bool:
    """Whether the bytes hold a common part rather than a whole procedure."""
    try:
        root = read_yaml(data, "part").root
    except YamlRefused:
        return False
    return isinstance(root, dict) and "steps" in root and not {"parts", "format"} & root.keys()


def read_bytes(path: FilePath) -> bytes:
    """The bytes of a procedure file, never more than one over the largest that is read.

    Raises:
        ProcedureError: it can't be opened.
    """
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise ProcedureError(
            f"{printable(str(path))}:1:1: can't be read ({reason}); give the path of a procedure file"
        ) from error
    except ValueError as error:
        raise ProcedureError(
            f"{printable(str(path))}:1:1: no path of a file; give the path of a procedure file"
        ) from error
