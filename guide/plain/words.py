"""Where the work stands, in sentences. Pure."""

from __future__ import annotations

from guide.job.focus import Focus, Front
from guide.job.state import JobState, RoundDone, Standing
from guide.procedure.model import Step, Wait
from guide.screens import say
from guide.screens.figures import ADVICE_WORDS, VERDICT_WORDS
from guide.screens.head import counted
from guide.screens.hold import began, must
from guide.screens.looking import STANDING_WORDS
from guide.screens.measuring import measured_words
from guide.screens.mode import Mode
from guide.screens.settings import Detail
from guide.screens.teaching import common_errors


def standing(state: JobState) -> str:
    """Job, place, kind of work, how far it has come."""
    nature = state.opened.nature if state.opened else state.order.nature
    badge = f"{nature.upper()}. " if nature != "real" else ""
    done, of = counted(state)
    return f"{badge}{state.job}, {say.title_of(state.order)}. {done} of {of} steps done."


def hazard(step: Step, at: int) -> tuple[str, ...]:
    """The warning that has to be read now, and what it stands before."""
    stands = step.hazards[at]
    of = f" ({at + 1} of {len(step.hazards)})" if len(step.hazards) > 1 else ""
    return (f"{stands.word.value}{of}: {stands.text}", f"Then step {step.id}: {step.do}")


def action(state: JobState, focus: Focus, detail: Detail = Detail.STANDARD) -> tuple[str, ...]:
    """A step: its part, its action, as much more as is wanted, and what was refused here before."""
    step = focus.step
    if step is None:
        return ()
    part = f"Part {focus.part.title}. " if focus.part else ""
    hold = "HOLD POINT: this step can't be skipped. " if step.hold else ""
    rows = [f"{part}{hold}Step {step.id}: {step.do}"]
    if step.why and detail is not Detail.SHORT:
        rows.append(f"Why: {step.why}")
    if detail is Detail.TEACHING:
        rows += [f"Easily wrong: {wrong}" for wrong in common_errors(step)[:3]]
    rows += [f"Measured: {words}." for words in measured_words(state, step)]
    answered = state.answers.get(step.id)
    if focus.front is Front.STEP and answered is not None and not answered.accepted:
        rows.append(f"You saw: {answered.seen}. {getattr(step.proof, 'if_refused', '')}")
    return tuple(rows)


def hold(state: JobState, step: Step, mode: Mode) -> tuple[str, ...]:
    """A timed hold: what it began with, what must be so at its end."""
    if not isinstance(step.proof, Wait):
        return ()
    start = tuple(f"Begun {words}." for words in began(state))
    at_begin = tuple(f"{words[0].upper()}{words[1:]}." for words in must(state, step.proof))
    return (*start, *at_begin) if mode is Mode.WAIT_BEGIN else start if mode is Mode.WAIT_END else ()


def part_end(state: JobState, focus: Focus) -> tuple[str, ...]:
    """The steps of a part and how they stand."""
    if focus.part is None:
        return ()
    rows = [f"End of part {focus.part.title}."]
    for step in focus.part.steps:
        at = state.standing(step.id)
        if at is not Standing.NOT_APPLICABLE:
            rows.append(f"  {step.id} {STANDING_WORDS[at]}: {step.do}")
    return tuple(rows)


def verdict(state: JobState) -> tuple[str, ...]:
    """The newest round in sentences: figures, target, verdict, advice, reasons."""
    if not state.rounds:
        return ()
    done = state.rounds[-1]
    said = done.read.assessment
    amount = f" {say.amount(said.amount_kg, state.order)}" if said.action in {"add", "recover"} else ""
    rows = [f"Round {done.read.number}. {_figures(done)}"]
    rows.append(f"Verdict: {VERDICT_WORDS[said.verdict]}. Advice: {ADVICE_WORDS[said.action]}{amount}.")
    if said.suspect:
        rows.append(f"Suspect: {said.suspect}.")
    return (*rows, *said.reasons)


def _figures(done: RoundDone) -> str:
    said = done.read.assessment
    unit = say.temperature_unit(done.read.readings)
    degrees = "°F" if unit == "F" else "K"
    words = []
    for name, value, off in (
        ("Superheat", said.superheat_K, said.superheat_uncertainty_K),
        ("Target superheat", said.target_superheat_K, said.target_superheat_uncertainty_K),
        ("Subcooling", said.subcooling_K, said.subcooling_uncertainty_K),
        ("Target subcooling", said.target_subcooling_K, None),
    ):
        if value is not None:
            about = f" ± {say.difference(off, unit)}" if off is not None else ""
            words.append(f"{name} {say.difference(value, unit)}{about} {degrees}.")
    return " ".join(words)


def balance(state: JobState) -> str:
    """What the job put into the system, and the nameplate."""
    net = say.amount(state.net_charged_kg(), state.order, sign=True)
    return f"Balance: {net} into the system this job, nameplate {say.nameplate(state.order)}."
