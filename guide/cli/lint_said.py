"""What is wrong with files that were looked over, as the commands named `lint` say it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import click

from guide.escape import for_terminal

if TYPE_CHECKING:
    from guide.procedure.faults import Fault

_FAULTY: Final = 1


def say(faults: Sequence[Fault], *, as_json: bool) -> int:
    """Print them, one a line or as one JSON list; the exit code."""
    if as_json:
        click.echo(
            json.dumps(
                [
                    {
                        "file": fault.file, "line": fault.line, "column": fault.column,
                        "rule": fault.rule, "message": fault.message, "blocks": fault.blocks,
                    }
                    for fault in faults
                ]
            )
        )  # fmt: skip
    else:
        for fault in faults:
            click.echo(for_terminal(f"{fault} [{fault.rule}]"))
        if not faults:
            click.echo("no faults")
    return _FAULTY if faults else 0
