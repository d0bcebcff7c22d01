"""From a record's bundle to what stands on its pages. Pure: the same bundle gives the same content."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from guide.job import payloads as p
from guide.job.evolve import fold
from guide.job.exceptions import Departure, departures
from guide.job.order import read_order
from guide.job.state import JobState, begin
from guide.journal import checkpoint
from guide.journal.event import Event
from guide.procedure.model import Direction, Weigh
from guide.procedure.reader import read_procedure
from guide.record import bundle as files
from guide.record.bundle import Bundle
from guide.record.content import CustomerPage, RecordContent, Section, Table
from guide.record.figures import Figures, local_time, utc_time
from guide.record.holds import holds
from guide.record.narrate import narrate, step_of
from guide.record.sections import equipment, people, proven, service
from guide.record.working import balance, charging, readings

WORDS = {"practice": "PRACTICE", "demonstration": "DEMONSTRATION", "real": ""}
"""The word that stands on every page, by the nature of the job."""

_LONGEST_REASON = 400  # so that one long note does not push the other departures off the first page


def replay(bundle: Bundle) -> JobState:
    """The job as it stood at the end of the events that ride along.

    Raises:
        OrderError, ProcedureError: the order or the procedure inside can't be read.
        BadBody, Impossible: the events are not those of a possible job.
    """
    order = read_order(bundle.order, files.ORDER)
    procedure = read_procedure(bundle.procedure, files.PROCEDURE)
    return fold(begin(bundle.job, order, procedure), bundle.events)


def compile_content(bundle: Bundle, state: JobState) -> RecordContent:
    """The content of the pages, from the bundle and the state its events fold to.

    Raises:
        BadBody: an event is not of its form.
    """
    order, opened = state.order, state.opened
    assert opened is not None
    figures = Figures.of(order)
    payloads = [p.read_payload(event.kind, event.body) for event in bundle.events]
    found = departures(order, bundle.events)
    stamps = {event.seq: event.stamp for event in bundle.events}
    fingerprint = checkpoint.fingerprint(bundle.checkpoints[-1])
    result = outcome(state)
    word = WORDS[opened.nature]
    exceptions = Table(
        heads=("event", "local time", "UTC", "sort", "step", "what departed from the plan, and the reason"),
        shares=(0.065, 0.225, 0.085, 0.125, 0.07, 0.43),
        rows=tuple(
            (
                str(d.seq),
                local_time(stamps[d.seq]),
                utc_time(stamps[d.seq]),
                d.sort,
                d.step or "–",
                d.words + (f" – reason: “{_cut(bundle.text(d.reason))}”" if d.reason is not None else ""),
            )
            for d in found
        ),
        title=_counted(found),
        none="None. Every step was done as written, in order, on one run of the clock.",
    )
    last = bundle.events[-1].stamp
    return RecordContent(
        title="Refrigerant service record",
        subtitle=f"{bundle.job} · order {order.number} · {order.place} · {state.procedure.title}",
        word=word,
        result=result,
        exceptions=exceptions,
        sections=(
            people(bundle, state),
            equipment(state, figures),
            service(state, figures, bundle),
            balance(state, payloads, figures),
            *charging(state, figures),
            *holds(bundle.events, figures),
            proven(bundle, state, fingerprint),
        ),
        annex=(readings(state, payloads, figures), _trail(bundle, state, payloads, figures)),
        signing=_signing(bundle, state),
        footer=f"{bundle.job} · fingerprint {fingerprint} · closed {last.utc[:19]}Z",
        customer=_customer(
            bundle, state, figures, result=result, exceptions=len(found), fingerprint=fingerprint
        ),
        page_size=bundle.made.page_size,
        author=order.company,
        dated_utc=last.utc,
    )


def _counted(found: Sequence[Departure]) -> str:
    if not found:
        return ""
    sorts = Counter(departure.sort for departure in found)
    noun = "departure" if len(found) == 1 else "departures"
    return f"{len(found)} {noun}: " + ", ".join(f"{count} {sort}" for sort, count in sorts.most_common())


def _cut(reason: str) -> str:
    if len(reason) <= _LONGEST_REASON:
        return reason
    return reason[:_LONGEST_REASON] + "… (whole in the trail)"


def outcome(state: JobState) -> str:
    """How the job came out, in one sentence."""
    if state.aborted:
        return "The job was broken off; the safe-state steps were followed."
    if state.loop_ended is not None and state.rounds:
        verdict = state.rounds[-1].read.assessment.verdict.upper()
        return {
            "in tolerance": f"The charge is in tolerance ({verdict}).",
            "undecided, accepted": (
                "The charge is in tolerance by its best estimate; the instruments can't decide (UNDECIDED)."
            ),
            "stopped": "The charging loop was stopped on advice: charge is not, or not alone, what is wrong.",
            "accepted against advice": f"The charging loop was left against the advice ({verdict}).",
        }[state.loop_ended.outcome]
    if any(_into(state, each) for each in state.finished):
        return "The charge was weighed in; it was not judged by superheat or subcooling."
    return "The work was completed; no charge was judged by superheat or subcooling."


def _into(state: JobState, finished: p.WeighingFinished) -> bool:
    proof = state.procedure.step(finished.step).proof
    return isinstance(proof, Weigh) and proof.direction is Direction.IN and finished.moved_kg > 0


def _trail(bundle: Bundle, state: JobState, payloads: Sequence[p.Payload], figures: Figures) -> Section:
    rows = tuple(
        _trail_row(event, payload, state, figures, bundle)
        for event, payload in zip(bundle.events, payloads, strict=True)
    )
    table = Table(
        heads=("event", "local time", "UTC", "who", "step", "what"),
        shares=(0.06, 0.225, 0.085, 0.085, 0.07, 0.475),
        rows=rows,
    )
    return Section(
        title="Whole trail",
        lines=(
            "Every event of the job in the order it was logged, numbered as in the log. Nothing is "
            "overwritten: a correction stands as an event of its own, and what it corrects stays.",
        ),
        tables=(table,),
    )


def _trail_row(
    event: Event, payload: p.Payload, state: JobState, figures: Figures, bundle: Bundle
) -> tuple[str, ...]:
    return (
        str(event.seq),
        local_time(event.stamp),
        utc_time(event.stamp),
        event.by,
        step_of(payload),
        narrate(payload, state.procedure, figures, bundle.text),
    )


def _signing(bundle: Bundle, state: JobState) -> tuple[str, ...]:
    signed = state.signed[-1] if state.signed else None
    lines = []
    if signed is not None:
        lines.append(
            f"Signed off in the log by {bundle.text(signed.name)} ({signed.person}): "
            f"{signed.meaning.rstrip('.')}. Certificate SHA-256 {signed.certificate_sha256}."
        )
    if state.customer is not None:
        how: str = state.customer.how
        if state.customer.name is not None:
            how += f" by “{bundle.text(state.customer.name)}”"
        lines.append(
            f"Customer: {how}. A typed name is an acknowledgement; it is no digital signature. The "
            "customer's box takes one only from a customer with a certificate of their own."
        )
    return tuple(lines)


def _customer(
    bundle: Bundle, state: JobState, figures: Figures, *, result: str, exceptions: int, fingerprint: str
) -> CustomerPage:
    order = state.order
    assert state.opened_at is not None
    done = [f"Work: {_sentence(state.procedure.title)} Reason: {_sentence(order.reason)}", result]
    done += moved_words(state, figures)
    if exceptions:
        noun = "departure" if exceptions == 1 else "departures"
        done.append(f"The full record lists {exceptions} {noun} from the plan on its first page.")
    watch = ["If cooling gets weaker, ice forms on the pipes or the unit hisses, switch it off and call."]
    if (state.net_charged_kg() if state.finished else state.charged_kg()) > 0:
        watch.append(
            "Refrigerant does not wear out. If it has to be topped up again, it leaks: ask for a leak check."
        )
    if state.loop_ended is not None and state.loop_ended.outcome != "in tolerance":
        watch.append("The result above is not a plain pass: ask your contractor what follows from it.")
    return CustomerPage(
        title="What was done on your system",
        pairs=(
            ("Customer", order.customer),
            ("Place", f"{order.address}; {order.place}"),
            ("System", order.appliance_id),
            ("When", local_time(state.opened_at)),
            ("Contractor", order.company),
            ("Technician", ", ".join(bundle.text(person.name) for person in state.people.values())),
            ("Job", f"{bundle.job}, order {order.number}"),
        ),
        done=tuple(done),
        watch=tuple(watch),
        keep=(
            f"Keep this fingerprint: {fingerprint}",
            "It stands for every entry of the job's log up to its end. Whoever holds it can find out later "
            "whether the full record was changed, without trusting the contractor or this paper.",
        ),
    )


def moved_words(state: JobState, figures: Figures) -> list[str]:
    """What went into the customer's system and out of it; the net where the whole charge was changed."""
    charged, recovered = state.charged_kg(), state.recovered_kg()
    words = [
        f"Refrigerant put into your system: {_amount(charged, figures)} of "
        f"{state.order.refrigerant.designation}.",
        f"Refrigerant taken out of your system: {_amount(recovered, figures)}.",
    ]
    if state.finished and charged and recovered:
        net = charged - recovered
        way = "more" if net >= 0 else "less"
        words.append(f"So your system now holds {figures.mass(abs(net))} {way} than before the work.")
    return words


def _sentence(text: str) -> str:
    """A text with one full stop at its end."""
    return text if text.rstrip()[-1:] in {".", "!", "?"} else f"{text.rstrip()}."


def _amount(kg: Decimal, figures: Figures) -> str:
    return figures.mass(kg) if kg else "none"
