"""Commands on records of other machines, to be read only: `import`, `records`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from guide.cli.given import Common, Unusable, data_option, json_option
from guide.escape import for_terminal

if TYPE_CHECKING:
    from guide.record.content import Section, Table


@click.command("import")
@click.argument("source", metavar="DIR|PDF")
@data_option
@click.pass_obj
def take_in(common: Common, *, source: str) -> None:
    """Keep a record made elsewhere to be read here: a record's PDF, or the folder that `export` wrote.

    It is checked first. It never becomes part of this machine's log and can't be changed.
    """
    from guide.bench.imported import take_in as keep
    from guide.journal.port import SystemClock

    if not source.strip():
        raise Unusable("import: name a record's PDF or an export's folder")
    kept = keep(Path(source).expanduser().absolute(), common.places().root, utc=SystemClock().now().utc)
    click.echo(for_terminal(f"{kept.id}  {kept.about.place}"))
    click.echo(f"kept to be read; see chargewright records show {kept.id}")


@click.group()
def records() -> None:
    """Records made elsewhere and kept here to be read: list, show."""


@records.command("list")
@json_option
@data_option
@click.pass_obj
def list_records(common: Common, *, as_json: bool) -> None:
    """Every imported record, the newest first."""
    from guide.bench.imported import imported

    for item in imported(common.places().root):
        about = item.about
        if as_json:
            click.echo(json.dumps({"id": item.id, **about.model_dump()}))
        else:
            word = "" if about.nature == "real" else f"  {about.nature.upper()}"
            click.echo(for_terminal(f"{item.id}  closed {about.closed_utc[:19]}Z  {about.place}{word}"))


@records.command("show")
@click.argument("name", metavar="ID")
@data_option
@click.pass_obj
def show(common: Common, *, name: str) -> int:
    """Check an imported record again and print what it says."""
    from guide.bench.imported import imported, read
    from guide.cli.records import own_signers
    from guide.record.answers import exit_code, text
    from guide.record.known_signers import read_known_signers

    places = common.places()
    item = next((each for each in imported(places.root) if each.id == name), None)
    if item is None:
        raise Unusable(f"no record {name[:60]!r} is kept here; see chargewright records list")
    reading = read(item, known=own_signers(places) | read_known_signers(places.root))
    for report in reversed(reading.reports):
        click.echo(text(report), nl=False)
    content = reading.content
    if content is not None:
        click.echo(for_terminal(f"\n{content.title}\n{content.subtitle}\n{content.result}\n", lines=True))
        _table(content.exceptions)
        for section in (*content.sections, *content.annex):
            _section(section)
    return max(exit_code(report) for report in reading.reports)


def _section(section: Section) -> None:
    click.echo(for_terminal(f"\n{section.title}"))
    for line in section.lines:
        click.echo(for_terminal(line))
    for label, value in section.pairs:
        click.echo(for_terminal(f"  {label}: {value}"))
    for table in section.tables:
        _table(table)


def _table(table: Table) -> None:
    if table.title:
        click.echo(for_terminal(table.title))
    if not table.rows:
        click.echo(for_terminal(f"  {table.none}"))
        return
    click.echo("  " + for_terminal(" | ".join(table.heads)))
    for row in table.rows:
        click.echo("  " + for_terminal(" | ".join(row)))


COMMANDS = (take_in, records)
