"""The only way in for a procedure file: strict YAML, then structure, then meaning, then the rules.

`check` tells everything that is wrong; `read_procedure` refuses what can't be worked and lets bad
writing and drafts through to the caller, who decides what to do with them.
"""

from __future__ import annotations

from pathlib import Path as FilePath

from pydantic import ValidationError

from guide.procedure.build import Builder
from guide.procedure.checker import RULES
from guide.procedure.faults import Fault, ProcedureError
from guide.procedure.model import Procedure
from guide.procedure.schema import ProcedureFile
from guide.procedure.strict_yaml import (
    LARGEST_FILE_BYTES,
    Document,
    Mark,
    Path,
    YamlRefused,
    printable,
    read_yaml,
)

_MOST_FAULTS = 200


def read_procedure(data: bytes, name: str) -> Procedure:
    """The procedure in the bytes of the file called `name`.

    Raises:
        ProcedureError: it can't be worked; the message names the first place, `faults` holds them all.
    """
    procedure, faults = _examine(data, name)
    blocking = tuple(fault for fault in faults if fault.blocks)
    if blocking or procedure is None:
        more = f" (and {len(blocking) - 1} more)" if len(blocking) > 1 else ""
        raise ProcedureError(f"{blocking[0]}{more}", blocking)
    return procedure


def read_procedure_file(path: FilePath) -> Procedure:
    """The procedure in a file.

    Raises:
        ProcedureError: it can't be opened or can't be worked.
    """
    return read_procedure(read_bytes(path), str(path))


def check(data: bytes, name: str) -> list[Fault]:
    """Everything wrong with the bytes of the file called `name`, in the order of the file."""
    return _examine(data, name)[1]


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


def _examine(data: bytes, name: str) -> tuple[Procedure | None, list[Fault]]:
    try:
        document = read_yaml(data, name)
    except YamlRefused as error:
        return None, [_fault(error.name, error.mark, "yaml", error.problem)]
    try:
        file = ProcedureFile.model_validate(document.root)
    except ValidationError as error:
        return None, _structure_faults(document, error)
    builder = Builder()
    procedure = builder.procedure(file, data)
    if builder.findings:
        return None, _sorted(
            [_fault(document.name, document.at(f.path), f.rule, f.message) for f in builder.findings]
        )
    faults = [
        _fault(document.name, document.at(path), rule.name, message, blocks=rule.blocks)
        for rule in RULES
        for path, message in rule.judge(procedure)
    ]
    return procedure, _sorted(faults)


def _fault(name: str, mark: Mark, rule: str, message: str, *, blocks: bool = True) -> Fault:
    return Fault(name, mark.line, mark.column, rule, printable_line(message), blocks)


def printable_line(message: str) -> str:
    """One line of a message, safe on a terminal, whatever a file put into it."""
    cut = message if len(message) <= 500 else message[:497] + "..."
    return "".join(printable(cut[start : start + 100]) for start in range(0, len(cut), 100))


def _sorted(faults: list[Fault]) -> list[Fault]:
    return sorted(faults, key=lambda fault: (fault.line, fault.column, fault.rule))[:_MOST_FAULTS]


def _structure_faults(document: Document, error: ValidationError) -> list[Fault]:
    faults = []
    for detail in error.errors(include_url=False, include_context=False, include_input=False):
        path = _file_path(document, detail["loc"])
        kind = detail["type"]
        where = str(path[-1]) if path else "the file"
        if kind == "extra_forbidden":
            message = f"key '{where}' is not known here; remove it or correct its spelling"
        elif kind == "missing":
            message = f"key '{detail['loc'][-1]}' is missing; add it"
        elif kind == "value_error":
            message = detail["msg"].removeprefix("Value error, ")
        else:
            message = f"'{where}': {detail['msg'][:1].lower()}{detail['msg'][1:]}"
        faults.append(_fault(document.name, document.at(path), "structure", message))
    return _sorted(faults)


def _file_path(document: Document, loc: tuple[int | str, ...]) -> Path:
    """The part of a validation error's place that exists in the file (a missing key does not)."""
    for length in range(len(loc), 0, -1):
        if loc[:length] in document.marks:
            return loc[:length]
    return ()
