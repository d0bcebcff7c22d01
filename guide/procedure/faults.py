"""What can be wrong with a procedure file, and how it is said."""

from __future__ import annotations

from dataclasses import dataclass

from guide.errors import ChargewrightError
from guide.procedure.strict_yaml import Mark, printable


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a file; line and column count from 1.

    A fault that `blocks` makes the procedure unusable; the others are bad writing, or a draft.
    """

    file: str
    line: int
    column: int
    rule: str
    message: str
    blocks: bool = True

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}: {self.message}"


class ProcedureError(ChargewrightError):
    """A procedure that can't be used; the message is `file:line:column: what; what would do`."""

    def __init__(self, message: str, faults: tuple[Fault, ...] = ()) -> None:
        super().__init__(message)
        self.faults = faults


def fault_at(name: str, mark: Mark, rule: str, message: str, *, blocks: bool = True) -> Fault:
    """A fault in one printable line, whatever the file put into its words."""
    return Fault(name, mark.line, mark.column, rule, printable_line(message), blocks)


def printable_line(message: str) -> str:
    """One line of a message, safe on a terminal, whatever a file put into it."""
    cut = message if len(message) <= 500 else message[:497] + "..."
    return "".join(printable(cut[start : start + 100]) for start in range(0, len(cut), 100))
