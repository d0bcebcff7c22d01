"""`chargewright procedures usage`: what became of a procedure over the jobs of one data folder."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from guide.cli.given import Common, Unusable, data_option, json_option
from guide.escape import for_terminal

if TYPE_CHECKING:
    from guide.job.payloads import Opened
    from guide.job.usage import StepUsage, Usage, Worked
    from guide.journal.store import Journal


@click.command("usage")
@click.argument("procedure", metavar="ID")
@click.option("--revision", metavar="R", help="Of this revision (else that of the newest job).")
@json_option
@data_option
@click.pass_obj
def usage_(common: Common, *, procedure: str, revision: str | None, as_json: bool) -> None:
    """How procedure ID was used in the jobs of --data, step by step; told to nobody else.

    For practice jobs or a demonstration name their folder with --data. Without --json one line for each
    step that stands out.
    """
    from guide.job.usage import usage
    from guide.journal.store import Journal
    from guide.procedure.library import list_procedures

    with Journal.open(common.places().root / "journal.db", read_only=True) as journal:
        opened = _opened(journal)
        known = {each.procedure_id for each in opened.values()} | set(list_procedures())
        if procedure not in known:
            raise Unusable(
                f"procedure {procedure[:40]!r} is neither shipped nor worked in {journal.path}; "
                f"there are: {', '.join(sorted(known))}"
            )
        mine = {job: each for job, each in opened.items() if each.procedure_id == procedure}
        revisions = list(dict.fromkeys(each.procedure_revision for each in mine.values()))
        if revision is not None and revision not in revisions:
            raise Unusable(
                f"--revision {revision[:40]!r}: no job of {procedure} has it; "
                f"there are: {', '.join(revisions) or 'none'}"
            )
        newest = next((each.procedure_revision for each in reversed(mine.values())), None)
        named = revision if revision is not None else newest
        wanted = [job for job, each in mine.items() if each.procedure_revision == named]
        read = [_worked(journal, job, mine[job]) for job in wanted]
        found = usage([each for each in read if each is not None])
    others = [each for each in revisions if each != named]
    withheld = read.count(None)
    if as_json:
        click.echo(json.dumps(_as_json(procedure, named, others, withheld, found)))
        return
    for line in _lines(procedure, named, others, withheld, found):
        click.echo(for_terminal(line))


def _opened(journal: Journal) -> dict[str, Opened]:
    """The opening of every job, in the order of opening."""
    from guide.job import payloads as p

    found: dict[str, p.Opened] = {}
    for head in journal.jobs():
        first = next(journal.events(head.job))
        payload = p.read_payload(first.kind, first.body)
        if not isinstance(payload, p.Opened):
            raise Unusable(f"job {head.job} in {journal.path} does not begin with its opening; verify it")
        found[head.job] = payload
    return found


def _worked(journal: Journal, job: str, opened: Opened) -> Worked | None:
    """A job for the fold; None where its order or procedure was withheld."""
    from guide.job.order import read_order
    from guide.job.usage import Worked
    from guide.procedure.reader import read_procedure

    order, procedure = journal.blob(opened.order), journal.blob(opened.procedure)
    if order is None or procedure is None:
        return None

    def text(reference: str) -> str | None:
        blob = journal.blob(reference)
        return blob.text if blob is not None else None

    return Worked(
        job,
        read_order(order.text.encode(), "the job's order"),
        read_procedure(procedure.text.encode(), "the job's procedure"),
        list(journal.events(job)),
        text,
    )


def _lines(procedure: str, revision: str | None, others: list[str], withheld: int, found: Usage) -> list[str]:
    if revision is None:
        return [f"{procedure}: no job here has worked it"]
    lines = [
        f"{procedure} rev {revision}: {found.jobs} job{'' if found.jobs == 1 else 's'}, "
        f"{found.complete} complete, {found.aborted} broken off"
    ]
    if found.texts > 1:
        lines.append(f"  {found.texts} different texts bear this revision")
    if others:
        lines.append(f"  other revisions worked here: {', '.join(others)} (--revision)")
    if withheld:
        lines.append(f"  left out, their order or procedure withheld: {withheld}")
    slowest = found.slowest()
    standing_out = [step for step in found.steps if step.stands_out or step is slowest]
    lines += [f"  {step.step:<6}{_said(step, slowest=step is slowest)}" for step in standing_out]
    if found.broken_off_elsewhere:
        lines.append(f"  between steps: broken off {found.broken_off_elsewhere}")
    if found.elsewhere:
        lines.append(f"  at no step: {_counted(found.elsewhere)}")
    return lines


def _said(step: StepUsage, *, slowest: bool) -> str:
    from guide.job.elapsed import in_words

    pieces = [f"done {step.done}"]
    if step.skipped:
        pieces.append(f"skipped {step.skipped} ({_counted(step.reasons)})")
    told = (("again", step.redone), ("corrected", step.corrected), ("refused", step.refused),
            ("broken off here", step.broken_off))  # fmt: skip
    pieces += [f"{word} {number}" for word, number in told if number]
    pieces += [f"{sort} {number}" for sort, number in step.departures]
    if step.median_s is not None and step.longest_s is not None:
        mark = " (the slowest step)" if slowest else ""
        pieces.append(f"median {in_words(step.median_s)}, longest {in_words(step.longest_s)}{mark}")
    return ", ".join(pieces)


def _counted(each: tuple[tuple[str, int], ...]) -> str:
    return "; ".join(f"{what} {number}" for what, number in each)


def _as_json(
    procedure: str, revision: str | None, others: list[str], withheld: int, found: Usage
) -> dict[str, object]:
    return {
        "id": procedure,
        "revision": revision,
        "other_revisions": others,
        "jobs": found.jobs,
        "complete": found.complete,
        "aborted": found.aborted,
        "withheld": withheld,
        "texts": found.texts,
        "steps": [
            {
                "step": step.step, "done": step.done, "skipped": step.skipped,
                "reasons": [{"reason": reason, "times": times} for reason, times in step.reasons],
                "redone": step.redone, "corrected": step.corrected, "refused": step.refused,
                "not_applicable": step.not_applicable, "broken_off": step.broken_off,
                "median_s": step.median_s, "longest_s": step.longest_s,
                "departures": dict(step.departures),
            }
            for step in found.steps
        ],
        "elsewhere": dict(found.elsewhere),
        "corrected_elsewhere": found.corrected_elsewhere,
        "broken_off_elsewhere": found.broken_off_elsewhere,
    }  # fmt: skip
