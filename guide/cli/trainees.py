"""Commands of `chargewright practice` on those who learn, and on what they showed."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from guide.cli.asked import secret, short
from guide.cli.at_lessons import lesson_of, roster_of, workable
from guide.cli.given import Common, Unusable, data_option, json_option, passphrase_option, why
from guide.cli.work import on_a_terminal
from guide.escape import for_cell, for_terminal
from guide.job.seed import HIGHEST_SEED
from guide.rig.trainees.present import now_utc, today

if TYPE_CHECKING:
    from guide.journal.reading import JournalReader
    from guide.rig.trainees.skills import Skill

trainee_option = click.option("--trainee", metavar="ID", required=True, help="Whose.")


@click.command()
@json_option
@data_option
@click.pass_obj
def trainees(common: Common, *, as_json: bool) -> None:
    """Everybody who learns here, with what is open for them; and who teaches."""
    from guide.errors import ChargewrightError
    from guide.rig.learning.mastery import Stand
    from guide.rig.trainees.keeping import read_record

    roster = roster_of(common)
    found: list[dict[str, object]] = []
    for each in roster.trainees():
        about: dict[str, object] = {"id": each.id, "name": each.name, "fault": each.fault}
        try:
            lessons = read_record(roster, each.id).lessons.values() if each.fault is None else ()
        except ChargewrightError as error:
            about["fault"], lessons = str(error), ()
        stands = [one.mastery(today()) for one in lessons]
        about["mastered"] = sum(stand.mastered_on is not None for stand in stands)
        about["signed_off"] = sum(one.signed_off is not None for one in lessons)
        about["open"] = sum(len(one.open_assignments) for one in lessons)
        about["refresh_due"] = sum(stand.stand is Stand.DUE for stand in stands)
        found.append(about)
    teaching = [each for each in roster.trainers().values() if not each.replaced]
    if as_json:
        trainers = [{"id": each.id, "name": each.name, "key_sha256": each.key_sha256} for each in teaching]
        click.echo(json.dumps({"trainees": found, "trainers": trainers}))
        return
    for about in found:
        said = (
            f"can't be read: {about['fault']}"
            if about["fault"]
            else f"mastered {about['mastered']}, signed off {about['signed_off']}, "
            f"set and open {about['open']}, refresh due {about['refresh_due']}"
        )
        click.echo(for_terminal(f"{about['id']:<16} {about['name']}: {said}"))
    for one in teaching:
        click.echo(for_terminal(f"{one.id:<16} {one.name}: teaches, key {one.key_sha256}"))
    if not found and not teaching:
        click.echo("nobody learns here yet: chargewright practice add-trainee ID --name NAME")


@click.command("add-trainee")
@click.argument("trainee", metavar="ID")
@click.option("--name", required=True, help="As it stands on practice records.")
@passphrase_option
@data_option
@click.pass_obj
def add_trainee(common: Common, *, trainee: str, name: str) -> None:
    """Make somebody known who learns here, with a journal and keys of their own; asks for a passphrase."""
    short(name, "--name")
    made = roster_of(common).add(trainee, name, secret(common, "Passphrase", new=True))
    click.echo(for_terminal(f"{made.name} ({made.id}) learns here now; nobody can reset the passphrase"))


@click.command("add-trainer")
@click.argument("trainer", metavar="ID")
@click.option("--name", required=True, help="As it stands on sign-offs.")
@click.option("--certification", default="none given", show_default=True, help="Type of certification.")
@passphrase_option
@data_option
@click.pass_obj
def add_trainer(common: Common, *, trainer: str, name: str, certification: str) -> None:
    """Make somebody known who may sign off skills, with keys for practice; asks for their passphrase."""
    from guide.bench.bench import Bench
    from guide.bench.people import KnownPerson

    short(name, "--name")
    short(certification, "--certification")
    bench = Bench.open(common.places().practice, nature="practice")
    try:
        bench.enrol(KnownPerson(trainer, name, certification), secret(common, "Passphrase", new=True))
    finally:
        bench.close()
    keys = [each.key_sha256 for each in roster_of(common).trainers().values() if each.id == trainer]
    click.echo(for_terminal(f"{name} ({trainer}) teaches here now; sign-offs bear this key's fingerprint:"))
    click.echo(keys[-1])


@click.command()
@click.argument("lesson")
@trainee_option
@click.option("--seed", metavar="N", type=click.IntRange(0, HIGHEST_SEED), help="To be run on this seed.")
@click.option("--due", metavar="DATE", help="Until when: 2027-02-28.")
@click.option("--by", metavar="ID", help="Who sets it.")
@click.option("--note", metavar="TEXT", help="A word with it.")
@data_option
@click.pass_obj
def assign(
    common: Common, *, lesson: str, trainee: str, seed: int | None, due: str | None, by: str | None,
    note: str | None,
) -> None:  # fmt: skip
    """Set LESSON for a trainee."""
    from guide.rig.trainees import keeping
    from guide.rig.trainees.roster import clean_id

    until = _date(due) if due is not None else None
    if note is not None:
        short(note, "--note")
    ready = lesson_of(common, lesson)
    bench = roster_of(common).open(trainee)
    try:
        keeping.assign(
            bench, ready.lesson.id, seed=seed, due=until, by=clean_id(by) if by is not None else None,
            note=note, utc=now_utc(),
        )  # fmt: skip
    finally:
        bench.close()
    said = f"{ready.lesson.id} is set for {trainee}"
    said += f" on seed {seed}" if seed is not None else ""
    click.echo(for_terminal(said + (f" until {until}" if until is not None else "")))


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise Unusable("--due: is no day; write it as 2027-02-28") from error


@click.command()
@trainee_option
@click.option(
    "--csv", "table", metavar="FILE", help="Write a table of runs and lost points (- is standard output)."
)
@json_option
@data_option
@click.pass_obj
def record(common: Common, *, trainee: str, table: str | None, as_json: bool) -> None:
    """What a trainee showed: each run with every lost point and the event that lost it, mastery, dates."""
    from guide.journal.store import Journal
    from guide.rig.trainees import words
    from guide.rig.trainees.keeping import record_in
    from guide.rig.trainees.skills import skills

    if as_json and table == "-":
        raise Unusable("--csv -: standard output is the JSON's; name a file, or leave --json out")
    roster = roster_of(common)
    known = roster.trainee(trainee)
    with Journal.open(known.folder / "journal.db", read_only=True) as journal:
        found = record_in(journal, roster, trainee)
        text = text_in(journal)
        if table is not None:
            written = _csv([words.COLUMNS, *words.rows(found, today())])
            if table == "-":
                click.echo(written, nl=False)
                return
            _write(table, written)
        able = skills(found, workable(common), today())
        if as_json:
            told = words.as_json(found, known.name, text, today())
            click.echo(json.dumps(told | {"skills": [_skill_json(each) for each in able]}))
            return
        for line in words.lines(found, known.name, text, today()):
            click.echo(for_terminal(line))
        begun = [each for each in able if each.mastered or each.due or each.signed_off]
        click.echo("\nskills:" if begun else "\nskills: none shown yet")
        for each in begun:
            click.echo(for_terminal(f"  {each.words()}"))
        if table is not None:
            click.echo(for_terminal(str(Path(table).expanduser().absolute())))


def _skill_json(skill: Skill) -> dict[str, object]:
    return {
        "skill": skill.name, "lessons": list(skill.lessons), "mastered": list(skill.mastered),
        "refresh_due": list(skill.due), "shown": skill.shown,
        "signed_off": [{"lesson": lesson, "trainer": who} for lesson, who in skill.signed_off],
    }  # fmt: skip


def text_in(journal: JournalReader) -> Callable[[str], str]:
    """The text behind a reference in a journal, or words that say it was withheld."""

    def text(reference: str) -> str:
        blob = journal.blob(reference)
        return blob.text if blob is not None else "[withheld]"

    return text


def _csv(table: list[tuple[str, ...]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")  # RFC 4180
    writer.writerows([for_cell(cell) for cell in row] for row in table)
    return out.getvalue()


def _write(name: str, text: str) -> None:
    """A new file, never over another."""
    from guide.journal.files import write_new

    if not name.strip():
        raise Unusable("--csv is empty; name a new file, or - for standard output")
    try:
        write_new(Path(name).expanduser().absolute(), text.encode())
    except FileExistsError as error:
        raise Unusable(f"--csv {name}: exists already; name a new file") from error
    except (OSError, ValueError) as error:
        reason = why(error) if isinstance(error, OSError) else "no path"
        raise Unusable(f"--csv {name}: can't be written ({reason}); name a new file") from error


@click.command("sign-off")
@click.argument("lesson")
@trainee_option
@click.option("--trainer", metavar="ID", required=True, help="Who signs it off; asks for their passphrase.")
@passphrase_option
@data_option
@click.pass_obj
def sign_off(common: Common, *, lesson: str, trainee: str, trainer: str) -> None:
    """Sign off the skills of LESSON that a trainee mastered, with the trainer's key."""
    from guide.bench.bench import Bench, NotHere
    from guide.rig.trainees import keeping
    from guide.rig.trainees.again import ScoreAgain

    ready = lesson_of(common, lesson)
    roster = roster_of(common)
    roster.folder_of(trainee)
    if trainer not in {each.id for each in roster.trainers().values()}:
        raise NotHere(
            f"{trainer[:40]!r} does not teach here; first: chargewright practice add-trainer ID --name NAME"
        )
    desk = Bench.open(roster.practice, nature="practice")
    try:
        signing = desk.sign_in(trainer, secret(common, f"Passphrase of {trainer}"))
    finally:
        desk.close()
    bench = roster.open(trainee)
    try:
        entry = keeping.sign_skill_off(
            bench, roster, trainee, ready.lesson, signing, again=ScoreAgain(bench, ready), utc=now_utc()
        )
    finally:
        bench.close()
    jobs = ", ".join(each.job for each in entry.evidence)
    click.echo(for_terminal(f"{lesson} is signed off for {trainee} by {signing.known.name}, on {jobs}"))
    click.echo(f"key {entry.key_sha256}")


@click.command()
@trainee_option
@click.option("--yes-delete", "typed", metavar="ID", help="The id again, instead of being asked for it.")
@data_option
@click.pass_obj
def forget(common: Common, *, trainee: str, typed: str | None) -> None:
    """Delete everything of one trainee: journal, keys, records. Asks for the id again."""
    from guide.rig.trainees.forget import forget as delete

    roster = roster_of(common)
    folder = roster.folder_of(trainee)
    if typed is None:
        if not on_a_terminal():
            raise Unusable(f"nothing deleted: run this in a terminal, or add --yes-delete {trainee}")
        click.echo(for_terminal(f"this deletes {folder} and cannot be undone"))
        typed = str(click.prompt("Type the id again"))
    for line in delete(roster, trainee, typed_again=typed.strip()).words():
        click.echo(for_terminal(line))


TRAINEE_COMMANDS = (trainees, add_trainee, add_trainer, assign, record, sign_off, forget)
