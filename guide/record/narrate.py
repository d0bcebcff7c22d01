"""What each event of a job says, in words for the trail of a record."""

from __future__ import annotations

from collections.abc import Callable

from guide.job import payloads as p
from guide.procedure.model import Procedure
from guide.record.figures import Figures, span

Text = Callable[[str | None], str]
"""Gives the text behind a reference, or words that say it was withheld."""


def step_of(payload: p.Payload) -> str:
    """The step an event belongs to, or nothing."""
    return str(getattr(payload, "step", "") or getattr(payload, "part", "") or "")


def narrate(  # noqa: PLR0911, PLR0912, PLR0915 - one branch a kind
    payload: p.Payload, procedure: Procedure, figures: Figures, text: Text
) -> str:
    """One event in words. Free text stands in quotation marks."""

    def readings(values: tuple[p.ReadingValue, ...]) -> str:
        return "; ".join(_reading(value, figures, text) for value in values)

    match payload:
        case p.Opened():
            return (
                f"job opened as number {payload.number} in the register ({payload.nature}); procedure "
                f"{payload.procedure_id} revision {payload.procedure_revision}; clock: {payload.clock}"
            )
        case p.Acknowledged():
            return f"warning read: {_hazard(procedure, payload)}"
        case p.Answered():
            return f"seen: {payload.seen}" + ("" if payload.accepted else " (step stays open)")
        case p.Read():
            return readings(payload.readings) + _verdicts(payload, figures)
        case p.WaitBegun():
            begun = readings(payload.readings)
            return f"wait of {span(payload.at_least_s)} begun" + (f"; {begun}" if begun else "")
        case p.WaitEnded():
            ended = readings(payload.readings)
            vouched = "" if payload.vouched else " (no running clock vouches for it)"
            early = ", before its time," if payload.early else ""
            words = f"wait ended{early} after {span(payload.elapsed_s)}{vouched}"
            return words + (f"; {ended}" if ended else "") + _verdicts(payload, figures)
        case p.WeighBegun():
            against = (
                f"; against the advice: “{text(payload.against_advice)}”" if payload.against_advice else ""
            )
            way = "into the system" if payload.direction == "in" else "out of the system"
            before = _reading(payload.before, figures, text)
            return f"weighing {way} begun, cylinder {payload.cylinder}: {before}{against}"
        case p.WeighEnded():
            after = _reading(payload.after, figures, text)
            return f"weighing ended: {after}; moved {figures.mass(payload.moved_kg)}"
        case p.WeighingFinished():
            wanted = f" of {figures.mass(payload.target_kg)}" if payload.target_kg is not None else ""
            return f"weighings finished: {figures.mass(payload.moved_kg)}{wanted} moved" + _because(
                payload.reason, text
            )
        case p.RoundRead():
            return _round(payload, figures, readings(payload.readings))
        case p.AdjustEnded():
            return f"charging loop ended: {payload.outcome}" + _because(payload.reason, text)
        case p.Chosen():
            offered = "" if payload.option == payload.offered else f" instead of {payload.offered}"
            facts = "; ".join(f"{fact}: {value}" for fact, value in sorted(payload.facts.items()))
            return f"branch taken: {payload.option}{offered} ({facts})" + _because(payload.reason, text)
        case p.NotApplicable():
            facts = "; ".join(f"{fact}: {value}" for fact, value in sorted(payload.facts.items()))
            return f"does not apply ({facts})"
        case p.PartEnded():
            return (
                f"part called complete: {payload.done} done, {payload.skipped} left out, "
                f"{payload.not_applicable} not applicable"
            )
        case p.Skipped():
            return "step left out" + _because(payload.reason, text)
        case p.Redone():
            again = f"; to be checked again: {', '.join(payload.recheck)}" if payload.recheck else ""
            return "step to be done again" + _because(payload.reason, text) + again
        case p.Corrected():
            old, new = figures.reading(payload.old), figures.reading(payload.new)
            words = f"correction of {payload.channel} in event {payload.of_seq}: {old} became {new}"
            moved = f"; moved {figures.mass(payload.moved_kg)}" if payload.moved_kg is not None else ""
            return words + moved + _because(payload.reason, text)
        case p.Noted():
            late = "late note" if payload.late else "note"
            return f"{late}: “{text(payload.text)}”" + _photo(payload.photo)
        case p.Paused():
            return "work paused" + _because(payload.reason, text)
        case p.Resumed():
            return _resumed(payload, figures)
        case p.HandedOver():
            return f"handed over to {payload.to}" + _because(payload.reason, text)
        case p.Aborted():
            return "job broken off" + _because(payload.reason, text)
        case p.CustomerSaw():
            name = f" by “{text(payload.name)}” (typed name, no digital signature)" if payload.name else ""
            return f"customer: {payload.how}{name}"
        case p.Signed():
            return f"signed off by {payload.person}: {payload.meaning}"
        case p.Practised():
            return _practised(payload)
        case p.Closed():
            return f"job closed: {payload.outcome}; {sum(payload.counts.values())} events"
        case p.RecordIssued():
            return f"record issued, SHA-256 {payload.sha256[:16]}…"
        case p.Reopened():
            record = payload.record_sha256[:16]
            return f"reopened to amend the record with SHA-256 {record}…" + _because(payload.reason, text)
        case _:
            return payload.KIND


def _practised(practised: p.Practised) -> str:
    match practised.what:
        case "hint":
            return f"hint taken: {practised.act}"
        case "chosen":
            right = "right" if practised.act == practised.step else f"the next is {practised.step}"
            return f"picked step {practised.act} as the next: {right}"
        case "ended":
            return f"the run is over: {practised.act}"
        case _:
            where = f", {practised.at}" if practised.at else ""
            return f"at the simulated unit: {practised.act}{where}"


def _because(reason: str | None, text: Text) -> str:
    return f": “{text(reason)}”" if reason is not None else ""


def _photo(photo: p.Photo | None) -> str:
    if photo is None:
        return ""
    return f"; photo {photo.file}, {photo.size_bytes} bytes, SHA-256 {photo.sha256}"


def _reading(value: p.ReadingValue, figures: Figures, text: Text) -> str:
    words = f"{value.channel.replace('_', ' ')} {figures.reading(value)}"
    if value.source != "typed":
        words += f" [{value.source}]"
    if value.instrument:
        words += f" [{value.instrument}]"
    if value.unusual is not None:
        words += f" (unusual: “{text(value.unusual)}”)"
    return words


def _verdicts(read: p.Read | p.WaitEnded, figures: Figures) -> str:
    units = {value.channel: value.unit for value in read.readings}
    words = ""
    for verdict in read.verdicts:
        channel = verdict.channel.replace("_", " ")
        if verdict.change is not None:
            channel += f" changed by {figures.change(verdict.change, units.get(verdict.channel, ''))}"
        words += f"; {channel}: {verdict.verdict}"
    return words


def _hazard(procedure: Procedure, payload: p.Acknowledged) -> str:
    try:
        hazard = procedure.step(payload.step).hazards[payload.hazard]
    except (KeyError, IndexError):
        return f"number {payload.hazard}"
    return f"{hazard.word}: {hazard.text}"


def _round(payload: p.RoundRead, figures: Figures, readings: str) -> str:
    a = payload.assessment
    amount = f" {figures.mass(a.amount_kg)}" if a.amount_kg else ""
    return (
        f"round {payload.number}: {readings}; "
        f"superheat {figures.spread(a.superheat_K, a.superheat_uncertainty_K)}, "
        f"subcooling {figures.spread(a.subcooling_K, a.subcooling_uncertainty_K)}; "
        f"verdict {a.verdict.upper()}; advice: {a.action}{amount}"
    )


def _resumed(payload: p.Resumed, figures: Figures) -> str:
    words = f"work resumed by {payload.person.id} after a {payload.after}, {span(payload.away_s)} away"
    if payload.check is not None:
        check = payload.check
        words += f"; cylinder {check.cylinder} {figures.reading(check.weight)}, valve {check.valve}"
    if payload.unexplained_kg is not None:
        words += f"; not observed: {figures.mass(payload.unexplained_kg, signed=True)} left the cylinder"
    return words
