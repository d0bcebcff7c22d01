"""Sections of a record that say who, where, on what, under which duties, and what is proven."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from guide.job import payloads as p
from guide.job.order import Instrument, Order
from guide.job.state import JobState
from guide.journal import checkpoint
from guide.journal.tree import leaf_hash
from guide.procedure.model import Confirm
from guide.record.bundle import Bundle
from guide.record.content import Section, Table
from guide.record.figures import Figures, both_times, local_time
from guide.record.worked import held
from guide.refrigerant.catalogue import AR4, US_RULE


def people(bundle: Bundle, state: JobState) -> Section:
    """Who did the work for whom, where and when."""
    order, opened = state.order, state.opened
    assert opened is not None
    assert state.opened_at is not None
    first, last = state.opened_at, bundle.events[-1].stamp
    technicians = tuple(
        (f"Technician {person.id}", _technician(bundle, person)) for person in state.people.values()
    )
    contractor = order.company
    if order.company_certificate:
        contractor += f", certificate {order.company_certificate}"
    acknowledged = state.customer.how if state.customer else "not asked"
    return Section(
        title="Who, where, when",
        pairs=(
            ("Contractor", contractor),
            ("Customer (owner or operator)", order.customer),
            ("Address", order.address),
            *technicians,
            ("Begun", both_times(first)),
            ("Closed", both_times(last)),
            ("Job", f"{bundle.job}, number {opened.number} in the register; order {order.number}"),
            ("Order's ticket", order.ticket or "none: the start is not anchored from outside"),
            ("Reason for the work", order.reason),
            ("Customer's acknowledgement", acknowledged),
            *((("Amends", f"the record with SHA-256 {bundle.previous}"),) if bundle.previous else ()),
        ),
    )


def _technician(bundle: Bundle, person: p.Person) -> str:
    return (
        f"{bundle.text(person.name)}; certification {person.certification_type}, "
        f"number {bundle.text(person.certification_number)}"
    )


def equipment(state: JobState, figures: Figures) -> Section:
    """On which appliance, with which instruments."""
    order, refrigerant = state.order, state.order.refrigerant
    identity = ", ".join(
        text
        for text in (
            order.appliance_id,
            order.description,
            f"model {order.model}" if order.model else "",
            f"serial {order.serial}" if order.serial else "",
        )
        if text
    )
    gwps = "; ".join(f"{gwp.value.normalize():f} ({gwp.basis})" for gwp in refrigerant.gwps) or "not known"
    cylinders = Table(
        title="Cylinders named on the order",
        heads=("cylinder", "refrigerant", "contents", "from"),
        shares=(0.2, 0.2, 0.25, 0.35),
        rows=tuple((c.id, c.refrigerant, c.contents, c.source or "–") for c in order.cylinders),
    )
    instruments = Table(
        title="Instruments",
        heads=("instrument", "channels", "stated limit", "calibration due"),
        shares=(0.2, 0.46, 0.16, 0.18),
        rows=(
            *(
                (
                    _named(i),
                    ", ".join(i.channels).replace("_", " "),
                    _stated(i),
                    _due(i.calibration_due),
                )
                for i in order.instruments
            ),
            (
                order.scale_id,
                "cylinder weight",
                f"division {order.scale_division.typed}",
                _due(order.scale_calibration_due),
            ),
        ),
    )
    return Section(
        title="Equipment",
        pairs=(
            ("Appliance", identity),
            ("Place", order.place),
            ("Application", order.application),
            ("Refrigerant", f"{refrigerant.designation}, safety group {refrigerant.safety_group}"),
            ("GWP, 100 years", gwps),
            ("Full charge", figures.mass(order.nameplate_charge.si)),
            ("Full charge determined by", order.full_charge_method),
            ("Metering", order.metering.value),
            ("Receiver; capacity", f"{order.receiver}; {order.capacity}"),
            ("Air pressure at the site", f"{order.site_pressure_Pa:.0f} Pa, from {order.site_pressure_from}"),
        ),
        tables=(cylinders, instruments, *_gear(order, figures)),
    )


def _named(instrument: Instrument) -> str:
    """An instrument's name on the order, with make and serial where they are given."""
    serial = f"serial {instrument.serial}" if instrument.serial else None
    return ", ".join(text for text in (instrument.id, instrument.make, serial) if text)


def _stated(instrument: Instrument) -> str:
    """What is stated of an instrument: limit, range, division, and a sensor that is not insulated."""
    words = [f"± {instrument.accuracy_typed}"]
    if instrument.range is not None:
        words.append(f"range {instrument.range[0].typed} to {instrument.range[1].typed}")
    if instrument.division is not None:
        words.append(f"division {instrument.division.typed}")
    if not instrument.insulated:
        words.append("sensor not insulated")
    return "; ".join(words)


def _gear(order: Order, figures: Figures) -> tuple[Table, ...]:
    """Machines, detector, regulator and line set, where the order names any."""
    gear, rows = order.gear, []
    machine, pump, regulator = gear.recovery_machine, gear.vacuum_pump, gear.nitrogen_regulator
    if machine is not None:
        plate = f"made {machine.made.isoformat()}; {_rated(machine.rating)}"
        rows.append(("recovery machine", machine.id, plate, _due(machine.calibration_due)))
    if pump is not None:
        rows.append(("vacuum pump", pump.id, _rated(pump.rating), _due(pump.calibration_due)))
    if gear.detector is not None:
        rows.append(("leak detector", gear.detector.id, "–", _due(gear.detector.calibration_due)))
    if regulator is not None:
        relief = f"relief opens at {regulator.relief.typed}" if regulator.relief else "relief not stated"
        rows.append(("nitrogen regulator", regulator.id, relief, _due(regulator.calibration_due)))
    if gear.line_set is not None:
        line = gear.line_set
        asks = f"{line.length.typed}, of which {line.covered.typed} covered; {line.adder_typed}"
        if line.covered_adder_typed is not None:
            asks += f", covered at {line.covered_adder_typed}"
        asks += f": {figures.mass(line.allowance_kg, signed=True)}"
        rows.append(("line set", "–", asks, "–"))
    if not rows:
        return ()
    return (
        Table(
            title="Machines and line set",
            heads=("what", "which", "by its plate or the maker", "calibration due"),
            shares=(0.2, 0.16, 0.46, 0.18),
            rows=tuple(rows),
        ),
    )


def _rated(rating: str) -> str:
    words = {"flammable": "for flammable refrigerants", "non-flammable": "not for flammable refrigerants"}
    return words.get(rating, "rating not stated")


def _due(day: date | None) -> str:
    return day.isoformat() if day else "not stated"


def service(state: JobState, figures: Figures, bundle: Bundle) -> Section:
    """The fields that rules on refrigerants ask of a service record (regulations reference, section 8)."""
    order, refrigerant = state.order, state.order.refrigerant
    charged, recovered = state.charged_kg(), state.recovered_kg()
    contents = sorted(
        {
            f"{cylinder.contents} ({cylinder.id}{', ' + cylinder.source if cylinder.source else ''})"
            for move in state.moves
            if move.into_system_kg > 0 and (cylinder := order.cylinder(move.cylinder)) is not None
        }
    )
    holds = held([p.read_payload(event.kind, event.body) for event in bundle.events], figures)
    regime = "40 CFR 82 subpart F" if refrigerant.ozone_depleting else "40 CFR 84 subpart C"
    kind = "broken off; " if state.aborted else ""
    return Section(
        title="Service record",
        pairs=(
            ("Date of the work", local_time(bundle.events[0].stamp)[:10]),
            ("Part worked on", f"refrigerant circuit of {order.appliance_id}"),
            ("Type of work", f"{kind}{state.procedure.title}"),
            ("Refrigerant type", refrigerant.designation),
            ("Amount added", _with_co2e(charged, state, figures)),
            ("Reason of addition", order.reason if charged else "nothing was added"),
            ("Condition of what was added", "; ".join(contents) or "nothing was added"),
            ("Amount recovered", _with_co2e(recovered, state, figures)),
            ("Full charge", _with_co2e(order.nameplate_charge.si, state, figures)),
            ("Leak check", _leak_check(state)),
            *((("Pressure and vacuum held", holds),) if holds else ()),
            ("Leak rate", "not reckoned here: it takes the additions of earlier jobs"),
            (
                "Retention",
                f"3 years ({regime}), 5 years (Regulation (EU) 2024/573, Article 7): keep for 5 years",
            ),
        ),
    )


def _with_co2e(kg: Decimal, state: JobState, figures: Figures) -> str:
    if not kg:
        return "none"
    gwps = [gwp for gwp in state.order.refrigerant.gwps if gwp.basis in (AR4, US_RULE)]
    if not gwps:
        return f"{figures.mass(kg)}; no CO2 equivalent: its GWP is not known ({AR4} and {US_RULE})"
    if len(gwps) == 2 and gwps[0].value == gwps[1].value:
        equivalent = f"{kg * gwps[0].value / 1000:.3f} t CO2e ({AR4} and {US_RULE})"
    else:
        equivalent = "; ".join(f"{kg * gwp.value / 1000:.3f} t CO2e ({gwp.basis})" for gwp in gwps)
    return f"{figures.mass(kg)}; {equivalent}"


def _leak_check(state: JobState) -> str:
    found = []
    for part in (*state.procedure.parts, state.procedure.on_abort):
        for step in part.steps:
            answered = state.answers.get(step.id)
            asked = step.proof.ask if isinstance(step.proof, Confirm) else ""
            if answered is not None and "leak" in f"{step.id} {step.do} {asked}".casefold():
                found.append(f"step {step.id}: {answered.seen}")
    return "; ".join(found) or "no step of this job asked for one"


def proven(bundle: Bundle, state: JobState, fingerprint: str) -> Section:
    """What a reader may rely on, what not, and the fingerprints to check it with."""
    opened = state.opened
    assert opened is not None
    head = checkpoint.read_unverified(bundle.checkpoints[-1])
    certificates = sorted({person.certificate_sha256 for person in state.people.values()})
    simulated = any(entry.value.source == "simulated" for entry in state.entries)
    lines = [
        "Proven, once the checker says intact: nothing in this file was changed after it was signed; the "
        "trail is whole, in order, and stands in the log whose signed head rides inside; every verdict "
        "follows from the readings under the rules, table and curve named below.",
        "Not proven: that a person really looked at the gauge, that an instrument was right or was "
        "connected to this appliance, that the clock of the laptop was right, or that the name in the "
        "certificate is the name of whoever signed.",
        "Self-attested only, unless somebody outside keeps a fingerprint or checkpoint of this log: a "
        "technician in full control of the laptop could have written another log before signing.",
    ]
    if simulated:
        lines.append("Readings marked simulated come from a model of a system and not from an appliance.")
    if opened.clock == "simulated":
        lines.append("The clock of this job was simulated; its times are not times of day.")
    if opened.lesson is not None:
        lines.append(
            "This job is the run of a lesson: no refrigerant was moved anywhere, and whoever signs it shows "
            "by it only how the lesson was worked."
        )
    return Section(
        title="What is proven, and what is not",
        lines=tuple(lines),
        pairs=(
            ("Fingerprint to keep", fingerprint),
            ("Log", bundle.log),
            ("Job", bundle.job),
            ("Events in the log; root", f"{head.size}; {head.root_hash.hex()}"),
            ("Last event of the job", leaf_hash(bundle.lines[-1]).hex()),
            ("Procedure", f"{opened.procedure_id} revision {opened.procedure_revision}"),
            ("Procedure SHA-256", opened.procedure_sha256),
            *_lesson_pairs(opened.lesson),
            ("Order SHA-256", opened.order_sha256),
            *(("Certificate SHA-256", certificate) for certificate in certificates),
            ("Rules; target table", f"{opened.versions.rules}; {opened.versions.target_table}"),
            *((("Rules of the walk", opened.versions.walk),) if opened.versions.walk else ()),
            ("Target table SHA-256", opened.versions.target_table_sha256),
            ("Curve", opened.versions.curve),
            ("Curve SHA-256", opened.versions.curve_sha256),
            ("Program", opened.program),
        ),
    )


def _lesson_pairs(lesson: p.Lesson | None) -> tuple[tuple[str, str], ...]:
    if lesson is None:
        return ()
    return (
        ("Lesson; seed; help", f"{lesson.id}; {lesson.seed}; {lesson.help}"),
        ("Lesson SHA-256", lesson.sha256),
    )
