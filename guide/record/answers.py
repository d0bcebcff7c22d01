"""What the checker answers: three separate things, in words, as JSON and as an exit code."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from guide.escape import for_terminal


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One numbered check and how it went."""

    number: int
    title: str
    outcome: Literal["passed", "failed", "not reached"]


@dataclass(frozen=True, slots=True)
class SignerAnswer:
    """Whose signature it is, as far as the reader can know. `wrong` says why a named signer does not fit."""

    known: bool
    words: str
    fingerprint: str = ""
    claimed_name: str = ""
    wrong: str | None = None


@dataclass(frozen=True, slots=True)
class AnchorAnswer:
    """Whether something from outside holds the log. `wrong` says why a given checkpoint does not fit."""

    state: Literal["anchored", "partly anchored", "self-attested only"]
    words: str
    wrong: str | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """The answer about one file."""

    kind: Literal["record", "log", "journal"]
    nature: str
    checks: tuple[CheckLine, ...]
    first_wrong: str | None
    signer: SignerAnswer
    anchor: AnchorAnswer
    notes: tuple[str, ...] = ()
    facts: Mapping[str, str | int] = field(default_factory=dict)

    @property
    def intact(self) -> bool:
        """Whether every check passed."""
        return self.first_wrong is None

    @property
    def sound(self) -> bool:
        """Whether it is intact and fits the signer and the checkpoints that were named."""
        return self.intact and self.signer.wrong is None and self.anchor.wrong is None


def exit_code(report: Report, *, require_known_signer: bool = False) -> int:
    """0 for a sound file, 1 for one that is not, or whose signer must be known and is not."""
    if not report.sound or (require_known_signer and not report.signer.known):
        return 1
    return 0


def first_line(report: Report) -> str:  # noqa: PLR0911 - one return an answer
    """The answer in one line."""
    if report.first_wrong is not None:
        failed = next((check.number for check in report.checks if check.outcome == "failed"), 0)
        where = f"check {failed}: " if failed else ""
        return f"NOT INTACT: {where}{report.first_wrong}"
    if report.signer.wrong is not None:
        return f"WRONG SIGNER: {report.signer.wrong}"
    if report.anchor.wrong is not None:
        return f"CHECKPOINT DOES NOT FIT: {report.anchor.wrong}"
    if report.nature in {"practice", "demonstration"}:
        return "PRACTICE"
    if report.kind != "record":
        if report.anchor.state == "anchored":
            return "intact; it extends the checkpoint you gave"
        return "consistent in itself; not signed: anyone could have made this"
    if report.signer.known:
        return f"intact; {report.signer.words}"
    return "intact; signer not known to you: anyone could have made this"


def text(report: Report) -> str:
    """The whole answer for a person, safe on a terminal."""
    lines = [first_line(report)]
    if report.sound and report.nature in {"practice", "demonstration"}:
        kind = "a demonstration" if report.nature == "demonstration" else "a practice job"
        lines.append(f"intact; {kind}, no evidence of work on a real system")
    if report.intact and not report.sound:
        lines.append("the file itself is intact")
    if report.intact:
        lines += [f"signer: {report.signer.words}", f"anchor: {report.anchor.words}"]
    lines += [f"note: {note}" for note in report.notes]
    lines += [f"{name.replace('_', ' ')}: {value}" for name, value in report.facts.items()]
    lines += [f"  {check.number:2} {check.outcome:11} {check.title}" for check in report.checks]
    return "\n".join(for_terminal(line) for line in lines) + "\n"


def to_json(report: Report) -> dict[str, object]:
    """The whole answer for a program."""
    return {
        "kind": report.kind,
        "nature": report.nature,
        "intact": report.intact,
        "sound": report.sound,
        "first_wrong": report.first_wrong,
        "signer_known": report.signer.known,
        "signer_fingerprint_sha256": report.signer.fingerprint or None,
        "signer_claimed_name": report.signer.claimed_name or None,
        "signer": report.signer.words,
        "signer_wrong": report.signer.wrong,
        "anchor": report.anchor.state,
        "anchor_words": report.anchor.words,
        "checkpoint_wrong": report.anchor.wrong,
        "notes": list(report.notes),
        "facts": dict(report.facts),
        "checks": [
            {"number": check.number, "title": check.title, "outcome": check.outcome}
            for check in report.checks
        ],
    }
