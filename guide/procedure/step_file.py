"""A step of a procedure file as pydantic models: its action, its warnings, its conditions, its proof."""

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
StepId = Annotated[str, StringConstraints(pattern=r"^([1-9][0-9]?|A)\.[1-9][0-9]?$")]
Flag = Annotated[bool, BeforeValidator(_flag, json_schema_input_type=bool)]
Signal = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
Figure = Literal["low_side_design_pressure", "high_side_design_pressure", "recovery_level", "weigh_in_charge"]


class FileModel(BaseModel):
    """What every piece of a file is: frozen, with no key but its own."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def _exactly_one(*keys: str) -> dict[str, Any]:
    return {"oneOf": [{"required": [key]} for key in keys]}


class ConditionFile(FileModel):
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


class ChannelFile(FileModel):
    """One value to be read."""

    channel: Short = Field(description="Name of a known channel, such as suction_pressure.")
    ask: Short | None = Field(default=None, description="Words beside the field; else the channel's own.")
    unit: Short | None = Field(default=None, description="Unit in which it is asked; else the channel's own.")
    from_: Short | None = Field(default=None, alias="from", description="Lowest plausible value, with unit.")
    to: Short | None = Field(default=None, description="Highest plausible value, with unit.")
    settled: Short | None = Field(default=None, description="How long it must hold still, such as 60 s.")


Channels = Annotated[tuple[ChannelFile, ...], Field(min_length=1, max_length=12)]


class FigureFile(FileModel):
    """A figure that the order gives, in place of one written here."""

    order: Figure = Field(description="Which figure of the order.")


def _text_or_figure(value: object) -> str:
    # decided before validation, so that one fault is told once and not for both forms
    return "figure" if isinstance(value, dict | FigureFile) else "text"


BoundFile = Annotated[
    Annotated[Short, Tag("text")] | Annotated[FigureFile, Tag("figure")], Discriminator(_text_or_figure)
]


class LimitFile(FileModel):
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


class ChangeFile(FileModel):
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


class ConfirmFile(FileModel):
    """Something seen, answered with what was seen."""

    ask: Text = Field(description="The question; it asks for what is seen, not for a yes.")
    accept: Answers = Field(description="Answers that let the work go on.")
    refuse: Answers = Field(default=(), description="Answers that are recorded and keep the step open.")
    if_refused: Text | None = Field(default=None, description="What to do after an answer of 'refuse'.")
    fact: Short | None = Field(default=None, description="The answer becomes this fact for later steps.")


class ReadingFile(FileModel):
    """Channels to read and the limits they must meet."""

    channels: Channels = Field(description="The values to be read, in this order.")
    limits: Limits = Field(default=(), description="Bounds the values must keep.")


class WaitFile(FileModel):
    """A timed hold with readings at its start and its end."""

    at_least: Short = Field(description="Shortest time, such as 15 min.")
    channels: Annotated[tuple[ChannelFile, ...], Field(max_length=12)] = Field(
        default=(), description="Values read at the start and at the end."
    )
    limits: Limits = Field(default=(), description="Bounds for the values at the end.")
    changes: Changes = Field(default=(), description="How far the values may run from start to end.")


class WeighFile(FileModel):
    """Refrigerant in or out by scale."""

    direction: Literal["in", "out"] = Field(description="Into the system, or out of it.")
    target: FigureFile | None = Field(default=None, description="How much there is to move.")
    repeat: Flag = Field(default=False, description="Several weighings, until the person ends them.")


class AdjustFile(FileModel):
    """The charging loop."""

    method: Literal["superheat", "subcooling"] = Field(description="The figure that is judged.")
    settle: Short = Field(description="Wait after each move, such as 15 min.")
    tolerance: Short = Field(description="Allowed distance from target, as a difference such as 5 dF.")
    source: Short = Field(description="Where the tolerance comes from: a key of 'sources', or words.")
    channels: Channels = Field(description="The values read in every round.")


class OptionFile(FileModel):
    """One way of a branch."""

    key: Word = Field(description="Short name; it becomes the value of the fact.")
    text: Short = Field(description="The way in words.")
    when: Conditions | None = Field(default=None, description="The facts on which it applies; none: always.")


class ChooseFile(FileModel):
    """A branch: the first option that applies is offered."""

    ask: Text = Field(description="The question the branch answers.")
    fact: Short = Field(description="The fact that later steps refer to.")
    options: tuple[OptionFile, ...] = Field(
        min_length=2,
        max_length=9,
        description="In the order in which they are tried; the last always applies.",
    )


class SignFile(FileModel):
    """A signature."""

    meaning: Text = Field(description="What the signature says, in the first person.")


class StepFile(FileModel):
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
