"""What a trainee can do, skill by skill: the lessons that ask for it, mastered or signed off. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from guide.rig.learning.lesson import Lesson
from guide.rig.learning.mastery import Stand
from guide.rig.trainees.record import TraineeRecord


@dataclass(frozen=True, slots=True)
class Skill:
    """One skill: the lessons that ask for it, those mastered on the day, those signed off and by whom."""

    name: str
    lessons: tuple[str, ...]
    mastered: tuple[str, ...]
    due: tuple[str, ...]
    """Mastered once, and to be refreshed."""
    signed_off: tuple[tuple[str, str], ...]
    """Lesson and trainer."""

    @property
    def shown(self) -> bool:
        """Whether every lesson that asks for it is mastered on the day."""
        return bool(self.lessons) and set(self.mastered) == set(self.lessons)

    def words(self) -> str:
        """In one line."""
        said = f"{self.name}: mastered {len(self.mastered)} of {len(self.lessons)} lessons"
        if self.due:
            said += f", refresh due in {', '.join(self.due)}"
        if self.signed_off:
            said += f", signed off: {', '.join(f'{lesson} by {who}' for lesson, who in self.signed_off)}"
        return said


def skills(record: TraineeRecord, lessons: Iterable[Lesson], today: date) -> tuple[Skill, ...]:
    """Every skill that the lessons ask for, in alphabetical order.

    A sign-off counts for the skills it names, whatever the lesson asks for now.
    """
    asked: dict[str, list[str]] = {}
    for lesson in lessons:
        for name in lesson.skills:
            asked.setdefault(name, []).append(lesson.id)
    signed: dict[str, list[tuple[str, str]]] = {}
    for each in record.lessons.values():
        sign_off = each.signed_off
        for name in sign_off.entry.skills if sign_off is not None else ():
            assert sign_off is not None
            signed.setdefault(name, []).append((each.lesson, sign_off.entry.trainer))
    stands = {name: record.lesson(name).mastery(today).stand for names in asked.values() for name in names}
    return tuple(
        Skill(
            name,
            tuple(asked.get(name, ())),
            tuple(each for each in asked.get(name, ()) if stands[each] is Stand.MASTERED),
            tuple(each for each in asked.get(name, ()) if stands[each] is Stand.DUE),
            tuple(signed.get(name, ())),
        )
        for name in sorted(asked.keys() | signed.keys())
    )
