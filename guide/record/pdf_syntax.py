"""A strict reader and writer of PDF objects: just the syntax our records use, on raw bytes.

The reader exists so that the checker's key claims do not rest on a PDF library that repairs
what it reads: here nothing is repaired, and whatever is not plainly well formed raises
:class:`PdfSyntaxError` with the place. The writer has exactly one spelling for each value, so
that a part of a file can be rebuilt from what was read and compared byte for byte.

Syntax after ISO 32000-1:2008, 7.2 and 7.3 [MEMORY]; bounds on depth and digits are ours [PROPOSED].
"""

import re
from dataclasses import dataclass

from guide.errors import ChargewrightError

MAXIMUM_DEPTH = 24
MAXIMUM_DIGITS = 10


class PdfSyntaxError(ChargewrightError):
    """Bytes that are not the plain PDF syntax our records are written in."""

    def __init__(self, offset: int, expected: str) -> None:
        super().__init__(f"at byte {offset}: {expected}")
        self.offset = offset


class Name(str):
    """A PDF name without its slash."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Real:
    """A number with a fraction, kept as it was spelt."""

    text: str

    @property
    def value(self) -> float:
        """The number itself."""
        return float(self.text)


@dataclass(frozen=True, slots=True)
class Reference:
    """A pointer to the indirect object of this number (generation 0, the only one we write)."""

    number: int


Value = None | bool | int | Real | Name | bytes | Reference | list["Value"] | dict[str, "Value"]
Dictionary = dict[str, Value]


@dataclass(frozen=True, slots=True)
class IndirectObject:
    """An indirect object: its number, its value, the bytes of its stream if it has one, and where it ends."""

    number: int
    value: Value
    stream: bytes | None
    end: int

    def dictionary(self) -> Dictionary:
        """The value as a dictionary.

        Raises:
            PdfSyntaxError: when it is something else.
        """
        if not isinstance(self.value, dict):
            raise PdfSyntaxError(self.end, f"object {self.number} is not the dictionary expected there")
        return self.value


_SPACE = re.compile(rb"(?:[\x00\t\n\x0c\r ]|%[^\r\n]*[\r\n])*")
_NUMBER = re.compile(rb"[+-]?(?:\d+\.?\d*|\.\d+)(?=[\x00\t\n\x0c\r ()<>\[\]/%]|$)")
_REFERENCE = re.compile(rb"(\d{1,10}) 0 R(?=[\x00\t\n\x0c\r ()<>\[\]/%]|$)")
_NAME = re.compile(rb"/([^\x00\t\n\x0c\r ()<>\[\]{}/%]*)")
_HEX = re.compile(rb"<([0-9A-Fa-f\x00\t\n\x0c\r ]*)>")
_WORD = re.compile(rb"(true|false|null)(?=[\x00\t\n\x0c\r ()<>\[\]/%]|$)")
_LITERAL_PART = re.compile(rb"[^()\\]+|\\([nrtbf()\\]|[0-7]{1,3}|\r\n|\r|\n)|[()]", re.DOTALL)
_HEADER = re.compile(rb"(\d{1,10}) 0 obj(?=[\s<\[(/])")
_ESCAPES = {
    b"n": b"\n",
    b"r": b"\r",
    b"t": b"\t",
    b"b": b"\b",
    b"f": b"\f",
    b"(": b"(",
    b")": b")",
    b"\\": b"\\",
}
_PLAIN_TEXT = re.compile(rb"[ -'*-\[\]-~]*")
_PLAIN_NAME = re.compile(r"[!\"$&'*-.0-;=?-Z\\^-z|~]*")


def skip_space(data: bytes, at: int) -> int:
    """The offset of the next byte that is neither white space nor comment."""
    match = _SPACE.match(data, at)
    return match.end() if match else at


def _literal(data: bytes, at: int) -> tuple[bytes, int]:
    parts: list[bytes] = []
    depth = 0
    while True:
        match = _LITERAL_PART.match(data, at)
        if match is None:
            raise PdfSyntaxError(at, "a string does not end")
        at = match.end()
        token = match.group()
        if token == b"(":
            depth += 1
            if depth == 1:
                continue
        elif token == b")":
            depth -= 1
            if depth == 0:
                return b"".join(parts), at
        elif token[:1] == b"\\":
            code = match.group(1)
            token = bytes([int(code, 8) & 0xFF]) if code[:1].isdigit() else _ESCAPES.get(code, b"")
        parts.append(token)


def _name(raw: bytes, at: int) -> Name:
    text = re.sub(rb"#([0-9A-Fa-f]{2})", lambda m: bytes([int(m.group(1), 16)]), raw)
    if b"\x00" in text:
        raise PdfSyntaxError(at, "a name holds a zero byte")
    return Name(text.decode("latin-1"))


def _dictionary(data: bytes, at: int, depth: int) -> tuple[Dictionary, int]:
    found: Dictionary = {}
    at = skip_space(data, at + 2)
    while data[at : at + 2] != b">>":
        match = _NAME.match(data, at)
        if match is None:
            raise PdfSyntaxError(at, "a dictionary key or >> should stand here")
        key = _name(match.group(1), at)
        if key in found:
            raise PdfSyntaxError(at, f"the key /{key} stands twice in one dictionary")
        found[str(key)], at = read_value(data, match.end(), depth + 1)
        at = skip_space(data, at)
    return found, at + 2


def _array(data: bytes, at: int, depth: int) -> tuple[list[Value], int]:
    found: list[Value] = []
    at = skip_space(data, at + 1)
    while data[at : at + 1] != b"]":
        value, at = read_value(data, at, depth + 1)
        found.append(value)
        at = skip_space(data, at)
    return found, at + 1


def _number(match: re.Match[bytes], at: int) -> int | Real:
    text = match.group().decode("ascii")
    if len(text) > 2 * MAXIMUM_DIGITS:
        raise PdfSyntaxError(at, "a number has too many digits")
    return Real(text) if "." in text else int(text)


def read_value(  # noqa: PLR0911 - one return a kind of value
    data: bytes, at: int, depth: int = 0
) -> tuple[Value, int]:
    """Read the value that starts at or after ``at``; answer it and the offset behind it.

    Raises:
        PdfSyntaxError: when no plainly well-formed value stands there.
    """
    if depth > MAXIMUM_DEPTH:
        raise PdfSyntaxError(at, f"values are nested more than {MAXIMUM_DEPTH} deep")
    at = skip_space(data, at)
    if data[at : at + 2] == b"<<":
        return _dictionary(data, at, depth)
    if data[at : at + 1] == b"[":
        return _array(data, at, depth)
    if data[at : at + 1] == b"(":
        return _literal(data, at)
    if match := _NAME.match(data, at):
        return _name(match.group(1), at), match.end()
    if match := _REFERENCE.match(data, at):
        return Reference(int(match.group(1))), match.end()
    if match := _NUMBER.match(data, at):
        return _number(match, at), match.end()
    if match := _HEX.match(data, at):
        digits = b"".join(match.group(1).split()).replace(b"\x00", b"")
        return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii")), match.end()
    if match := _WORD.match(data, at):
        return {b"true": True, b"false": False, b"null": None}[match.group(1)], match.end()
    raise PdfSyntaxError(at, "no PDF value stands here")


def read_object(data: bytes, at: int) -> IndirectObject:
    """Read the indirect object whose number starts exactly at ``at``.

    Raises:
        PdfSyntaxError: when none stands there, or its stream is not as long as it says.
    """
    header = _HEADER.match(data, at)
    if header is None:
        raise PdfSyntaxError(at, "an object should start here")
    value, at = read_value(data, header.end())
    at = skip_space(data, at)
    stream: bytes | None = None
    if data.startswith(b"stream", at):
        start = at + (8 if data.startswith(b"\r\n", at + 6) else 7)
        if data[start - 1 : start] != b"\n" or not isinstance(value, dict):
            raise PdfSyntaxError(at, "a stream does not start as it should")
        length = value.get("Length")
        if not isinstance(length, int) or isinstance(length, bool) or not 0 <= length <= len(data) - start:
            raise PdfSyntaxError(at, "a stream does not state its own length")
        stream = data[start : start + length]
        at = skip_eol(data, start + length)
        if not data.startswith(b"endstream", at):
            raise PdfSyntaxError(at, "a stream does not end where its length says")
        at = skip_space(data, at + 9)
    if not data.startswith(b"endobj", at):
        raise PdfSyntaxError(at, "an object does not end where it should")
    return IndirectObject(int(header.group(1)), value, stream, skip_eol(data, at + 6))


def skip_eol(data: bytes, at: int) -> int:
    """The offset behind one end-of-line mark, if one stands at ``at``."""
    if data.startswith(b"\r\n", at):
        return at + 2
    return at + 1 if data[at : at + 1] in (b"\n", b"\r") and at < len(data) else at


def _write_name(name: str) -> bytes:
    return b"/" + b"".join(
        c.encode("latin-1") if _PLAIN_NAME.fullmatch(c) and c not in "%()<>[]{}/#" else b"#%02x" % ord(c)
        for c in name
    )


def write_value(value: Value) -> bytes:  # noqa: PLR0911 - one return a kind of value
    """Spell a value in the one way our records spell it."""
    if value is None:
        return b"null"
    if isinstance(value, bool):
        return b"true" if value else b"false"
    if isinstance(value, int):
        return b"%d" % value
    if isinstance(value, Real):
        return value.text.encode("ascii")
    if isinstance(value, Name):
        return _write_name(value)
    if isinstance(value, bytes):
        return (
            b"(" + value + b")" if _PLAIN_TEXT.fullmatch(value) else b"<" + value.hex().encode("ascii") + b">"
        )
    if isinstance(value, Reference):
        return b"%d 0 R" % value.number
    if isinstance(value, list):
        return b"[" + b" ".join(map(write_value, value)) + b"]"
    return (
        b"<<" + b" ".join(_write_name(key) + b" " + write_value(item) for key, item in value.items()) + b">>"
    )


def write_object(number: int, value: Value, stream: bytes | None = None) -> bytes:
    """Spell an indirect object; a stream's length is added to its dictionary."""
    head = b"%d 0 obj\n" % number
    if stream is None:
        return head + write_value(value) + b"\nendobj\n"
    if not isinstance(value, dict):
        raise PdfSyntaxError(0, "only a dictionary can carry a stream")
    body = write_value({**value, "Length": len(stream)})
    return head + body + b"\nstream\n" + stream + b"\nendstream\nendobj\n"


def text_string(text: str) -> bytes:
    """Text as PDF keeps it: plain ASCII, or else UTF-16 with a byte-order mark.

    ISO 32000-1:2008, 7.9.2 [MEMORY].
    """
    return text.encode("ascii") if text.isascii() else b"\xfe\xff" + text.encode("utf-16-be", "replace")


def read_text_string(value: Value) -> str:
    """The text of a string written by :func:`text_string`.

    Raises:
        PdfSyntaxError: when it is anything else.
    """
    if not isinstance(value, bytes):
        raise PdfSyntaxError(0, "a text is missing")
    try:
        text = value[2:].decode("utf-16-be") if value[:2] == b"\xfe\xff" else value.decode("ascii")
    except UnicodeDecodeError:
        raise PdfSyntaxError(0, "a text is not spelt as records spell it") from None
    if text_string(text) != value:
        raise PdfSyntaxError(0, "a text is not spelt as records spell it")
    return text
