"""What program and rig say to each other: one JSON object a line, each way.

The program sends one `Command` and gets one `Answer`, in order. Lines are bounded; what has another form is
refused with words. Readings do not pass here: they go the way all readings go, as a stream of lines.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Annotated, Any, Final, Literal, Protocol

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from guide.errors import ChargewrightError
from guide.job.seed import HIGHEST_SEED
from guide.journal.event import Stamp
from guide.rig.acts import Act, Handling
from guide.rig.faults import Fault, Graded
from guide.rig.happenings import Happening, Kind
from guide.rig.retrace import LONGEST_RUN_S, Done

LONGEST_LINE_BYTES: Final = 4 << 20
"""Of one command or answer: a whole run to be done again fits in (PROPOSED)."""
MOST_ACTS: Final = 20_000
"""Acts of one run (PROPOSED); a careful run has some hundred."""
MOST_FAULTS: Final = 20

Seconds = Annotated[float, Field(ge=0.0, le=LONGEST_RUN_S, allow_inf_nan=False)]
Kelvin = Annotated[float, Field(gt=180.0, lt=380.0, allow_inf_nan=False)]
Text = Annotated[str, Field(max_length=200)]


class BadMessage(ChargewrightError):
    """A line that is no command or no answer: why."""


class Air(Protocol):
    """The air at a unit [K], whoever drew it."""

    @property
    def outdoor_K(self) -> float:
        """Outdoors."""

    @property
    def indoor_db_K(self) -> float:
        """Return air, dry bulb."""

    @property
    def indoor_wb_K(self) -> float:
        """Return air, wet bulb."""


class _Message(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class GivenAct(_Message):
    """One act at a time [s since the opening]."""

    t: Seconds
    act: Act
    at: Text = ""
    amount: Annotated[float, Field(allow_inf_nan=False)] | None = None

    @classmethod
    def of(cls, t_s: float, handling: Handling) -> GivenAct:
        """An act as it is sent."""
        return cls(t=t_s, act=handling.act, at=handling.at, amount=handling.amount)

    @property
    def handling(self) -> Handling:
        """What the hands do."""
        return Handling(self.act, self.at, self.amount)


class GivenFault(_Message):
    """One graded fault."""

    fault: Fault
    grade: Annotated[float, Field(ge=0.0, le=1.0)]
    where: Text = ""

    @classmethod
    def of(cls, graded: Graded) -> GivenFault:
        """A fault as it is sent."""
        return cls(fault=graded.fault, grade=graded.grade, where=graded.where)

    @property
    def graded(self) -> Graded:
        """The fault."""
        return Graded(self.fault, self.grade, self.where)


class GivenWeather(_Message):
    """The air outdoors and indoors [K]."""

    outdoor_K: Kelvin
    indoor_db_K: Kelvin
    indoor_wb_K: Kelvin


class Begin(_Message):
    """Set the unit of an order up, as a seed and its troubles make it; the first command."""

    command: Literal["begin"] = "begin"
    order: Annotated[str, Field(min_length=1, max_length=1 << 20)]
    """The text of the order."""
    seed: Annotated[int, Field(ge=0, le=HIGHEST_SEED)]
    start_fraction: Annotated[float, Field(ge=0.0, le=3.0)] | None = None
    """Of the right charge; drawn by the seed where it is absent, as is the weather."""
    faults: Annotated[tuple[GivenFault, ...], Field(max_length=MOST_FAULTS)] = ()
    weather: GivenWeather | None = None
    utc: Annotated[str, Field(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z$")]
    """When the job was opened, as its stamp has it; readings are stamped by it."""


class To(_Message):
    """Let time pass until `t` [s since the opening]."""

    command: Literal["to"] = "to"
    t: Seconds


class Do(_Message):
    """Let time pass until the act's time, then do it."""

    command: Literal["do"] = "do"
    act: GivenAct


class Retrace(_Message):
    """Begin anew and do all this again; then let time pass until `t`."""

    command: Literal["retrace"] = "retrace"
    acts: Annotated[tuple[GivenAct, ...], Field(max_length=MOST_ACTS)]
    t: Seconds


class Ask(_Message):
    """Ask for something that is so now; `channel` goes with "reading", and with "saturation" low or high."""

    command: Literal["ask"] = "ask"
    what: Literal["hookup", "possible", "truth", "happenings", "reading", "saturation", "cycles"]
    channel: Text = ""


Command = Begin | To | Do | Retrace | Ask


_COMMANDS: Final[TypeAdapter[Command]] = TypeAdapter(Annotated[Command, Field(discriminator="command")])


class GivenHappening(_Message):
    """One thing that happened."""

    kind: Kind
    at_s: float
    amount: float | None = None
    where: Text = ""

    @classmethod
    def of(cls, happening: Happening) -> GivenHappening:
        """A happening as it is sent."""
        return cls(kind=happening.kind, at_s=happening.at_s, amount=happening.amount, where=happening.where)

    @property
    def happening(self) -> Happening:
        """The happening."""
        return Happening(self.kind, self.at_s, self.amount, self.where)


class Reply(_Message):
    """The answer to one command: the rig's time, what was asked for or why not, and what happened since."""

    model_config = ConfigDict(frozen=True, extra="forbid", ser_json_inf_nan="constants")
    t: float
    ok: Any = None
    error: Annotated[str, Field(max_length=2000)] = ""
    happened: tuple[GivenHappening, ...] = ()


def begin(
    order: str, *, opened: Stamp, seed: int, start_fraction: float | None = None,
    faults: Iterable[Graded] = (), weather: Air | None = None,
) -> Begin:  # fmt: skip
    """The first command, from the text of an order and what a lesson drew for it.

    Raises:
        BadMessage: a figure lies outside what is sent.
    """
    air = weather and GivenWeather(
        outdoor_K=weather.outdoor_K, indoor_db_K=weather.indoor_db_K, indoor_wb_K=weather.indoor_wb_K
    )
    try:
        return Begin(
            order=order, seed=seed, start_fraction=start_fraction,
            faults=tuple(GivenFault.of(each) for each in faults), weather=air, utc=opened.utc,
        )  # fmt: skip
    except ValidationError as error:
        raise BadMessage(f"the simulated unit can't be set up: {_first(error)}") from error


def read_command(line: bytes) -> Command:
    """The command in a line.

    Raises:
        BadMessage: it is none; the message says where.
    """
    _short_enough(line)
    try:
        return _COMMANDS.validate_json(line)
    except ValidationError as error:
        raise BadMessage(f"{_first(error)}; send a command as guide.rig.wire has it") from error


def read_reply(line: bytes) -> Reply:
    """The answer in a line.

    Raises:
        BadMessage: it is none; the message says where.
    """
    _short_enough(line)
    try:
        return Reply.model_validate_json(line)
    except ValidationError as error:
        raise BadMessage(_first(error)) from error


def written(message: _Message) -> bytes:
    """A message as a line, its end included."""
    return message.model_dump_json().encode() + b"\n"


def values(thing: object) -> Any:
    """Frozen data as the plain values of JSON: fields by name, sets sorted, members as their values."""
    match thing:
        case Enum():
            return thing.value
        case None | bool() | int() | float() | str():
            return thing
        case Mapping():
            return {str(key): values(each) for key, each in thing.items()}
        case frozenset() | set():
            return sorted(values(each) for each in thing)
        case tuple() | list():
            return [values(each) for each in thing]
        case _ if is_dataclass(thing):
            return {field.name: values(getattr(thing, field.name)) for field in fields(thing)}
        case _:
            raise BadMessage(f"a {type(thing).__name__} is nothing that can be sent")


def acts_to_send(acts: tuple[Done, ...]) -> tuple[GivenAct, ...]:
    """The acts of a run as they are sent."""
    return tuple(GivenAct.of(done.t_s, done.handling) for done in acts)


def _short_enough(line: bytes) -> None:
    if len(line) > LONGEST_LINE_BYTES:
        raise BadMessage(f"a line longer than {LONGEST_LINE_BYTES} bytes; send less at once")


def _first(error: ValidationError) -> str:
    found = error.errors(include_url=False, include_input=False)[0]
    where = ".".join(str(part)[:40] for part in found["loc"]) or "the line"
    return f"{where}: {found['msg'][:160]}"
