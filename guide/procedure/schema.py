"""The procedure file as pydantic models: the edge where text becomes structure, and the published schema.

Nothing here knows a unit, a channel or a rule of the trade; `guide.procedure.build` gives the text its
meaning and `guide.procedure.checker` judges the writing.
"""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    StringConstraints,
    Tag,
    model_validator,
)

PROOFS: Final = ("confirm", "reading", "wait", "weigh", "adjust", "choose", "sign")
"""The keys that prove a step; each step has exactly one of them."""
FLAGS: Final = frozenset({"hold", "repeat"})
"""The keys whose value is true or false; every other scalar of a procedure is text."""


def _one_line(value: object) -> object:
    return " ".join(value.split()) if isinstance(value, str) else value


def _flag(value: object) -> object:
    # every scalar of the strict reader is text
    return {"true": True, "false": False}.get(value, value) if isinstance(value, str) else value


Text = Annotated[str, BeforeValidator(_one_line), StringConstraints(min_length=1, max_length=1000)]
Short = Annotated[str, BeforeValidator(_one_line), StringConstraints(min_length=1, max_length=100)]
Word = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9-]{0,63}$")]
LocalId = Annotated[str, StringConstraints(pattern=r"^[1-9][0-9]?$")]
StepId = Annotated[str, StringConstraints(pattern=r"^([1-9][0-9]?|A)\.[1-9][0-9]?$")]
Date = Annotated[str, StringConstraints(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
Flag = Annotated[bool, BeforeValidator(_flag, json_schema_input_type=bool)]
Signal = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
Figure = Literal["low_side_design_pressure", "high_side_design_pressure", "recovery_level", "weigh_in_charge"]
OrderEntry = Literal[
    "low_side_design_pressure",
    "high_side_design_pressure",
    "target_subcooling",
    "line_set",
    "recovery_machine",
    "vacuum_pump",
    "detector",
    "nitrogen_regulator",
]
OrderEntries = Annotated[tuple[OrderEntry, ...], Field(max_length=8)]
Needs = Annotated[tuple[Text, ...], Field(max_length=40)]
Sources = Annotated[dict[Word, Text], Field(max_length=60)]


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


def _exactly_one(*keys: str) -> dict[str, Any]:
    return {"oneOf": [{"required": [key]} for key in keys]}


class ConditionFile(_Model):
    """A fact that must, or must not, have one of the named values; all conditions of a list have to hold."""

    model_config = ConfigDict(json_schema_extra=_exactly_one("is", "is_not"))

    fact: Short = Field(description="A fact of the order, or one set by an earlier step.")
    is_: tuple[Short, ...] | None = Field(
        default=None, alias="is", min_length=1, max_length=20, description="The fact has one of these values."
    )
    is_not: tuple[Short, ...] | None = Field(
        default=None, min_length=1, max_length=20, description="The fact has none of these values."
    )

    @model_validator(mode="after")
    def _one_side(self) -> ConditionFile:
        if (self.is_ is None) == (self.is_not is None):
            raise ValueError("a condition needs exactly one of 'is' and 'is_not'")
        return self


Conditions = Annotated[tuple[ConditionFile, ...], Field(min_length=1, max_length=20)]


class ChannelFile(_Model):
    """One value to be read."""

    channel: Short = Field(description="Name of a known channel, such as suction_pressure.")
    ask: Short | None = Field(default=None, description="Words beside the field; else the channel's own.")
    unit: Short | None = Field(default=None, description="Unit in which it is asked; else the channel's own.")
    from_: Short | None = Field(default=None, alias="from", description="Lowest plausible value, with unit.")
    to: Short | None = Field(default=None, description="Highest plausible value, with unit.")
    settled: Short | None = Field(default=None, description="How long it must hold still, such as 60 s.")


Channels = Annotated[tuple[ChannelFile, ...], Field(min_length=1, max_length=12)]


class FigureFile(_Model):
    """A figure that the order gives, in place of one written here."""

    order: Figure = Field(description="Which figure of the order.")


def _text_or_figure(value: object) -> str:
    # decided before validation, so that one fault is told once and not for both forms
    return "figure" if isinstance(value, dict | FigureFile) else "text"


BoundFile = Annotated[
    Annotated[Short, Tag("text")] | Annotated[FigureFile, Tag("figure")], Discriminator(_text_or_figure)
]


class LimitFile(_Model):
    """A bound on one channel of the step, with the place it comes from."""

    model_config = ConfigDict(json_schema_extra=_exactly_one("at_most", "at_least"))

    channel: Short = Field(description="A channel that this step reads.")
    at_most: BoundFile | None = Field(default=None, description="Upper bound, with unit, or from the order.")
    at_least: BoundFile | None = Field(default=None, description="Lower bound, with unit, or from the order.")
    source: Short = Field(description="A key of 'sources', or words that begin with 'common practice'.")

    @model_validator(mode="after")
    def _one_side(self) -> LimitFile:
        if (self.at_most is None) == (self.at_least is None):
            raise ValueError("a limit needs exactly one of 'at_most' and 'at_least'")
        return self


class ChangeFile(_Model):
    """How far a channel may run between the start and the end of a hold."""

    model_config = ConfigDict(json_schema_extra=_exactly_one("rise_at_most", "fall_at_most"))

    channel: Short = Field(description="A channel that this step reads.")
    rise_at_most: Short | None = Field(default=None, description="Largest rise, a difference such as 1 dpsi.")
    fall_at_most: Short | None = Field(default=None, description="Largest fall, a difference such as 1 dpsi.")
    gas_temperature: Short | None = Field(
        default=None, description="A channel of this step; the pressure at the start is carried to it."
    )
    source: Short = Field(description="A key of 'sources', or words that begin with 'common practice'.")

    @model_validator(mode="after")
    def _one_way(self) -> ChangeFile:
        if (self.rise_at_most is None) == (self.fall_at_most is None):
            raise ValueError("a change needs exactly one of 'rise_at_most' and 'fall_at_most'")
        return self


Limits = Annotated[tuple[LimitFile, ...], Field(max_length=12)]
Changes = Annotated[tuple[ChangeFile, ...], Field(max_length=12)]
Answers = Annotated[tuple[Short, ...], Field(max_length=8)]


class ConfirmFile(_Model):
    """Something seen, answered with what was seen."""

    ask: Text = Field(description="The question; it asks for what is seen, not for a yes.")
    accept: Answers = Field(description="Answers that let the work go on.")
    refuse: Answers = Field(default=(), description="Answers that are recorded and keep the step open.")
    if_refused: Text | None = Field(default=None, description="What to do after an answer of 'refuse'.")
    fact: Short | None = Field(default=None, description="The answer becomes this fact for later steps.")


class ReadingFile(_Model):
    """Channels to read and the limits they must meet."""

    channels: Channels = Field(description="The values to be read, in this order.")
    limits: Limits = Field(default=(), description="Bounds the values must keep.")


class WaitFile(_Model):
    """A timed hold with readings at its start and its end."""

    at_least: Short = Field(description="Shortest time, such as 15 min.")
    channels: Annotated[tuple[ChannelFile, ...], Field(max_length=12)] = Field(
        default=(), description="Values read at the start and at the end."
    )
    limits: Limits = Field(default=(), description="Bounds for the values at the end.")
    changes: Changes = Field(default=(), description="How far the values may run from start to end.")


class WeighFile(_Model):
    """Refrigerant in or out by scale."""

    direction: Literal["in", "out"] = Field(description="Into the system, or out of it.")
    target: FigureFile | None = Field(default=None, description="How much there is to move.")
    repeat: Flag = Field(default=False, description="Several weighings, until the person ends them.")


class AdjustFile(_Model):
    """The charging loop."""

    method: Literal["superheat", "subcooling"] = Field(description="The figure that is judged.")
    settle: Short = Field(description="Wait after each move, such as 15 min.")
    tolerance: Short = Field(description="Allowed distance from target, as a difference such as 5 dF.")
    source: Short = Field(description="Where the tolerance comes from: a key of 'sources', or words.")
    channels: Channels = Field(description="The values read in every round.")


class OptionFile(_Model):
    """One way of a branch."""

    key: Word = Field(description="Short name; it becomes the value of the fact.")
    text: Short = Field(description="The way in words.")
    when: Conditions | None = Field(default=None, description="The facts on which it applies; none: always.")


class ChooseFile(_Model):
    """A branch: the first option that applies is offered."""

    ask: Text = Field(description="The question the branch answers.")
    fact: Short = Field(description="The fact that later steps refer to.")
    options: tuple[OptionFile, ...] = Field(
        min_length=2,
        max_length=9,
        description="In the order in which they are tried; the last always applies.",
    )


class SignFile(_Model):
    """A signature."""

    meaning: Text = Field(description="What the signature says, in the first person.")


class StepFile(_Model):
    """One action, the warnings before it, and exactly one proof."""

    model_config = ConfigDict(json_schema_extra=_exactly_one(*PROOFS))

    id: StepId = Field(description='Number of the part, point, number of the step: "4.2"; "A.1" on abort.')
    do: Text = Field(description="One action: a verb in capitals, then its object.")
    why: Text | None = Field(default=None, description="The reason, for the standard and teaching levels.")
    hazards: tuple[Annotated[dict[Signal, Text], Field(min_length=1, max_length=1)], ...] = Field(
        default=(), max_length=10, description="Signal word and text; the worst word first."
    )
    when: Conditions | None = Field(default=None, description="The facts on which the step applies.")
    hold: Flag = Field(default=False, description="Can be neither skipped nor bypassed.")
    confirm: ConfirmFile | None = Field(default=None, description="Proof by something seen.")
    reading: ReadingFile | None = Field(default=None, description="Proof by values read.")
    wait: WaitFile | None = Field(default=None, description="Proof by a timed hold.")
    weigh: WeighFile | None = Field(default=None, description="Proof by scale.")
    adjust: AdjustFile | None = Field(default=None, description="The charging loop.")
    choose: ChooseFile | None = Field(default=None, description="A branch.")
    sign: SignFile | None = Field(default=None, description="A signature.")

    @model_validator(mode="after")
    def _one_proof(self) -> StepFile:
        given = [key for key in PROOFS if getattr(self, key) is not None]
        if len(given) != 1:
            raise ValueError(
                f"a step needs exactly one proof ({', '.join(PROOFS)}); this one has {len(given)}"
            )
        return self


class PartFile(_Model):
    """A phase of the work."""

    id: Word = Field(description="Short name of the part.")
    title: Short = Field(description="Name on the screen and on paper.")
    steps: tuple[StepFile, ...] = Field(min_length=1, max_length=60, description="In the order of the work.")


class UseFile(_Model):
    """A common part, from the file of that name in the folder 'parts' beside the procedure."""

    use: Word = Field(description="Name of the common part.")
    when: Conditions | None = Field(default=None, description="Added to the conditions of every step of it.")


class LocalStepFile(StepFile):
    """A step of a common part, numbered within that part."""

    id: LocalId = Field(description='Number of the step in the part: "2".')


class CommonPartFile(_Model):
    """A part that several procedures use."""

    id: Word = Field(description="Name of the part; the file is called after it.")
    title: Short = Field(description="Name on the screen and on paper.")
    needs: Needs = Field(default=(), description="Added to the tools and materials of the procedure.")
    needs_order: OrderEntries = Field(default=(), description="Added to the entries the order must have.")
    sources: Sources = Field(default={}, description="Added to the sources of the procedure.")
    steps: tuple[LocalStepFile, ...] = Field(
        min_length=1, max_length=60, description="In the order of the work."
    )


class ApprovalFile(_Model):
    """Who stands behind this revision, and since when."""

    date: Date = Field(description="Date of approval, year-month-day.")
    by: Text = Field(description="Who approved it.")


class ProcedureFile(_Model):
    """A procedure for work on a refrigerant system."""

    format: Literal["procedure/1"] = Field(description="Form of this file.")
    id: Word = Field(description="Name of the procedure; the file is called after it.")
    title: Short = Field(description="Title on the screen and on paper.")
    revision: Annotated[str, StringConstraints(pattern=r"^[0-9A-Za-z][0-9A-Za-z.-]{0,15}$")] = Field(
        description="Revision, in quotes."
    )
    status: Literal["approved", "draft"] = Field(description="A draft needs a reason before it is worked.")
    approved: ApprovalFile | None = Field(default=None, description="Required when the status is approved.")
    applies: Conditions = Field(description="Facts of the order on which the procedure may be used at all.")
    needs: Needs = Field(default=(), description="Tools and materials to have at hand before the first step.")
    needs_order: OrderEntries = Field(
        default=(), description="Entries that an order may leave out but this work can't do without."
    )
    sources: Sources = Field(description="Where figures come from; limits refer to these keys.")
    parts: tuple[PartFile, ...] = Field(min_length=1, max_length=20, description="In the order of the work.")
    on_abort: PartFile = Field(description="Steps to a safe state when the job is broken off.")

    @model_validator(mode="after")
    def _approval(self) -> ProcedureFile:
        if (self.status == "approved") != (self.approved is not None):
            raise ValueError("status 'approved' goes with 'approved: {date, by}', and 'draft' without it")
        return self


_DIALECT: Final = {"$schema": "https://json-schema.org/draft/2020-12/schema"}


def json_schema() -> dict[str, Any]:
    """The published JSON Schema of a procedure file as an author writes it, common parts named by 'use'."""
    schema = ProcedureFile.model_json_schema(by_alias=True)
    used = UseFile.model_json_schema(by_alias=True)
    schema["$defs"] |= used.pop("$defs") | {"UseFile": used}
    either = {"oneOf": [{"$ref": "#/$defs/PartFile"}, {"$ref": "#/$defs/UseFile"}]}
    schema["properties"]["parts"]["items"] = either
    schema["properties"]["on_abort"] = {
        "description": schema["properties"]["on_abort"]["description"],
        **either,
    }
    return {**_DIALECT, **_without_null(schema)}


def part_schema() -> dict[str, Any]:
    """The published JSON Schema of a common part's file."""
    return {**_DIALECT, **_without_null(CommonPartFile.model_json_schema(by_alias=True))}


def _without_null(node: Any) -> Any:
    """The schema with optional keys as keys that may be absent: a file never says null."""
    if isinstance(node, list):
        return [_without_null(item) for item in node]
    if not isinstance(node, dict):
        return node
    kept = {
        key: _without_null(value) for key, value in node.items() if not (key == "default" and value is None)
    }
    choices = [choice for choice in kept.get("anyOf", ()) if choice != {"type": "null"}]
    if len(choices) == 1:
        del kept["anyOf"]
        return {**choices[0], **kept}
    return kept
