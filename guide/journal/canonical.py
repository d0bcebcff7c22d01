"""The one byte form of a JSON value, and a reader that takes nothing else on trust.

The form is RFC 8785 (JSON Canonicalization Scheme; FOUND), restricted so that no two
programs can disagree about it: no floating-point numbers (a number that matters is a
decimal string), integers of at most 53 bits, member names in ASCII. Under that restriction
sorting by code point equals the sorting by UTF-16 units which the RFC asks for, so the
standard library's encoder writes the same bytes as the `rfc8785` package; a property test
compares the two.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import NoReturn, TypeAlias

from guide.errors import ChargewrightError

Json: TypeAlias = bool | int | str | Sequence["Json"] | Mapping[str, "Json"] | None

MAX_BYTES = 1 << 20  # PROPOSED: one event, far above any real one
MAX_DEPTH = 32  # PROPOSED
MAX_INTEGER = 2**53 - 1  # RFC 8785 appendix D / RFC 7493 section 2.2 (FOUND)


class CanonicalError(ChargewrightError):
    """A value that has no canonical form here, or bytes that are not in that form."""


class _Refused(Exception):
    """Why a value was refused, and the way down to it; becomes a CanonicalError at the top."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason
        self.path: list[str] = []


def plain(value: object, *, max_depth: int = MAX_DEPTH) -> Json:
    """Copy a value into plain dicts, lists, strings, integers, booleans and None.

    The copy shares nothing mutable with the original. Subclasses of `str` and `int`
    (enumeration members) become what they stand for.

    Raises:
        CanonicalError: a float, a Decimal or any other type, an integer beyond 53 bits, a
            lone surrogate, a member name that is not ASCII text, or too deep a nesting.
    """
    try:
        return _plain(value, max_depth)
    except _Refused as refused:
        where = "".join(f"[{part}]" for part in reversed(refused.path)) or "the value itself"
        raise CanonicalError(f"not canonical JSON at {where}: {refused.reason}") from None


def canonical(value: object, *, max_depth: int = MAX_DEPTH) -> bytes:
    """The canonical UTF-8 bytes of a JSON value (RFC 8785, restricted as this module says).

    Raises:
        CanonicalError: as for `plain`.
    """
    return encode_plain(plain(value, max_depth=max_depth))


def encode_plain(value: Json) -> bytes:
    """Canonical bytes of a value that came from `plain` or `strict_loads`; checks nothing again."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode()


def strict_loads(data: bytes, max_bytes: int = MAX_BYTES, max_depth: int = MAX_DEPTH) -> Json:
    """Read one JSON value, refusing whatever two readers could understand differently.

    Raises:
        CanonicalError: too long, too deep, not UTF-8, not JSON, a duplicate member name, a
            number with a fraction or an exponent, NaN or Infinity, an integer beyond 53 bits,
            a lone surrogate, or a member name that is not ASCII.
    """
    if len(data) > max_bytes:
        raise CanonicalError(f"not accepted as JSON: {len(data)} bytes, at most {max_bytes} are read")
    if _too_deep(data, max_depth):
        raise CanonicalError(f"not accepted as JSON: nested deeper than {max_depth} levels")
    try:
        value: Json = _DECODER.decode(data.decode("utf-8"))
        if b"\\u" in data:
            encode_plain(value)  # a lone surrogate can only come from an escape, and cannot be encoded
    except UnicodeError:
        raise CanonicalError(
            "not accepted as JSON: the text is not UTF-8, or holds half a surrogate pair"
        ) from None
    except _Refused as refused:
        raise CanonicalError(f"not accepted as JSON: {refused.reason}") from None
    except json.JSONDecodeError as error:
        raise CanonicalError(f"not JSON: {error.msg} at character {error.pos}") from None
    return value


def require_canonical(data: bytes, max_bytes: int = MAX_BYTES, max_depth: int = MAX_DEPTH) -> Json:
    """Read one JSON value and insist that its bytes are the canonical ones.

    Raises:
        CanonicalError: as for `strict_loads`, or the bytes differ from the canonical form.
    """
    value = strict_loads(data, max_bytes, max_depth)
    expected = encode_plain(value)
    if expected != data:
        at = next((i for i, (a, b) in enumerate(zip(data, expected, strict=False)) if a != b), len(expected))
        raise CanonicalError(f"not in canonical form: differs from RFC 8785 at byte {at}")
    return value


def _plain(value: object, depth: int) -> Json:
    if value is None or value is True or value is False:
        return value
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, int):
        return _integer(int(value))
    if depth <= 0:
        raise _Refused("nested too deeply")
    key: object = None
    try:
        if isinstance(value, Mapping):
            members: dict[str, Json] = {}
            for key, member in value.items():
                members[_name(key)] = _plain(member, depth - 1)
            return members
        if isinstance(value, (list, tuple)):
            items: list[Json] = []
            for index, item in enumerate(value):
                key = index
                items.append(_plain(item, depth - 1))
            return items
    except _Refused as refused:
        refused.path.append(repr(key))
        raise
    raise _Refused(f"a {type(value).__name__} has no place here; write a number as a decimal string")


def _text(value: str) -> str:
    text = str.__str__(value)
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise _Refused("text with half a surrogate pair") from None
    return text


def _name(key: object) -> str:
    if not isinstance(key, str) or not key.isascii():
        raise _Refused("a member name must be ASCII text")
    return str.__str__(key)


def _integer(value: int) -> int:
    if not -MAX_INTEGER <= value <= MAX_INTEGER:
        raise _Refused("an integer beyond 53 bits; write it as a decimal string")
    return value


def _members(pairs: list[tuple[str, Json]]) -> dict[str, Json]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise _Refused("a member name occurs twice")
    for name in members:
        if not name.isascii():
            raise _Refused("a member name is not ASCII")
    return members


def _integer_text(text: str) -> int:
    if len(text) > 17:
        raise _Refused("an integer beyond 53 bits")
    return _integer(int(text))


def _no_float(_text: str) -> NoReturn:
    raise _Refused("a number with a fraction or an exponent; numbers that matter are decimal strings")


def _no_constant(text: str) -> NoReturn:
    raise _Refused(f"{text} is not JSON")


# strict=True (the default) already refuses raw control characters inside strings
_DECODER = json.JSONDecoder(
    object_pairs_hook=_members,
    parse_int=_integer_text,
    parse_float=_no_float,
    parse_constant=_no_constant,
)

_STRING_OR_BRACKET = re.compile(rb'"(?:[^"\\]|\\.)*"?|[\[\]{}]', re.DOTALL)


def _too_deep(data: bytes, max_depth: int) -> bool:
    """Whether brackets outside strings nest deeper than allowed; runs before the parser does."""
    if data.count(b"{") + data.count(b"[") <= max_depth:
        return False
    depth = 0
    for match in _STRING_OR_BRACKET.finditer(data):
        token = match.group()
        if token in (b"{", b"["):
            depth += 1
            if depth > max_depth:
                return True
        elif token in (b"}", b"]"):
            depth -= 1
    return False
