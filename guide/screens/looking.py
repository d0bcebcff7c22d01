"""Looking back and ahead at other steps. It never writes anything. Pure."""

from __future__ import annotations

from guide.job.elapsed import in_words
from guide.job.state import JobState, Standing, holds
from guide.procedure.model import Adjust, Choose, Confirm, Reading, Sign, Step, Wait, Weigh
from guide.screens import say
from guide.screens.head import identity_words
from guide.screens.paint import BLANK, Lines, Role, Span, clean, line, paragraph, quiet, strong
from guide.screens.place import action, read_hazards, why

STANDING_WORDS = {
    Standing.TODO: "still to do",
    Standing.DONE: "done",
    Standing.SKIPPED: "skipped",
    Standing.NOT_APPLICABLE: "does not apply here",
    Standing.RECHECK: "done, to be checked again",
}


def neighbours(state: JobState) -> tuple[str, ...]:
    """The steps one can look at, in order."""
    return tuple(step.id for part in state.path() for step in part.steps)


def looked_at(state: JobState, step_id: str, here: str, width: int, height: int) -> Lines:
    """Another step, in exactly so many lines: what it asks, how it stands, what was entered."""
    step = state.procedure.step(step_id)
    standing = state.standing(step_id)
    words = STANDING_WORDS[standing]
    if standing is Standing.TODO and not holds(state, step):
        words = STANDING_WORDS[Standing.NOT_APPLICABLE]
    top = line(
        Span(f" LOOKING AT {step_id} ", Role.NOTICE),
        f" {words}. ",
        quiet(f"You work at {here or 'the end'}."),
    )
    rows: Lines = (top, BLANK, *_hazards(step, width), *action(step, width), *why(step, width, 0))
    rows += (BLANK, *paragraph(f"proof: {proof_words(step)}", width, indent=7, hang=14, role=Role.QUIET))
    rows += _entered(state, step, width)
    foot = paragraph(identity_words(state.procedure), width, indent=1, role=Role.QUIET)[:2]
    room = max(0, height - len(foot))
    return (*rows[:room], *([BLANK] * (room - len(rows))), *foot)[:height]


def _hazards(step: Step, width: int) -> Lines:
    return tuple((*parts[:-1], quiet("")) for parts in read_hazards(step, width, 3)) if step.hazards else ()


def proof_words(step: Step) -> str:  # noqa: PLR0911 - one return a proof
    """What proves a step, in a sentence."""
    match step.proof:
        case Confirm() as proof:
            return f"{clean(proof.ask)} ({' / '.join(clean(a) for a in (*proof.accept, *proof.refuse))})"
        case Reading() as proof:
            return "readings: " + ", ".join(clean(asked.ask) for asked in proof.channels)
        case Wait() as proof:
            return f"a wait of at least {in_words(proof.at_least_s)}"
        case Weigh() as proof:
            return f"refrigerant {proof.direction.value} by scale, weight before and after"
        case Adjust() as proof:
            return f"the charging loop by {proof.method.value}"
        case Choose() as proof:
            return f"{clean(proof.ask)} ({' / '.join(clean(o.text) for o in proof.options)})"
        case Sign() as proof:
            return f"signature: {clean(proof.meaning)}"


def _entered(state: JobState, step: Step, width: int) -> Lines:
    rows: Lines = ()
    answered = state.answers.get(step.id)
    if answered is not None:
        rows += paragraph(f"seen: {clean(answered.seen)}", width, indent=7, role=Role.STRONG)
    for entry in [e for e in state.entries if e.step == step.id][-8:]:
        value = say.reading(entry.value, state.order.site_pressure_Pa)
        rows += (line("       ", f"{entry.channel.replace('_', ' ')}  ", strong(value)),)
    return rows
