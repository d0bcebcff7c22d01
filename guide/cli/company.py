"""Commands for a company's habits: `backup`, `restore`, `people`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from guide.cli.asked import secret, short
from guide.cli.given import Common, Unusable, data_option, passphrase_option
from guide.escape import for_terminal

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.journal.store import Kind as Nature


def _bench(common: Common) -> Bench:
    """The data folder as it is, of whatever nature its journal is.

    Raises:
        Unusable: there is no journal there yet.
        JournalBusy, JournalUnusable: it can't be opened for writing.
    """
    from guide.bench.bench import Bench

    root = common.places().root
    return Bench.open(root, nature=_nature(root))


def _nature(root: Path) -> Nature:
    from guide.journal.store import Journal

    if not (root / "journal.db").exists():
        raise Unusable(f"there is no journal in {root}; name its folder with --data")
    with Journal.open(root / "journal.db", read_only=True) as journal:
        return journal.kind


def _say(lines: tuple[str, ...]) -> None:
    for line in lines:
        click.echo(for_terminal(line))


@click.command()
@click.option("--to", "to", metavar="DIR", required=True, help="New folder, on a stick for instance.")
@click.option("--as", "person", metavar="ID", help="Sign the head of the log first; asks for the passphrase.")
@passphrase_option
@data_option
@click.pass_obj
def backup(common: Common, *, to: str, person: str | None) -> None:
    """Copy journal, keys, photos and records into a new folder, with a manifest that `restore` checks.

    Nothing of practice is in it: trainees' folders are copied by hand.
    """
    if not to.strip():
        raise Unusable("--to is empty; name a new folder")
    if person is None and common.passphrase_fd is not None:
        raise Unusable("--passphrase-fd: whose? give --as ID too")
    bench = _bench(common)
    try:
        technician = bench.sign_in(person, secret(common, "Passphrase")) if person is not None else None
        made = bench.backup(Path(to).expanduser().absolute(), technician)
    finally:
        bench.close()
    _say(made.words())


@click.command()
@click.option("--from", "source", metavar="DIR", required=True, help="The folder that `backup` wrote.")
@data_option
@click.pass_obj
def restore(common: Common, *, source: str) -> None:
    """Bring a backup into a new or empty data folder (--data), after checking all of it."""
    from guide.bench.backup import restore as bring_back
    from guide.bench.backup import restored_words

    if not source.strip():
        raise Unusable("--from is empty; name the folder of a backup")
    backup = bring_back(Path(source).expanduser().absolute(), common.places().root)
    _say(restored_words(backup.manifest))


@click.group()
def people() -> None:
    """Who works with this data folder: list, add, new-key."""


@people.command("list")
@data_option
@click.pass_obj
def list_people(common: Common) -> None:
    """Everybody known here, with certification and the fingerprint of their certificate."""
    from guide.bench.people import enrolled
    from guide.journal.event import JOURNAL_JOB
    from guide.journal.store import Journal

    root = common.places().root
    _nature(root)
    with Journal.open(root / "journal.db", read_only=True) as journal:
        for person in enrolled(journal.events(JOURNAL_JOB)).values():
            name = journal.blob(person.name)
            number = journal.blob(person.certification_number) if person.certification_number else None
            said = f"{person.certification_type}, number {number.text if number else 'not given'}"
            shown = name.text if name else "[withheld]"
            click.echo(for_terminal(f"{person.id}  {shown}  {said}  {person.certificate_sha256}"))


@people.command("add")
@click.argument("person", metavar="ID")
@click.option("--name", required=True, help="As it stands on records.")
@click.option("--certification", required=True, help="Type, such as: EPA 608 Type II.")
@click.option("--number", default="", help="The certification's number.")
@click.option("--practice", is_flag=True, help="Where there is no journal yet, begin one for practice.")
@passphrase_option
@data_option
@click.pass_obj
def add(common: Common, *, person: str, name: str, certification: str, number: str, practice: bool) -> None:
    """Make a person known, with keys of their own; asks for their passphrase."""
    from guide.bench.bench import Bench
    from guide.bench.people import KnownPerson

    short(name, "--name")
    short(certification, "--certification")
    if number:
        short(number, "--number")
    root = common.places().root
    nature: Nature = "practice" if practice else "real"
    bench = Bench.open(root, nature=_nature(root) if (root / "journal.db").exists() else nature)
    try:
        bench.enrol(KnownPerson(person, name, certification, number), secret(common, "Passphrase", new=True))
    finally:
        bench.close()
    click.echo(for_terminal(f"{person} is known now; nobody can reset the passphrase"))


@people.command("new-key")
@click.argument("person", metavar="ID")
@passphrase_option
@data_option
@click.pass_obj
def new_key(common: Common, *, person: str) -> None:
    """New keys for somebody whose passphrase is lost; asks for the new passphrase.

    The old keys are set aside, what they signed stays signed, and the journal tells of the change.
    """
    bench = _bench(common)
    try:
        bench.replace_keys(person, secret(common, "New passphrase", new=True))
        known = bench.staff.certificate_of(person)
    finally:
        bench.close()
    click.echo(for_terminal(f"{person} has new keys; tell whoever checks their records the new fingerprint:"))
    click.echo(known)


COMMANDS = (backup, restore, people)
