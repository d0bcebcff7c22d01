"""The file form of a saturation curve, read strictly: it may come from a stranger's record.

JSON with every number as decimal text, so that the canonical bytes, and with them the hash, are the same
whoever writes them. Bridged patches are pressures at which the property library did not solve by itself when
the curve was made; there the values were reached by following the curve from a neighbouring solution. They
were found on a grid of pressures (`fit.py`): a single pressure between its points may be missing among them.
"""

import hashlib
import json
import math
import re
from collections.abc import Mapping
from itertools import pairwise
from typing import Final

from guide.errors import ChargewrightError
from guide.refrigerant.curve import Branch, Curve
from guide.refrigerant.piecewise import Piecewise

FORMAT: Final = "chargewright-curve-1"

_LARGEST_FILE: Final = 100_000
_MOST_ROWS: Final = 64
_MOST_COEFFICIENTS: Final = 24
_LARGEST_NUMBER: Final = 1e12
_NARROWEST_PIECE: Final = 1e-6
_NUMBER: Final = re.compile(r"-?[0-9]{1,18}(?:\.[0-9]{1,25})?(?:e[+-]?[0-9]{1,2})?")
_SIDES: Final = ("bubble", "dew")
_NUMBERS: Final = ("lowest_pressure_Pa", "highest_pressure_Pa", "critical_pressure_Pa", "largest_error_K")
_TEXTS: Final = ("format", "designation", "version", "sha256")


class BadCurve(ChargewrightError):
    """Bytes that are no sound saturation curve."""


def content_sha256(content: Mapping[str, object]) -> str:
    """SHA-256 (lower-case hex) of a curve's content without its own `sha256`, as canonical JSON.

    The content holds only text, lists, objects, true and false: sorted keys without blanks are RFC 8785.
    """
    bare = {key: value for key, value in content.items() if key != "sha256"}
    text = json.dumps(bare, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def read_curve(data: bytes) -> Curve:
    """Read a curve file strictly: form, hash, and that the numbers are a sound pair of curves.

    Raises:
        BadCurve: anything is wrong; the message says what.
    """
    content = _object(_json(data), "curve", {*_TEXTS, *_NUMBERS, *_SIDES, "estimated", "generator"})
    texts = {name: _text(content[name], name) for name in _TEXTS}
    if texts["format"] != FORMAT:
        raise BadCurve(f"curve: format is not {FORMAT}; read it with the program version that wrote it")
    low, high, critical, _ = (_number(content[name], name) for name in _NUMBERS)
    generator = _object(content["generator"], "generator", {"program", "library", "model"})
    library, model, _ = (_text(generator[name], name) for name in ("library", "model", "program"))
    bubble, dew = (_branch(content[side], side) for side in _SIDES)
    estimated = content["estimated"]
    if not isinstance(estimated, bool):
        raise BadCurve("curve: estimated is neither true nor false; take it from an unchanged source")
    where = f"curve of {texts['designation']}"
    if content_sha256(content) != texts["sha256"]:
        raise BadCurve(f"{where}: content does not match its hash; take it from an unchanged source")
    if not 0 < low < high < critical:
        raise BadCurve(f"{where}: pressure range is not rising below the critical pressure")
    ends = [branch.temperature_K_of_ln_pressure.breaks for branch in (bubble, dew)]
    if any(abs(end[0] - math.log(low)) > 1e-9 or abs(end[-1] - math.log(high)) > 1e-9 for end in ends):
        raise BadCurve(f"{where}: the pieces do not span the pressure range it states")
    both = [branch.ln_pressure_of_temperature_K.breaks for branch in (bubble, dew)]
    read = Curve(
        designation=texts["designation"],
        version=texts["version"],
        sha256=texts["sha256"],
        estimated=estimated,
        source=bytes(data),
        library=library,
        model=model,
        lowest_pressure_Pa=low,
        highest_pressure_Pa=high,
        critical_pressure_Pa=critical,
        lowest_temperature_K=max(end[0] for end in both),
        highest_temperature_K=min(end[-1] for end in both),
        bubble=bubble,
        dew=dew,
    )
    _demand_sound(read)
    return read


def _demand_sound(read: Curve) -> None:
    """Rising, dew not below bubble, and the way back leads back: checked on a grid, so it is quick."""
    steps = 60
    ratio = math.log(read.highest_pressure_Pa / read.lowest_pressure_Pa) / steps
    pressures = [read.lowest_pressure_Pa * math.exp(ratio * i) for i in range(steps + 1)]
    for side, branch in (("bubble", read.bubble), ("dew", read.dew)):
        forward, back = branch.temperature_K_of_ln_pressure, branch.ln_pressure_of_temperature_K
        temperatures = [forward(math.log(p)) for p in pressures]
        if not all(0 < low < high < 1000 for low, high in pairwise(temperatures)):
            raise BadCurve(f"curve of {read.designation}: {side} temperature does not rise with pressure")
        if not all(abs(forward(back(t)) - t) < 1e-5 for t in temperatures):
            raise BadCurve(
                f"curve of {read.designation}: {side} pressure and temperature contradict each other"
            )
    if not all(read.glide_K(p) >= -1e-9 for p in pressures):
        raise BadCurve(f"curve of {read.designation}: dew temperature below bubble temperature")


def _branch(value: object, side: str) -> Branch:
    forward, back = "temperature_K_of_ln_pressure", "ln_pressure_of_temperature_K"
    fields = _object(value, side, {forward, back, "bridged_Pa"})
    patches = []
    for row in _list(fields["bridged_Pa"], f"{side} bridged_Pa", _MOST_ROWS):
        ends = [_number(item, "bridged_Pa") for item in _list(row, "bridged_Pa", 2)]
        if len(ends) != 2 or not 0 < ends[0] <= ends[1]:
            raise BadCurve(f"curve: {side}: a bridged patch is not a pair of rising pressures")
        patches.append((ends[0], ends[1]))
    return Branch(
        _piecewise(fields[forward], f"{side} {forward}"),
        _piecewise(fields[back], f"{side} {back}"),
        tuple(patches),
    )


def _piecewise(value: object, name: str) -> Piecewise:
    fields = _object(value, name, {"breaks", "series"})
    breaks = [_number(item, name) for item in _list(fields["breaks"], name, _MOST_ROWS + 1)]
    series = [
        [_number(item, name) for item in _list(row, name, _MOST_COEFFICIENTS)]
        for row in _list(fields["series"], name, _MOST_ROWS)
    ]
    if not series or not all(series) or len(breaks) != len(series) + 1:
        raise BadCurve(f"curve: {name}: the breaks do not fit the series")
    if not all(high - low >= _NARROWEST_PIECE for low, high in pairwise(breaks)):
        raise BadCurve(f"curve: {name}: the breaks do not rise")
    return Piecewise.of(breaks, series)


def _json(data: bytes) -> object:
    if len(data) > _LARGEST_FILE:
        raise BadCurve(f"curve: larger than {_LARGEST_FILE} bytes; this is no curve file")
    try:
        content: object = json.loads(data.decode("utf-8"), object_pairs_hook=_without_repeats)
    except (ValueError, RecursionError) as error:
        raise BadCurve(
            "curve: not UTF-8 JSON with every key once; take it from an unchanged source"
        ) from error
    return content


def _without_repeats(pairs: list[tuple[str, object]]) -> dict[str, object]:
    if len({key for key, _ in pairs}) != len(pairs):
        raise ValueError("a key stands twice")
    return dict(pairs)


def _object(value: object, name: str, keys: set[str]) -> dict[str, object]:
    if not isinstance(value, dict) or set(value) != keys:
        raise BadCurve(f"curve: {name} does not hold exactly {', '.join(sorted(keys))}")
    return value


def _list(value: object, name: str, most: int) -> list[object]:
    if not isinstance(value, list) or len(value) > most:
        raise BadCurve(f"curve: {name} is not a list of at most {most}")
    return value


def _text(value: object, name: str) -> str:
    if not isinstance(value, str) or not 0 < len(value) <= 100 or not value.isprintable():
        raise BadCurve(f"curve: {name} is not a short printable text")
    return value


def _number(value: object, name: str) -> float:
    if not isinstance(value, str) or not _NUMBER.fullmatch(value):
        raise BadCurve(f"curve: {name} holds something that is not a number written as text")
    number = float(value)
    if abs(number) > _LARGEST_NUMBER:
        raise BadCurve(f"curve: {name} holds a number that is too large")
    return number
