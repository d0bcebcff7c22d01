"""Why, and what the numbers come from: inputs, rule, source, uncertainty. Pure; one key away everywhere."""

from __future__ import annotations

from collections.abc import Sequence

from guide.job import payloads as p
from guide.job.state import JobState
from guide.journal.event import Event
from guide.procedure.channels import CHANNELS
from guide.procedure.model import Reading, Step, Wait, Weigh
from guide.record.figures import Figures
from guide.screens import say
from guide.screens.derivation import balance_paragraphs, target_paragraphs, uncertainty_paragraphs
from guide.screens.figures import ADVICE_WORDS, VERDICT_WORDS
from guide.screens.limits_said import figure_words, label, limit_words
from guide.screens.looking import proof_words
from guide.screens.paint import clean
from guide.screens.weight_said import weight_paragraphs
from guide.units import show


def why_paragraphs(state: JobState, step: Step) -> tuple[str, ...]:
    """A step in full: warnings, reason, proof, limits with their sources, the procedure it stands in."""
    words: list[str] = [f"{hazard.word.value}: {clean(hazard.text)}" for hazard in step.hazards]
    words.append(clean(step.why) or "The procedure gives no further reason.")
    words.append(f"Proof: {proof_words(step)}")
    if isinstance(step.proof, Reading | Wait):
        words += limit_words(state, step.proof)
    if isinstance(step.proof, Weigh) and step.proof.target is not None:
        words.append(f"Target: {figure_words(state, step.proof.target)}")
    words += weight_paragraphs(state, step)
    if step.hold:
        words.append("This is a hold point: it can't be skipped. Do it, or break the job off.")
    procedure = state.procedure
    words.append(
        f"Procedure {clean(procedure.id)} rev {clean(procedure.revision)}, "
        f"approved {clean(procedure.approved_on)}, SHA-256 {procedure.sha256[:16]}."
    )
    return (*words, *order_paragraphs(state))


def order_paragraphs(state: JobState) -> tuple[str, ...]:
    """What the order says of the unit, to be held against what stands before one."""
    order = state.order
    site = order.site_pressure_Pa
    words = [
        f"The order {clean(order.number)}: {order.refrigerant.designation}, "
        f"safety group {order.refrigerant.safety_group}, nameplate charge {say.nameplate(order)}, "
        f"{order.metering.value}, {clean(order.application)}, receiver {clean(order.receiver)}, "
        f"capacity {clean(order.capacity)}."
    ]
    named = [(name, value) for name, value in (("model", order.model), ("serial", order.serial)) if value]
    pressures = (
        ("low-side design pressure", order.low_side_design_pressure),
        ("high-side design pressure", order.high_side_design_pressure),
    )
    given = [(name, show(value.si, "psig", site_pressure_Pa=site)) for name, value in pressures if value]
    words.append(
        f"Unit {clean(order.appliance_id)}: "
        + ", ".join(f"{name} {clean(value)}" for name, value in (("place", order.place), *named, *given))
        + "."
    )
    cylinders = (f"{clean(each.id)} ({clean(each.contents)})" for each in order.cylinders)
    words.append(f"Scale {clean(order.scale_id)}; cylinders {', '.join(cylinders)}.")
    return tuple(words)


def number_paragraphs(state: JobState) -> tuple[str, ...]:
    """The newest round: verdict, inputs, rule, source and uncertainty of each figure."""
    if not state.rounds:
        return (
            "No round of readings was taken yet.", "", "BALANCE", *balance_paragraphs(state), "", "VERSIONS",
            *_versions(state),
        )  # fmt: skip
    done = state.rounds[-1].read
    said = done.assessment
    unit = say.temperature_unit(done.readings)
    site = state.order.site_pressure_Pa
    words = [_verdict(state, said)]
    words += [clean(reason) for reason in said.reasons]
    words.append("")
    words.append("INPUTS of round " + str(done.number))
    words += [_input(state, value) for value in done.readings]
    words.append(
        f"atmosphere here: {show(site, 'Paa', digits=0)} absolute ({clean(state.order.site_pressure_from)})"
    )
    words.append(f"minutes since the last change: {said.minutes_since_change}")
    words += ["", "RULES", *_rules(said, unit)]
    words += ["", "TARGET", *target_paragraphs(state, unit)]
    words += ["", "UNCERTAINTY", *uncertainty_paragraphs(state, unit)]
    words += ["", "BALANCE", *balance_paragraphs(state)]
    words += ["", "VERSIONS", *_versions(state)]
    return tuple(words)


def _versions(state: JobState) -> list[str]:
    """With what the figures were reached, and the text that is followed."""
    words = []
    if state.opened is not None:
        versions = state.opened.versions
        words.append(f"rules {versions.rules}, target table {versions.target_table}, curve {versions.curve}")
        words.append(f"program {clean(state.opened.program)}")
    procedure = state.procedure
    words.append(
        f"procedure {clean(procedure.id)} rev {clean(procedure.revision)}, approved "
        f"{clean(procedure.approved_on)}, SHA-256 {procedure.sha256[:16]}"
    )
    return words


def _verdict(state: JobState, said: p.Assessment) -> str:
    amount = f" {say.amount(said.amount_kg, state.order)}" if said.amount_kg else ""
    suspect = f" Suspect: {said.suspect}." if said.suspect else ""
    return f"{VERDICT_WORDS[said.verdict]}. Advice: {ADVICE_WORDS[said.action]}{amount}.{suspect}"


def _input(state: JobState, value: p.ReadingValue) -> str:
    label = CHANNELS[value.channel].label if value.channel in CHANNELS else value.channel
    instrument = state.order.instrument_for(value.channel)
    by = (
        f", {clean(instrument.id)} ± {clean(instrument.accuracy_typed)}"
        if instrument
        else ", accuracy assumed"
    )
    return f"{label}: {clean(value.typed)} ({value.source}{by})"


def _rules(said: p.Assessment, unit: str) -> list[str]:
    degrees = "°F" if unit == "F" else "K"
    words = []
    if said.superheat_K is not None and said.dew_K is not None:
        words.append(
            f"superheat {say.difference(said.superheat_K, unit)} {degrees} = suction line - dew point "
            f"{say.temperature(said.dew_K, unit)} at the suction pressure"
        )
    if said.subcooling_K is not None and said.bubble_K is not None:
        words.append(
            f"subcooling {say.difference(said.subcooling_K, unit)} {degrees} = bubble point "
            f"{say.temperature(said.bubble_K, unit)} at the liquid pressure - liquid line"
        )
    uncertainty = (
        f"; the figure less its target is known to ± {say.difference(said.uncertainty_K, unit)} {degrees}"
        if said.uncertainty_K is not None
        else ""
    )
    words.append(f"tolerance ± {say.difference(said.tolerance_K, unit)} {degrees}{uncertainty}")
    words.append(
        "IN TOLERANCE only when the figure with its uncertainty lies inside, OUTSIDE only when it lies "
        "outside, UNDECIDED between them."
    )
    return words


def not_met(state: JobState, readings: p.Read | p.WaitEnded) -> str:
    """Words for readings that miss a limit, and for what changed over a hold; else empty."""
    by_channel = {value.channel: value for value in readings.readings}
    figures = Figures.of(state.order)
    words = []
    for verdict in readings.verdicts:
        value = by_channel[verdict.channel]
        shown = clean(value.typed)
        limit = figures.limit(verdict, value.unit)
        if verdict.change is not None:
            change = f"{label(verdict.channel)} {figures.change(verdict.change, value.unit)} ({limit})"
            words.append(f"{_HELD[verdict.verdict]}: {change}")
        elif verdict.verdict != "pass":
            words.append(f"{shown} {_MET[verdict.verdict]} {limit}")
    if readings.accepted:
        return "; ".join(words)
    return "; ".join(words) + ". The step stays open: set it right and read again."


_MET = {"undecided": "UNDECIDED, too near", "fail": "does not meet"}
_HELD = {"pass": "HELD", "undecided": "UNDECIDED, too near", "fail": "NOT HELD"}


def consequence(state: JobState, events: Sequence[Event]) -> str:
    """What events that were just logged say beyond that they are logged."""
    payloads = [p.read_payload(event.kind, event.body) for event in events]
    words = [not_met(state, item) for item in payloads if isinstance(item, p.Read | p.WaitEnded)]
    passed = [item.step for item in payloads if isinstance(item, p.NotApplicable)]
    if passed:
        more = f" to {passed[-1]} do" if len(passed) > 1 else " does"
        words.append(f"{passed[0]}{more} not apply")
    return "; ".join(part for part in words if part)
