"""Common parts put in their places: `use: NAME` becomes the part that the file NAME.yaml holds.

The work is done on mappings, lists and text, before anything has a meaning, and every value keeps the file
and line where its author wrote it. A common part is plain: it can't use another one, so there is no
depth and no circle. What comes out reads as if it had been written in one file.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Final

from guide.procedure.faults import Fault, ProcedureError, fault_at
from guide.procedure.logic import STEP_NUMBER
from guide.procedure.strict_yaml import Document, Node, Path, YamlRefused, read_yaml
from guide.procedure.tree import Place, Tree, tree_of

Fetch = Callable[[str], tuple[str, bytes]]
"""From the name of a common part to its file's name and bytes; `ProcedureError` where there is none."""

NAME: Final = re.compile(r"[a-z][a-z0-9-]{0,63}")
"""A part's name becomes a file name, so nothing but this closed alphabet gets that far."""
# What the schema allows at most, checked before files are opened and conditions are multiplied.
_MOST_PARTS: Final = 20
_MOST_STEPS: Final = 60
_MOST_CONDITIONS: Final = 20
_LOCAL_ID: Final = re.compile(r"[1-9][0-9]?")
_MERGED: Final = ("needs", "needs_order", "sources")


def uses(root: Node) -> Iterator[tuple[Path, str, dict[str, Node]]]:
    """Every `use` of a procedure: its path, the number its steps begin with, the entry itself."""
    if not isinstance(root, dict):
        return
    parts = root.get("parts")
    for at, entry in enumerate(parts if isinstance(parts, list) else ()):
        if isinstance(entry, dict) and "use" in entry:
            yield ("parts", at), str(at + 1), entry
    abort = root.get("on_abort")
    if isinstance(abort, dict) and "use" in abort:
        yield ("on_abort",), "A", abort


def refused_uses(document: Document) -> list[Fault]:
    """What is wrong with a text that names common parts where there is no folder to take them from."""
    return [
        fault_at(
            document.name,
            document.at((*path, "use")),
            "common-part",
            "'use' names a common part, and this text is to be complete; give the procedure's file, "
            "or write the part's steps out",
        )
        for path, _, _ in uses(document.root)
    ]


def assemble(document: Document, fetch: Fetch) -> tuple[Tree, list[Fault]]:
    """The procedure of `document` with its common parts in their places, and what is wrong with those.

    Where a fault blocks, the tree is of no use.
    """
    work = _Assembly(tree_of(document), fetch)
    parts = document.root.get("parts") if isinstance(document.root, dict) else None
    if isinstance(parts, list) and len(parts) > _MOST_PARTS:
        work.note(work.written.at(("parts", _MOST_PARTS)), f"more than {_MOST_PARTS} parts; split the work")
    else:
        work.run()
    return Tree(document.name, work.root, work.places), work.faults


@dataclass(frozen=True, slots=True)
class _Call:
    """A `use`: where it stands, the number its steps begin with, the part, the conditions it adds."""

    path: Path
    number: str
    part: Tree
    given: list[Node]


@dataclass(slots=True)
class _Assembly:
    """One procedure being put together."""

    written: Tree
    fetch: Fetch
    root: dict[str, Node] = field(default_factory=dict)
    places: dict[Path, Place] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    read: dict[str, Tree | None] = field(default_factory=dict)

    def note(self, place: Place, message: str, rule: str = "common-part", *, blocks: bool = True) -> None:
        self.faults.append(fault_at(place.file, place.mark, rule, message, blocks=blocks))

    def run(self) -> None:
        root = self.written.root
        assert isinstance(root, dict)  # a `use` was found in it
        used = list(uses(root))
        taken = {path for path, _, _ in used}
        self.places = {
            path: place
            for path, place in self.written.places.items()
            if path[:2] not in taken and path[:1] not in taken
        }
        self.root = {key: _copied(value) for key, value in root.items() if key != "parts"}
        self._make_room()
        # last, so that what the parts add to the head stands before them in the text
        self.root["parts"] = _copied(root.get("parts", []))
        if "on_abort" in self.root:
            self.root["on_abort"] = self.root.pop("on_abort")
        for path, number, entry in used:
            self._use(path, number, entry)
        for key in _MERGED:
            if key not in root and not self.root[key]:
                del self.root[key]

    def _make_room(self) -> None:
        for key in _MERGED:
            if key not in self.root:
                self.root[key] = {} if key == "sources" else []

    def _use(self, path: Path, number: str, entry: dict[str, Node]) -> None:
        strange = next((key for key in entry if key not in ("use", "when")), None)
        if strange is not None:
            self.note(
                self.written.at((*path, strange)),
                f"key '{strange}' does not go with 'use'; a common part brings everything but 'when'",
            )
            return
        part = self._part(path, entry["use"])
        given = self._given(path, entry)
        if part is None or given is None:
            return
        assert isinstance(part.root, dict)
        for key in ("needs", "needs_order"):
            self._merge_list(key, part)
        self._merge_sources(part)
        self._put(_Call(path, number, part, given))

    def _part(self, path: Path, name: Node) -> Tree | None:
        place = self.written.at((*path, "use"))
        if not isinstance(name, str) or NAME.fullmatch(name) is None:
            self.note(place, "'use' takes the name of a common part: small letters, digits and hyphens")
            return None
        if name not in self.read:
            self.read[name] = None
            try:
                part = tree_of(_read(self.fetch, name))
            except ProcedureError as error:
                self.note(place, str(error))
            except YamlRefused as error:
                self.note(Place(error.name, error.mark), error.problem, "yaml")
            else:
                self.read[name] = part if self._plain(part, name) else None
        return self.read[name]

    def _plain(self, part: Tree, name: str) -> bool:
        """Whether the file holds one part that uses no other; what it holds is the schema's matter."""
        root = part.root
        if not isinstance(root, dict):
            self.note(part.at(()), "a common part begins with 'id:', 'title:' and 'steps:'")
            return False
        if root.get("id") != name:
            self.note(part.at(("id",)), f"the file is called {name}; name the part and its file alike")
            return False
        steps = root.get("steps")
        places: list[Path] = [("use",)] if "use" in root else []
        for at, step in enumerate(steps if isinstance(steps, list) else ()):
            if isinstance(step, dict) and "use" in step:
                places.append(("steps", at, "use"))
        for path in places:
            self.note(part.at(path), "a common part can't use another one; write its steps out here")
        for path, text in _texts(root.get("steps", []), ("steps",)):
            for number in STEP_NUMBER.findall(text):
                self.note(
                    part.at(path),
                    f"a common part can't know of a step {number}; say in words which step is meant",
                    "known-references",
                    blocks=False,
                )
        return not places

    def _given(self, path: Path, entry: dict[str, Node]) -> list[Node] | None:
        given = entry.get("when", [])
        if isinstance(given, list) and len(given) <= _MOST_CONDITIONS:
            return given
        self.note(
            self.written.at((*path, "when")), f"'when' is a list of at most {_MOST_CONDITIONS} conditions"
        )
        return None

    def _merge_list(self, key: str, part: Tree) -> None:
        assert isinstance(part.root, dict)
        mine, theirs = self.root[key], part.root.get(key, [])
        if not isinstance(theirs, list):
            self.note(part.at((key,)), f"'{key}' is a list")
            return
        if not isinstance(mine, list):
            return  # told by the schema
        known = {_one_line(value) for value in mine}
        for at, value in enumerate(theirs):
            if _one_line(value) not in known:
                known.add(_one_line(value))
                self._copy_places(part, (key, at), (key, len(mine)))
                mine.append(value)

    def _merge_sources(self, part: Tree) -> None:
        assert isinstance(part.root, dict)
        mine, theirs = self.root["sources"], part.root.get("sources", {})
        if not isinstance(theirs, dict):
            self.note(part.at(("sources",)), "'sources' gives each key its text")
            return
        if not isinstance(mine, dict):
            return  # told by the schema
        for key, value in theirs.items():
            if key not in mine:
                mine[key] = value
                self._copy_places(part, ("sources", key), ("sources", key))
            elif _one_line(mine[key]) != _one_line(value):
                other = self.places[("sources", key)]
                self.note(
                    part.at(("sources", key)),
                    f"source '{key}' reads otherwise in {other.file}, line {other.mark.line}; "
                    "give one of the two another key, or both the same text",
                )

    def _put(self, call: _Call) -> None:
        assert isinstance(call.part.root, dict)
        built = {key: value for key, value in call.part.root.items() if key not in _MERGED}
        steps = built.get("steps")
        self.places[call.path] = call.part.at(())
        for key in built:
            if key != "steps":
                self._copy_places(call.part, (key,), (*call.path, key))
        if isinstance(steps, list) and len(steps) <= _MOST_STEPS:
            self.places[(*call.path, "steps")] = call.part.at(("steps",))
            built["steps"] = [self._step(call, at, step) for at, step in enumerate(steps)]
        elif steps is not None:
            self.note(call.part.at(("steps",)), f"'steps' is a list of 1 to {_MOST_STEPS} steps")
        if call.path == ("on_abort",):
            self.root["on_abort"] = built
        else:
            parts, at = self.root["parts"], call.path[1]
            assert isinstance(parts, list)
            assert isinstance(at, int)
            parts[at] = built

    def _step(self, call: _Call, at: int, step: Node) -> Node:
        here, there = (*call.path, "steps", at), ("steps", at)
        if not isinstance(step, dict):
            self._copy_places(call.part, there, here)
            return step
        local = step.get("id")
        if not isinstance(local, str) or _LOCAL_ID.fullmatch(local) is None:
            self.note(
                call.part.at((*there, "id")),
                'a step of a common part has its number in the part as id, such as "3"',
            )
            return step
        self.places[here] = call.part.at(there)
        for key in step:
            if key != "when":
                self._copy_places(call.part, (*there, key), (*here, key))
        built: dict[str, Node] = {**step, "id": f"{call.number}.{local}"}
        when = self._when(call, at, step.get("when"))
        return built if when is None else _with_when(built, when)

    def _when(self, call: _Call, at: int, own: Node | None) -> Node | None:
        """The conditions of the `use`, then those of the step that are not among them."""
        here, there = (*call.path, "steps", at, "when"), ("steps", at, "when")
        if own is not None and not isinstance(own, list):
            self._copy_places(call.part, there, here)
            return own
        if own is None and not call.given:
            return None
        self.places[here] = call.part.at(there) if own else self.written.at((*call.path, "when"))
        both: list[Node] = []
        for index, condition in enumerate(call.given):
            self._copy_places(self.written, (*call.path, "when", index), (*here, index))
            both.append(condition)
        for index, condition in enumerate(own or []):
            if condition not in call.given:
                self._copy_places(call.part, (*there, index), (*here, len(both)))
                both.append(condition)
        return both

    def _copy_places(self, source: Tree, there: Path, here: Path) -> None:
        for inner in _paths_below(source, there):
            self.places[(*here, *inner)] = source.places[(*there, *inner)]


def _read(fetch: Fetch, name: str) -> Document:
    file, data = fetch(name)
    return read_yaml(data, file)


def _paths_below(tree: Tree, path: Path) -> Iterator[Path]:
    """The paths of a value and of everything inside it, counted from it."""
    node = tree.root
    for key in path:
        node = _inside(node, key)
    waiting: list[tuple[Path, Node]] = [((), node)]
    while waiting:
        inner, value = waiting.pop()
        yield inner
        if isinstance(value, dict):
            waiting += [((*inner, key), each) for key, each in value.items()]
        elif isinstance(value, list):
            waiting += [((*inner, at), each) for at, each in enumerate(value)]


def _inside(node: Node, key: str | int) -> Node:
    if isinstance(node, list):
        assert isinstance(key, int)
        return node[key]
    assert isinstance(node, dict)
    assert isinstance(key, str)
    return node[key]


def _texts(node: Node, path: Path) -> Iterator[tuple[Path, str]]:
    if isinstance(node, str):
        yield path, node
    elif isinstance(node, dict):
        for key, value in node.items():
            yield from _texts(value, (*path, key))
    else:
        for at, value in enumerate(node):
            yield from _texts(value, (*path, at))


def _with_when(step: dict[str, Node], when: Node) -> dict[str, Node]:
    """The step with its conditions where they stood, or else right after the action line."""
    if "when" in step:
        return {**step, "when": when}
    after = "do" if "do" in step else "id"
    built: dict[str, Node] = {}
    for key, value in step.items():
        built[key] = value
        if key == after:
            built["when"] = when
    return built


def _copied(node: Node) -> Node:
    """A list or mapping that may grow without its origin growing too."""
    if isinstance(node, list):
        return list(node)
    return dict(node) if isinstance(node, dict) else node


def _one_line(value: Node) -> str:
    return " ".join(value.split()) if isinstance(value, str) else repr(value)
