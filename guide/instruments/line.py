"""One line of a stream of readings: a sample, or the reason why it is none. Pure.

The form (PROPOSED, version 1): one JSON object a line with `v`, `src`, `ch`, `val`, `unit`, `q`, and for a
pressure `ref`; optional `id`, `res`, `u`, `t`. A number is a decimal string.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from hashlib import sha256
from types import MappingProxyType
from typing import Final

from guide.errors import ChargewrightError
from guide.journal.canonical import CanonicalError, strict_loads

LONGEST_LINE_BYTES: Final = 4096
_NEEDED: Final = frozenset({"v", "src", "ch", "val", "unit", "q"})
_ALLOWED: Final = _NEEDED | {"id", "ref", "res", "u", "t"}
_QUALITIES: Final = frozenset({"good", "uncertain", "bad", "unknown"})
_DECIMAL: Final = re.compile(r"-?[0-9]{1,12}(?:\.[0-9]{1,9})?")
_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._:/-]{0,63}")
_TIME: Final = re.compile(r"20[0-9]{2}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]{1,6})?Z")
# What a sensor's integer of all ones, or only its sign bit, looks like when nobody caught it: "no value".
# 0x8000 hundredths of a degree is "not known" in the Environmental Sensing Service (FOUND); rest PROPOSED.
_NO_VALUE: Final = frozenset(
    Decimal(n) for n in ("-327.68", "-32768", "32768", "65535", "-2147483648", "2147483647", "4294967295")
)
_PLAIN: Final = ("F", "C", "K", "lb", "oz", "kg", "g")
_PRESSURE: Final[dict[tuple[str, str | None], str]] = {
    ("psi", "abs"): "psia", ("psi", "gauge"): "psig", ("bar", "abs"): "bara", ("bar", "gauge"): "barg",
    ("kPa", "abs"): "kPaa", ("kPa", "gauge"): "kPag", ("MPa", "abs"): "MPaa", ("MPa", "gauge"): "MPag",
    ("Pa", "abs"): "Paa", ("Pa", "gauge"): "Pag", ("micron", "abs"): "micron", ("Torr", "abs"): "Torr",
    ("mmHg", "abs"): "mmHga", ("inHg", "abs"): "inHga", ("mbar", "abs"): "mbara",
}  # fmt: skip
_UNITS: Final[dict[tuple[str, str | None], str]] = {
    **{(unit, None): unit for unit in _PLAIN},
    **_PRESSURE,
}
STREAM_UNITS: Final = MappingProxyType(_UNITS)
"""The closed list: (unit, reference) of a line to the program's own unit."""
_PRESSURE_UNITS: Final = frozenset(unit for unit, _ in _PRESSURE)


class BadLine(ChargewrightError):
    """A line that is no sample: why."""


@dataclass(frozen=True, slots=True)
class Sample:
    """One value as it came: `value` in `unit` (the program's own symbol), text as sent, hash of the line."""

    source: str
    channel: str
    value: Decimal
    text: str
    unit: str
    quality: str
    utc_s: float | None
    sha256: str


def read_line(raw: bytes) -> Sample:
    """The sample in one line (with or without its line end).

    Raises:
        BadLine: the line is none of the form; the message says what is wrong with it.
    """
    raw = raw.rstrip(b"\r\n")
    if len(raw) > LONGEST_LINE_BYTES:
        raise BadLine(f"longer than {LONGEST_LINE_BYTES} bytes; send one reading a line")
    try:
        value = strict_loads(raw, max_bytes=LONGEST_LINE_BYTES, max_depth=2)
    except CanonicalError as error:
        raise BadLine(str(error)) from error
    if not isinstance(value, dict):
        raise BadLine("not an object; send one JSON object a line")
    if missing := sorted(_NEEDED - value.keys()):
        raise BadLine(f"{missing[0]!r} is missing; send it")
    if unknown := sorted(value.keys() - _ALLOWED):
        raise BadLine(f"{unknown[0][:40]!r} is not part of a reading; leave it out")
    if type(value["v"]) is not int or value["v"] != 1:
        raise BadLine("'v' is not 1; this program reads version 1")
    text = {name: _text(name, item) for name, item in value.items() if name != "v"}
    for name in ("src", "ch"):
        if not _NAME.fullmatch(text[name]):
            raise BadLine(f"{name!r} is no name; use up to 64 letters, digits and . _ : / -")
    if text["q"] not in _QUALITIES:
        raise BadLine("'q' is none of good, uncertain, bad, unknown")
    number = _number("val", text["val"])
    for name in ("res", "u"):
        if name in text and _number(name, text[name]) < 0:
            raise BadLine(f"{name!r} is negative; send the half width")
    if number in _NO_VALUE:
        raise BadLine("'val' is what a sensor sends for no value; send q unknown or nothing")
    return Sample(
        source=text["src"], channel=text["ch"], value=number, text=text["val"],
        unit=_unit(text["unit"], text.get("ref")), quality=text["q"],
        utc_s=_time(text["t"]) if "t" in text else None, sha256=sha256(raw).hexdigest(),
    )  # fmt: skip


def _text(name: str, item: object) -> str:
    if not isinstance(item, str) or not 0 < len(item) <= 80:
        raise BadLine(f"{name!r} is not a text of 1 to 80 characters; numbers are decimal texts too")
    return item


def _number(name: str, text: str) -> Decimal:
    if not _DECIMAL.fullmatch(text):
        raise BadLine(f"{name!r} is not a plain decimal number; send digits as text, such as 812.4")
    return Decimal(text)


def _unit(unit: str, reference: str | None) -> str:
    if unit in _PRESSURE_UNITS and reference is None:
        raise BadLine("a pressure without 'ref'; send abs, gauge or diff")
    if reference == "diff":
        raise BadLine("a pressure difference fills no channel; send abs or gauge")
    known = STREAM_UNITS.get((unit, reference))
    if known is None:
        units = ", ".join(sorted({name for name, _ in STREAM_UNITS}))
        raise BadLine(f"unit with reference is not on the list; units are {units}")
    return known


def _time(text: str) -> float:
    if not _TIME.fullmatch(text):
        raise BadLine("'t' is no UTC time; send it as 2026-01-31T09:58:07.250Z")
    try:
        return datetime.fromisoformat(text[:-1]).replace(tzinfo=UTC).timestamp()
    except ValueError as error:
        raise BadLine("'t' is a day or hour that does not exist") from error
