"""Commands on finished work: `verify`, `export`."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from guide.cli.given import (
    Common,
    Unusable,
    data_option,
    json_option,
    passphrase,
    passphrase_option,
    read_bounded,
    why,
)
from guide.errors import ChargewrightError
from guide.escape import for_file_name, for_terminal

if TYPE_CHECKING:
    from guide.job.state import JobState
    from guide.journal.port import Places
    from guide.journal.store import Journal
    from guide.journal.store import Kind as Nature
    from guide.record.answers import Report
    from guide.record.witness import NamedSigner

_LARGEST_RECORD_BYTES: Final = 256_000_000
_LARGEST_WITNESS_BYTES: Final = 1_000_000
_DATABASE: Final = b"SQLite format 3\x00"


@click.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
@click.option("--signer", "signers", multiple=True, metavar="S", help="Fingerprint or certificate file.")
@click.option("--checkpoint", "checkpoints", multiple=True, metavar="C", help="Note file or fingerprint.")
@click.option("--keep-signer", "keep", metavar="NAME", help="Know the signer of a sound record from now on.")
@click.option("--require-known-signer", is_flag=True, help="Exit 1 unless the signer is known to you.")
@json_option
@data_option
@click.pass_obj
def verify(
    common: Common, *, files: tuple[str, ...], signers: tuple[str, ...], checkpoints: tuple[str, ...],
    keep: str | None, require_known_signer: bool, as_json: bool,
) -> int:  # fmt: skip
    """Check each FILE: a record's PDF, an exported log or its folder, a journal.

    Exit 0: sound. Exit 1: not sound. Exit 2: it can't be read. Compare the fingerprint with its owner by
    another way before you keep a signer: a name in a certificate is a claim.
    """
    from guide.record.answers import exit_code, text, to_json
    from guide.record.known_signers import keep_signer, read_known_signers

    checker = _Checker(
        [_signer(each) for each in signers],
        own_signers(common.places()) | read_known_signers(common.places().root),
        [_checkpoint(each) for each in checkpoints],
    )
    code = 0
    unusable: ChargewrightError | None = None
    for name in files:
        try:
            reports = checker.reports(name)
        except ChargewrightError as error:
            unusable = unusable or error
            if as_json:
                click.echo(json.dumps({"file": name, "error": str(error)}))
            continue
        for report in reports:
            if keep is not None and report.sound and report.signer.fingerprint:
                keep_signer(common.places().root, report.signer.fingerprint, keep)
            code = max(code, exit_code(report, require_known_signer=require_known_signer))
            if as_json:
                click.echo(json.dumps({"file": name, **to_json(report)}))
            else:
                # the answer comes first; which file it is about only where there are several answers
                about = (
                    f"  about {for_terminal(name)}, {report.kind}\n" if len(files) + len(reports) > 2 else ""
                )
                click.echo(text(report) + about, nl=False)
    if unusable is not None:
        raise unusable
    return code


def own_signers(places: Places) -> dict[str, str]:
    """The people whose keys were made on this machine, by certificate fingerprint.

    Keys that were replaced count too: what they signed before stays signed.
    """
    from hashlib import sha256

    from guide.journal import keys

    known: dict[str, str] = {}
    for folder in places.keys.glob("*.until-*") if places.keys.is_dir() else ():
        try:
            old = keys.KeyFiles(folder).person
        except keys.BadKey:
            continue
        known[sha256(old.certificate).hexdigest()] = f"{old.display_name} (keys replaced since)"
    for files in keys.people(places.keys):
        known[sha256(files.person.certificate).hexdigest()] = files.person.display_name
    return known


class _Checker:
    """What the reader brought from outside, and the check of one file with it."""

    def __init__(
        self, signers: Sequence[NamedSigner], known: dict[str, str], checkpoints: Sequence[str]
    ) -> None:
        self._signers = signers
        self._known = known
        self._checkpoints = checkpoints

    def reports(self, name: str) -> tuple[Report, ...]:
        """The answers about a file or a folder.

        Raises:
            Unusable, ChargewrightError: it can't be read, or is nothing this program makes.
        """
        from guide.record.exported import with_photos
        from guide.record.verify import verify_journal, verify_log

        path = Path(name)
        if _is_folder(path):
            inside = [each for each in ("log.ndjson", "record.pdf") if (path / each).exists()]
            if not inside:
                raise Unusable(f"{name}: a folder without log.ndjson and record.pdf; give what export wrote")
            reports = [report for each in inside for report in self.reports(str(path / each))]
            if inside[0] == "log.ndjson":
                log = read_bounded(str(path / "log.ndjson"), _LARGEST_RECORD_BYTES)
                reports[0] = with_photos(reports[0], path, log)
            return tuple(reports)
        head = _head(path, name)
        if head.startswith(_DATABASE):
            return (verify_journal(path, checkpoints=self._checkpoints),)
        data = read_bounded(name, _LARGEST_RECORD_BYTES)
        if b"%PDF" in head or path.suffix.lower() == ".pdf":
            return (self._record(name, data),)
        if data.startswith(b"{") or path.suffix.lower() == ".ndjson":
            return (verify_log(data, checkpoints=self._checkpoints),)
        raise Unusable(f"{name}: is no record's PDF, no exported log and no journal; give one of these")

    def _record(self, name: str, data: bytes) -> Report:
        from guide.record.profile import NotARecord
        from guide.record.verify import verify_record

        if not data:
            raise Unusable(f"{name}: is empty; give a record's PDF")
        try:
            return verify_record(
                data, signers=self._signers, known=self._known, checkpoints=self._checkpoints
            )
        except NotARecord as error:
            return _no_record(str(error))


def _no_record(what: str) -> Report:
    """A file that came as a record and carries no signature: read, and not sound."""
    from guide.record.answers import AnchorAnswer, CheckLine, Report, SignerAnswer

    return Report(
        kind="record",
        nature="",
        checks=(CheckLine(1, "the file is a signed record", "failed"),),
        first_wrong=what,
        signer=SignerAnswer(known=False, words="not answered for a file that is not intact"),
        anchor=AnchorAnswer("self-attested only", "not answered for a file that is not intact"),
    )


def answer_lines(pdf: Path) -> tuple[str, ...]:
    """The checker's answer about a record this program just made, line by line.

    Raises:
        Unusable: the record is not sound, or can't be read.
    """
    from guide.record.answers import text
    from guide.record.verify import verify_record

    report = verify_record(read_bounded(str(pdf), _LARGEST_RECORD_BYTES))
    if not report.sound:
        raise Unusable(
            f"{pdf}: the checker does not find it sound ({report.first_wrong}); don't hand it over"
        )
    return tuple(text(report).splitlines())


@click.command()
@click.argument("job")
@click.option("--to", "to", metavar="DIR", help="Folder to write into; nothing is overwritten.")
@click.option(
    "--customer-copy", "copy", metavar="FILE", help="Write the customer's page there (- is standard output)."
)
@click.option("--print", "on_paper", is_flag=True, help="Send the customer's page to the printer.")
@passphrase_option
@data_option
@click.pass_obj
def export(common: Common, *, job: str, to: str | None, copy: str | None, on_paper: bool) -> None:
    """Write JOB's log, record, tables and photos into --to, or its customer's page to a file or printer.

    For a practice job or a demonstration name its folder with --data. With --passphrase-fd the record of
    a closed job that has none yet is made first, in the name of the technician who closed it.
    """
    from guide.cli.paper import find_printer, send_to_printer, write_page
    from guide.journal.store import Journal
    from guide.record.write import customer_copy
    from guide.record.write import export as write

    if to is None and copy is None and not on_paper:
        raise Unusable("export: say where to: --to DIR, --customer-copy FILE or --print")
    if to is not None and not to.strip():
        raise Unusable("--to is empty; name a folder")
    if copy is not None and not copy.strip():
        raise Unusable("--customer-copy is empty; name a file, or - for standard output")
    if copy == "-" and to is not None:
        raise Unusable("--customer-copy - gives a PDF on standard output; leave --to out, or name a file")
    printer = find_printer() if on_paper else None
    root = common.places().root
    secret = passphrase(common)
    with Journal.open(root / "journal.db", read_only=True) as journal:
        nature = journal.kind
        state = state_in(journal, job)
    if secret is not None and state.closed is not None and not state.issued:
        _make_record(root, nature, state, secret)
    with Journal.open(root / "journal.db", read_only=True) as journal:
        state = state_in(journal, job)
        if to is not None:
            done = write(
                journal, state, to=Path(to).expanduser().absolute(), records=root / "records",
                photos=root / "photos" / for_file_name(job),
            )  # fmt: skip
            for path in done.files:
                click.echo(for_terminal(str(path)))
            for note in done.notes:
                click.echo(for_terminal(f"note: {note}"))
    page = customer_copy(state, root / "records") if copy is not None or printer else b""
    if copy == "-":
        click.echo(page, nl=False)
    elif copy is not None:
        click.echo(for_terminal(str(write_page(copy, page))))
    if printer:
        send_to_printer(printer, page, err=copy == "-")


def _make_record(root: Path, nature: Nature, state: JobState, secret: str) -> None:
    """The record that a stop between closing and issuing left unmade."""
    from guide.bench.bench import Bench

    bench = Bench.open(root, nature=nature)
    try:
        technician = bench.sign_in(state.present, secret)
        bench.issue_record(bench.take_up(state.job, technician), technician, secret)
    finally:
        bench.close()


def state_in(journal: Journal, job: str) -> JobState:
    """A job as the journal has it, with the order and procedure it began with.

    Raises:
        Unusable: there is no such job, or what it began with was withheld.
    """
    from guide.job import payloads as p
    from guide.job.evolve import fold
    from guide.job.order import read_order
    from guide.job.state import begin
    from guide.procedure.reader import read_procedure

    known = [head.job for head in journal.jobs()]
    if job not in known:
        there_are = ", ".join(known[-5:]) or "none"
        raise Unusable(f"job {job[:40]!r} is not in {journal.path}; the newest there: {there_are}")
    events = list(journal.events(job))
    opened = p.read_payload(events[0].kind, events[0].body)
    if not isinstance(opened, p.Opened):
        raise Unusable(f"job {job} in {journal.path} does not begin with its opening; verify the journal")
    order, procedure = journal.blob(opened.order), journal.blob(opened.procedure)
    if order is None or procedure is None:
        raise Unusable(f"job {job}: the order or procedure it began with was withheld; nothing to export")
    return fold(
        begin(
            job,
            read_order(order.text.encode(), "the job's order"),
            read_procedure(procedure.text.encode(), "the job's procedure"),
        ),
        events,
    )


def _signer(given: str) -> NamedSigner:
    from guide.record.witness import read_signer

    return read_signer(read_bounded(given, _LARGEST_WITNESS_BYTES) if _is_file(given) else given)


def _checkpoint(given: str) -> str:
    if not _is_file(given):
        return given
    try:
        return read_bounded(given, _LARGEST_WITNESS_BYTES).decode()
    except UnicodeDecodeError as error:
        raise Unusable(f"--checkpoint {given}: is no text; give a signed note or its fingerprint") from error


def _is_file(name: str) -> bool:
    try:
        return Path(name).is_file()
    except (OSError, ValueError):  # a fingerprint may be longer than a name can be
        return False


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False


def _head(path: Path, name: str) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(1024)
    except OSError as error:
        raise Unusable(f"{name}: can't be read ({why(error)}); give the path of a file") from error
    except ValueError as error:
        raise Unusable(f"{name}: is no path; give the path of a file") from error


COMMANDS = (verify, export)
