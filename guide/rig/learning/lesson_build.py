"""From the structure of a lesson file to its meaning: ranges, units, points; each fault with its path."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

from guide.procedure.strict_yaml import Path
from guide.rig.learning.lesson import (
    TROUBLES,
    ChargeAim,
    ChargeBy,
    Conclusion,
    FaultSpan,
    Hint,
    Item,
    Lesson,
    Objective,
    Parts,
    Question,
    Rubric,
    Span,
    WeatherSpan,
    Weighed,
)
from guide.rig.learning.lesson_file import ChargeFile, FaultFile, LessonFile, WeatherFile
from guide.units import Kind, UnitError, parse

START_RANGE: Final = (0.0, 1.5)
"""Share of the right charge a lesson may begin with (PROPOSED): beyond it no unit runs."""
AIR_RANGE_K: Final = (255.0, 325.0)
"""Air a lesson may have [K] (PROPOSED): what people work in."""


@dataclass(frozen=True, slots=True)
class Complaint:
    """One thing wrong: where in the file, by which rule, in words."""

    path: Path
    rule: str
    message: str


@dataclass(slots=True)
class Builder:
    """Builds a lesson and collects everything wrong with it; what is wrong gets a harmless stand-in."""

    complaints: list[Complaint] = field(default_factory=list)

    def lesson(self, file: LessonFile, data: bytes, name: str, order_text: bytes) -> Lesson:
        """The lesson; it may be used only where no complaint came."""
        return Lesson(
            id=file.id,
            title=file.title,
            summary=file.summary,
            place=file.place,
            objectives=tuple(Objective(each.text, each.steps, each.skill) for each in file.objectives),
            order_name=file.order or f"{file.id} (order within)",
            order_text=order_text,
            start=self._shares(file.start, ("start",), *START_RANGE),
            faults=self._faults(file.faults, ("faults",)),
            draw_from=self._faults(file.draw.from_, ("draw", "from")) if file.draw else (),
            draw_count=file.draw.count if file.draw else 0,
            weather=self._weather(file.weather),
            conclusion=self._conclusion(file),
            parts=Parts(file.parts.first, file.parts.last) if file.parts else None,
            helps=file.help,
            rubric=self._rubric(file),
            aim=self._aim(file.charge),
            hints=MappingProxyType(
                {step: Hint(each.pointer, each.rule, each.answer) for step, each in file.hints.items()}
            ),
            debrief=tuple(
                Question(each.ask, each.choices, each.answer or "", each.computed) for each in file.debrief
            ),
            time_limit_s=self._limit(file.time_limit),
            minimum=file.minimum,
            unavoidable_loss_kg=self._quantity(file.unavoidable_loss, ("unavoidable_loss",), Kind.MASS),
            breaks_off=file.breaks_off,
            sha256=hashlib.sha256(data).hexdigest(),
            name=name,
        )

    def _complain(self, path: Path, rule: str, message: str) -> None:
        self.complaints.append(Complaint(path, rule, message))

    def _quantity(self, text: str, path: Path, kind: Kind) -> float:
        try:
            return float(parse(text, kind).si)
        except UnitError as error:
            self._complain(path, "quantity", str(error))
            return 0.0

    def _limit(self, text: str | None) -> float | None:
        if text is None:
            return None
        seconds = self._quantity(text, ("time_limit",), Kind.DURATION)
        if seconds <= 0.0:
            self._complain(("time_limit",), "range", "a time limit lies above zero")
        return seconds

    def _span(self, text: str, path: Path, ends: Iterable[float], low: float, high: float) -> Span:
        values = tuple(ends)
        span = Span(values[0], values[-1])
        if not low <= span.low <= span.high <= high:
            self._complain(path, "range", f"'{text}' does not rise, or lies outside {low:g} to {high:g}")
            return Span(low, low)
        return span

    def _shares(self, text: str, path: Path, low: float, high: float) -> Span:
        try:
            # a plain decimal only: "nan" and "1e9" are words to float
            ends = [float(end) for end in text.split(" to ") if end.replace(".", "", 1).isdigit()]
        except ValueError:
            ends = []
        if len(ends) != len(text.split(" to ")):
            self._complain(path, "range", f"'{text}' is no number and no range; write 0.5 or 0.4 to 0.8")
            return Span(low, low)
        return self._span(text, path, ends, low, high)

    def _faults(self, files: tuple[FaultFile, ...], path: Path) -> tuple[FaultSpan, ...]:
        seen = set()
        out = []
        for at, each in enumerate(files):
            if (each.fault, each.where) in seen:
                self._complain((*path, at), "twice", f"'{each.fault.value}' stands twice; keep one")
            seen.add((each.fault, each.where))
            grade = self._shares(each.grade, (*path, at, "grade"), 0.0, 1.0)
            out.append(FaultSpan(each.fault, grade, each.where or ""))
        return tuple(out)

    def _weather(self, file: WeatherFile | None) -> WeatherSpan | None:
        if file is None:
            return None
        spans = []
        for key in ("outdoor", "indoor", "indoor_wet_bulb"):
            text, path = getattr(file, key), ("weather", key)
            ends = [self._quantity(end, path, Kind.TEMPERATURE) for end in text.split(" to ")]
            spans.append(self._span(text, path, ends, *AIR_RANGE_K))
        if spans[2].high > spans[1].low:
            self._complain(
                ("weather", "indoor_wet_bulb"), "range", "the wet bulb never lies above the dry bulb"
            )
        return WeatherSpan(*spans)

    def _conclusion(self, file: LessonFile) -> Conclusion | None:
        if file.conclusion is None:
            return None
        given = file.conclusion
        for at, name in enumerate(given.choices):
            if name not in TROUBLES:
                self._complain(
                    ("conclusion", "choices", at), "trouble",
                    f"'{name}' is no trouble; there are: {', '.join(TROUBLES)}",
                )  # fmt: skip
        if len(set(given.choices)) != len(given.choices):
            self._complain(("conclusion", "choices"), "twice", "a choice stands twice; keep one")
        if given.answer is not None and given.answer not in given.choices:
            self._complain(("conclusion", "answer"), "trouble", "the answer is none of the choices")
        return Conclusion(given.ask, given.choices, given.answer)

    def _rubric(self, file: LessonFile) -> Rubric:
        rubric = Rubric(tuple(Weighed(item, file.points[item]) for item in Item if file.points.get(item)))
        if rubric.total != 100:
            self._complain(("points",), "points", f"the points come to {rubric.total}; make them 100")
        return rubric

    def _aim(self, file: ChargeFile | None) -> ChargeAim | None:
        if file is None:
            return None
        path: Path = ("charge", "within")
        if file.by in {ChargeBy.SUPERHEAT, ChargeBy.SUBCOOLING}:
            within = self._quantity(file.within, path, Kind.TEMPERATURE_DIFFERENCE)
        elif file.within.endswith("%"):
            within = self._shares(file.within[:-1].strip(), path, 0.0, 20.0).low / 100
        else:
            self._complain(path, "quantity", f"'{file.within}' is no share of the charge; write 2%")
            return None
        if within <= 0.0:
            self._complain(path, "range", "a tolerance lies above zero")
        return ChargeAim(file.by, within)
