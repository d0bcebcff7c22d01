"""A small, strict YAML: mappings, lists and text, with the line and column of every value.

Procedures and orders come from strangers. Everything in YAML that makes a file mean more than it
shows is refused: anchors and aliases, tags, merge keys, directives, several documents, duplicate keys,
invisible characters. Every scalar stays text, so `no`, `1.10` and `12:30` are what was written.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Protocol

import yaml

from guide.errors import ChargewrightError

Node = dict[str, "Node"] | list["Node"] | str
Path = tuple[str | int, ...]

# All limits PROPOSED: many times what the longest procedure needs, small enough to refuse in no time.
LARGEST_FILE_BYTES: Final = 1_000_000
DEEPEST_NESTING: Final = 20
MOST_NODES: Final = 20_000
LONGEST_KEY: Final = 100
LONGEST_TEXT: Final = 10_000
LONGEST_LINE: Final = 4_000

_LINE_BREAKERS: Final = "\r\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029"
# Categories without a visible mark or without a meaning: controls, formats (bidi, zero width), private
# use, surrogates, unassigned, line and paragraph separators.
_INVISIBLE: Final = frozenset({"Cc", "Cf", "Co", "Cs", "Cn", "Zl", "Zp"})
_PARSER: Final[Any] = getattr(yaml, "CLoader", yaml.Loader)


class _LibraryMark(Protocol):
    """A place as either parser of the library tells it, counted from 0."""

    @property
    def line(self) -> int: ...
    @property
    def column(self) -> int: ...


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in a file; both count from 1."""

    line: int
    column: int


class YamlRefused(ChargewrightError):
    """The file is no YAML of the kind read here. `problem` says what, and what would do."""

    def __init__(self, name: str, mark: Mark, problem: str) -> None:
        super().__init__(f"{name}:{mark.line}:{mark.column}: {problem}")
        self.name = name
        self.mark = mark
        self.problem = problem


@dataclass(frozen=True, slots=True)
class Document:
    """What a file says, and where it says it. A path is made of keys and list positions (from 0)."""

    name: str
    root: Node
    marks: Mapping[Path, Mark]

    def at(self, path: Path) -> Mark:
        """The place of the value at `path`, or of the nearest thing around it that exists."""
        for length in range(len(path), -1, -1):
            if (mark := self.marks.get(path[:length])) is not None:
                return mark
        return Mark(1, 1)


def read_yaml(data: bytes, name: str) -> Document:
    """Read one strict YAML document from the bytes of the file called `name`.

    Raises:
        YamlRefused: anything that is not plain mappings, lists and text within the limits of this module.
    """
    safe_name = printable(name)
    text = _decoded(data, safe_name)
    _refuse_odd_lines(text, safe_name)
    builder = _Builder(safe_name)
    try:
        for event in _events(text):
            builder.take(event)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        raise YamlRefused(safe_name, _mark(mark), _in_words(error)) from error
    except (yaml.YAMLError, ValueError) as error:
        # the C scanner reports escapes that are no character as a ValueError, without a place
        raise YamlRefused(
            safe_name, Mark(1, 1), "not YAML; write mappings, lists and text, in UTF-8"
        ) from error
    return builder.document()


def printable(text: str) -> str:
    """The text with every character that can't be seen replaced by a visible stand-in, cut to 200."""
    return "".join("\N{REPLACEMENT CHARACTER}" if _hidden(c) else c for c in text[:200])


def _hidden(character: str) -> bool:
    return not (" " <= character <= "~") and unicodedata.category(character) in _INVISIBLE


def _decoded(data: bytes, name: str) -> str:
    if len(data) > LARGEST_FILE_BYTES:
        raise YamlRefused(
            name,
            Mark(1, 1),
            f"{len(data)} bytes; at most {LARGEST_FILE_BYTES} bytes are read, split the file",
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        column = error.start - (data.rfind(b"\n", 0, error.start) + 1) + 1
        raise YamlRefused(
            name, Mark(line, column), "not UTF-8 from here on; save the file as UTF-8"
        ) from error


def _refuse_odd_lines(text: str, name: str) -> None:
    for number, raw in enumerate(text.split("\n"), start=1):
        line = raw.removesuffix("\r")
        if len(line) > LONGEST_LINE:
            raise YamlRefused(
                name, Mark(number, 1), f"line of {len(line)} characters; break it, {LONGEST_LINE} are read"
            )
        if line.isascii() and line.isprintable():
            continue
        for column, character in enumerate(line, start=1):
            if character == "\t":
                raise YamlRefused(name, Mark(number, column), "tab character; indent with spaces")
            if _hidden(character) or character in _LINE_BREAKERS:
                raise YamlRefused(
                    name,
                    Mark(number, column),
                    f"invisible character U+{ord(character):04X}; remove it",
                )


def _events(text: str) -> Iterator[yaml.Event]:
    parser = _PARSER(text)
    try:
        while parser.check_event():
            yield parser.get_event()
    finally:
        parser.dispose()


def _mark(mark: _LibraryMark | None) -> Mark:
    return Mark(1, 1) if mark is None else Mark(mark.line + 1, mark.column + 1)


def _in_words(error: yaml.MarkedYAMLError) -> str:
    problem = printable(str(error.problem or error.context or "no YAML"))
    return f"YAML can't be read here ({problem}); check indentation, colons and quotes above this place"


@dataclass(slots=True)
class _Open:
    """A mapping or list whose end has not come yet."""

    node: dict[str, Node] | list[Node]
    path: Path
    start: Mark
    key: str | None = None
    key_mark: Mark | None = None


@dataclass(slots=True)
class _Builder:
    """Turns parser events into plain data without recursion."""

    name: str
    root: Node | None = None
    marks: dict[Path, Mark] = field(default_factory=dict)
    stack: list[_Open] = field(default_factory=list)
    documents: int = 0
    nodes: int = 0

    def take(self, event: yaml.Event) -> None:
        mark = _mark(event.start_mark)
        if isinstance(event, yaml.DocumentStartEvent):
            self._begin_document(event, mark)
        elif isinstance(event, yaml.AliasEvent):
            raise self._refused(mark, "alias (*name); write the value out again")
        elif isinstance(event, yaml.NodeEvent):
            self._take_node(event, mark)
        elif isinstance(event, yaml.MappingEndEvent | yaml.SequenceEndEvent):
            self.stack.pop()

    def document(self) -> Document:
        if self.root is None:
            raise self._refused(Mark(1, 1), "empty file; it must begin with a key such as 'id:'")
        return Document(self.name, self.root, self.marks)

    def _refused(self, mark: Mark, problem: str) -> YamlRefused:
        return YamlRefused(self.name, mark, problem)

    def _begin_document(self, event: yaml.DocumentStartEvent, mark: Mark) -> None:
        self.documents += 1
        if self.documents > 1:
            raise self._refused(mark, "second document; keep one document a file, remove the '---'")
        if event.version or event.tags:
            raise self._refused(mark, "YAML directive (%); remove it")

    def _take_node(self, event: yaml.NodeEvent, mark: Mark) -> None:
        self.nodes += 1
        if self.nodes > MOST_NODES:
            raise self._refused(mark, f"more than {MOST_NODES} values; split the file")
        if event.anchor is not None:
            raise self._refused(mark, "anchor (&name); write the value out where it is needed")
        if getattr(event, "tag", None) is not None:
            raise self._refused(mark, "tag (!name); every value is plain text here, remove the tag")
        if isinstance(event, yaml.ScalarEvent):
            self._take_text(event, mark)
        elif isinstance(event, yaml.MappingStartEvent):
            self._open({}, mark)
        else:
            self._open([], mark)

    def _open(self, node: dict[str, Node] | list[Node], mark: Mark) -> None:
        if len(self.stack) >= DEEPEST_NESTING:
            raise self._refused(mark, f"nested more than {DEEPEST_NESTING} deep; flatten it")
        if self.stack and isinstance(self.stack[-1].node, dict) and self.stack[-1].key is None:
            raise self._refused(mark, "a list or mapping as a key; a key is one plain word or phrase")
        path = self._place(node, mark)
        self.stack.append(_Open(node, path, mark))

    def _take_text(self, event: yaml.ScalarEvent, mark: Mark) -> None:
        value: str = event.value
        plain = event.style in (None, "")
        for character in value:
            if character != "\n" and _hidden(character):
                raise self._refused(
                    mark, f"invisible character U+{ord(character):04X} in the text; remove it"
                )
        inside = self.stack[-1] if self.stack else None
        if inside is not None and isinstance(inside.node, dict) and inside.key is None:
            self._take_key(inside, inside.node, value, plain=plain, mark=mark)
            return
        if plain and not value:
            raise self._refused(mark, "nothing after the key or dash; write a value or remove the line")
        if len(value) > LONGEST_TEXT:
            raise self._refused(mark, f"text of {len(value)} characters; {LONGEST_TEXT} are read, shorten it")
        self._place(value, mark)

    def _take_key(self, inside: _Open, node: dict[str, Node], key: str, *, plain: bool, mark: Mark) -> None:
        if plain and key == "<<":
            raise self._refused(mark, "merge key (<<); write the keys out")
        if not key.strip() or len(key) > LONGEST_KEY or "\n" in key:
            raise self._refused(mark, f"a key must be one line of 1 to {LONGEST_KEY} characters")
        if key in node:
            first = self.marks[(*inside.path, key)]
            raise self._refused(
                mark, f"key '{key}' stands twice, first in line {first.line}; keep one of the two"
            )
        inside.key, inside.key_mark = key, mark

    def _place(self, node: Node, mark: Mark) -> Path:
        if not self.stack:
            self.root = node
            self.marks[()] = mark
            return ()
        inside = self.stack[-1]
        if isinstance(inside.node, list):
            path: Path = (*inside.path, len(inside.node))
            inside.node.append(node)
            self.marks[path] = mark
            return path
        key = inside.key or ""
        path = (*inside.path, key)
        inside.node[key] = node
        self.marks[path] = inside.key_mark or mark
        inside.key = inside.key_mark = None
        return path
