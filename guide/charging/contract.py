"""The edge of this room: one JSON line of rounds in, one answer out (`chargewright advise`).

Numbers may come as decimal strings or as JSON numbers. Gauge pressures become absolute with the
site pressure. A reading that is no number is the technician's business and is answered with `stop`;
everything else that can't be used is refused in one line.
"""

from __future__ import annotations

import json
import re
from typing import Annotated, Any, NoReturn

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from guide.charging.advice import advise
from guide.charging.meaning import CHANNEL_WORDS
from guide.charging.round import Accuracy, Advice, Appliance, Metering, Round
from guide.errors import ChargewrightError
from guide.refrigerant.catalogue import find
from guide.refrigerant.saturation import curve

MOST_ROUNDS = 1000
MOST_CHARACTERS = 1_000_000
_DIGITS_IN_ANSWER = 6
_NUMBER = re.compile(r"[+-]?(\d{1,30}(\.\d{0,30})?|\.\d{1,30})([eE][+-]?\d{1,4})?", re.ASCII)
_NOT_FINITE = re.compile(r"[+-]?(nan|inf|infinity)", re.ASCII | re.IGNORECASE)
_EXPECTED = 'expected a number with a decimal point, such as "3.20"'


class InputError(ChargewrightError):
    """A line that can't be answered; the message says where it goes wrong and what would do."""


def _number(value: object) -> float:
    """Read a decimal string or a JSON number that is finite."""
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise ValueError(_EXPECTED)  # noqa: TRY004 - pydantic reports a ValueError, a TypeError it lets through
    text = str(value).strip()
    if not _NUMBER.fullmatch(text):
        raise ValueError(_EXPECTED)
    number = float(text)
    if number in (float("inf"), float("-inf")):
        raise ValueError("the number is too large")
    return number


def _reading(value: object) -> float | None:
    """Read a number, let one through that is not finite, and take null for not read."""
    if value is None:
        return None
    if isinstance(value, (str, float)) and not isinstance(value, bool):
        text = str(value).strip()
        if _NOT_FINITE.fullmatch(text) or _NUMBER.fullmatch(text):
            return float(text)
    return _number(value)


def _receiver(value: object) -> object:
    """Take true and false for present and none, null for not known."""
    if value is None:
        return "unknown"
    if isinstance(value, bool):
        return "present" if value else "none"
    return value


def _null_is_unknown(value: object) -> object:
    return "unknown" if value is None else value


Number = Annotated[float, BeforeValidator(_number)]
Reading = Annotated[Annotated[float, Field(allow_inf_nan=True)] | None, BeforeValidator(_reading)]
Words = Annotated[str, Field(max_length=120)]


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class AccuracyIn(_Strict):
    """An instrument's limit: fixed part in the channel's SI unit, parts of the reading and of the span.

    The range (`lowest` to `highest`) is in the unit of its key: gauge where the key ends in `_gauge`.
    """

    fixed: Number
    of_reading: Number = 0.0
    of_span: Number = 0.0
    division: Number = 0.0
    lowest: Number | None = None
    highest: Number | None = None
    insulated: bool | None = None

    def accuracy(self, key: str, site_pressure_Pa: float) -> Accuracy:
        """Return it in SI, its range absolute.

        Raises:
            InputError: for a part of a span that is not given, or insulation where no pipe is read.
        """
        if self.insulated is not None and key != "suction_line_K":
            raise InputError(f"instruments.{key}.insulated: only the suction line's sensor has this key")
        if self.of_span < 0.0 or self.of_span > 1.0:
            raise InputError(f'instruments.{key}.of_span: give a share from 0 to 1, such as "0.02"')
        span = 0.0
        if self.of_span:
            if self.lowest is None or self.highest is None:
                raise InputError(f"instruments.{key}.of_span: give lowest and highest, which make the span")
            span = self.highest - self.lowest
        lift_Pa = site_pressure_Pa if key.endswith("_gauge") else 0.0
        return Accuracy(
            fixed=self.fixed + self.of_span * span,
            of_reading=self.of_reading,
            division=self.division,
            lowest=None if self.lowest is None else self.lowest + lift_Pa,
            highest=None if self.highest is None else self.highest + lift_Pa,
            insulated=self.insulated,
        )


def _accuracy(value: object) -> object:
    return value if isinstance(value, dict) else {"fixed": value}


class RoundIn(_Strict):
    """One round of readings as it stands in the file."""

    net_charged_kg: Annotated[float, BeforeValidator(_reading)]
    minutes_since_change: Annotated[float, BeforeValidator(_reading)]
    suction_pressure_Pa_gauge: Reading = None
    suction_line_K: Reading = None
    liquid_pressure_Pa_gauge: Reading = None
    liquid_line_K: Reading = None
    indoor_db_K: Reading = None
    indoor_wb_K: Reading = None
    supply_db_K: Reading = None
    outdoor_db_K: Reading = None
    discharge_line_K: Reading = None
    condenser_out_db_K: Reading = None
    standing_low_Pa_gauge: Reading = None
    standing_high_Pa_gauge: Reading = None
    standing_ambient_K: Reading = None
    indoor_airflow_share: Reading = None

    def absolute(self, site_pressure_Pa: float) -> Round:
        """Return the round with absolute pressures."""

        def lifted(gauge_Pa: float | None) -> float | None:
            return None if gauge_Pa is None else gauge_Pa + site_pressure_Pa

        return Round(
            net_charged_kg=self.net_charged_kg,
            minutes_since_change=self.minutes_since_change,
            suction_pressure_Pa=lifted(self.suction_pressure_Pa_gauge),
            suction_line_K=self.suction_line_K,
            liquid_pressure_Pa=lifted(self.liquid_pressure_Pa_gauge),
            liquid_line_K=self.liquid_line_K,
            indoor_db_K=self.indoor_db_K,
            indoor_wb_K=self.indoor_wb_K,
            supply_db_K=self.supply_db_K,
            outdoor_db_K=self.outdoor_db_K,
            discharge_line_K=self.discharge_line_K,
            condenser_out_db_K=self.condenser_out_db_K,
            standing_low_Pa=lifted(self.standing_low_Pa_gauge),
            standing_high_Pa=lifted(self.standing_high_Pa_gauge),
            standing_ambient_K=self.standing_ambient_K,
            indoor_airflow_share=self.indoor_airflow_share,
        )


class AdviseIn(_Strict):
    """What `advise` reads."""

    refrigerant: Words
    metering: Annotated[Metering, Field(strict=False)]
    nameplate_charge_kg: Number
    site_pressure_Pa: Number
    rounds: Annotated[list[RoundIn], Field(min_length=1, max_length=MOST_ROUNDS)]
    target_subcooling_K: Number | None = None
    target_superheat_K: Number | None = None
    tolerance_K: Number | None = None
    instruments: Annotated[
        dict[str, Annotated[AccuracyIn, BeforeValidator(_accuracy)]], Field(max_length=16)
    ] = Field(default_factory=dict)
    application: Annotated[Words, BeforeValidator(_null_is_unknown)] = "unitary air conditioner in cooling"
    receiver: Annotated[Words, BeforeValidator(_receiver)] = "none"
    capacity_fixed: bool | None = True
    scale_division_kg: Number | None = None
    settle_minutes: Number | None = None

    def appliance(self) -> Appliance:
        """Return the appliance these lines describe.

        Raises:
            ChargewrightError: for a refrigerant or an instrument channel nobody knows.
        """
        refrigerant = find(self.refrigerant)
        stated: dict[str, Any] = {}
        if self.tolerance_K is not None:
            orifice = self.metering is Metering.FIXED_ORIFICE
            stated["superheat_tolerance_K" if orifice else "subcooling_tolerance_K"] = self.tolerance_K
        if self.scale_division_kg is not None:
            stated["scale_division_kg"] = self.scale_division_kg
        if self.settle_minutes is not None:
            stated["settle_minutes"] = self.settle_minutes
        return Appliance(
            curve=curve(refrigerant.designation),
            safety_group=refrigerant.safety_group,
            metering=self.metering,
            nameplate_charge_kg=self.nameplate_charge_kg,
            site_pressure_Pa=self.site_pressure_Pa,
            target_subcooling_K=self.target_subcooling_K,
            target_superheat_K=self.target_superheat_K,
            application=self.application,
            receiver=self.receiver,
            capacity_fixed=self.capacity_fixed,
            accuracies=self._accuracies(),
            **stated,
        )

    def _accuracies(self) -> dict[str, Accuracy]:
        by_channel = {}
        for name, stated in self.instruments.items():
            channel = name.removesuffix("_gauge")
            if channel not in CHANNEL_WORDS:
                raise InputError(f"instruments: unknown channel; use one of {', '.join(CHANNEL_WORDS)}")
            by_channel[channel] = stated.accuracy(name, self.site_pressure_Pa)
        return by_channel


def read(line: str) -> tuple[Appliance, tuple[Round, ...]]:
    """Read one JSON line.

    Raises:
        ChargewrightError: one line saying what can't be used, where, and what would do.
    """
    if len(line) > MOST_CHARACTERS:
        raise InputError(f"the line is longer than {MOST_CHARACTERS} characters: give fewer rounds")
    try:
        content = json.loads(line, object_pairs_hook=_without_repeats)
    except InputError:
        raise
    except json.JSONDecodeError as error:
        raise InputError(f"this is not JSON (character {error.pos + 1}): give one object a line") from None
    except (ValueError, RecursionError):
        raise InputError(
            "this JSON can't be read: give one object a line, numbers as decimal strings"
        ) from None
    if not isinstance(content, dict):
        raise InputError("this JSON is not an object: give one object a line")
    try:
        given = AdviseIn.model_validate(content)
    except ValidationError as error:
        _refuse(error)
    rounds = tuple(entry.absolute(given.site_pressure_Pa) for entry in given.rounds)
    return given.appliance(), rounds


def answer(line: str) -> dict[str, object]:
    """Return the answer to one JSON line, ready for `json.dumps`.

    Raises:
        ChargewrightError: one line saying what can't be used, where, and what would do.
    """
    appliance, rounds = read(line)
    return written(advise(appliance, rounds))


def written(advice: Advice) -> dict[str, object]:
    """Return advice under the answer's key names: differences [K] as numbers, the amount as "
    "decimal string."""
    meaning = advice.meaning
    return {
        "action": advice.action.value,
        "amount_kg": format(advice.amount_kg.normalize(), "f") if advice.amount_kg > 0 else "0",
        "verdict": meaning.verdict.value,
        "superheat_K": _rounded(meaning.superheat_K),
        "subcooling_K": _rounded(meaning.subcooling_K),
        "target_superheat_K": _rounded(meaning.target_superheat_K),
        "target_subcooling_K": _rounded(meaning.target_subcooling_K),
        "uncertainty_K": _rounded(meaning.uncertainty_K),
        "suspect": advice.suspect,
        "reasons": list(advice.reasons),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, _DIGITS_IN_ANSWER)


def _without_repeats(pairs: list[tuple[str, object]]) -> dict[str, object]:
    content = dict(pairs)
    if len(content) != len(pairs):
        raise InputError("a key stands twice in one object: keep one of them")
    return content


def _refuse(error: ValidationError) -> NoReturn:
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    where = ".".join(_shown(part) for part in first["loc"]) or "the line"
    kind = first["type"]
    if kind == "extra_forbidden":
        what = "unknown key; leave it out or check its spelling"
    elif kind == "missing":
        what = "missing; it must be given"
    elif kind == "enum":
        what = f"unknown; use one of {', '.join(Metering)}"
    else:
        what = first["msg"].removeprefix("Value error, ")
    raise InputError(f"{where}: {what}")


def _shown(part: str | int) -> str:
    text = str(part)
    return text if len(text) <= 40 and text.isprintable() else "(a key that can't be shown)"
