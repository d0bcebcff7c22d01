"""The procedure file as pydantic models: the edge where text becomes structure, and the published schemas.

Nothing here knows a unit, a channel or a rule of the trade; `guide.procedure.build` gives the text its
meaning and `guide.procedure.checker` judges the writing.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, StringConstraints, model_validator

from guide.procedure.published import published
from guide.procedure.step_file import Conditions, FileModel, Short, StepFile, Text, Word

LocalId = Annotated[str, StringConstraints(pattern=r"^[1-9][0-9]?$")]
Date = Annotated[str, StringConstraints(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
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


class PartFile(FileModel):
    """A phase of the work."""

    id: Word = Field(description="Short name of the part.")
    title: Short = Field(description="Name on the screen and on paper.")
    steps: tuple[StepFile, ...] = Field(min_length=1, max_length=60, description="In the order of the work.")


class UseFile(FileModel):
    """A common part, from the file of that name in the folder 'parts' beside the procedure."""

    use: Word = Field(description="Name of the common part.")
    when: Conditions | None = Field(default=None, description="Added to the conditions of every step of it.")


class LocalStepFile(StepFile):
    """A step of a common part, numbered within that part."""

    id: LocalId = Field(description='Number of the step in the part: "2".')


class CommonPartFile(FileModel):
    """A part that several procedures use."""

    id: Word = Field(description="Name of the part; the file is called after it.")
    title: Short = Field(description="Name on the screen and on paper.")
    needs: Needs = Field(default=(), description="Added to the tools and materials of the procedure.")
    needs_order: OrderEntries = Field(default=(), description="Added to the entries the order must have.")
    sources: Sources = Field(default={}, description="Added to the sources of the procedure.")
    steps: tuple[LocalStepFile, ...] = Field(
        min_length=1, max_length=60, description="In the order of the work."
    )


class ApprovalFile(FileModel):
    """Who stands behind this revision, and since when."""

    date: Date = Field(description="Date of approval, year-month-day.")
    by: Text = Field(description="Who approved it.")


class ProcedureFile(FileModel):
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
    return published(schema)


def part_schema() -> dict[str, Any]:
    """The published JSON Schema of a common part's file."""
    return published(CommonPartFile.model_json_schema(by_alias=True))
