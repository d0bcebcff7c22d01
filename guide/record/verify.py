"""The checker: is this file sound, who signed it, and does anything outside hold it?

Three answers that do not depend on each other, none of them taken from the file's own word.

**Intact** means that every one of these holds, in this order, and the first that does not is named:

 1. The file is a chain of exactly the expected PDF revisions, each signature covers its revision
    and the last the whole file, and certificates, signature values and form are to the byte what
    our profile builds (`guide.record.profile`, thirteen checks of its own, one of them by an
    independent library).
 2. The attachments are exactly the expected set, in their form, each with the SHA-256 that the
    manifest names.
 3. Every event is in canonical form; all are of one job in one log; `job_seq` has no gap and
    `job_prev` names the event before.
 4. The job is closed, nothing stands behind the closing event, and its counts are right.
 5. Every checkpoint is of this log and signed by a log key that the job's events name; the last
    covers the closing event.
 6. Every event is included in the tree of the last checkpoint (RFC 9162 inclusion proofs).
 7. Each checkpoint extends the one before (RFC 9162 consistency proofs).
 8. Order, procedure and curve have the SHA-256 that the log names; every text fits its
    reference. A text may be missing (withheld or erased); that is said and is no fault.
 9. The events fold to a possible job; log, order, opening event agree on real, practice or
    demonstration, on procedure, ticket, and the record that was amended.
10. Every reading's value is what was typed.
11. Every command is decided again and gives the same events, verdicts and advice included. Where
    another curve rides along, the verdicts are reached again with that one. Rules or a table
    that this program does not have are named, and are no fault.
12. The signature is by the certificate, name and kind of key that the sign-off in the log names,
    not earlier than the closing event, and its stamp gives the log's meaning and place.
13. The pages laid out again from the log are the printed pages, to the byte, with the signatures'
    boxes where they leave room; where program or libraries differ from those the manifest
    names, their words are.

**Signer**: known by a fingerprint or certificate that the reader names, or kept on this machine.
**Anchored**: by a checkpoint or its fingerprint that was kept outside; else "self-attested only".
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from guide import VERSION
from guide.errors import ChargewrightError
from guide.journal.checkpoint import fingerprint, same_fingerprint
from guide.journal.event import CLOSED
from guide.journal.logs import log_kind
from guide.record.answers import AnchorAnswer, CheckLine, Report, SignerAnswer
from guide.record.bundle import BadBundle, read_log
from guide.record.checks import CHECKS, check_chain, check_closed
from guide.record.examined import HOSTILE_FAULTS, Examined, Wrong
from guide.record.exported import with_photos
from guide.record.keyring import people_of, public_keys
from guide.record.profile import inspect
from guide.record.witness import SELF_ATTESTED, NamedSigner, judge_anchor, judge_signer


def verify_record(
    data: bytes,
    *,
    signers: Sequence[NamedSigner] = (),
    known: Mapping[str, str] | None = None,
    checkpoints: Sequence[str] = (),
    program: str = VERSION,
) -> Report:
    """Check a record's PDF.

    `signers` are those the reader names, `known` fingerprints with names kept on this machine,
    `checkpoints` signed notes or short fingerprints from outside. `program` is the version whose
    pages must come out to the byte.

    Raises:
        NotARecord: the file is no signed PDF at all.
    """
    record = Examined(data, inspect(data), program)
    lines: list[CheckLine] = []
    wrong: str | None = None
    for number, (title, run) in enumerate(CHECKS, start=1):
        if wrong is not None:
            lines.append(CheckLine(number, title, "not reached"))
            continue
        try:
            run(record)
        except HOSTILE_FAULTS as fault:
            wrong = str(fault) if isinstance(fault, ChargewrightError) else _odd(fault)
            lines.append(CheckLine(number, title, "failed"))
        else:
            lines.append(CheckLine(number, title, "passed"))
    nature = record.opened.nature if wrong is None else ""
    return Report(
        kind="record",
        nature=nature,
        checks=tuple(lines),
        first_wrong=wrong,
        signer=_signer(record, wrong, signers, known or {}),
        anchor=_anchor(record, wrong, checkpoints),
        notes=tuple(record.notes),
        facts=_facts(record) if wrong is None else {},
    )


def _odd(fault: BaseException) -> str:
    return f"the log holds something no job can hold ({type(fault).__name__})"


def _signer(
    record: Examined, wrong: str | None, signers: Sequence[NamedSigner], known: Mapping[str, str]
) -> SignerAnswer:
    if wrong is not None:
        return SignerAnswer(known=False, words="not answered for a file that is not intact")
    return judge_signer(record.signature.technician, signers, known)


def _anchor(record: Examined, wrong: str | None, checkpoints: Sequence[str]) -> AnchorAnswer:
    if wrong is not None:
        return AnchorAnswer("self-attested only", "not answered for a file that is not intact")
    inside = record.inside
    keys = public_keys(people_of(inside.events))
    return judge_anchor(inside.checkpoints, checkpoints, keys, inside.events[-1].seq)


def _facts(record: Examined) -> dict[str, str | int]:
    inside, signature = record.inside, record.signature
    assert signature.technician is not None
    facts: dict[str, str | int] = {
        "job": inside.job,
        "log": inside.log,
        "events": len(inside.events),
        "log_events": record.heads[-1].size,
        "fingerprint": fingerprint(inside.checkpoints[-1]),
        "signature_level": signature.level or "",
        "signed_claimed_utc": signature.technician.claimed_time.isoformat(),
        "program": inside.made.program,
    }
    if inside.previous is not None:
        facts["amends_record_sha256"] = inside.previous
    if signature.customer is not None:
        facts["customer_claimed_name"] = signature.customer.common_name
        facts["customer_fingerprint_sha256"] = signature.customer.fingerprint_sha256
    return facts


_LOG_CHECKS = (
    "every line is an event in canonical form",
    "the log is one job, whole and in order",
    "the job is closed and its closing event counts right",
)


def verify_log(data: bytes, *, checkpoints: Sequence[str] = ()) -> Report:
    """Check an exported `log.ndjson`. It carries no signature: it can be consistent, no more.

    `checkpoints` can't be compared without the proofs that a record carries, and are refused.
    """
    outcomes: list[CheckLine] = []
    wrong: str | None = None
    facts: dict[str, str | int] = {}
    nature = ""
    try:
        events = read_log(data)
        outcomes.append(CheckLine(1, _LOG_CHECKS[0], "passed"))
        check_chain(events)
        outcomes.append(CheckLine(2, _LOG_CHECKS[1], "passed"))
        nature = log_kind(events[0].log)
        facts = {"job": events[0].job, "log": events[0].log, "events": len(events)}
        check_closed(events)
        outcomes.append(CheckLine(3, _LOG_CHECKS[2], "passed"))
        facts["closing_event"] = max(event.seq for event in events if event.kind == CLOSED)
    except (Wrong, BadBundle) as fault:
        wrong = str(fault)
        outcomes.append(CheckLine(len(outcomes) + 1, _LOG_CHECKS[len(outcomes)], "failed"))
    outcomes += [
        CheckLine(number, title, "not reached")
        for number, title in enumerate(_LOG_CHECKS, start=1)
        if number > len(outcomes)
    ]
    refusal = "an exported log carries no proofs to compare a checkpoint with; check the record's PDF"
    return Report(
        kind="log",
        nature=nature,
        checks=tuple(outcomes),
        first_wrong=wrong,
        signer=SignerAnswer(known=False, words="an exported log is not signed"),
        anchor=AnchorAnswer("self-attested only", SELF_ATTESTED, refusal if checkpoints else None),
        facts=facts,
    )


def verify_export(folder: Path) -> tuple[Report, ...]:
    """Check what `export` wrote: the log, and the record beside it where there is one.

    Raises:
        Wrong: a file can't be read.
        NotARecord: the record is no signed PDF.
    """
    data = _read(folder / "log.ndjson")
    reports = [with_photos(verify_log(data), folder, data)]
    if (folder / "record.pdf").exists():
        reports.append(verify_record(_read(folder / "record.pdf")))
    return tuple(reports)


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise Wrong(f"{path}: can't be read ({error.strerror}); give what export wrote") from error


def verify_journal(path: Path, *, checkpoints: Sequence[str] = ()) -> Report:
    """Check a journal's database: numbering, chains, tree, checkpoints, guards.

    Raises:
        JournalUnusable: it can't be opened as a journal.
    """
    from guide.journal.integrity import check
    from guide.journal.store import Journal

    shorts = [text for text in checkpoints if "\n" not in text.strip()]
    findings = check(path, trusted=tuple(text for text in checkpoints if text not in shorts))
    wrong = str(findings.problems[0]) if findings.problems else None
    missing: list[str] = []
    if shorts:
        with Journal.open(path, read_only=True) as journal:
            held = [fingerprint(note) for note in journal.checkpoints()]
        missing = [text.strip()[:40] for text in shorts if not any(same_fingerprint(text, h) for h in held)]
    title = "numbering, chains, tree, checkpoints and guards agree"
    anchored = bool(checkpoints) and wrong is None and not missing
    return Report(
        kind="journal",
        nature=log_kind(findings.log),
        checks=(CheckLine(1, title, "failed" if wrong else "passed"),),
        first_wrong=wrong,
        signer=SignerAnswer(known=False, words="a journal is signed by its checkpoints only"),
        anchor=AnchorAnswer(
            "anchored" if anchored else "self-attested only",
            "anchored: the log extends the checkpoints you gave" if anchored else SELF_ATTESTED,
            f"no checkpoint of this journal has the fingerprint {missing[0]}" if missing else None,
        ),
        notes=tuple(str(problem) for problem in findings.problems[1:]),
        facts={"log": findings.log, "events": findings.events, "jobs": findings.jobs},
    )
