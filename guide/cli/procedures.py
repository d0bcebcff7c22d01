"""`chargewright procedures`: the library, its checker and the paper copy."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from guide.cli.given import json_option
from guide.cli.lint_said import say
from guide.cli.usage import usage_
from guide.escape import for_terminal

if TYPE_CHECKING:
    from guide.procedure.model import Procedure


@click.group()
def procedures() -> None:
    """The library of procedures."""


@procedures.command("list")
@json_option
def list_(*, as_json: bool) -> None:
    """The shipped procedures."""
    from guide.procedure.library import list_procedures, load

    found = [load(name) for name in list_procedures()]
    if as_json:
        click.echo(
            json.dumps(
                [
                    {
                        "id": each.id,
                        "title": each.title,
                        "revision": each.revision,
                        "status": each.status,
                        "sha256": each.sha256,
                        "steps": sum(1 for _ in each.steps()),
                    }
                    for each in found
                ]
            )
        )
        return
    for each in found:
        click.echo(f"{each.id:<28} rev {each.revision:<4} {each.status:<9} {for_terminal(each.title)}")


@procedures.command()
@click.argument("procedure")
def show(*, procedure: str) -> None:
    """What PROCEDURE (an id, or a file) is for, and its steps."""
    found = _load(procedure)
    click.echo(for_terminal(f"{found.title}  ({found.id} rev {found.revision}, {found.status})"))
    click.echo(f"sha256 {found.sha256}")
    for condition in found.applies:
        verb = "is not" if condition.negated else "is"
        click.echo(for_terminal(f"  for {condition.fact} {verb} {' or '.join(condition.values)}"))
    for need in found.needs:
        click.echo(for_terminal(f"  needs: {need}"))
    for part in (*found.parts, found.on_abort):
        click.echo(f"\n{for_terminal(part.title)}")
        for step in part.steps:
            for hazard in step.hazards:
                click.echo(for_terminal(f"        {hazard.word} {hazard.text}"))
            hold = "  (hold point)" if step.hold else ""
            click.echo(for_terminal(f"  {step.id:<6}{step.do}{hold}"))


@procedures.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
@json_option
def lint(*, files: tuple[str, ...], as_json: bool) -> int:
    """Names every fault of each FILE (or shipped id): file, line, rule. Exit 1 when there is one."""
    from guide.procedure.reader import check_file

    # each is opened before the first is judged, so that a missing one is told alone
    faults = [fault for found in [check_file(_path(name), name) for name in files] for fault in found]
    return say(faults, as_json=as_json)


@procedures.command("print")
@click.argument("procedure")
def print_(*, procedure: str) -> None:
    """The paper copy of PROCEDURE (an id, or a file), with blanks to fill in."""
    from guide.procedure.paper import to_text

    click.echo(for_terminal(to_text(_load(procedure)), lines=True), nl=False)


@procedures.command()
@click.argument("old")
@click.argument("new")
@json_option
def diff(*, old: str, new: str, as_json: bool) -> None:
    """What differs from OLD to NEW (ids, or files), one line a change. Exit 0 whether or not they differ."""
    from guide.procedure.difference import differences

    found = differences(_load(old), _load(new))
    if as_json:
        click.echo(json.dumps([{"kind": d.kind, "where": d.where, "what": d.what} for d in found]))
        return
    for difference in found:
        click.echo(for_terminal(str(difference)))
    if not found:
        click.echo("no difference")


procedures.add_command(usage_)


def _path(name: str) -> Path:
    from guide.procedure.library import path_of

    if "/" in name or "\\" in name or name.endswith((".yaml", ".yml")):
        return Path(name)
    return path_of(name)


def _load(name: str) -> Procedure:
    from guide.procedure.reader import read_procedure_file

    return read_procedure_file(_path(name))


COMMANDS = (procedures,)
