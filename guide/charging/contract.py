"""The edge of this room: one JSON line of rounds in, one answer out (`chargewright advise`).

A reading that is no number is the technician's business and is answered with `stop`; everything else
that can't be used is refused in one line. Where a round has relative humidity or dew point in the place
of the wet bulb, the wet bulb is worked out; where it has the airflow, what the air gives up is told:
`reasons` ends with saying so.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import NoReturn

from pydantic import ValidationError

from guide.charging.advice import advise
from guide.charging.contract_air import air_side, with_air
from guide.charging.contract_form import MOST_ROUNDS as MOST_ROUNDS  # noqa: PLC0414 - part of the contract
from guide.charging.contract_form import AdviseIn, InputError
from guide.charging.round import Advice, Appliance, Metering, Round

MOST_CHARACTERS = 1_000_000
_DIGITS_IN_ANSWER = 6


def read(line: str) -> tuple[Appliance, tuple[Round, ...]]:
    """Read one JSON line.

    Raises:
        ChargewrightError: one line saying what can't be used, where, and what would do.
    """
    _, appliance, rounds, _ = _read(line)
    return appliance, rounds


def _read(line: str) -> tuple[AdviseIn, Appliance, tuple[Round, ...], tuple[str, ...]]:
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
    return given, *with_air(given, given.appliance())


def answer(line: str) -> dict[str, object]:
    """Return the answer to one JSON line, ready for `json.dumps`.

    Raises:
        ChargewrightError: one line saying what can't be used, where, and what would do.
    """
    given, appliance, rounds, said = _read(line)
    answered = advise(appliance, rounds)
    air = air_side(given, appliance, rounds[-1], answered.meaning.verdict)
    return written(replace(answered, reasons=(*answered.reasons, *said, *air)))


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
