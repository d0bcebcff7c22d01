"""A lesson, a score, a question and two runs as the pages show them, from what the rooms below say. Pure."""

from __future__ import annotations

from datetime import date

from guide.job.elapsed import in_words
from guide.rig.learning import debrief, replay
from guide.rig.learning.fading import suggest
from guide.rig.learning.hint_costs import HINT_COSTS
from guide.rig.learning.lesson import Lesson, Loss, Score
from guide.rig.learning.lesson_reader import Ready
from guide.rig.learning.rubric import lines
from guide.rig.learning.run import Run as Story
from guide.rig.spoken import spoken
from guide.rig.trainees.record import LessonRecord
from guide.rig.trainees.words import standing
from guide.screens.practice_shown import BesideRow, Card, Lost, Question, RubricLine, Scored


def card_of(ready: Ready, record: LessonRecord, fresh_seed: int) -> Card:
    """A lesson before it begins; `fresh_seed` is taken where none is assigned."""
    lesson, order = ready.lesson, ready.order
    assigned = record.open_assignments[0] if record.open_assignments else None
    seed = assigned.seed if assigned is not None and assigned.seed is not None else fresh_seed
    return Card(
        id=lesson.id,
        title=lesson.title,
        objectives=tuple(each.text for each in lesson.objectives),
        about=_about(lesson, ready, f"{order.place}. {order.refrigerant.designation}"),
        rubric=tuple(RubricLine(each.item.value, each.points, each.loses) for each in lines(lesson)),
        minimum=lesson.minimum,
        hint_costs=HINT_COSTS,
        helps=tuple(each.value for each in lesson.helps),
        suggested=suggest(lesson, record.counted).value,
        seed=seed,
        assigned=_assigned_words(record),
    )


def _about(lesson: Lesson, ready: Ready, unit: str) -> tuple[str, ...]:
    words = [lesson.summary, f"The unit: {unit}. The work: {ready.procedure.title}."]
    if lesson.parts is not None:
        titles = {part.id: part.title for part in ready.procedure.parts}
        first, last = titles[lesson.parts.first], titles[lesson.parts.last]
        words.append(f"The run ends after the part {last}." if first == last else _from(first, last))
    return tuple(word for word in words if word)


def _from(first: str, last: str) -> str:
    return f"What counts goes from the part {first} to the part {last}; the run ends there."


def _assigned_words(record: LessonRecord) -> str:
    if not record.open_assignments:
        return ""
    assigned = record.open_assignments[0]
    by = f" by {assigned.by}" if assigned.by else ""
    return f"Set{by}{f', to be passed until {assigned.due}' if assigned.due else ''}."


def scored_shown(story: Story, score: Score, record: LessonRecord, today: date) -> Scored:
    """What a run came to, and where the trainee stands now."""
    stands = standing(record, today)
    after = [f"This lesson now: {stands}."]
    if record.mastery(today).mastered_on is None:
        after.append("Mastered is what was passed twice without help, on two seeds.")
        level = suggest(story.lesson, record.counted).value
        after.append(f"Next: the help '{level}' would suit.")
    return Scored(
        points=score.points,
        of=score.of,
        safety=score.safety,
        passed=score.passed,
        minimum=story.lesson.minimum,
        lost=tuple(_lost(loss) for loss in score.losses),
        afterwards=tuple(after),
    )


def _lost(loss: Loss) -> Lost:
    return Lost(loss.item.value, loss.points, f"event {loss.seq}, after {in_words(loss.at_s)}", loss.words)


def question_shown(asked: debrief.Asked) -> Question:
    """One question after the run."""
    return Question(asked.ask, asked.choices, asked.model)


def row_shown(row: replay.Row) -> BesideRow:
    """One step of both runs."""
    lost = tuple(f"-{loss.points} {loss.item.value}, event {loss.seq}: {loss.words}" for loss in row.losses)
    return BesideRow(row.step, row.do, _side(row.model), _side(row.own), row.differences, lost)


def _side(side: replay.Side | None) -> tuple[str, ...]:
    if side is None:
        return ()
    words = [f"from {in_words(side.begun_s)} to {in_words(side.ended_s)}"]
    words += [spoken(each) for each in side.hands]
    words += [f"{each.channel.replace('_', ' ')} {each.typed}" for each in side.values]
    return (*words, *side.said)
