"""How parts and jobs end: a part called complete, the customer, the signature, or the work broken off."""

from __future__ import annotations

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.evolve import apply
from guide.job.focus import Front, Refused, focus
from guide.job.state import ABORT_SIGN_STEP, JobState, Standing
from guide.procedure.model import Part, Sign


def _part_ended(state: JobState, part: Part) -> p.PartEnded:
    standings = [state.standing(step.id) for step in part.steps]
    return p.PartEnded(
        part=part.id,
        done=standings.count(Standing.DONE),
        skipped=standings.count(Standing.SKIPPED),
        not_applicable=standings.count(Standing.NOT_APPLICABLE),
    )


def end_part(state: JobState, command: c.EndPart, now: c.Now) -> tuple[p.Payload, ...]:
    """A part is called complete."""
    place = focus(state, now.run)
    if place.front is not Front.PART_END or place.part is None or place.part.id != command.part:
        raise Refused("this part is not finished yet")
    return (_part_ended(state, place.part),)


def abort(state: JobState, command: c.Abort, _now: c.Now) -> tuple[p.Payload, ...]:
    """The work is broken off; the safe-state steps follow."""
    if state.aborted:
        raise Refused("the job is broken off already; finish its safe-state steps")
    return (p.Aborted(reason=command.reason),)


def show_customer(state: JobState, command: c.ShowCustomer, now: c.Now) -> tuple[p.Payload, ...]:
    """How the customer took note."""
    if focus(state, now.run).front is not Front.CUSTOMER:
        raise Refused("the customer's acknowledgement comes when the work is done, before the signature")
    if (command.how == "acknowledged") != (command.name is not None):
        raise Refused("an acknowledgement carries the customer's typed name; the other answers carry none")
    return (p.CustomerSaw(how=command.how, name=command.name),)


def sign_off(state: JobState, command: c.SignOff, now: c.Now) -> tuple[p.Payload, ...]:
    """The signature, the end of the last part, and the end of the job."""
    place = focus(state, now.run)
    if place.front not in {Front.SIGN, Front.AMEND}:
        raise Refused("the work is not finished: sign when every step is settled")
    if command.certificate_sha256 != state.people[state.present].certificate_sha256:
        raise Refused("that is not the signing key this job was taken up with")
    meaning = "broken off; left in a safe state" if state.aborted else "did the work and stands by the record"
    if state.amending:
        meaning = "amended the record"
    elif place.step is not None and isinstance(place.step.proof, Sign):
        meaning = place.step.proof.meaning
    signed = p.Signed(
        step=place.step.id if place.step else ABORT_SIGN_STEP,
        person=state.present,
        name=command.name,
        meaning=meaning,
        certificate_sha256=command.certificate_sha256,
    )
    payloads: list[p.Payload] = [signed]
    after = apply(state, signed, now.stamp, state.last_seq + 1, now.by)
    if place.part is not None:
        payloads.append(_part_ended(after, place.part))
    kinds = [payload.KIND for payload in payloads] + [p.Closed.KIND]
    counts = dict(state.counts)
    for kind in kinds:
        counts[kind] = counts.get(kind, 0) + 1
    payloads.append(p.Closed(outcome="aborted" if state.aborted else "complete", counts=counts))
    return tuple(payloads)
