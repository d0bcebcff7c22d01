"""What one or several files say together, with the file and the line of every value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from guide.procedure.strict_yaml import Document, Mark, Node, Path


@dataclass(frozen=True, slots=True)
class Place:
    """Where an author wrote something."""

    file: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class Tree:
    """Mappings, lists and text; `places` tells for each path in which file it stands."""

    name: str
    root: Node
    places: Mapping[Path, Place]

    def at(self, path: Path) -> Place:
        """The place of the value at `path`, or of the nearest thing around it that exists."""
        for length in range(len(path), -1, -1):
            if (place := self.places.get(path[:length])) is not None:
                return place
        return Place(self.name, Mark(1, 1))


def tree_of(document: Document) -> Tree:
    """A single file as a tree."""
    places = {path: Place(document.name, mark) for path, mark in document.marks.items()}
    return Tree(document.name, document.root, places)
