"""The edge of this room: one JSON line of rounds in, one answer out (`chargewright advise`).

A reading that is no number is the technician's business and is answered with `stop`; everything else
that can't be used is refused in one line. Where a round has relative humidity or dew point in the place
of the wet bulb, the wet bulb is worked out, and `reasons` ends with saying so.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import NoReturn

from pydantic import ValidationError

from guide.charging.advice import advise
from guide.charging.contract_form import MOST_ROUNDS as MOST_ROUNDS  # noqa: PLC0414 - part of the contract
from guide.charging.contract_form import AdviseIn, InputError, RoundIn
from guide.charging.refusal import FigureError
from guide.charging.round import Accuracy, Advice, Appliance, Metering, Round
from guide.charging.uncertainty import limit_of
from guide.charging.wet_bulb import (
    DEW_POINT_LIMIT_K,
    HUMIDITY_LIMIT,
    WetBulb,
    wet_bulb_by_dew_point,
    wet_bulb_by_relative_humidity,
)

MOST_CHARACTERS = 1_000_000
_DIGITS_IN_ANSWER = 6


def read(line: str) -> tuple[Appliance, tuple[Round, ...]]:
    """Read one JSON line.

    Raises:
        ChargewrightError: one line saying what can't be used, where, and what would do.
    """
    appliance, rounds, _ = _read(line)
    return appliance, rounds


def _read(line: str) -> tuple[Appliance, tuple[Round, ...], tuple[str, ...]]:
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
    return _with_wet_bulbs(given, given.appliance())


def _with_wet_bulbs(
    given: AdviseIn, appliance: Appliance
) -> tuple[Appliance, tuple[Round, ...], tuple[str, ...]]:
    """Put derived wet bulbs in the rounds that have none; the last one's limit counts, and is told of."""
    rounds = [entry.absolute(given.site_pressure_Pa) for entry in given.rounds]
    said: str | None = None
    for place, entry in enumerate(given.rounds):
        said = None
        try:
            found = _wet_bulb(entry, given, appliance)
        except FigureError as error:
            said = f"No indoor wet bulb can be worked out: {error}."
            continue
        if found is not None:
            said = found.said
            rounds[place] = replace(rounds[place], indoor_wb_K=found.value_K)
            if entry is given.rounds[-1]:
                accuracies = {**appliance.accuracies, "indoor_wb_K": Accuracy(fixed=found.limit_K)}
                appliance = replace(appliance, accuracies=accuracies)
    return appliance, tuple(rounds), () if said is None else (said,)


def _wet_bulb(entry: RoundIn, given: AdviseIn, appliance: Appliance) -> WetBulb | None:
    db_K, humidity, dew_K = entry.indoor_db_K, entry.indoor_relative_humidity, entry.indoor_dew_point_K
    if entry.indoor_wb_K is not None or db_K is None or (humidity is None and dew_K is None):
        return None
    limit_K = limit_of("indoor_db_K", db_K, appliance.accuracies)
    if humidity is not None:
        stated = given.instruments.get("indoor_relative_humidity")
        return wet_bulb_by_relative_humidity(
            db_K,
            humidity,
            given.site_pressure_Pa,
            dry_bulb_limit_K=limit_K,
            humidity_limit=HUMIDITY_LIMIT if stated is None else stated.limit(humidity),
        )
    assert dew_K is not None
    stated = given.instruments.get("indoor_dew_point_K")
    return wet_bulb_by_dew_point(
        db_K,
        dew_K,
        given.site_pressure_Pa,
        dry_bulb_limit_K=limit_K,
        dew_point_limit_K=DEW_POINT_LIMIT_K if stated is None else stated.limit(dew_K),
    )


def answer(line: str) -> dict[str, object]:
    """Return the answer to one JSON line, ready for `json.dumps`.

    Raises:
        ChargewrightError: one line saying what can't be used, where, and what would do.
    """
    appliance, rounds, said = _read(line)
    answered = advise(appliance, rounds)
    return written(replace(answered, reasons=(*answered.reasons, *said)))


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
