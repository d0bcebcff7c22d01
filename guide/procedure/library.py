"""The shipped procedures: which there are, and each by its id."""

from __future__ import annotations

import re
from pathlib import Path

from guide.procedure.faults import ProcedureError
from guide.procedure.model import Procedure
from guide.procedure.parts import folder
from guide.procedure.reader import read_procedure_file
from guide.procedure.strict_yaml import printable

_ID = re.compile(r"[a-z][a-z0-9-]{0,63}")


def list_procedures() -> tuple[str, ...]:
    """The ids of the shipped procedures, in alphabetical order.

    Raises:
        ProcedureError: the installation carries none.
    """
    return tuple(sorted(path.stem for path in folder().glob("*.yaml")))


def path_of(procedure_id: str) -> Path:
    """The file of a shipped procedure.

    Raises:
        ProcedureError: there is no procedure of that id; the message names those there are.
    """
    # the id becomes a file name, so nothing but the closed alphabet gets that far
    if _ID.fullmatch(procedure_id) is None or procedure_id not in list_procedures():
        raise ProcedureError(
            f"procedure '{printable(procedure_id)}' is not shipped; there are: {', '.join(list_procedures())}"
        )
    return folder() / f"{procedure_id}.yaml"


def load(procedure_id: str) -> Procedure:
    """A shipped procedure by its id.

    Raises:
        ProcedureError: there is none of that id, it can't be worked, or its file bears another id.
    """
    path = path_of(procedure_id)
    procedure = read_procedure_file(path)
    if procedure.id != procedure_id:
        raise ProcedureError(f"{path}:1:1: the file holds '{procedure.id}'; name file and id alike")
    return procedure


def newer_revision(kept: Procedure) -> str | None:
    """What a job's own procedure no longer is, in one sentence: None where the library holds nothing newer.

    A job goes on with the text it began with. Told are a later revision, and another text that bears the
    same one.
    """
    try:
        shipped = load(kept.id)
    except ProcedureError:
        return None  # a job outlives the library it began from
    if _order_of(shipped.revision) > _order_of(kept.revision):
        since = f", approved {shipped.approved_on}" if shipped.approved_on else ""
        return (
            f"The library has revision {shipped.revision} of {kept.id}{since}; "
            f"this job keeps revision {kept.revision}."
        )
    if shipped.revision == kept.revision and shipped.sha256 != kept.sha256:
        return (
            f"The library's revision {shipped.revision} of {kept.id} reads otherwise than the one "
            "this job keeps."
        )
    return None


def _order_of(revision: str) -> tuple[tuple[int, str], ...]:
    """Revisions in the order of a reader: 9 before 10, 2 before 2.1, 2.A before 2.B."""
    pieces = re.findall(r"[0-9]+|[A-Za-z]+", revision)
    return tuple((int(piece), "") if piece.isdigit() else (-1, piece) for piece in pieces)
