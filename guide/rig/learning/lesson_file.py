"""The lesson file as pydantic models: the edge where text becomes structure, and the published schema.

Nothing here knows a unit or a step; `guide.rig.learning.lesson_build` gives the text its meaning and
`guide.rig.learning.lesson_rules` holds it against the order and the procedure.
"""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, StringConstraints, model_validator

from guide.procedure.published import published
from guide.procedure.step_file import FileModel, Flag, Short, StepId, Text, Word
from guide.rig.faults import Fault
from guide.rig.learning.lesson import ChargeBy, Computed, Help, Item

QUESTIONS: Final = 5
"""What was to be, what happened, why, what told it first, what next time."""


def _whole(value: object) -> object:
    # every scalar of the strict reader is text
    return int(value) if isinstance(value, str) and value.isascii() and value.isdigit() else value


_RangeText = Annotated[str, StringConstraints(pattern=r"^[^ ]+( to [^ ]+)?$", max_length=60)]
# a plain number is text to the strict reader, and a number to an editor that goes by the schema
SpanText = Annotated[
    _RangeText, BeforeValidator(lambda value: value, json_schema_input_type=float | _RangeText)
]
Points = Annotated[int, BeforeValidator(_whole, json_schema_input_type=int), Field(ge=0, le=100)]
Count = Annotated[int, BeforeValidator(_whole, json_schema_input_type=int), Field(ge=0, le=5)]
Place = Annotated[int, BeforeValidator(_whole, json_schema_input_type=int), Field(ge=1, le=999)]
FileName = Annotated[
    str, StringConstraints(pattern=r"^(orders/)?[a-z0-9][a-z0-9-]{0,60}\.yaml$", max_length=80)
]
OrderHere = Annotated[str, StringConstraints(min_length=1, max_length=10_000)]
Objectives = Annotated[tuple["ObjectiveFile", ...], Field(min_length=3, max_length=5)]


class ObjectiveFile(FileModel):
    """One thing the trainee can do afterwards."""

    text: Short = Field(description='Begins with "you can".')
    steps: tuple[StepId, ...] = Field(min_length=1, max_length=20, description="Where in the procedure.")
    skill: Short = Field(description="The skill it is part of; a trainer signs skills off.")


class FaultFile(FileModel):
    """A fault of the unit, of an instrument or of the day."""

    fault: Fault = Field(description="Its name.")
    grade: SpanText = Field(description="How strong, 0 to 1: 0.5, or a range to draw from: 0.4 to 0.8.")
    where: Short | None = Field(default=None, description="low or high, or a channel, where it has a place.")


class DrawFile(FileModel):
    """Faults of which the seed draws some."""

    count: Count = Field(description="How many of them.")
    from_: tuple[FaultFile, ...] = Field(alias="from", min_length=1, max_length=20, description="Of these.")


class WeatherFile(FileModel):
    """The air, each fixed or a range to draw from."""

    outdoor: SpanText = Field(description="Outdoor air: 95F, or 85F to 100F.")
    indoor: SpanText = Field(description="Return air, dry bulb.")
    indoor_wet_bulb: SpanText = Field(description="Return air, wet bulb.")


class PartsFile(FileModel):
    """The parts of the procedure that count."""

    first: Word = Field(description="What comes before this part is worked for the trainee.")
    last: Word = Field(description="The lesson ends when this part is complete.")


class ConclusionFile(FileModel):
    """The question at the end: what it was."""

    ask: Text = Field(description="The question.")
    choices: tuple[Short, ...] = Field(min_length=3, max_length=10, description="Names of troubles.")
    answer: Short | None = Field(default=None, description="The truth, where it is not what the seed drew.")


class ChargeFile(FileModel):
    """Where the charge has to end."""

    by: ChargeBy = Field(description="By what it is judged; untouched: none was to be moved.")
    within: Short = Field(description="5dF for superheat and subcooling, 2% of the right charge otherwise.")


class HintFile(FileModel):
    """Three hints of one step."""

    pointer: Text = Field(description="Where to look.")
    rule: Text = Field(description="The rule behind it.")
    answer: Text = Field(description="What to do.")


class QuestionFile(FileModel):
    """One question of the debrief."""

    ask: Text = Field(description="The question.")
    choices: tuple[Short, ...] = Field(
        default=(), max_length=6, description="Answers to pick; none: one line."
    )
    answer: Text | None = Field(default=None, description="The model answer.")
    computed: Computed | None = Field(default=None, description="The model answer, taken from the run.")

    @model_validator(mode="after")
    def _some_answer(self) -> QuestionFile:
        if self.answer is None and self.computed is None:
            raise ValueError("a question needs 'answer', 'computed', or both")
        return self


class LessonFile(FileModel):
    """A lesson on the simulated system."""

    model_config = FileModel.model_config | {
        "json_schema_extra": {"oneOf": [{"required": ["order"]}, {"required": ["order_here"]}]}
    }

    format: Literal["lesson/1"] = Field(description="Form of this file.")
    id: Word = Field(description="Name of the lesson; the file is called after it.")
    title: Short = Field(description="Title on the screen.")
    summary: Text = Field(description="What it is about, in a sentence or two.")
    place: Place | None = Field(
        default=None, description="Its place from the first lesson to learn to the last; none: behind them."
    )
    objectives: Objectives = Field(description="What the trainee can do afterwards.")
    order: FileName | None = Field(default=None, description="A practice order's file, beside this one.")
    order_here: OrderHere | None = Field(default=None, description="The practice order itself, as text.")
    start: SpanText = Field(description="Share of the right charge at the start: 0.9, or 0.8 to 0.9.")
    faults: tuple[FaultFile, ...] = Field(default=(), max_length=8, description="Those always there.")
    draw: DrawFile | None = Field(default=None, description="Those that the seed draws.")
    weather: WeatherFile | None = Field(default=None, description="The air; none: that of the rating.")
    parts: PartsFile | None = Field(default=None, description="The parts that count; none: all.")
    conclusion: ConclusionFile | None = Field(default=None, description="What the trouble was.")
    charge: ChargeFile | None = Field(default=None, description="Where the charge has to end.")
    help: tuple[Help, ...] = Field(min_length=1, max_length=4, description="Levels of help, most first.")
    points: dict[Item, Points] = Field(description="What counts, 100 points in all.")
    hints: dict[StepId, HintFile] = Field(default={}, description="Hints step by step.")
    debrief: tuple[QuestionFile, ...] = Field(
        min_length=QUESTIONS, max_length=QUESTIONS, description="Exactly five questions after the run."
    )
    time_limit: Short | None = Field(default=None, description="Simulated time, such as 120 min.")
    minimum: Points = Field(description="Points from which a run with full safety is passed.")
    unavoidable_loss: Short = Field(default="10 g", description="Refrigerant that good work loses, too.")

    breaks_off: Flag = Field(default=False, description="Breaking the job off is a right end of it.")

    @model_validator(mode="after")
    def _one_order(self) -> LessonFile:
        if (self.order is None) == (self.order_here is None):
            raise ValueError("a lesson needs exactly one of 'order' and 'order_here'")
        return self


def json_schema() -> dict[str, Any]:
    """The published JSON Schema of a lesson file."""
    return published(LessonFile.model_json_schema(by_alias=True))
