"""A job as the fold of its events, and nothing else.

`evolve` is total over events that `guide.job.walk.decide` produces; whatever could not have
happened in that order raises `Impossible`, so that a tampered log is found by replaying it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.job.state import (
    ABORT_SIGN_STEP,
    Entry,
    JobState,
    Move,
    RoundDone,
    Standing,
    Waiting,
    Weighing,
    current_step,
    focus_step_id,
    named_rules,
)
from guide.journal.event import Event, Stamp
from guide.procedure.model import Adjust, Confirm, Step, Weigh


class Impossible(ChargewrightError):
    """An event that can't have happened at this place of this job."""


def fold(state: JobState, events: Iterable[Event]) -> JobState:
    """The state after some more events.

    Raises:
        BadBody, Impossible: an event is not of its form, or can't have happened there.
    """
    for event in events:
        state = evolve(state, event)
    return state


def evolve(state: JobState, event: Event) -> JobState:
    """The state after one more event of this job.

    Raises:
        BadBody, Impossible: the event is not of its form, or can't have happened there.
    """
    if event.job != state.job:
        raise Impossible(f"event {event.seq} belongs to job {event.job}, not to {state.job}")
    return apply(state, p.read_payload(event.kind, event.body), event.stamp, event.seq, event.by)


def apply(state: JobState, payload: p.Payload, at: Stamp, seq: int, by: str) -> JobState:
    """The state after one more payload, entered at `at` by `by`.

    Raises:
        Impossible: it can't have happened there.
    """
    if (state.opened is None) != isinstance(payload, p.Opened):
        raise Impossible(f"event {seq}: a job begins with one opening event")
    if isinstance(payload, p.Opened) and payload.lesson is not None and payload.nature == "real":
        raise Impossible(f"event {seq}: real work is no run of a lesson")
    if state.closed is not None and not isinstance(payload, p.RecordIssued | p.Reopened):
        raise Impossible(f"event {seq}: {payload.KIND} after the job was closed")
    if state.stopped is not None:
        raise Impossible(f"event {seq}: {payload.KIND} after the run of a lesson was over")
    if not isinstance(payload, p.Opened | p.Resumed | p.Reopened) and by != state.present:
        raise Impossible(f"event {seq}: {payload.KIND} by {by}, who is not at work on this job")
    counts = {**state.counts, payload.KIND: state.counts.get(payload.KIND, 0) + 1}
    state = replace(state, counts=counts, last_at=at, last_seq=seq)
    return _changed(state, payload, at, seq)


def _changed(state: JobState, payload: p.Payload, at: Stamp, seq: int) -> JobState:  # noqa: PLR0911, PLR0912, PLR0915
    # one branch a kind: splitting the table would hide that it is complete
    match payload:
        case p.Opened():
            person = payload.person
            return replace(
                state, opened=payload, opened_at=at, run=payload.run,
                people={person.id: person}, present=person.id,
            )  # fmt: skip
        case p.Acknowledged():
            return replace(state, acknowledged=state.acknowledged | {(payload.step, payload.hazard)})
        case p.Answered():
            return _answered(state, payload, _step(state, payload.step, seq))
        case p.Read():
            state = _entered(state, seq, payload.step, payload.readings)
            return _settled(state, payload.step, Standing.DONE) if payload.accepted else state
        case p.WaitBegun():
            state = _entered(state, seq, payload.step, payload.readings)
            return _waiting(state, payload, at, seq)
        case p.WaitEnded():
            if state.waiting is None or state.waiting.begun.step != payload.step:
                raise Impossible(f"event {seq}: a wait ended that had not begun")
            state = replace(_entered(state, seq, payload.step, payload.readings), waiting=None)
            return _settled(state, payload.step, Standing.DONE) if payload.accepted else state
        case p.WeighBegun():
            if state.weighing is not None:
                raise Impossible(f"event {seq}: a weighing began inside another")
            before = Entry(seq, payload.step, "weight before", payload.before)
            return replace(state, weighing=Weighing(payload, seq, at), entries=(*state.entries, before))
        case p.WeighEnded():
            return _weighed(state, payload, at, seq)
        case p.WeighingFinished():
            if not isinstance(_step(state, payload.step, seq).proof, Weigh):
                raise Impossible(f"event {seq}: weighings were finished at a step that has none")
            state = replace(state, finished=(*state.finished, payload))
            return _settled(state, payload.step, Standing.DONE)
        case p.RoundRead():
            state = _entered(state, seq, payload.step, payload.readings)
            return replace(state, rounds=(*state.rounds, RoundDone(payload, seq, at)), loop_ended=None)
        case p.AdjustEnded():
            return replace(_settled(state, payload.step, Standing.DONE), loop_ended=payload)
        case p.Chosen():
            step = _step(state, payload.step, seq)
            fact = getattr(step.proof, "fact", "")
            state = replace(state, facts={**state.facts, fact: payload.option})
            return _settled(state, payload.step, Standing.DONE)
        case p.NotApplicable():
            return _settled(state, payload.step, Standing.NOT_APPLICABLE)
        case p.PartEnded():
            return replace(state, ended_parts=state.ended_parts | {payload.part})
        case p.Skipped():
            return _settled(state, payload.step, Standing.SKIPPED)
        case p.Redone():
            return _redone(state, payload, seq)
        case p.Corrected():
            return _corrected(state, payload, seq)
        case p.Paused():
            return replace(state, paused=True)
        case p.Resumed():
            return _resumed(state, payload, at, seq)
        case p.HandedOver():
            return replace(state, paused=True, handed_to=payload.to)
        case p.Aborted():
            return replace(state, aborted=True, waiting=None)
        case p.CustomerSaw():
            return replace(state, customer=payload)
        case p.Signed():
            state = replace(state, signed=(*state.signed, payload))
            if payload.step != ABORT_SIGN_STEP:
                state = _settled(state, payload.step, Standing.DONE)
            return state
        case p.Closed():
            if dict(state.counts) != payload.counts:
                raise Impossible(f"event {seq}: the closing event's counts do not match the events before it")
            if not state.signed:
                raise Impossible(f"event {seq}: closed without a signature")
            return replace(state, closed=payload, amending=False)
        case p.RecordIssued():
            if state.closed is None:
                raise Impossible(f"event {seq}: a record was issued of a job that is not closed")
            return replace(state, issued=(*state.issued, payload))
        case p.Reopened():
            if state.closed is None:
                raise Impossible(f"event {seq}: a job was amended that is not closed")
            people = {**state.people, payload.person.id: payload.person}
            return replace(
                state, closed=None, amending=True, people=people, present=payload.person.id, run=payload.run
            )
        case p.Practised():
            return _practised(state, payload, seq)
        case _:
            return state


def _practised(state: JobState, practised: p.Practised, seq: int) -> JobState:
    if state.opened is None or state.opened.lesson is None:
        raise Impossible(f"event {seq}: practice in a job that is no run of a lesson")
    return replace(state, stopped=practised) if practised.what == "ended" else state


def _waiting(state: JobState, begun: p.WaitBegun, at: Stamp, seq: int) -> JobState:
    """A hold runs. The one that follows a charge by weight counts as the run that the loop settles from."""
    state = replace(state, waiting=Waiting(begun, at, seq))
    if state.moves and isinstance(_step(state, state.moves[-1].step, seq).proof, Weigh):
        return replace(state, running_since=at, last_change=None)
    return replace(state, running_since=state.running_since or at)


def _step(state: JobState, step_id: str, seq: int) -> Step:
    try:
        return state.procedure.step(step_id)
    except KeyError:
        raise Impossible(f"event {seq}: the procedure has no step {step_id}") from None


def _settled(state: JobState, step_id: str, standing: Standing) -> JobState:
    return replace(state, standings={**state.standings, step_id: standing})


def _entered(state: JobState, seq: int, step: str, readings: tuple[p.ReadingValue, ...]) -> JobState:
    entries = tuple(Entry(seq, step, value.channel, value) for value in readings)
    return replace(state, entries=state.entries + entries)


def _answered(state: JobState, answered: p.Answered, step: Step) -> JobState:
    answers = {**state.answers, answered.step: answered}
    if not answered.accepted:
        return replace(state, answers=answers)
    facts = dict(state.facts)
    if isinstance(step.proof, Confirm) and step.proof.fact:
        facts[step.proof.fact] = answered.seen
    return _settled(replace(state, answers=answers, facts=facts), answered.step, Standing.DONE)


def _weighed(state: JobState, ended: p.WeighEnded, at: Stamp, seq: int) -> JobState:
    weighing = state.weighing
    if weighing is None or weighing.begun.step != ended.step:
        raise Impossible(f"event {seq}: a weighing ended that had not begun")
    into = ended.moved_kg if weighing.begun.direction == "in" else -ended.moved_kg
    move = Move(
        seq, ended.step, weighing.begun.cylinder, weighing.begun.before, ended.after, into,
        observed=True, at=at, begun_seq=weighing.seq,
    )  # fmt: skip
    state = replace(
        state,
        weighing=None,
        moves=(*state.moves, move),
        entries=(*state.entries, Entry(seq, ended.step, "weight after", ended.after)),
        last_change=at,
    )
    proof = _step(state, ended.step, seq).proof
    if isinstance(proof, Weigh) and not proof.repeat:
        state = _settled(state, ended.step, Standing.DONE)
    return state


def _redone(state: JobState, redone: p.Redone, seq: int) -> JobState:
    step = _step(state, redone.step, seq)
    standings = dict(state.standings)
    standings[step.id] = Standing.TODO
    for other in redone.recheck:
        standings[other] = (
            Standing.TODO if standings.get(other) is Standing.NOT_APPLICABLE else Standing.RECHECK
        )
    again = {step.id, *redone.recheck}
    reopened = {part.id for part in state.path() if any(s.id in again for s in part.steps)}
    return replace(
        state,
        standings=standings,
        acknowledged=frozenset(a for a in state.acknowledged if a[0] != step.id),
        ended_parts=state.ended_parts - reopened,
    )


def _corrected(state: JobState, corrected: p.Corrected, seq: int) -> JobState:
    found = False
    entries = []
    for entry in state.entries:
        if entry.seq == corrected.of_seq and entry.channel == corrected.channel:
            if entry.value != corrected.old:
                raise Impossible(f"event {seq}: the correction's old value is not what was entered")
            found = True
            entries.append(replace(entry, value=corrected.new))
        else:
            entries.append(entry)
    if not found:
        raise Impossible(f"event {seq}: corrects an entry that was never made")
    state = replace(state, entries=tuple(entries), moves=_moves_after(state, corrected))
    under_way = state.weighing
    if under_way is None or under_way.seq != corrected.of_seq or not named_rules(state):
        return state
    begun = under_way.begun.model_copy(update={"before": corrected.new})
    return replace(state, weighing=replace(under_way, begun=begun))


def _moves_after(state: JobState, corrected: p.Corrected) -> tuple[Move, ...]:
    """The moves, one reckoned again where one of its weights was corrected."""
    if corrected.moved_kg is None:
        return state.moves
    moves = []
    for move in state.moves:
        before, after = move.before, move.after
        if corrected.channel == "weight after" and move.seq == corrected.of_seq:
            after = corrected.new
        elif corrected.channel == "weight before" and move.begun_seq == corrected.of_seq:
            before = corrected.new
        else:
            moves.append(move)
            continue
        into = corrected.moved_kg if move.into_system_kg >= 0 else -corrected.moved_kg
        moves.append(replace(move, before=before, after=after, into_system_kg=into))
    return tuple(moves)


def _resumed(state: JobState, resumed: p.Resumed, at: Stamp, seq: int) -> JobState:
    moves = state.moves
    if resumed.check and resumed.unexplained_kg and state.weighing is None:
        # outside a weighing nothing else will account for it; inside one, the closing weight does
        move = Move(
            seq, focus_step_id(state), resumed.check.cylinder, state.last_weight(resumed.check.cylinder),
            resumed.check.weight, resumed.unexplained_kg, observed=False, at=at,
        )  # fmt: skip
        moves = (*moves, move)
    current = current_step(state)
    settling_again = resumed.check is not None and current is not None and isinstance(current.proof, Adjust)
    return replace(
        state,
        moves=moves,
        run=resumed.run,
        paused=False,
        handed_to=None,
        people={**state.people, resumed.person.id: resumed.person},
        present=resumed.person.id,
        last_change=at if settling_again else state.last_change,
    )
