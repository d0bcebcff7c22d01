"""Records made elsewhere and kept here to be read: as lines to pick, and as paragraphs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from guide.screens.ask import Choice

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.bench.imported import Imported
    from guide.bench.imported import Reading as Opened
    from guide.record.content import Section, Table


def foreign_choices(kept: Sequence[Imported]) -> tuple[Choice, ...]:
    """One line a record, in the order given."""
    return tuple(
        Choice(
            f"imported:{item.id}", f"{item.about.job} made elsewhere: {item.about.place}", note=_note(item)
        )
        for item in kept
    )


def _note(item: Imported) -> str:
    word = "" if item.about.nature == "real" else f" {item.about.nature.upper()}"
    return f"{item.about.closed_utc[:10]}{word}"


def take_in(bench: Bench, typed: str) -> Imported:
    """Check a record and keep it.

    Raises:
        NotImported, NotARecord: it is not sound, is here already, or can't be kept.
    """
    return bench.import_record(Path(typed.strip("'\"")).expanduser().absolute())


def opened(bench: Bench, name: str) -> tuple[str, ...]:
    """A kept record, checked again, as paragraphs: the checker's answers, then what stands on its pages.

    Raises:
        NotImported, NotARecord: it is gone or no record any more.
        NotHere: nothing of that name is kept here.
    """
    from guide.bench.imported import read
    from guide.bench.staff import NotHere
    from guide.record.known_signers import read_known_signers

    item = next((each for each in bench.imported() if each.id == name), None)
    if item is None:
        raise NotHere(f"no record {name[:60]!r} is kept here any more")
    known = own_signers(bench) | read_known_signers(bench.folder)
    return tuple(record_paragraphs(read(item, known=known)))


def own_signers(bench: Bench) -> dict[str, str]:
    """Whoever was enrolled in this journal, by certificate fingerprint; replaced keys count too."""
    from guide.bench.people import Enrolled, KeysReplaced, read_enrolment
    from guide.journal.event import JOURNAL_JOB

    people = [
        read_enrolment(event).person
        for event in bench.journal.events(JOURNAL_JOB)
        if event.kind in {Enrolled.KIND, KeysReplaced.KIND}
    ]
    return {person.certificate_sha256: bench.staff.text(person.name) for person in people}


def record_paragraphs(reading: Opened) -> Iterator[str]:
    """The checker's answers first; what the record says only where it is intact."""
    from guide.record.answers import text

    for report in reversed(reading.reports):
        yield from text(report).rstrip("\n").split("\n")
        yield ""
    content = reading.content
    if content is None:
        yield "What it says is not shown, since it was changed."
        return
    yield from (content.title, content.subtitle, content.result, "")
    yield from _table(content.exceptions)
    for section in (*content.sections, *content.annex):
        yield from _section(section)


def _section(section: Section) -> Iterator[str]:
    yield from ("", section.title.upper(), *section.lines)
    yield from (f"  {label}: {value}" for label, value in section.pairs)
    for table in section.tables:
        yield from _table(table)


def _table(table: Table) -> Iterator[str]:
    if table.title:
        yield table.title
    if not table.rows:
        yield f"  {table.none}"
        return
    yield f"  {' | '.join(table.heads)}"
    for row in table.rows:
        yield f"  {' | '.join(row)}"
