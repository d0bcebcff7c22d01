"""The only way in for a lesson file: strict YAML, then structure, then meaning, then the rules.

`lint` tells everything that is wrong with a file; `read_lesson` refuses what can't be worked.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path as FilePath

from pydantic import ValidationError

from guide.errors import ChargewrightError
from guide.job.order import Order, read_order
from guide.procedure.faults import Fault, fault_at
from guide.procedure.library import load
from guide.procedure.model import Procedure
from guide.procedure.strict_yaml import LARGEST_FILE_BYTES, Document, Path, YamlRefused, printable, read_yaml
from guide.procedure.structure import existing, told
from guide.rig.learning.lesson import Lesson
from guide.rig.learning.lesson_build import Builder
from guide.rig.learning.lesson_file import LessonFile
from guide.rig.learning.lesson_rules import judge


class LessonError(ChargewrightError):
    """A lesson that can't be used; the message is `file:line:column: what; what would do`."""

    def __init__(self, message: str, faults: tuple[Fault, ...] = ()) -> None:
        super().__init__(message)
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Ready:
    """A lesson with the order it is worked on and the procedure that order names."""

    lesson: Lesson
    order: Order
    procedure: Procedure


def read_lesson(path: FilePath) -> Ready:
    """The lesson in a file, with its order and procedure.

    Raises:
        LessonError: it can't be opened or can't be worked; the message names the first place.
    """
    ready, faults = _examine(path)
    if faults or ready is None:
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        raise LessonError(f"{faults[0]}{more}", tuple(faults))
    return ready


def lint(path: FilePath) -> list[Fault]:
    """Everything wrong with a lesson file, in the order of the file: each with line, rule and words.

    Raises:
        LessonError: it can't be opened.
    """
    return _examine(path)[1]


def _examine(path: FilePath) -> tuple[Ready | None, list[Fault]]:
    data, name = _read_bytes(path), str(path)
    try:
        document = read_yaml(data, name)
    except YamlRefused as error:
        return None, [fault_at(error.name, error.mark, "yaml", error.problem)]
    try:
        file = LessonFile.model_validate(document.root)
    except ValidationError as error:
        return None, _structure(document, error)
    if path.stem != file.id:
        return None, [_found(document, ("id",), "file-name", f"the file is to be called {file.id}.yaml")]
    try:
        order_text = _order_text(file, path)
        order = read_order(order_text, _order_name(file, path))
        procedure = _procedure(order.procedure)
    except ChargewrightError as error:
        key = "order" if file.order is not None else "order_here"
        return None, [_found(document, (key,), "order", str(error))]
    builder = Builder()
    lesson = builder.lesson(file, data, path.name, order_text)
    complaints = builder.complaints or list(judge(lesson, order, procedure))
    faults = [_found(document, each.path, each.rule, each.message) for each in complaints]
    return Ready(lesson, order, procedure), sorted(faults, key=lambda fault: (fault.line, fault.column))


@cache
def _procedure(procedure_id: str) -> Procedure:
    """A shipped procedure, read once: a list of lessons names the same few over and over."""
    return load(procedure_id)


def _order_text(file: LessonFile, path: FilePath) -> bytes:
    if file.order is not None:
        return _read_bytes(path.parent / file.order)
    return (file.order_here or "").encode()


def _order_name(file: LessonFile, path: FilePath) -> str:
    return str(path.parent / file.order) if file.order is not None else f"{path} (order_here)"


def _read_bytes(path: FilePath) -> bytes:
    try:
        if not path.is_file():
            raise LessonError(f"{printable(str(path))}:1:1: no file; give the path of a lesson file")
        with path.open("rb") as file:
            return file.read(LARGEST_FILE_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or "no path of a file").lower()
        raise LessonError(
            f"{printable(str(path))}:1:1: can't be read ({reason}); give the path of a lesson file"
        ) from error


def _structure(document: Document, error: ValidationError) -> list[Fault]:
    faults = []
    for detail in error.errors(include_url=False, include_context=False, include_input=False):
        path = existing(document.marks, detail["loc"])
        faults.append(_found(document, path, "structure", told(detail, path)))
    return sorted(dict.fromkeys(faults), key=lambda fault: (fault.line, fault.column))[:100]


def _found(document: Document, path: Path, rule: str, message: str) -> Fault:
    return fault_at(document.name, document.at(path), rule, message)
